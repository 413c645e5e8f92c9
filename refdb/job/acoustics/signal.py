"""What the signal loses on its way: at interfaces, in the wall, in the liquid and by spreading, as a range."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

from refdb.forms.absorption import classical_absorption
from refdb.job.acoustics.ray import Ray, speed_of
from refdb.job.acoustics.waves import Medium, Mode, angle_in, decibels, scatter
from refdb.job.inputs.held import Inputs, nominal_bore
from refdb.job.inputs.liquid import ABSORPTION
from refdb.job.inputs.solid import solid
from refdb.job.quantities import positive
from refdb.problems import BadParameter, Problem
from refdb.units.sizes import NO_SOURCE

DECIBELS_PER_NEPER = 20.0 / math.log(10.0)
MOST_OF_BOUND = 10.0
"""Times the classical lower bound up to which a loss is told: judgement; benzene and its like absorb even more."""
MUCH_ABSORBED = 6.0
"""dB for each pass: from here on absorption decides how many passes there can be (judgement)."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """The part of the energy that passes each interface once, in its direction; a couplant makes the first a range.

    Attributes:
        entered: from the wedge into the wall, slipping on couplant and welded; None where the wedge is not described.
        left: from the wall back into the wedge, likewise.
        inward: from the wall, through a lining where there is one, into the liquid.
        outward: the same way back.
        reflected: at the innermost surface, of what arrives there through the liquid.
    """

    entered: tuple[float, float] | None
    left: tuple[float, float] | None
    inward: float
    outward: float
    reflected: float

    def document(self) -> dict[str, Any]:
        """The parts as plain JSON values."""
        return {
            "wedge_to_wall": list(self.entered) if self.entered else None,
            "wall_to_liquid": self.inward,
            "liquid_to_wall": self.outward,
            "wall_to_wedge": list(self.left) if self.left else None,
            "reflected_in_liquid": self.reflected,
        }


def crossing(inputs: Inputs, path: Ray, wall: Mode, lining: Mode | None) -> Crossing | None:
    """What the interfaces let through for one arrival; None, with a word among the assumptions, where data are missing.

    Coatings and deposits are left out.
    """
    try:
        metal, inner, liquid = _medium(inputs, "pipe"), _inner(inputs), _liquid(inputs)
    except Problem as problem:
        _note(inputs, f"transmission of the wall is left out: {problem.detail}")
        return None
    wedge = _wedge(inputs)
    stack: list[tuple[Medium, Mode]] = [(metal, wall)]
    if inner is not None and lining is not None:
        stack.append((inner, lining))
    stack.append((liquid, "longitudinal"))
    back = scatter(liquid, stack[-2][0], "longitudinal", path.along)
    own = inputs.job.sensors.wave
    return Crossing(
        _contact(wedge, own, metal, wall, path.along) if wedge else None,
        _contact(metal, wall, wedge, own, path.along) if wedge else None,
        _through(stack, path.along),
        _through(stack[::-1], path.along),
        back.reflected["longitudinal"],
    )


def _contact(first: Medium, mode: Mode, second: Medium, onward: Mode, along: float) -> tuple[float, float]:
    """What passes from a wedge into a wall or back: on a film that slips, and welded; the smaller first."""
    parts = [scatter(first, second, mode, along, slips=slips).transmitted[onward] for slips in (True, False)]
    return min(parts), max(parts)


def _through(stack: list[tuple[Medium, Mode]], along: float) -> float:
    """The part of the energy that passes every interface of a stack once, without echoes inside its layers."""
    passed = 1.0
    for (first, mode), (second, onward) in itertools.pairwise(stack):
        passed *= scatter(first, second, mode, along).transmitted[onward]
    return passed


def _note(inputs: Inputs, text: str) -> None:
    if text not in inputs.assumptions:
        inputs.assumptions.append(text)


def _medium(inputs: Inputs, where: str) -> Medium:
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    assert section is not None  # noqa: S101 - linings are asked for where there is one
    found = solid(inputs, section.material, "density", section.density, f"{where}.density")
    density = found if isinstance(found, float | int) else float(found.magnitude)
    longitudinal, shear = speed_of(inputs, "longitudinal", where), speed_of(inputs, "shear", where)
    if shear >= longitudinal:
        raise BadParameter(
            f"{where}.shear_speed: {shear:.0f} m/s is not below the longitudinal {longitudinal:.0f} m/s, as in every "
            "solid; exchange the two or look again.",
            parameter=f"{where}.shear_speed",
        )
    return Medium(longitudinal, shear, density)


def _inner(inputs: Inputs) -> Medium | None:
    return _medium(inputs, "pipe.lining") if inputs.job.pipe.lining is not None else None


def _liquid(inputs: Inputs) -> Medium:
    return Medium(inputs.value("sound speed"), None, inputs.value("density"))


def _wedge(inputs: Inputs) -> Medium | None:
    """The wedge, where its data are given."""
    sensors = inputs.job.sensors
    if sensors.density is None or sensors.other_speed is None:
        _note(inputs, "sensors.density and sensors.other_speed not given: the loss between wedge and wall is not told")
        return None
    own, other = inputs.value("wedge speed"), positive(sensors.other_speed, "speed", "sensors.other_speed")
    first, second = (own, other) if sensors.wave == "longitudinal" else (other, own)
    if second >= first:
        raise BadParameter(
            "sensors.other_speed: the shear speed of a solid is below its longitudinal one; exchange them or `wave`.",
            parameter="sensors.other_speed",
        )
    return Medium(first, second, positive(sensors.density, "density", "sensors.density"))


def wall_absorption(inputs: Inputs, path: Ray, wall: Mode, lining: Mode | None) -> float | None:
    """dB lost inside both walls and linings on the way in and out; None where no absorption is given."""
    lost: list[float] = []
    layers: tuple[tuple[str, Mode | None, str], ...] = (
        ("pipe", wall, "wall"),
        ("pipe.lining", lining, "lining thickness"),
    )
    for where, mode, thickness in layers:
        section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
        if section is None or mode is None:
            continue
        text = getattr(section, f"{mode}_absorption")
        if text is None:
            continue
        amount = positive(text, "absorption", f"{where}.{mode}_absorption")
        length = 2.0 * inputs.value(thickness) / math.cos(angle_in(speed_of(inputs, mode, where), path.along))
        lost.append(DECIBELS_PER_NEPER * amount * length)
    return sum(lost) if lost else None


def loss(inputs: Inputs, path: Ray, passes: int) -> dict[str, Any] | None:
    """What the signal loses, least and most, in dB; None where the wall's data are unknown."""
    told = crossing(inputs, path, path.wall_mode, path.lining_mode)
    if told is None:
        return None
    interfaces = [decibels(told.inward) + decibels(told.outward)] * 2
    if told.entered is not None and told.left is not None:
        # The better contact loses less.
        interfaces[0] += decibels(told.entered[1]) + decibels(told.left[1])
        interfaces[1] += decibels(told.entered[0]) + decibels(told.left[0])
    reflections = (passes - 1) * decibels(told.reflected)
    length = passes * path_length(inputs, path)
    amounts, basis = absorption(inputs)
    absorbed = [amount * length * DECIBELS_PER_NEPER for amount in amounts]
    walls = wall_absorption(inputs, path, path.wall_mode, path.lining_mode)
    spread = spreading(inputs, length)
    always = reflections + (walls or 0.0)
    return {
        "low": {"magnitude": interfaces[0] + always + absorbed[0], "unit": "dB"},
        "high": {"magnitude": interfaces[1] + always + absorbed[1] + (spread or 0.0), "unit": "dB"},
        "transmission": [{"magnitude": amount, "unit": "dB"} for amount in interfaces],
        "reflections": {"magnitude": reflections, "unit": "dB"},
        "absorption": [{"magnitude": amount, "unit": "dB"} for amount in absorbed],
        "absorption_from": basis,
        "absorption_in_walls": {"magnitude": walls, "unit": "dB"} if walls is not None else None,
        "spreading_at_most": {"magnitude": spread, "unit": "dB"} if spread is not None else None,
    }


def path_length(inputs: Inputs, path: Ray) -> float:
    """How far the sound runs in the liquid in one pass, in metres."""
    return nominal_bore(inputs) / math.cos(angle_in(inputs.value("sound speed"), path.along))


def absorption(inputs: Inputs) -> tuple[tuple[float, float], str]:
    """Least and most absorption at the sensors' frequency in Np/m, and where they come from.

    First what the job gives, then what is published of the liquid, then the classical lower bound and what bulk
    viscosity may add to it.
    """
    if "absorption" in inputs.found:
        given = inputs["absorption"]
        return (max(given.value - given.uncertainty, 0.0), given.value + given.uncertainty), "given"
    squared = inputs.value("frequency") ** 2
    item = inputs.found.get(ABSORPTION)
    row = item.answer if item is not None else None
    if item is not None and row is not None and row.bound is None:
        low, high = max(item.value - item.uncertainty, 0.0), item.value + item.uncertainty
        return (low * squared, high * squared), f"published: row {row.row}"
    if item is not None and row is not None:
        least, words = item.value, f"row {row.row}"
    else:
        viscosity = inputs.value("dynamic viscosity") / inputs.value("density")
        least = classical_absorption(viscosity, inputs.value("sound speed"))
        words = "from the viscosity, density and sound speed of the job"
    ends = (least * squared, MOST_OF_BOUND * least * squared)
    return ends, f"lower bound: {words}; up to {MOST_OF_BOUND:g} times as much is assumed"


def spreading(inputs: Inputs, length: float) -> float | None:
    """Spreading beyond the near field of the element, dB; None where its width is not given."""
    width = inputs.job.sensors.width
    if width is None:
        _note(inputs, "sensors.width not given: what the beam loses by spreading is left out")
        return None
    across = positive(width, "length", "sensors.width")
    near = across**2 * inputs.value("frequency") / (4.0 * inputs.value("sound speed"))
    return 20.0 * math.log10(max(1.0, length / near))


def loss_words(inputs: Inputs, path: Ray) -> list[str]:
    """What the loss says about passes and frequency."""
    each = [DECIBELS_PER_NEPER * amount * path_length(inputs, path) for amount in absorption(inputs)[0]]
    words = [
        f"Each further pass absorbs {each[0]:.2g} to {each[1]:.2g} dB more. Absorption by viscosity goes with the "
        f"square of the frequency: half of it leaves a quarter of these decibels, and half the resolution in time."
    ]
    if each[1] >= MUCH_ABSORBED:
        words.append(
            "The liquid absorbs much, as viscous liquids do: take one pass where both sides can be reached, and the "
            "lowest frequency for which the wall stays thick beside the shear wavelength."
        )
    else:
        words.append(
            f"Absorption leaves room for more passes, which lengthen the time in the liquid ({NO_SOURCE}): choose by "
            "the signal's strength after mounting."
        )
    return words
