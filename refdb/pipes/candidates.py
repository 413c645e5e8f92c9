"""Every pipe of a release as numbers, made ready for matching: limits, equal dimensions, how usual each is.

Limits are those of `refdb.pipes.limits`.

Equal dimensions. Diameters that print alike within the rounding between inches and millimetres (0.05 mm, or 0.05 % of
the diameter) are one size, and walls of a size within 0.02 mm are one wall: nobody can tell such pipes apart, whatever
standard they are made to.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.pipes.limits import pipe_limits
from refdb.pipes.materials import MISTAKEN, OTHER_GRADE, SAME_CLASS, SHARED_SIZES, Kinship
from refdb.pipes.pipe import printed_dimensions
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
NO_WALL = (np.nan, np.nan)


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
    limits = [
        pipe_limits(store, release, kinship, record, entry) for record, entry in zip(records, printed, strict=True)
    ]
    diameter = np.array([told.diameter for told in limits]).reshape(-1, 2)
    wall = np.array([told.wall or NO_WALL for told in limits]).reshape(-1, 2)
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


def rows_by(kind: Integers, chosen: int) -> list[int]:
    """The rows of one size or cell."""
    return [int(row) for row in np.flatnonzero(kind == chosen)]
