"""Every pipe of a release as numbers, made ready for matching: limits, equal dimensions, how usual each is.

Limits. The tolerance of the standard that a system's pipes are usually made to, where one was seen; on a side for which
none is printed, the general limits below. Where a standard sets no upper limit to the wall, the upper is taken as the
lower one.

Equal dimensions. Diameters that print alike within the rounding between inches and millimetres (0.05 mm, or 0.05 % of
the diameter) are one size, and walls of a size within 0.02 mm are one wall: nobody can tell such pipes apart, whatever
standard they are made to.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.pipes.materials import MISTAKEN, OTHER_GRADE, SAME_CLASS, SHARED_SIZES, Kinship
from refdb.pipes.pipe import LikeliestPrint, printed_dimensions, tolerances
from refdb.pipes.tolerance import ToleranceAnswer
from refdb.records.names import size_words
from refdb.units import units
from refdb.vocabulary import systems

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.intp]

PRIOR = "usual-pipes/1"
USUAL, ORDINARY, RARE = 2.0, 1.0, 0.5
USUAL_SYSTEMS = ("b36.10", "b36.19", "din2448", "en10220", "en545", "c151", "iso4427", "d1785", "c900", "en1057", "b88")
RARE_SYSTEMS = ("steel-metric", "stainless-metric", "plastic-metric", "wrought-iron-standard", "d1527", "din11850")
PRIOR_TEXT = (
    "A size of a system counts with the root of how many walls it is made with, and every wall of it alike; a size of "
    f"{', '.join(USUAL_SYSTEMS)} counts {USUAL:g} times an ordinary one, a size of {', '.join(RARE_SYSTEMS)} {RARE:g} "
    f"times. Where the material is known, systems of another count less: {OTHER_GRADE:g} of its kin, {SHARED_SIZES:g} "
    f"for b36.10 where it is another metal, {SAME_CLASS:g} of its class, {MISTAKEN:g} otherwise. Judgement, no source."
)

SAME_SIZE = (0.05, 0.0005)
"""mm, and of the diameter."""
SAME_WALL = 0.02
"""mm."""

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
class Candidates:
    """The pipes of a release, one element of each array per row; lengths in mm.

    Attributes:
        diameter, wall: the middle between the limits; NaN for a wall that no document prints.
        diameter_half, wall_half: half the distance between the limits.
        walls: how many rows share the row's size in its system.
        usual: how much a size of the system counts.
        size, cell: which size, and which size and wall, the row is of, counted from 0.
        printed_diameter, printed_wall: as the standard prints them, in mm.
    """

    records: list[StoredRecord]
    systems: list[str]
    diameter: Floats
    diameter_half: Floats
    wall: Floats
    wall_half: Floats
    walls: Floats
    usual: Floats
    size: Integers
    cell: Integers
    printed_diameter: Floats
    printed_wall: Floats
    kinship: Kinship

    def prior(self, material: str | None, system: str | None) -> Floats:
        """How probable each row is before anything is measured, in total 1.

        Args:
            material: the id of the pipe's material, where it is known.
            system: the id of its system, where it is known.
        """
        if system is not None:
            known = np.array([name == system for name in self.systems], dtype=np.float64)
        elif material is not None:
            weights = {name: self.kinship.weight(material, name) for name in set(self.systems)}
            known = np.array([weights[name] for name in self.systems], dtype=np.float64)
        else:
            known = np.ones(len(self.systems))
        weight = known * self.usual / np.sqrt(self.walls)
        prior: Floats = weight / weight.sum()
        return prior

    def words(self, row: int) -> str:
        """System and size of a row in the trade's words: `b36.10 NPS 8 (carbon-steel)`."""
        body = self.records[row].body
        system = systems()[body["system"]]
        size = next(size_words(word, body["size"][word]) for word in system["size_words"] if word in body["size"])
        return f"{body['system']} {size} ({system['material']})"


def candidates(store: ReleaseStore, release: ReleaseInfo, estimates: bool) -> Candidates:
    """The pipes of a release.

    Args:
        estimates: also those that are only recalled.
    """
    records = [
        record for record in store.of_kind("recommended-pipe", release) if estimates or record.body["rung"] != "memory"
    ]
    millimetre = units().find("mm", "length")
    kinship = Kinship(store, release)
    printed = [printed_dimensions(record, millimetre) for record in records]
    scale = [1000.0 * entry.unit.scale for entry in printed]
    outside = np.array([entry.outside_diameter * each for entry, each in zip(printed, scale, strict=True)])
    walls = np.array([np.nan if e.wall is None else e.wall * each for e, each in zip(printed, scale, strict=True)])
    limits = [_limits(store, release, kinship, record, entry) for record, entry in zip(records, printed, strict=True)]
    diameter, wall = (np.array([pair[which] for pair in limits]).reshape(-1, 2) for which in (0, 1))
    names = [str(record.body["system"]) for record in records]
    nominal = np.array([entry.outside_diameter_is == "nominal" for entry in printed])
    size = _sizes(np.where(nominal, outside, diameter.mean(axis=1)))
    sharing = Counter(zip(names, size.tolist(), strict=True))
    return Candidates(
        records=records,
        systems=names,
        diameter=diameter.mean(axis=1),
        diameter_half=np.diff(diameter, axis=1)[:, 0] / 2.0,
        wall=wall.mean(axis=1),
        wall_half=np.diff(wall, axis=1)[:, 0] / 2.0,
        walls=np.array([sharing[key] for key in zip(names, size.tolist(), strict=True)], dtype=np.float64),
        usual=np.array([_usual(name) for name in names]),
        size=size,
        cell=_cells(size, walls),
        printed_diameter=outside,
        printed_wall=walls,
        kinship=kinship,
    )


def _usual(system: str) -> float:
    return USUAL if system in USUAL_SYSTEMS else RARE if system in RARE_SYSTEMS else ORDINARY


def _sizes(outside: Floats) -> Integers:
    """Which size each row is of."""
    leaders: list[float] = []
    size = np.zeros(len(outside), dtype=np.intp)
    for row in np.argsort(outside, kind="stable"):
        if not leaders or outside[row] - leaders[-1] > max(SAME_SIZE[0], SAME_SIZE[1] * leaders[-1]):
            leaders.append(float(outside[row]))
        size[row] = len(leaders) - 1
    return size


def _cells(size: Integers, walls: Floats) -> Integers:
    """Which size and wall each row is of; rows without a wall stand apart."""
    cell = np.zeros(len(size), dtype=np.intp)
    last: tuple[int, float] | None = None
    count = -1
    filled = np.nan_to_num(walls, nan=-1.0)
    for row in np.lexsort((filled, size)):
        here = (int(size[row]), float(filled[row]))
        if last is None or here[0] != last[0] or here[1] - last[1] > SAME_WALL:
            count, last = count + 1, here
        cell[row] = count
    return cell


def _limits(
    store: ReleaseStore, release: ReleaseInfo, kinship: Kinship, record: StoredRecord, printed: LikeliestPrint
) -> tuple[Limits, Limits]:
    system = record.body["system"]
    material = str(systems()[system]["material"])
    millimetre = units().find("mm", "length")
    told = tolerances(store, release, system, printed.nominal(record), millimetre)
    scale = 1000.0 * printed.unit.scale
    outside = printed.outside_diameter * scale
    diameter = _limited(told["outside_diameter"], outside, _general_diameter(kinship, material, printed, outside))
    if printed.wall is None:
        return diameter, Limits(np.nan, np.nan)
    wall = printed.wall * scale
    general = _general_wall(kinship, material, printed, wall, outside)
    return diameter, _limited(told["wall"], wall, general, mirrored=printed.wall_is == "nominal")


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


def rows_by(kind: Integers, chosen: int) -> list[int]:
    """The rows of one size or cell."""
    return [int(row) for row in np.flatnonzero(kind == chosen)]
