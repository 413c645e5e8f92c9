"""The temperature slope of a speed, where a document prints one that does not come from static moduli or a guess."""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from refdb.constants import ROOM_CELSIUS
from refdb.exact.sums import root_sum_square
from refdb.recommend.policy import Family
from refdb.records import digest, number_text
from refdb.records.models import Basis, Input, PropertyReading, Range, Scalar
from refdb.records.readings import single_value
from refdb.units import UnitTable

ADMITTED: tuple[Basis, ...] = ("measured", "standard", "evaluated", "computed")
"""Bases on which a slope may rest; one derived from static moduli was held against no measured speed."""

UNCERTAIN = 0.25
"""Relative standard uncertainty of a printed slope that states none: what documents differ by (judgement)."""


@dataclass(frozen=True, slots=True)
class Slope:
    """A relative slope per kelvin about 20 degC, its standard uncertainty, and the readings behind it."""

    relative: float
    uncertainty: float
    readings: Sequence[PropertyReading]

    def form(self, value: float) -> dict[str, object]:
        """The description of a speed that has this slope and a value at 20 degC."""
        coefficients = {
            "c0": number_text(value, 5),
            "c1": number_text(self.relative * value, 4),
            "t0": f"{ROOM_CELSIUS:g}",
        }
        variable = {"name": "temperature", "unit": "degC"}
        return {"name": "temperature-coefficient/1", "variable": variable, "coefficients": coefficients}

    def inputs(self) -> list[Input]:
        """The readings of the slope, as inputs without weight."""
        return [
            Input(id=reading.id, digest=digest(reading.plain()), note="temperature slope") for reading in self.readings
        ]


def slope_of(property_id: str, value: float, readings: Iterable[PropertyReading], table: UnitTable) -> Slope | None:
    """The slope that documents print for a speed, or None where none does.

    Args:
        value: the speed at 20 degC in m/s, by which an absolute slope becomes a relative one.
        readings: every reading of the subject.
    """
    found: list[tuple[Scalar | Range, float]] = []
    for reading in readings:
        if not isinstance(reading, Scalar | Range) or reading.doubts or reading.basis not in ADMITTED:
            continue
        if reading.property not in (f"{property_id}_slope", f"{property_id}_relative_slope"):
            continue
        target = table.si(table.find(reading.unit).dimension)
        read = single_value(reading.plain(), target, table).value
        found.append((reading, read / value if reading.property == f"{property_id}_slope" else read))
    if not found:
        return None
    slopes = [slope for _, slope in found]
    spread = statistics.stdev(slopes) if len(slopes) > 1 else 0.0
    mean = statistics.fmean(slopes)
    return Slope(mean, root_sum_square(spread, UNCERTAIN * mean), [reading for reading, _ in found])


def neglected(slope: Slope | None, family: Family) -> float:
    """The standard uncertainty per kelvin, relative, of what the temperature does and the row does not say."""
    return float(family.speed_slope) if slope is None else slope.uncertainty
