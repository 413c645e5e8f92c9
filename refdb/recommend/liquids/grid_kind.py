"""Rules `grid/5`, `grid/6`: node values of equations by kinds of equation, compared with all else that was seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refdb.exact.functions import EXACT
from refdb.forms.scaled import ScaledPolynomial
from refdb.forms.states import JUST_LIQUID, StatePoint
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.liquids.grid import boiling_input, bounding_inputs, domain_of, freezing_input, grid_spec
from refdb.recommend.policy import GridKind, Policy
from refdb.records import digest, number_text, printed_number
from refdb.records.grids import function_of_grid
from refdb.records.models import (
    AnyInterval,
    AnyRecord,
    Equation,
    Grid,
    Input,
    LiquidInterval,
    PrintedQuantity,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    StateVariable,
    Table,
)
from refdb.records.readings import function_of_reading, own_points, single_value
from refdb.records.rules import GRID_NEAR_ATMOSPHERE_EXACT, GRID_OF_KIND_EXACT
from refdb.units import UnitTable

COMPARED = 40
"""Steps over the shared range of an equation at which it is compared."""

NEAR_ROOM, HANDBOOK_COMPARED = (-20.0, 60.0), 8
"""Between which temperatures in degC, and at how many steps, a handbook's curve is compared."""

BOILING_UNSEEN = "Boiling was not checked: no vapour pressure of this liquid was seen."

Point = tuple[float, float]
"""A temperature in degC and the value that a reading gives there, in the row's unit."""


@dataclass(frozen=True)
class ComparedReading:
    """A reading, its largest relative deviation from the grid, and where that is."""

    reading: PropertyReading
    relative: float
    at: str

    def input(self) -> Input:
        """As what the row was compared with."""
        note = f"compared: {100.0 * self.relative:+.2g} % at most, at {self.at}"
        return Input(id=self.reading.id, digest=digest(self.reading.plain()), weight="0", note=note)


@dataclass(frozen=True)
class Bounds:
    """Where liquids end: every grid by id, and by subject the reading that says where it freezes."""

    grids: Mapping[str, Grid]
    freezing: Mapping[str, Scalar]

    @classmethod
    def of(cls, ledger: Mapping[str, AnyRecord]) -> Bounds:
        """From every record of the ledger; of several freezing points the first by id, none that is only remembered."""
        freezing: dict[str, Scalar] = {}
        for _, record in sorted(ledger.items()):
            if isinstance(record, Scalar) and record.property == "freezing_point" and _counts(record):
                freezing.setdefault(record.subject, record)
        return cls({row: record for row, record in ledger.items() if isinstance(record, Grid)}, freezing)

    def vapour_pressure(self, grid: Grid) -> Grid | None:
        """The vapour pressure that the document of a grid gives for the same liquid; none for itself."""
        if grid.property == "saturation_pressure":
            return None
        found = (
            other
            for other in self.grids.values()
            if (other.subject, other.property) == (grid.subject, "saturation_pressure")
        )
        return next((other for other in found if other.source == grid.source and not other.doubts), None)


def _counts(reading: PropertyReading) -> bool:
    return not reading.doubts and reading.seen != "memory"


def recommend_kind(
    policy: Policy, readings: Sequence[PropertyReading], bounds: Bounds, si: str, table: UnitTable
) -> RecommendedValue | None:
    """The row that follows a grid of a kind that the policy names; None where no grid without doubts is of one.

    Args:
        readings: all of one property of one subject.
    """
    grids = [reading for reading in readings if isinstance(reading, Grid) and reading.unit == si]
    for grid in sorted((grid for grid in grids if not grid.doubts), key=lambda grid: grid.id):
        kind = policy.grid_kind(grid.property, grid.source)
        if kind is not None:
            return _row(grid, kind, readings, bounds, table)
    return None


def _row(
    grid: Grid, kind: GridKind, readings: Sequence[PropertyReading], bounds: Bounds, table: UnitTable
) -> RecommendedValue:
    spec = grid_spec(grid, bounds.grids, table)
    compared = _Comparison(grid, ScaledPolynomial(spec, EXACT), table).with_readings(readings)
    vapour = bounds.vapour_pressure(grid) if kind.near_atmosphere else None
    if vapour is not None:
        spec |= {"boiling": {"pressure": grid_spec(vapour, bounds.grids, table)}}
    largest = 100.0 * max((abs(entry.relative) for entry in compared), default=0.0)
    freezing = bounds.freezing.get(grid.subject)
    return RecommendedValue(
        id=f"{grid.subject}.{grid.property}",
        subject=grid.subject,
        property=grid.property,
        unit=grid.unit,
        form=spec,
        domain=_domain(grid),
        uncertainty=_uncertainty(kind, largest),
        rule=GRID_NEAR_ATMOSPHERE_EXACT.name if kind.near_atmosphere else GRID_OF_KIND_EXACT.name,
        basis=weakest_basis([grid.basis]),
        seen=weakest_seen([grid.seen]),
        rung="published",
        inputs=[
            Input(id=grid.id, digest=digest(grid.plain()), weight="1", note="followed"),
            *bounding_inputs(grid, bounds.grids),
            *([boiling_input(vapour)] if vapour is not None else []),
            *([freezing_input(freezing)] if freezing is not None else []),
            *(entry.input() for entry in compared),
        ],
        freezes_at=PrintedQuantity(number=freezing.number, unit=freezing.unit) if freezing is not None else None,
        working={
            "reason": kind.reason,
            "fit_error": f"{grid.fit_error.number} {grid.fit_error.unit}",
            "largest_disagreement": f"{number_text(largest, 2)} %",
        },
        notes=_notes(grid, kind.near_atmosphere and vapour is None) or None,
    )


def _notes(grid: Grid, boils_unseen: bool) -> list[str]:
    """What the grid's flags note, and that nothing tells where the liquid boils."""
    told = [flag.text for flag in grid.flags or [] if flag.code == "note"]
    return [*told, BOILING_UNSEEN] if boils_unseen and grid.property != "saturation_pressure" else told


def _no_grid(row: str) -> Mapping[str, Any]:
    raise LookupError(f"a handbook's curve rests on no other grid, such as {row}")


def _domain(grid: Grid) -> dict[StateVariable, AnyInterval]:
    """The domain of the grid; a liquid that boils at 1 atm is answered at saturation where no pressure is given."""
    return {
        name: interval.model_copy(update={"not_given": "saturation"})
        if isinstance(interval, LiquidInterval)
        else interval
        for name, interval in domain_of(grid).items()
    }


def _uncertainty(kind: GridKind, largest: float) -> RecommendedUncertainty:
    """What the policy states, and no less than the largest disagreement as a rectangular distribution; in percent."""
    stated = kind.uncertainty
    percent = max(printed_number(stated.number), largest / RECTANGULAR)
    as_stated = percent == printed_number(stated.number)
    return RecommendedUncertainty(
        number=stated.number if as_stated else number_text(percent, 2),
        unit=stated.unit,
        code="stated" if as_stated else "between-sources",
        text=stated.text if as_stated else "largest disagreement with other readings, as a rectangular distribution",
        per_megapascal=stated.per_megapascal,
    )


class _Comparison:
    """A grid beside the other readings of its property."""

    def __init__(self, grid: Grid, form: ScaledPolynomial, table: UnitTable) -> None:
        self._grid = grid
        self._form = form
        self._table = table
        self._unit = table.find(grid.unit)
        axis = grid.axes[0]
        self._low, self._high = printed_number(axis.low), printed_number(axis.high)

    def with_readings(self, readings: Sequence[PropertyReading]) -> list[ComparedReading]:
        """Each reading that carries no doubt and was seen, where its states lie inside the grid."""
        if self._grid.axes[0].name != "temperature":
            return []
        found = (
            self._compared(reading) for reading in readings if reading.source != self._grid.source and _counts(reading)
        )
        return [entry for entry in found if entry is not None]

    def _compared(self, reading: PropertyReading) -> ComparedReading | None:
        deviations = []
        for celsius, value in self._points(reading):
            place = self._place(celsius, reading)
            if place is not None:
                relative = value / float(self._form.value(*place)) - 1.0
                deviations.append((relative, f"{celsius:.4g} degC" + self._pressure_words(reading)))
        if not deviations:
            return None
        relative, at = max(deviations, key=lambda pair: abs(pair[0]))
        return ComparedReading(reading, relative, at)

    def _points(self, reading: PropertyReading) -> Iterator[Point]:
        if isinstance(reading, Scalar | Range):
            temperature = reading.state.temperature
            if isinstance(temperature, PrintedQuantity):
                celsius = self._in(temperature, "degC", "temperature")
                yield celsius, single_value(reading.plain(), self._unit, self._table).value
        elif isinstance(reading, Equation | Table) and reading.variable.name == "temperature":
            function = function_of_reading(reading.plain(), self._table, EXACT)
            unit = self._table.find(reading.unit, self._unit.dimension)
            points = own_points(reading.plain(), self._table)
            for celsius in points.get("temperature") or self._temperatures(*function.spans["temperature"]):
                yield celsius, float(unit.to(function.value(StatePoint(celsius)), self._unit))
        elif isinstance(reading, Grid) and [axis.name for axis in reading.axes] == ["temperature"]:
            yield from self._points_of_handbook(reading)

    def _points_of_handbook(self, reading: Grid) -> Iterator[Point]:
        """A handbook's curve near room temperature: at its ends it says more of its form than of the liquid."""
        function = function_of_grid(reading.plain(), _no_grid, self._table, EXACT)
        unit = self._table.find(reading.unit, self._unit.dimension)
        low, high = function.spans["temperature"]
        low, high = max(low, self._low, NEAR_ROOM[0]), min(high, self._high, NEAR_ROOM[1])
        for step in range(HANDBOOK_COMPARED + 1) if low <= high else ():
            celsius = low + (high - low) * step / HANDBOOK_COMPARED
            yield celsius, float(unit.to(function.value(StatePoint(celsius)), self._unit))

    def _temperatures(self, low: float, high: float) -> list[float]:
        """Temperatures from one to another, as far as the grid reaches."""
        low, high = max(low, self._low), min(high, self._high)
        return [low + (high - low) * step / COMPARED for step in range(COMPARED + 1)] if low <= high else []

    def _place(self, celsius: float, reading: PropertyReading) -> tuple[float, ...] | None:
        """The arguments of the grid at a reading's state; None where that lies outside."""
        if not self._low <= celsius <= self._high:
            return None
        if len(self._grid.axes) == 1:
            return (celsius,)
        axis = self._grid.axes[1]
        unit = self._table.find(axis.unit, "pressure")
        boiling = float(self._form.boiling(celsius)) if self._form.saturation is not None else 0.0
        printed = reading.state.pressure
        if isinstance(printed, PrintedQuantity):
            pressure = self._in(printed, axis.unit, "pressure")
        else:
            pressure = max(self._table.find("atm", "pressure").to(1.0, unit), boiling * JUST_LIQUID)
        return (celsius, pressure) if boiling <= pressure <= printed_number(axis.high) else None

    def _pressure_words(self, reading: PropertyReading) -> str:
        printed = reading.state.pressure
        return f" and {printed.number} {printed.unit}" if isinstance(printed, PrintedQuantity) else ""

    def _in(self, printed: PrintedQuantity, unit: str, dimension: str) -> float:
        found = self._table.find(printed.unit, dimension)
        return float(found.to(printed_number(printed.number), self._table.find(unit, dimension)))
