"""Rule `grid/4`: node values of an equation of state, joined by the polynomial through them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.exact.functions import EXACT
from refdb.forms import make_form
from refdb.forms.scales import to_scale
from refdb.forms.states import StatePoint
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, doubts_told, weakest_basis, weakest_seen
from refdb.recommend.liquids.reference import PrintedCurve, curves_of
from refdb.recommend.policy import GridChoice
from refdb.records import digest, number_text, printed_number
from refdb.records.grids import grid_spec as plain_grid_spec
from refdb.records.grids import saturation_spec as plain_saturation_spec
from refdb.records.models import (
    AnyInterval,
    AnyRecord,
    Grid,
    Input,
    LiquidInterval,
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    StateVariable,
    Surface,
    Table,
    UnfrozenInterval,
)
from refdb.records.readings import function_of_reading
from refdb.records.rules import GRID_EXACT
from refdb.records.state_functions import axis_of
from refdb.units import UnitTable
from refdb.vocabulary import STATE


@dataclass(frozen=True)
class ComparedNearAtmosphere:
    """An independent reading, its largest relative deviation from the grid at 1 atm, and where that is."""

    reading: PropertyReading
    relative: float
    at: str


def recommend_grid(
    choice: GridChoice, readings: Sequence[PropertyReading], ledger: Mapping[str, AnyRecord], si: str, table: UnitTable
) -> RecommendedValue:
    """The row that follows the grid `choice.reading`.

    Args:
        ledger: every record, for the saturation pressure and the freezing point.

    Raises:
        LedgerError: the reading named in `sources/rules` is not a usable grid in the property's SI unit.
    """
    grids = {row: record for row, record in ledger.items() if isinstance(record, Grid)}
    grid = grids.get(choice.reading)
    freezing = _freezing(choice, ledger)
    if grid is None or grid.doubts or grid.unit != si:
        named = [grid] if grid is not None else []
        raise LedgerError(
            [f"sources/rules: grid {choice.row}: '{choice.reading}' is not a usable grid in {si}{doubts_told(named)}"]
        )
    spec = grid_spec(grid, grids, table)
    compared = _compared(
        make_form(spec, EXACT),
        grid,
        table,
        [curve for curve in curves_of(readings) if curve.reading.unit == si],
        [surface for surface in readings if isinstance(surface, Surface) and surface.unit == si and not surface.doubts],
    )
    return RecommendedValue(
        id=choice.row,
        subject=grid.subject,
        property=grid.property,
        unit=si,
        form=spec,
        domain=domain_of(grid),
        uncertainty=_uncertainty(choice, compared),
        rule=GRID_EXACT.name,
        basis=weakest_basis([grid.basis]),
        seen=weakest_seen([grid.seen]),
        rung="published",
        inputs=[
            Input(id=grid.id, digest=digest(grid.plain()), weight="1", note="followed"),
            *bounding_inputs(grid, grids),
            *(freezing_input(reading) for reading in freezing),
            *map(_compared_input, compared),
        ],
        freezes_at=PrintedQuantity(number=freezing[0].number, unit=freezing[0].unit) if freezing else None,
        working={
            "reason": choice.reason,
            "fit_error": f"{grid.fit_error.number} {grid.fit_error.unit}",
            "largest_disagreement_at_1_atm": f"{number_text(_largest(compared), 2)} %",
        },
    )


def _largest(compared: Sequence[ComparedNearAtmosphere]) -> float:
    """The largest disagreement with another reading, in percent."""
    return 100.0 * max((abs(entry.relative) for entry in compared), default=0.0)


def _uncertainty(choice: GridChoice, compared: Sequence[ComparedNearAtmosphere]) -> RecommendedUncertainty:
    """What the policy states; in percent, no less than the largest disagreement as a rectangular distribution."""
    stated = choice.uncertainty
    if stated.unit != "%":
        return RecommendedUncertainty(number=stated.number, unit=stated.unit, code="stated", text=stated.text)
    percent = max(printed_number(stated.number), _largest(compared) / RECTANGULAR)
    as_stated = percent == printed_number(stated.number)
    return RecommendedUncertainty(
        number=number_text(percent, 2),
        unit="%",
        code="stated" if as_stated else "between-sources",
        text=stated.text if as_stated else "largest disagreement with other curves at 1 atm",
        per_megapascal=stated.per_megapascal,
    )


def grid_spec(grid: Grid, grids: Mapping[str, Grid], table: UnitTable) -> dict[str, Any]:
    """The description of the form that joins a grid's nodes."""
    return plain_grid_spec(grid.plain(), lambda row: grids[row].plain(), table)


def saturation_spec(grid: Grid, grids: Mapping[str, Grid], unit: str, table: UnitTable) -> dict[str, Any]:
    """The saturation pressure in the unit of the axis that begins there."""
    return plain_saturation_spec(grid.plain(), lambda row: grids[row].plain(), unit, table)


def domain_of(grid: Grid) -> dict[StateVariable, AnyInterval]:
    """The domain of a row that follows a grid: its axes, from saturation or freezing where they begin there."""
    domain: dict[StateVariable, AnyInterval] = {}
    for axis in grid.axes:
        if axis.low == "saturation":
            row = f"{grid.subject}.saturation_pressure"
            domain[axis.name] = LiquidInterval(low="saturation", high=axis.high, unit=axis.unit, saturation=row)
        elif axis.name == "temperature" and grid.freezing is not None:
            row = f"{grid.subject}.freezing_point"
            domain[axis.name] = UnfrozenInterval(low="freezing", high=axis.high, unit=axis.unit, freezing=row)
        else:
            domain[axis.name] = PrintedInterval(low=axis.low, high=axis.high, unit=axis.unit)
    return domain


def _compared(
    form: Any, grid: Grid, table: UnitTable, curves: Sequence[PrintedCurve], surfaces: Sequence[Surface]
) -> list[ComparedNearAtmosphere]:
    """Each curve and each equation of several variables with its largest relative deviation from the grid at 1 atm."""
    names = tuple(axis.name for axis in grid.axes)
    if names[:2] != ("temperature", "pressure"):
        return []
    atmosphere = table.find("atm", "pressure").to(1.0, table.find(grid.axes[1].unit, "pressure"))
    if len(names) == 2:
        return [_compared_curve(form, grid, atmosphere, curve) for curve in curves]
    return [_compared_surface(form, grid, table, atmosphere, surface) for surface in surfaces]


def _compared_curve(form: Any, grid: Grid, atmosphere: float, curve: PrintedCurve) -> ComparedNearAtmosphere:
    low, high = (printed_number(text) for text in (grid.axes[0].low, grid.axes[0].high))
    temperatures = [t for t in _compared_at(curve, low, high) if low <= t <= high]
    deviations = [(curve.value(t) / form.value(t, atmosphere) - 1.0, t) for t in temperatures]
    relative, at = max(deviations, key=lambda pair: abs(pair[0]))
    return ComparedNearAtmosphere(curve.reading, relative, f"{at:.4g} degC")


def _compared_at(curve: PrintedCurve, low: float, high: float) -> list[float]:
    """Every kelvin along an equation; of a measured table its own points alone: it says nothing between them."""
    reading = curve.reading
    if isinstance(reading, Table) and reading.basis == "measured":
        return [printed_number(x) / to_scale(1.0, reading.variable.scale) for x, _ in reading.points]
    return _steps(max(low, curve.low), min(high, curve.high))


def _compared_surface(
    form: Any, grid: Grid, table: UnitTable, atmosphere: float, surface: Surface
) -> ComparedNearAtmosphere:
    """At 1 atm, over the temperatures and contents that both cover, where the liquid is not frozen."""
    equation, contents = function_of_reading(surface.plain(), table, EXACT), axis_of(grid.axes[2].plain(), table)
    lattice = [(t, s) for t in _shared(grid, surface, 0, table) for s in _shared(grid, surface, 2, table)]
    deviations = []
    for celsius, content in lattice:
        state = StatePoint(celsius, STANDARD_ATMOSPHERE, **{contents.name: contents.held(content)})
        deviations.append((equation.value(state) / form.value(celsius, atmosphere, content) - 1.0, celsius, content))
    relative, celsius, content = max(deviations, key=lambda found: abs(found[0]))
    return ComparedNearAtmosphere(surface, relative, f"{celsius:.4g} degC, {content:.4g} {grid.axes[2].unit}")


def _shared(grid: Grid, surface: Surface, place: int, table: UnitTable) -> list[float]:
    """Steps of a variable over the range of both, in the grid's unit."""
    own = grid.axes[place]
    theirs = next(axis for axis in surface.axes if axis.name == own.name)
    dimension = STATE[own.name].dimension
    unit, target = table.find(theirs.unit, dimension), table.find(own.unit, dimension)
    low, high = (float(unit.to(printed_number(text), target)) for text in (theirs.low, theirs.high))
    return _steps(max(low, printed_number(own.low)), min(high, printed_number(own.high)))


def _steps(low: float, high: float) -> list[float]:
    count = max(1, math.ceil(high - low))
    return [low + (high - low) * step / count for step in range(count + 1)]


def _compared_input(compared: ComparedNearAtmosphere) -> Input:
    note = f"compared at 1 atm: {100.0 * compared.relative:+.2g} % at most, at {compared.at}"
    return Input(id=compared.reading.id, digest=digest(compared.reading.plain()), weight="0", note=note)


def _freezing(choice: GridChoice, ledger: Mapping[str, AnyRecord]) -> list[Scalar]:
    if choice.freezing is None:
        return []
    reading = ledger.get(choice.freezing)
    if not isinstance(reading, Scalar) or reading.property != "freezing_point" or reading.doubts:
        raise LedgerError([f"sources/rules: grid {choice.row}: '{choice.freezing}' is not a usable freezing point"])
    return [reading]


def freezing_input(reading: Scalar) -> Input:
    """The reading that says where the liquid freezes, as an input."""
    return Input(id=reading.id, digest=digest(reading.plain()), note="where the liquid freezes at 1 atm")


def boiling_input(vapour: Grid) -> Input:
    """The vapour pressure that says where a liquid boils, as an input of a row that knows no pressure."""
    return Input(id=vapour.id, digest=digest(vapour.plain()), note="where the liquid boils")


def bounding_inputs(grid: Grid, grids: Mapping[str, Grid]) -> list[Input]:
    """The grids that bound the liquid, as inputs."""
    bounds = ((grid.saturation, "where the liquid begins"), (grid.freezing, "where the liquid freezes"))
    return [
        Input(id=grids[row].id, digest=digest(grids[row].plain()), note=note) for row, note in bounds if row is not None
    ]
