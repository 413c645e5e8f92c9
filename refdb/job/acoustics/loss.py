"""What the signal loses from sensor to sensor, as a range: contact, echoes, absorption, reflections, spreading.

The way through couplant, wall and lining is that of plane waves with every echo in the layers
(`refdb.job.acoustics.layered`), in and out alike; its ends are the least and the most over the frequencies that a burst
holds and over the film of couplant. The loss is a range and no promise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from refdb.forms.absorption import classical_absorption
from refdb.job.acoustics import media
from refdb.job.acoustics.diffraction import piston_loss
from refdb.job.acoustics.layered import Slab, transmitted
from refdb.job.acoustics.media import COUPLANT, DECIBELS_PER_NEPER, Ends, note
from refdb.job.acoustics.ray import Ray
from refdb.job.acoustics.signal import Crossing, crossing
from refdb.job.acoustics.waves import Mode, angle_in, decibels
from refdb.job.inputs.held import Inputs, nominal_bore
from refdb.job.inputs.liquid import ABSORPTION
from refdb.job.quantities import positive

MOST_OF_BOUND = 10.0
"""Times the classical lower bound up to which a loss is told: judgement; benzene and its like absorb even more."""
BAND, STEPS = 0.2, 25
"""Of the frequency, either way: what a burst of a few periods holds (judgement); and how many of them are asked."""
FILMS = (2e-5, 5e-5, 1e-4)
"""m: of couplant between wedge and wall, up to a rough or painted surface (judgement)."""
LONGER = 1.3
"""Times the way in the liquid: the way of the beam with wedges and walls, at most, for spreading (judgement)."""
WEAK, TOO_WEAK = 70.0, 100.0
"""dB in all: from where on a signal is weak, and from where on none is expected (judgement)."""


@dataclass(frozen=True, slots=True)
class WayThrough:
    """What the way through contact, wall and lining loses, in and out together, dB: least, most and in the mean."""

    low: float
    high: float
    mean: float
    crossing: Crossing


def way_through(inputs: Inputs, path: Ray) -> WayThrough | None:
    """The loss on the way in and out, asked once for all numbers of passes; None where the wall's data are unknown."""
    import numpy as np

    crossed = crossing(inputs, path.along, path.wall_mode, path.lining_mode)
    if crossed is None:
        return None
    frequencies = inputs.value("frequency") * np.linspace(1.0 - BAND, 1.0 + BAND, STEPS)
    least, most = (_passed(inputs, path, end, frequencies) for end in (0, 1))
    # What passes one way passes the other way: the way out loses as much.
    return WayThrough(
        2.0 * decibels(float(least.max())),
        2.0 * decibels(float(most.min())),
        decibels(float(least.mean())) + decibels(float(most.mean())),
        crossed,
    )


def _passed(inputs: Inputs, path: Ray, end: int, frequencies: Any) -> Any:
    """The part of the energy that comes through every contact at every frequency, in one array.

    Args:
        end: 0 with the least, 1 with the most that the layers may absorb.
    """
    import numpy as np

    wedge, liquid = media.wedge(inputs), media.liquid(inputs)
    wall = _slab(inputs, "pipe", "wall", end, frequencies)
    inner = [_slab(inputs, "pipe.lining", "lining thickness", end, frequencies)] if path.lining_mode else []
    slipping = Slab(wall.medium, wall.thickness, wall.absorption, slips=True)
    stacks = [[wall, *inner], [slipping, *inner], *([Slab(COUPLANT, film, {}), wall, *inner] for film in FILMS)]
    own = inputs.job.sensors.wave
    return np.concatenate([transmitted(wedge, own, stack, liquid, path.along, frequencies) for stack in stacks])


def _slab(inputs: Inputs, where: str, thickness: str, end: int, frequencies: Any) -> Slab:
    """A layer with the least (0) or the most (1) that it may absorb, which rises with the frequency."""
    part = frequencies / inputs.value("frequency")
    modes: tuple[Mode, ...] = ("longitudinal", "shear")
    absorption: dict[Mode, Any] = {mode: media.absorbed(inputs, where, mode)[end] * part for mode in modes}
    return Slab(media.medium(inputs, where), inputs.value(thickness), absorption)


def loss(inputs: Inputs, path: Ray, way: WayThrough, passes: int) -> dict[str, Any]:
    """What the signal loses for a number of passes: least, most, and in the mean of the band, in dB."""
    reflections = (passes - 1) * decibels(way.crossing.reflected)
    length = passes * path_length(inputs, path)
    amounts, basis = absorption(inputs)
    absorbed = [amount * length * DECIBELS_PER_NEPER for amount in amounts]
    spread = spreading(inputs, length)
    low = way.low + reflections + absorbed[0] + spread[0]
    high = way.high + reflections + absorbed[1] + spread[1]
    usual = way.mean + reflections + 0.5 * sum(absorbed) + 0.5 * sum(spread)
    return {
        "low": _decibels(low),
        "high": _decibels(high),
        "usual": _decibels(usual),
        "transmission": [_decibels(way.low), _decibels(way.high)],
        "reflections": _decibels(reflections),
        "absorption": [_decibels(each) for each in absorbed],
        "absorption_from": basis,
        "spreading": [_decibels(each) for each in spread],
        "signal": "good" if usual < WEAK else "weak" if low < TOO_WEAK and usual < TOO_WEAK else "too weak",
    }


def _decibels(amount: float) -> dict[str, Any]:
    return {"magnitude": amount, "unit": "dB"}


def path_length(inputs: Inputs, path: Ray) -> float:
    """How far the sound runs in the liquid in one pass, in metres."""
    return nominal_bore(inputs) / math.cos(angle_in(inputs.value("sound speed"), path.along))


def absorption(inputs: Inputs) -> tuple[Ends, str]:
    """Least and most absorption of the liquid at the sensors' frequency in Np/m, and where they come from.

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


def spreading(inputs: Inputs, length: float) -> Ends:
    """Least and most that the beam loses by spreading over a way, dB; none where the element's width is not given."""
    width = inputs.job.sensors.width
    if width is None:
        note(inputs, "sensors.width not given: what the beam loses by spreading is left out")
        return 0.0, 0.0
    radius = 0.5 * positive(width, "length", "sensors.width")
    wavelength = inputs.value("sound speed") / inputs.value("frequency")
    note(inputs, "sensors.width: the element is taken as a disc, for what the beam loses by spreading")
    ends = [
        piston_loss(radius, longer * length, wavelength / part)
        for longer, part in ((1.0, 1.0 + BAND), (LONGER, 1.0 - BAND))
    ]
    return min(ends), max(ends)


def loss_words(inputs: Inputs, path: Ray, losses: list[dict[str, Any]]) -> list[str]:
    """What the loss says about passes and frequency."""
    each = [DECIBELS_PER_NEPER * amount * path_length(inputs, path) for amount in absorption(inputs)[0]]
    passes = inputs.job.sensors.passes
    good = [n for n, one in enumerate(losses, 1) if one["signal"] == "good"]
    words = [
        f"Each further pass absorbs {each[0]:.2g} dB to {each[1]:.2g} dB more in the liquid. Absorption by viscosity "
        "goes with the square of the frequency: half of it leaves a quarter of these decibels, and half the resolution "
        "in time."
    ]
    if not good:
        words.append(
            f"No number of passes is expected to leave less than {WEAK:g} dB of loss: take one pass where both sides "
            "can be reached, the lowest frequency for which the wall stays thick beside the shear wavelength, or "
            "another place."
        )
    elif passes in good:
        words.append(f"A good signal is expected up to {max(good)} passes (below {WEAK:g} dB of loss: judgement).")
    else:
        words.append(f"A good signal is expected up to {max(good)} passes only, and {passes} are asked for.")
    return words


def loss_warnings(inputs: Inputs, losses: list[dict[str, Any]]) -> list[str]:
    """What is to be minded of the loss at the number of passes that is asked for."""
    passes = inputs.job.sensors.passes
    one = losses[passes - 1]
    if one["signal"] == "good":
        return []
    low, high = one["low"]["magnitude"], one["high"]["magnitude"]
    told = f"The signal loses {low:.0f} dB to {high:.0f} dB at {passes} passes"
    if one["signal"] == "weak":
        return [f"{told}: it may be too weak; take fewer passes or a lower frequency."]
    return [f"{told}: no usable signal is expected; take fewer passes or a lower frequency."]
