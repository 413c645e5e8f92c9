"""What each arrival brings: the part of its energy that interfaces let through, and what wall and lining absorb."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

from refdb.job.acoustics import media
from refdb.job.acoustics.media import DECIBELS_PER_NEPER, Ends
from refdb.job.acoustics.ray import speed_of
from refdb.job.acoustics.waves import Medium, Mode, angle_in, decibels, scatter
from refdb.job.inputs.held import Inputs
from refdb.problems import Problem


@dataclass(frozen=True, slots=True)
class Crossing:
    """The part of the energy that passes each interface once, in its direction; a couplant makes the first a range.

    Attributes:
        entered: from the wedge into the wall, slipping on couplant and welded.
        left: from the wall back into the wedge, likewise.
        inward: from the wall, through a lining where there is one, into the liquid.
        outward: the same way back.
        reflected: at the innermost surface, of what arrives there through the liquid.
    """

    entered: Ends
    left: Ends
    inward: float
    outward: float
    reflected: float

    def document(self) -> dict[str, Any]:
        """The parts as plain JSON values."""
        return {
            "wedge_to_wall": list(self.entered),
            "wall_to_liquid": self.inward,
            "liquid_to_wall": self.outward,
            "wall_to_wedge": list(self.left),
            "reflected_in_liquid": self.reflected,
        }

    @property
    def lost(self) -> float:
        """Loss of the first arrival at the interfaces, in and out, without echoes, dB; the contact in its middle."""
        contact = 0.5 * sum(decibels(each) for each in (*self.entered, *self.left))
        return contact + decibels(self.inward) + decibels(self.outward)


def crossing(inputs: Inputs, along: float, wall: Mode, lining: Mode | None) -> Crossing | None:
    """What the interfaces let through for one arrival; None, with a word among the assumptions, where data are missing.

    Coatings and deposits are left out.
    """
    try:
        metal, liquid = media.medium(inputs, "pipe"), media.liquid(inputs)
        inner = media.medium(inputs, "pipe.lining") if inputs.job.pipe.lining is not None else None
    except Problem as problem:
        media.note(inputs, f"transmission of the wall is left out: {problem.detail}")
        return None
    wedge, own = media.wedge(inputs), inputs.job.sensors.wave
    stack: list[tuple[Medium, Mode]] = [(metal, wall)]
    if inner is not None and lining is not None:
        stack.append((inner, lining))
    stack.append((liquid, "longitudinal"))
    back = scatter(liquid, stack[-2][0], "longitudinal", along)
    return Crossing(
        _contact(wedge, own, metal, wall, along),
        _contact(metal, wall, wedge, own, along),
        _through(stack, along),
        _through(stack[::-1], along),
        back.reflected["longitudinal"],
    )


def _contact(first: Medium, mode: Mode, second: Medium, onward: Mode, along: float) -> Ends:
    """What passes from a wedge into a wall or back: on a film that slips, and welded; the smaller first."""
    parts = [scatter(first, second, mode, along, slips=slips).transmitted[onward] for slips in (True, False)]
    return min(parts), max(parts)


def _through(stack: list[tuple[Medium, Mode]], along: float) -> float:
    """The part of the energy that passes every interface of a stack once, without echoes inside its layers."""
    passed = 1.0
    for (first, mode), (second, onward) in itertools.pairwise(stack):
        passed *= scatter(first, second, mode, along).transmitted[onward]
    return passed


def lost_in_layers(inputs: Inputs, along: float, wall: Mode, lining: Mode | None) -> Ends:
    """Least and most dB that both walls, and the lining in both, absorb of one arrival."""
    low, high = _lost_in(inputs, along, "pipe", wall, "wall")
    if lining is None:
        return low, high
    more = lining_loss(inputs, along, lining)
    return low + more[0], high + more[1]


def lining_loss(inputs: Inputs, along: float, lining: Mode) -> Ends:
    """Least and most dB that the lining alone absorbs, in both walls."""
    return _lost_in(inputs, along, "pipe.lining", lining, "lining thickness")


def _lost_in(inputs: Inputs, along: float, where: str, mode: Mode, thickness: str) -> Ends:
    length = 2.0 * inputs.value(thickness) / math.cos(angle_in(speed_of(inputs, mode, where), along))
    low, high = media.absorbed(inputs, where, mode)
    return DECIBELS_PER_NEPER * low * length, DECIBELS_PER_NEPER * high * length


def received(inputs: Inputs, along: float, wall: Mode, lining: Mode | None) -> float | None:
    """How much weaker one arrival comes in than it was sent, dB, without the liquid; None where data are missing.

    Absorption counts with the middle of what it may be.
    """
    passed = crossing(inputs, along, wall, lining)
    if passed is None:
        return None
    return passed.lost + 0.5 * sum(lost_in_layers(inputs, along, wall, lining))
