"""What a measured pipe can be: outcomes with their names and probabilities, before they are told in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.pipes.candidates import Candidates
from refdb.pipes.measurement import Measured, PipeMeasurement
from refdb.pipes.pipe import PipeAnswer
from refdb.units import Quantity, units
from refdb.values.options import Options

if TYPE_CHECKING:
    from refdb.pipes.documents import Outcome


@dataclass(frozen=True, slots=True)
class EqualRow:
    """One of the rows that have the dimensions of an outcome, and its part of the probability."""

    row: int
    probability: float


@dataclass(frozen=True, slots=True)
class PipeMatchItem:
    """One outcome.

    Attributes:
        outcome: `pipe`, a size and a wall; `size`, where no wall was measured; `worn`, a size with a wall that its
            standard does not have; `none`, none of these.
        names: the rows of equal dimensions, the likeliest first; empty for `none`.
        pipe: the likeliest row; None for `none`.
        bore: what the limits of the likeliest row make of the bore; None where no wall is known.
        deviations: how many standard uncertainties the measured diameter and wall are above the middle of the limits.
    """

    outcome: Outcome
    probability: float
    names: tuple[EqualRow, ...] = ()
    pipe: PipeAnswer | None = None
    bore: Measured | None = None
    deviations: tuple[float | None, float | None] = (None, None)


@dataclass(frozen=True, slots=True)
class PipeSize:
    """A size, whatever its wall: outside diameter in mm, probability and rows."""

    size: int
    diameter: float
    probability: float
    rows: tuple[int, ...]


@dataclass
class PipeOutcomes:
    """What a measured pipe can be, as numbers.

    Attributes:
        items: the outcomes, the likeliest first, `none` always among them.
        sizes: the sizes, whatever the wall, the likeliest first.
        unlisted: the probability of all outcomes that are not listed.
    """

    known: Candidates
    release: str
    options: Options
    measured: PipeMeasurement
    material: str | None
    system: str | None
    items: list[PipeMatchItem]
    sizes: list[PipeSize]
    unlisted: float

    @property
    def best(self) -> PipeMatchItem:
        """The likeliest outcome."""
        return self.items[0]

    def shown(self, millimetres: float) -> Quantity:
        """A length in the unit of the answer."""
        unit = units().find("in" if self.options.system == "us" else "mm", "length")
        return Quantity(units().find("mm", "length").to(millimetres, unit), unit)
