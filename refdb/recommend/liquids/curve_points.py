"""Readings of a liquid near 1 atm as points in SI, for rule `curve-fit/2`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from refdb.exact.sums import root_sum_square
from refdb.recommend.policy import CurveFit
from refdb.records import printed_number
from refdb.records.models import PrintedQuantity, PropertyReading, Scalar, Table
from refdb.records.readings import single_value, stated_uncertainty
from refdb.units import UnitTable

HIGHEST_PASCALS = 1e6
"""Points above this are not near 1 atm."""


@dataclass(frozen=True)
class Series:
    """The points of one reading: temperatures in degC, values in SI, and its own relative standard uncertainty.

    Attributes:
        compiled: it was neither measured by its authors nor computed from a handbook's equation.
    """

    reading: PropertyReading
    celsius: list[float]
    values: list[float]
    own: float
    compiled: bool

    def part(self, holds: Callable[[float], bool]) -> Series | None:
        """The points at whose temperature something holds; None where it holds at none."""
        kept = [pair for pair in zip(self.celsius, self.values, strict=True) if holds(pair[0])]
        if not kept:
            return None
        return replace(self, celsius=[c for c, _ in kept], values=[v for _, v in kept])


def series_of(reading: PropertyReading, si: str, policy: CurveFit, table: UnitTable) -> tuple[Series | None, str]:
    """The points of a reading; or None, and the words that say why it has none."""
    if reading.doubts:
        return None, "; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)
    if reading.seen == "memory":
        return None, "from memory"
    pressure = reading.state.pressure
    if isinstance(pressure, PrintedQuantity):
        pascals = table.find(pressure.unit, "pressure").to(printed_number(pressure.number), table.find("Pa"))
        if pascals > HIGHEST_PASCALS:
            return None, f"at {pressure.number} {pressure.unit}, which is not near 1 atm"
    celsius = _temperatures(reading, table)
    if celsius is None:
        return None, "its temperature is not stated, or it is not a function of temperature"
    values = _values(reading, si, table)
    compiled = reading.basis not in {"measured", "computed"}
    return Series(reading, celsius, values, _own(reading, values, si, policy, table, compiled), compiled), ""


def _temperatures(reading: PropertyReading, table: UnitTable) -> list[float] | None:
    degrees = table.find("degC", "temperature")
    if isinstance(reading, Scalar) and isinstance(reading.state.temperature, PrintedQuantity):
        printed = reading.state.temperature
        return [float(table.find(printed.unit, "temperature").to(printed_number(printed.number), degrees))]
    if isinstance(reading, Table) and reading.variable.name == "temperature":
        unit = table.find(reading.variable.unit, "temperature")
        return [round(float(unit.to(printed_number(x), degrees)), 9) for x, _ in reading.points]
    return None


def _values(reading: PropertyReading, si: str, table: UnitTable) -> list[float]:
    unit = table.find(reading.unit)
    target = table.find(si, unit.dimension)
    if isinstance(reading, Table):
        return [float(unit.to(printed_number(y), target)) for _, y in reading.points]
    return [single_value(reading.plain(), target, table).value]


def _own(
    reading: PropertyReading, values: list[float], si: str, policy: CurveFit, table: UnitTable, compiled: bool
) -> float:
    """What one laboratory is off by, with what it states; a compilation is off by more."""
    if compiled:
        return printed_number(policy.compiled) / 100.0
    target = table.find(si, table.find(reading.unit).dimension)
    stated = stated_uncertainty(reading.plain(), values[0], target, table) or 0.0
    return root_sum_square(stated / values[0], printed_number(policy.repeatability) / 100.0)
