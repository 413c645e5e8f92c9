"""What a pipe's diameter and wall may be: the limits of its standard, or general ones where none were seen.

The tolerance is that of the standard that a system's pipes are usually made to, where one was seen; on a side for which
none is printed, the general limits below. Where a standard sets no upper limit to the wall, the upper is taken as the
lower one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.pipes.materials import Kinship
from refdb.pipes.pipe import LikeliestPrint, tolerances
from refdb.pipes.tolerance import ToleranceAnswer
from refdb.units import units
from refdb.vocabulary import systems

GENERAL_DIAMETER: dict[str, tuple[float, float]] = {
    "steel": (0.4, 0.01),
    "stainless": (0.4, 0.01),
    "iron": (1.5, 0.004),
    "plastic": (0.2, 0.004),
    "mineral": (3.0, 0.02),
    "metal": (0.15, 0.005),
}
"""Where no limit of the diameter was seen: plus or minus the greater of so many mm and such a part of the diameter.

Common practice, no source; each is about what the standards that were seen grant to pipes of the same kind.
"""
BELOW_GREATEST = (0.6, 0.01)
"""How far below the greatest diameter allowed a pipe may be, where only that is printed: mm, plus a part of it."""
GENERAL_WALL = 0.125
"""Of a nominal wall, plus or minus, where no limit was seen: common practice, no source."""
ABOVE_LEAST = (0.5, 0.12)
"""How far above a least wall a pipe may be: the greater of so many mm and such a part of it.

Common practice, no source.
"""
IRON_ABOVE_LEAST = (2.6, 0.002)
"""The same for iron: mm, plus a part of the diameter."""


class Limits(NamedTuple):
    """The least and the greatest a dimension may be, in mm."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PipeLimits:
    """What the diameter and the wall of one pipe may be; no wall where no document prints one.

    Attributes:
        diameter_by, wall_by: the standard whose limits they are; None for the general ones.
    """

    diameter: Limits
    wall: Limits | None
    diameter_by: str | None
    wall_by: str | None


def pipe_limits(
    store: ReleaseStore, release: ReleaseInfo, kinship: Kinship, record: StoredRecord, printed: LikeliestPrint
) -> PipeLimits:
    """The limits of a pipe's diameter and wall."""
    system = record.body["system"]
    material = str(systems()[system]["material"])
    millimetre = units().find("mm", "length")
    told = tolerances(store, release, system, printed.nominal(record), millimetre)
    scale = 1000.0 * printed.unit.scale
    outside = printed.outside_diameter * scale
    diameter = _limited(told["outside_diameter"], outside, _general_diameter(kinship, material, printed, outside))
    by = {quantity: str(limits.record.body["standard"]) if limits else None for quantity, limits in told.items()}
    if printed.wall is None:
        return PipeLimits(diameter, None, by["outside_diameter"], None)
    wall = printed.wall * scale
    general = _general_wall(kinship, material, printed, wall, outside)
    limited = _limited(told["wall"], wall, general, mirrored=printed.wall_is == "nominal")
    return PipeLimits(diameter, limited, by["outside_diameter"], by["wall"])


def _limited(told: ToleranceAnswer | None, nominal: float, general: Limits, mirrored: bool = False) -> Limits:
    """The limits that a standard tells, each side it does not from the general ones.

    Args:
        mirrored: an upper side that is not told is as far away as the lower.
    """
    if told is None:
        return general
    low, high = general
    if told.minus is not None:
        low = nominal - float(told.minus.magnitude)
        if mirrored:
            high = 2.0 * nominal - low
    if told.plus is not None:
        high = nominal + float(told.plus.magnitude)
    # A limit that is printed beyond the other side leaves the general ones.
    return Limits(low, high) if high > low else general


def _general_diameter(kinship: Kinship, material: str, printed: LikeliestPrint, outside: float) -> Limits:
    kin = kinship.kin(material)
    millimetres, part = GENERAL_DIAMETER[kin if kin in GENERAL_DIAMETER else kinship.material_class(material)]
    reach = max(millimetres, part * outside)
    if printed.outside_diameter_is == "maximum":
        return Limits(outside - BELOW_GREATEST[0] - BELOW_GREATEST[1] * outside, outside)
    if printed.outside_diameter_is == "minimum":
        return Limits(outside, outside + 2.0 * reach)
    return Limits(outside - reach, outside + reach)


def _general_wall(kinship: Kinship, material: str, printed: LikeliestPrint, wall: float, outside: float) -> Limits:
    if printed.wall_is == "minimum":
        iron = kinship.kin(material) == "iron"
        above = (
            IRON_ABOVE_LEAST[0] + IRON_ABOVE_LEAST[1] * outside if iron else max(ABOVE_LEAST[0], ABOVE_LEAST[1] * wall)
        )
        return Limits(wall, wall + above)
    return Limits(wall * (1.0 - GENERAL_WALL), wall * (1.0 + GENERAL_WALL))
