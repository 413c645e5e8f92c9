"""What the place does to the profile: straight lengths, what disturbs before them, and how many passes see it.

What a reading may be off by is an interval, one-sided where measurements found it so. A bend's beyond 8 diameters and
nearer is what one study measured (Synowiec and others 2021: correction factors of 1 to 1.02 from 8 diameters on, up to
10.8 % nearer, always towards reading low); every other range is judgement until an experiment is entered.

Cross flow adds to the velocity along the path with the cotangent of the angle in the liquid. Two passes in one plane
see it once with and once against; of an odd number one pass is left.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from refdb.job.acoustics.waves import angle_in, slowness
from refdb.job.inputs.held import Inputs, JobInput, PlaceEffect, nominal_bore
from refdb.job.quantities import difference, number
from refdb.problems import BadParameter
from refdb.units.sizes import NO_SOURCE

if TYPE_CHECKING:
    from refdb.job.models import Access

Side = Literal["upstream", "downstream"]
Steps = tuple[tuple[float, float, float], ...]
STUDY = "Synowiec et al. 2021, Sensors 21(3), 868"
OFF: dict[str, Steps] = {
    "none": ((0.0, -0.005, 0.005),),
    "bend": ((50.0, 0.0, 0.005), (20.0, 0.0, 0.01), (8.0, 0.0, 0.02), (0.0, 0.0, 0.108)),
    "two bends out of plane": (
        *((80.0, -0.005, 0.005), (50.0, -0.015, 0.015), (20.0, -0.03, 0.03), (10.0, -0.05, 0.05)),
        (0.0, -0.12, 0.12),
    ),
    "tee": ((50.0, -0.005, 0.005), (20.0, -0.015, 0.015), (10.0, -0.03, 0.03), (0.0, -0.1, 0.1)),
    "valve": ((50.0, -0.005, 0.005), (20.0, -0.02, 0.02), (10.0, -0.04, 0.04), (0.0, -0.12, 0.12)),
    "pump": ((50.0, -0.01, 0.01), (20.0, -0.03, 0.03), (10.0, -0.06, 0.06), (0.0, -0.15, 0.15)),
    "reducer": ((50.0, -0.003, 0.003), (20.0, -0.01, 0.01), (10.0, -0.02, 0.02), (0.0, -0.06, 0.06)),
    "unknown": ((50.0, -0.01, 0.01), (20.0, -0.03, 0.03), (10.0, -0.05, 0.05), (0.0, -0.12, 0.12)),
}
"""By disturbance and straight diameters after it: the true flow over the reading, less one, from and to."""
CROSS: dict[str, tuple[tuple[float, float], ...]] = {
    "none": ((0.0, 0.0),),
    "bend": ((50.0, 0.001), (20.0, 0.005), (10.0, 0.02), (0.0, 0.05)),
    "two bends out of plane": ((80.0, 0.002), (50.0, 0.01), (20.0, 0.03), (0.0, 0.08)),
    "tee": ((50.0, 0.002), (20.0, 0.01), (10.0, 0.02), (0.0, 0.05)),
    "valve": ((50.0, 0.002), (20.0, 0.01), (10.0, 0.02), (0.0, 0.05)),
    "pump": ((50.0, 0.005), (20.0, 0.02), (10.0, 0.03), (0.0, 0.08)),
    "reducer": ((50.0, 0.0), (20.0, 0.002), (0.0, 0.01)),
    "unknown": ((50.0, 0.005), (20.0, 0.02), (0.0, 0.05)),
}
"""The same: the velocity across the pipe that may be left, over the mean velocity (judgement)."""
NOT_TOLD = (-0.07, 0.07)
"""Off by, where no straight length is told (judgement)."""


def straight(inputs: Inputs, side: Side) -> float | None:
    """A straight length in diameters of the bore, from diameters or a length; None where it is not told.

    Raises:
        BadParameter: it is below zero, or neither diameters nor a length.
    """
    access: Access = inputs.job.access
    told = getattr(access, side)
    if told is None or isinstance(told, float | int):
        return told
    where = f"access.{side}"
    text = told.strip()
    if text[-1:] in {"D", "d"}:
        try:
            diameters = float(text[:-1])
        except ValueError:
            raise BadParameter(
                f"{where}: '{told}' is no number of diameters; write 12 or '12 D', or a length as '3.5 m'.",
                parameter=where,
                given=told,
            ) from None
    else:
        diameters = number(told, "length", where) / nominal_bore(inputs)
    if not 0.0 <= diameters <= 1e4:
        raise BadParameter(f"{where}: must be 0 to 10000 diameters; {told} is not.", parameter=where, given=told)
    return diameters


def place(inputs: Inputs) -> PlaceEffect:
    """What the place may do to the reading."""
    upstream, disturbance = straight(inputs, "upstream"), inputs.job.access.disturbance
    cotangent = 1.0 / math.tan(_angle(inputs))
    if upstream is None:
        low, high = NOT_TOLD
        cross = _cross(inputs, CROSS["unknown"][-1][1], cotangent)
        return PlaceEffect(low, high, cross, "access.upstream not told")
    low, high = next((low, high) for least, low, high in OFF[disturbance] if upstream >= least)
    across = next(part for least, part in CROSS[disturbance] if upstream >= least)
    words = f"{upstream:.3g} D after {words_of(disturbance)}"
    return PlaceEffect(low, high, _cross(inputs, across, cotangent), words)


def _angle(inputs: Inputs) -> float:
    along = float(slowness(inputs.value("wedge angle"), inputs.value("wedge speed")))
    found = angle_in(inputs.value("sound speed"), along)
    # Where no sound enters the liquid, the choice of the arrival says so; there is nothing to weigh here.
    return found if math.isfinite(found) and found > 0.0 else 0.5 * math.pi


def _cross(inputs: Inputs, across: float, cotangent: float) -> float:
    """Two passes cancel in one plane; of an odd number one of n is left."""
    passes = inputs.job.sensors.passes
    return across * cotangent / passes if passes % 2 else 0.0


def words_of(disturbance: str) -> str:
    """A disturbance in a sentence."""
    if disturbance == "unknown":
        return "a disturbance that is not told"
    if disturbance == "none":
        return "an undisturbed run"
    return disturbance if disturbance.startswith("two") else f"a {disturbance}"


def installation(inputs: Inputs) -> JobInput:
    """The input that carries what the place does, around the reading as it is."""
    given = inputs.job.access.installation_uncertainty
    if given is not None:
        uncertainty = difference(given, "dimensionless", "access.installation_uncertainty")
        return JobInput("installation", 1.0, uncertainty, "dimensionless", "given")
    inputs.place = place(inputs)
    found = inputs.place
    source = STUDY if inputs.job.access.disturbance == "bend" and found.one_sided else NO_SOURCE
    inputs.assumptions.append(
        f"access: {found.words}: the true flow lies {100 * found.low:+.3g} % to {100 * found.high:+.3g} % from the "
        f"reading, and cross flow may add {100 * found.cross:.2g} % either way ({source}; ranges are judgement)"
    )
    return JobInput("installation", 1.0, found.uncertainty, "dimensionless", "default", found.words)
