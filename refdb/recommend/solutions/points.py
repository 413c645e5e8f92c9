"""What documents measured of solutions, as points in temperature and mass fraction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from refdb.problems import Problem
from refdb.records import printed_number
from refdb.records.models import PrintedQuantity, PropertyReading, Scalar, Table
from refdb.units import UnitTable
from refdb.vocabulary import STATE

WATER_MOLAR_MASS = 18.01528
"""g/mol: Wagner and Pruss, J. Phys. Chem. Ref. Data 31, 387-535 (2002), for IAPWS-95.

Not the sum of standard atomic weights, 18.015, of `refdb.values.molar_mass`: surfaces of released rows go through
fractions that were found with this one."""

HIGHEST_PRESSURE = 0.2e6
"""Pa; a point measured above belongs to no row near 1 atm. Water's density grows by 0.005 % up to there."""

COMPUTED_PRESSURE = 3.0e6
"""Pa; points computed with an equation of state for a liquid kept from boiling: sound gains 0.2 m/s for 0.1 MPa."""

PURE = 0.999
"""Mass fraction from which a solution is its pure end member."""

Place = tuple[float, float]
"""Temperature in degC and mass fraction."""


@dataclass(frozen=True, slots=True)
class Point:
    """One value in the row's SI unit at a temperature in degC and a mass fraction, and the reading it comes from."""

    reading: PropertyReading
    celsius: float
    strength: float
    value: float

    @property
    def place(self) -> Place:
        """Where it lies."""
        return self.celsius, self.strength


def points_of(
    readings: Iterable[PropertyReading], si: str, molar_mass: float, table: UnitTable
) -> tuple[list[Point], list[tuple[PropertyReading, str]]]:
    """Every point of the single values and tables, and the readings that give none, with the reason.

    Args:
        molar_mass: of what is dissolved, in g/mol, for strengths in moles.
    """
    found: list[Point] = []
    left_out: list[tuple[PropertyReading, str]] = []
    for reading in readings:
        if not isinstance(reading, Scalar | Table):
            continue
        reason = _why_not(reading, molar_mass, table)
        if reason is None:
            found.extend(_points(reading, si, molar_mass, table))
        else:
            left_out.append((reading, reason))
    return found, left_out


def mass_fraction(strength: PrintedQuantity, molar_mass: float, table: UnitTable) -> float | None:
    """A printed strength in kg/kg; None where it needs a density, or does not say of what."""
    number = printed_number(strength.number)
    if strength.unit == "mol/mol":
        return number * molar_mass / (number * molar_mass + (1.0 - number) * WATER_MOLAR_MASS)
    if strength.unit == "mol/kg":
        return number * molar_mass / (1000.0 + number * molar_mass)
    try:
        unit = table.find(strength.unit, STATE["strength"].dimension)
    except Problem:
        return None
    return float(unit.to(number, table.find("kg/kg", STATE["strength"].dimension)))


def at_pure_end(reading: PropertyReading, table: UnitTable) -> bool:
    """Whether a reading of a solution is one of what is dissolved, by itself, near 1 atm."""
    strength = reading.state.strength
    if strength is None or strength.unit == "mol/kg" or _pascals(reading, table) > HIGHEST_PRESSURE:
        return False
    # Any molar mass does: at the pure end a mole fraction and a mass fraction are one.
    share = mass_fraction(strength, WATER_MOLAR_MASS, table)
    return share is not None and share > PURE


def _why_not(reading: Scalar | Table, molar_mass: float, table: UnitTable) -> str | None:
    if reading.doubts:
        return f"{reading.doubts[0].code}: {reading.doubts[0].text}"
    if reading.seen == "memory":
        return "only remembered"
    by_strength = isinstance(reading, Table) and reading.variable.name == "strength"
    strength = reading.state.strength
    if not by_strength and (strength is None or mass_fraction(strength, molar_mass, table) is None):
        return "its strength is no mass fraction without a density"
    if not (isinstance(reading, Table) and not by_strength) and not isinstance(
        reading.state.temperature, PrintedQuantity
    ):
        return "states no temperature"
    limit = COMPUTED_PRESSURE if reading.basis == "computed" else HIGHEST_PRESSURE
    if _pascals(reading, table) > limit:
        return "measured under pressure"
    return None


def _pascals(reading: PropertyReading, table: UnitTable) -> float:
    pressure = reading.state.pressure
    if not isinstance(pressure, PrintedQuantity):
        return 0.0
    return float(table.find(pressure.unit, "pressure").to(printed_number(pressure.number), table.find("Pa")))


def _points(reading: Scalar | Table, si: str, molar_mass: float, table: UnitTable) -> Iterator[Point]:
    own = table.find(reading.unit, table.find(si).dimension)
    for celsius, strength, printed in _places(reading, molar_mass, table):
        yield Point(reading, celsius, strength, float(own.to(printed_number(printed), table.find(si))))


def _places(reading: Scalar | Table, molar_mass: float, table: UnitTable) -> Iterator[tuple[float, float, str]]:
    if isinstance(reading, Scalar):
        yield _celsius(reading, table), _strength(reading, molar_mass, table), reading.number
        return
    for x, y in reading.points:
        printed = PrintedQuantity(number=x, unit=reading.variable.unit)
        if reading.variable.name == "strength":
            share = mass_fraction(printed, molar_mass, table)
            assert share is not None  # noqa: S101 - the ledger checks the unit of a table's variable
            yield _celsius(reading, table), share, y
        else:
            yield _in_celsius(printed, table), _strength(reading, molar_mass, table), y


def _celsius(reading: PropertyReading, table: UnitTable) -> float:
    assert isinstance(reading.state.temperature, PrintedQuantity)  # noqa: S101 - others were left out before
    return _in_celsius(reading.state.temperature, table)


def _in_celsius(printed: PrintedQuantity, table: UnitTable) -> float:
    unit = table.find(printed.unit, "temperature")
    return float(unit.to(printed_number(printed.number), table.find("degC", "temperature")))


def _strength(reading: PropertyReading, molar_mass: float, table: UnitTable) -> float:
    assert reading.state.strength is not None  # noqa: S101 - others were left out before
    share = mass_fraction(reading.state.strength, molar_mass, table)
    assert share is not None  # noqa: S101 - others were left out before
    return share


def document_weights(points: Sequence[Point]) -> list[float]:
    """A weight for every point, so that each document weighs the same however many points it prints."""
    counts: dict[str, int] = {}
    for point in points:
        counts[point.reading.source] = counts.get(point.reading.source, 0) + 1
    return [1.0 / counts[point.reading.source] for point in points]
