"""Synthetic pipes with known truth, measured as a technician would, and what the matcher makes of them.

The generator takes from the product only what is printed: outside diameter, wall and the limits of a standard. Where a
standard prints no limits it has its own. True dimensions lie within the limits, evenly ("even"), or as a triangle with
its top in the middle ("aimed": mills aim at the middle and seldom deliver a limit); neither is the matcher's normal
distribution. Errors of tapes, calipers and gauges are the generator's own too.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from refdb.database import Database
from refdb.pipes.candidates import Candidates, candidates
from refdb.pipes.measurement import Measured, read_measurement
from refdb.pipes.pipe import PipeAnswer
from refdb.pipes.posterior import posterior
from refdb.pipes.question import PipeQuestion
from refdb.problems import NotAvailable, UnknownName
from refdb.units import Quantity, units
from refdb.vocabulary import systems

Floats = npt.NDArray[np.float64]

SEED = 20_261_125
TAPED_FROM = 50.0
"""mm: smaller pipes are measured with calipers."""
PLASTICS = frozenset({"pvc-rigid", "pvc-chlorinated", "hdpe", "pe-x", "polypropylene", "abs"})
IRON = frozenset({"ductile-iron", "cast-iron"})


@dataclass(frozen=True)
class Nominal:
    """A printed pipe and the limits its true dimensions lie within, in mm."""

    id: str
    material: str
    diameter: tuple[float, float]
    wall: tuple[float, float]


@dataclass(frozen=True)
class Specimen:
    """A pipe as it is, and as it was measured; lengths in mm."""

    nominal: Nominal | None
    material: str
    diameter: float
    wall: float
    asked: PipeQuestion
    diameter_error: float
    wall_error: float


@cache
def printed_pipes(database: Database) -> list[Nominal]:
    """Every pipe of the database that has a wall."""
    found = []
    for system, definition in systems().items():
        material = str(definition["material"])
        # A system may not be in the release, or only be recalled.
        with contextlib.suppress(UnknownName, NotAvailable):
            walled = [pipe for pipe in database.pipes(system) if pipe.printed_wall is not None]
            found += [Nominal(pipe.id, material, _diameter(pipe), _wall(pipe, material)) for pipe in walled]
    return found


def _side(limit: Quantity | None, otherwise: float) -> float:
    return float(limit.magnitude) if limit is not None else otherwise


def _diameter(pipe: PipeAnswer) -> tuple[float, float]:
    outside, limits = float(pipe.outside_diameter.magnitude), pipe.tolerance["outside_diameter"]
    untold = {"maximum": (0.015 * outside, 0.0), "minimum": (0.0, 0.005 * outside)}
    minus, plus = untold.get(pipe.outside_diameter_is, (max(0.1, 0.005 * outside),) * 2)
    if limits is not None:
        minus, plus = _side(limits.minus, minus), _side(limits.plus, plus)
    return outside - minus, outside + plus


def _wall(pipe: PipeAnswer, material: str) -> tuple[float, float]:
    wall, limits = float(pipe.wall.magnitude), pipe.tolerance["wall"]
    minus = plus = 0.1 * wall
    if pipe.wall_is == "minimum":
        minus, plus = 0.0, wall * (0.3 if material in IRON else 0.12)
    if limits is not None:
        minus = _side(limits.minus, minus)
        plus = _side(limits.plus, max(plus, minus))
    return wall - minus, wall + plus


Draw = Callable[[np.random.Generator, float, float], float]


def even(rng: np.random.Generator, low: float, high: float) -> float:
    """Anywhere between the limits."""
    return float(rng.uniform(low, high))


def aimed(rng: np.random.Generator, low: float, high: float) -> float:
    """Rather in the middle between the limits."""
    return float(rng.triangular(low, (low + high) / 2.0, high)) if high > low else low


def millimetres(value: float) -> Quantity:
    """A length."""
    return Quantity(value, units().find("mm", "length"))


def measured(
    rng: np.random.Generator, nominal: Nominal | None, material: str, diameter: float, wall: float, **wrong: float
) -> Specimen:
    """A pipe measured: tape or calipers, and a gauge; material told.

    Args:
        wrong: `paint` (mm) that is not told, `gauge_factor` of a gauge set to another speed, `behind` (mm) that a gauge
            reads along with the wall.
    """
    seen = diameter + 2.0 * wrong.get("paint", 0.0)
    asked = PipeQuestion(material=material)
    if seen >= TAPED_FROM:
        around = math.pi * (seen + rng.uniform(0.05, 0.2))
        reach = 0.3 + 0.2 * math.ceil(around / 1000.0)
        around += rng.normal(0.0, 0.5) + rng.uniform(-reach, reach)
        asked = replace(asked, circumference=millimetres(around))
        error = math.hypot(0.5, reach / math.sqrt(3.0)) / math.pi
    else:
        oval = seen * rng.uniform(0.0, 0.003)
        readings = [seen + sign * oval + rng.normal(0.0, 0.06) for sign in (1.0, -1.0)]
        asked = replace(asked, outside_diameter=[millimetres(reading) for reading in readings])
        error = 0.06 / math.sqrt(2.0)
    read = (wall + wrong.get("behind", 0.0)) * wrong.get("gauge_factor", 1.0)
    spread = math.hypot(0.08, 0.008 * read)
    # A gauge shows no less than it can resolve, and nobody writes down a wall that leaves no bore.
    read = min(max(0.2, read + rng.normal(0.0, spread)), 0.45 * seen)
    return Specimen(nominal, material, diameter, wall, replace(asked, wall=millimetres(read)), error, spread)


def within_standards(database: Database, count: int, draw: Draw, seed: int = SEED) -> list[Specimen]:
    """Pipes of all systems, every printed pipe alike, true to their standards."""
    rng = np.random.default_rng(seed)
    nominal = printed_pipes(database)
    chosen = (nominal[number] for number in rng.integers(0, len(nominal), count))
    return [measured(rng, pipe, pipe.material, draw(rng, *pipe.diameter), draw(rng, *pipe.wall)) for pipe in chosen]


def _corroded(rng: np.random.Generator, pipe: Nominal) -> Specimen:
    worn = aimed(rng, *pipe.wall) * rng.uniform(0.4, 0.6)
    return measured(rng, pipe, pipe.material, aimed(rng, *pipe.diameter), worn)


def _painted(rng: np.random.Generator, pipe: Nominal) -> Specimen:
    paint = float(rng.uniform(0.15, 0.6))
    return measured(rng, pipe, pipe.material, aimed(rng, *pipe.diameter), aimed(rng, *pipe.wall), paint=paint)


def _lined(rng: np.random.Generator, pipe: Nominal) -> Specimen:
    behind = float(rng.uniform(1.0, 4.0))
    return measured(rng, pipe, pipe.material, aimed(rng, *pipe.diameter), aimed(rng, *pipe.wall), behind=behind)


def _other_speed(rng: np.random.Generator, pipe: Nominal) -> Specimen:
    # A gauge left on steel reads plastics more than twice too thick, iron and copper by a quarter; on steel it was left
    # on plastic or on the shear wave.
    others = float(rng.choice([0.4, 0.55])) if pipe.material == "carbon-steel" else 1.27
    factor = 2.5 if pipe.material in PLASTICS else others
    return measured(rng, pipe, pipe.material, aimed(rng, *pipe.diameter), aimed(rng, *pipe.wall), gauge_factor=factor)


def _no_standard(rng: np.random.Generator, pipe: Nominal) -> Specimen:
    diameter = float(np.exp(rng.uniform(math.log(20.0), math.log(1500.0))))
    wall = diameter * float(np.exp(rng.uniform(math.log(0.01), math.log(0.12))))
    return measured(rng, None, pipe.material, diameter, wall)


BROKEN: dict[str, Callable[[np.random.Generator, Nominal], Specimen]] = {
    "corroded to half its wall": _corroded,
    "painted, and the paint not told": _painted,
    "lined, and the gauge reads the lining too": _lined,
    "gauge left on another speed": _other_speed,
    "of no standard": _no_standard,
}
"""Pipes that are not what the model says."""


def broken(database: Database, kind: str, count: int, seed: int = SEED) -> list[Specimen]:
    """Pipes of all systems that break the model in one way."""
    rng = np.random.default_rng(seed)
    nominal = [pipe for pipe in printed_pipes(database) if pipe.diameter[0] >= 20.0]
    return [BROKEN[kind](rng, nominal[number]) for number in rng.integers(0, len(nominal), count)]


@dataclass
class Matched:
    """What the matcher makes of specimens: probabilities of every size and every size and wall, one line each."""

    known: Candidates
    specimens: list[Specimen]
    sizes: Floats
    cells: Floats
    none: Floats

    @cached_property
    def row(self) -> dict[str, int]:
        """Row ids to their number."""
        return {record.id: number for number, record in enumerate(self.known.records)}

    def truth(self, of: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
        """The size, or the size and wall, that each specimen is; -1 for none."""
        return np.array([-1 if s.nominal is None else of[self.row[s.nominal.id]] for s in self.specimens])

    @cached_property
    def size_right(self) -> npt.NDArray[np.bool_]:
        """Whether the likeliest size is the true one."""
        right: npt.NDArray[np.bool_] = self.sizes.argmax(axis=1) == self.truth(self.known.size)
        return right

    def wall_among(self, first: int) -> npt.NDArray[np.bool_]:
        """Whether the true size and wall is among the likeliest so many."""
        ranked = np.argsort(-self.cells, axis=1)[:, :first]
        among: npt.NDArray[np.bool_] = (ranked == self.truth(self.known.cell)[:, None]).any(axis=1)
        return among

    @cached_property
    def confident_size(self) -> Floats:
        """The probability of the likeliest size."""
        likeliest: Floats = self.sizes.max(axis=1)
        return likeliest

    @cached_property
    def confident_cell(self) -> Floats:
        """The probability of the likeliest size and wall."""
        likeliest: Floats = self.cells.max(axis=1)
        return likeliest

    @cached_property
    def within_size(self) -> npt.NDArray[np.bool_]:
        """Whether the true diameter lies within the limits of a row of the likeliest size."""
        best, inside = self.sizes.argmax(axis=1), []
        for size, specimen in zip(best, self.specimens, strict=True):
            rows = np.flatnonzero(self.known.size == size)
            away = np.abs(self.known.diameter[rows] - specimen.diameter)
            inside.append(bool((away <= self.known.diameter_half[rows]).any()))
        return np.array(inside)


def matched(database: Database, specimens: list[Specimen]) -> Matched:
    """The matcher's probabilities for many pipes at once."""
    known = _known(database)
    sizes = np.zeros((len(specimens), int(known.size.max()) + 1))
    cells = np.zeros((len(specimens), int(known.cell.max()) + 1))
    none = np.zeros(len(specimens))
    for material in sorted({specimen.material for specimen in specimens}):
        lines = [number for number, specimen in enumerate(specimens) if specimen.material == material]
        read = [_read(specimens[line], material) for line in lines]
        diameter, wall = (np.array([[m.value, m.uncertainty] for m in column]) for column in zip(*read, strict=True))
        prior = known.prior(material, None)
        found = posterior(known, prior, diameter[:, 0], diameter[:, 1], wall[:, 0], wall[:, 1])
        none[lines] = found.none
        sizes[lines] = _summed(found.pipe + found.worn, known.size)
        cells[lines] = _summed(found.pipe, known.cell)
    return Matched(known, specimens, sizes, cells, none)


@cache
def _known(database: Database) -> Candidates:
    return candidates(database.store, database.release(), estimates=False)


def _summed(probability: Floats, group: npt.NDArray[np.intp]) -> Floats:
    """The columns of each group, together."""
    order = np.argsort(group, kind="stable")
    starts = np.searchsorted(group[order], np.arange(int(group.max()) + 1))
    together: Floats = np.add.reduceat(probability[:, order], starts, axis=1)
    return together


def _read(specimen: Specimen, material: str) -> tuple[Measured, Measured]:
    read = read_measurement(specimen.asked, material, "plastic" if material in PLASTICS else "metal", _no_speed)
    assert read.wall is not None
    return read.outside_diameter, read.wall


def _no_speed(material: str, celsius: float | None) -> tuple[float, float, str]:
    raise AssertionError("no gauge speed is told here")


def ceiling(result: Matched, pipes: list[Nominal], draw: Draw, first: int) -> float:
    """How often the true size and wall is among the likeliest so many, for one who knows how the pipes were drawn."""
    hits = 0
    for material in sorted({specimen.material for specimen in result.specimens}):
        rows = [pipe for pipe in pipes if pipe.material == material]
        cells = np.array([result.known.cell[result.row[pipe.id]] for pipe in rows])
        for specimen in (s for s in result.specimens if s.material == material):
            outside, wall = _read(specimen, material)
            told = _density(draw, outside.value, specimen.diameter_error, np.array([pipe.diameter for pipe in rows]))
            told = told * _density(draw, wall.value, specimen.wall_error, np.array([pipe.wall for pipe in rows]))
            ranked = np.argsort(-np.bincount(cells, weights=told))[:first]
            assert specimen.nominal is not None
            hits += int(result.known.cell[result.row[specimen.nominal.id]] in ranked)
    return hits / len(result.specimens)


def _density(draw: Draw, seen: float, error: float, limits: Floats) -> Floats:
    """Density of a reading with a normal error, of true values drawn between limits."""
    from scipy.special import ndtr

    low, high = limits[:, 0], np.maximum(limits[:, 1], limits[:, 0] + 1e-6)
    if draw is even:
        flat: Floats = (ndtr((seen - low) / error) - ndtr((seen - high) / error)) / (high - low)
        return flat
    half = (high - low) / 2.0

    def ramp(away: Floats) -> Floats:
        bent: Floats = away * ndtr(away / error) + error * np.exp(-0.5 * (away / error) ** 2) / math.sqrt(2.0 * math.pi)
        return bent

    triangle: Floats = (ramp(seen - low) - 2.0 * ramp(seen - low - half) + ramp(seen - high)) / half**2
    return np.maximum(triangle, 0.0)


@dataclass(frozen=True)
class Bin:
    """Cases whose probability lies in one tenth: how many, what was said, and what came true."""

    count: int
    said: float
    true: float


def reliability(said: Floats, true: npt.NDArray[np.bool_]) -> list[Bin]:
    """The cases by tenths of the probability that was said; tenths without cases are left out."""
    tenth = np.minimum((said * 10.0).astype(int), 9)
    here = (tenth == number for number in range(10))
    return [
        Bin(int(cases.sum()), float(said[cases].mean()), float(true[cases].mean())) for cases in here if cases.any()
    ]


def calibration_error(bins: list[Bin]) -> float:
    """The expected calibration error: how far what was said is from what came true, on average."""
    return sum(each.count * abs(each.said - each.true) for each in bins) / sum(each.count for each in bins)
