"""Rule `grid/1`: node values of an equation of state, joined by the polynomial through them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from refdb.forms import make_form
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, number_text, weakest_basis, weakest_seen
from refdb.recommend.policy import GridChoice
from refdb.recommend.reference import Curve, curves_of
from refdb.records import digest, printed_number
from refdb.records.models import (
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
)
from refdb.records.rules import GRID
from refdb.units import UnitTable


def recommend_grid(
    choice: GridChoice, readings: Sequence[PropertyReading], ledger: Mapping[str, AnyRecord], si: str, table: UnitTable
) -> RecommendedValue:
    """The row that follows the grid `choice.reading`.

    Args:
        ledger: every record, for the saturation pressure and the freezing point.

    Raises:
        LedgerError: the reading named in `sources/rules.toml` is not a usable grid in the property's SI unit.
    """
    grids = {row: record for row, record in ledger.items() if isinstance(record, Grid)}
    grid = grids.get(choice.reading)
    freezing = _freezing(choice, ledger)
    if grid is None or grid.doubts or grid.unit != si:
        raise LedgerError([f"sources/rules.toml: grid {choice.row}: '{choice.reading}' is not a usable grid in {si}"])
    spec = grid_spec(grid, grids, table)
    compared = _compared(
        make_form(spec), grid, table, [curve for curve in curves_of(readings) if curve.reading.unit == si]
    )
    largest = max((abs(relative) for _, relative, _ in compared), default=0.0)
    stated = printed_number(choice.uncertainty.number)
    percent = max(stated, 100.0 * largest / RECTANGULAR)
    return RecommendedValue(
        id=choice.row,
        subject=grid.subject,
        property=grid.property,
        unit=si,
        form=spec,
        domain=_domain(grid),
        uncertainty=RecommendedUncertainty(
            number=number_text(percent, 2),
            unit="%",
            code="stated" if percent == stated else "between-sources",
            text=choice.uncertainty.text if percent == stated else "largest disagreement with other curves at 1 atm",
            per_megapascal=choice.uncertainty.per_megapascal,
        ),
        rule=GRID.name,
        basis=weakest_basis([grid.basis]),
        seen=weakest_seen([grid.seen]),
        rung="published",
        inputs=[
            Input(id=grid.id, digest=digest(grid.plain()), weight="1", note="followed"),
            *_saturation_input(grid, grids),
            *(_freezing_input(reading) for reading in freezing),
            *(_compared_input(curve, relative, at) for curve, relative, at in compared),
        ],
        freezes_at=PrintedQuantity(number=freezing[0].number, unit=freezing[0].unit) if freezing else None,
        working={
            "reason": choice.reason,
            "fit_error": f"{grid.fit_error.number} {grid.fit_error.unit}",
            "largest_disagreement_at_1_atm": f"{number_text(100.0 * largest, 2)} %",
        },
    )


def grid_spec(grid: Grid, grids: Mapping[str, Grid], table: UnitTable) -> dict[str, Any]:
    """The description of the form that joins a grid's nodes; coefficients keep every digit of a double."""
    axes: list[dict[str, Any]] = [axis.plain() for axis in grid.axes]
    for axis in axes:
        del axis["nodes"]
        if axis["low"] == "saturation" and grid.saturation is not None:
            axis["low"] = _saturation_spec(grids[grid.saturation], grids, axis["unit"], table)
    return {
        "name": "scaled-polynomial/1",
        "of": grid.of,
        "axes": axes,
        "coefficients": [[repr(number) for number in row] for row in _coefficients(grid)],
    }


def _saturation_spec(grid: Grid, grids: Mapping[str, Grid], unit: str, table: UnitTable) -> dict[str, Any]:
    """The saturation pressure in the unit of the axis that begins there: a factor is a summand of the logarithm."""
    if grid.of != "logarithm":
        raise LedgerError([f"{grid.id}: a saturation pressure is joined in its logarithm; write of = 'logarithm'"])
    spec = grid_spec(grid, grids, table)
    factor = table.find(grid.unit, "pressure").to(1.0, table.find(unit, "pressure"))
    spec["coefficients"][0][0] = repr(float(spec["coefficients"][0][0]) + math.log(factor))
    return spec


def _coefficients(grid: Grid) -> list[list[float]]:
    """Rows by power of the scaled first variable, numbers by power of the scaled second."""
    import numpy as np
    from numpy.polynomial import polynomial

    values = np.array([printed_number(text) for text in grid.values])
    if grid.of == "logarithm":
        values = np.log(values)
    counts = [axis.nodes for axis in grid.axes]
    table = values.reshape(counts[0], -1)
    for place, count in enumerate(counts):
        nodes = -np.cos(np.pi * np.arange(count) / (count - 1))
        vandermonde = polynomial.polyvander(nodes, count - 1)
        table = np.linalg.solve(vandermonde, table) if place == 0 else np.linalg.solve(vandermonde, table.T).T
    return [[float(number) for number in row] for row in table]


def _domain(grid: Grid) -> dict[StateVariable, PrintedInterval | LiquidInterval]:
    domain: dict[StateVariable, PrintedInterval | LiquidInterval] = {}
    for axis in grid.axes:
        if axis.low == "saturation":
            row = f"{grid.subject}.saturation_pressure"
            domain[axis.name] = LiquidInterval(low="saturation", high=axis.high, unit=axis.unit, saturation=row)
        else:
            domain[axis.name] = PrintedInterval(low=axis.low, high=axis.high, unit=axis.unit)
    return domain


def _compared(form: Any, grid: Grid, table: UnitTable, curves: Sequence[Curve]) -> list[tuple[Curve, float, float]]:
    """Each curve with its largest relative deviation from the grid at 1 atm, and where that is."""
    if len(grid.axes) != 2:
        return []
    atmosphere = table.find("atm", "pressure").to(1.0, table.find(grid.axes[1].unit, "pressure"))
    low, high = (printed_number(text) for text in (grid.axes[0].low, grid.axes[0].high))
    found = []
    for curve in curves:
        start, end = max(low, curve.low), min(high, curve.high)
        steps = max(1, math.ceil(end - start))
        temperatures = [start + (end - start) * step / steps for step in range(steps + 1)]
        deviations = [(curve.value(t) / form.value(t, atmosphere) - 1.0, t) for t in temperatures]
        largest = max(deviations, key=lambda pair: abs(pair[0]))
        found.append((curve, *largest))
    return found


def _compared_input(curve: Curve, relative: float, at: float) -> Input:
    note = f"compared at 1 atm: {100.0 * relative:+.2g} % at most, at {at:.4g} degC"
    return Input(id=curve.reading.id, digest=digest(curve.reading.plain()), weight="0", note=note)


def _freezing(choice: GridChoice, ledger: Mapping[str, AnyRecord]) -> list[Scalar]:
    if choice.freezing is None:
        return []
    reading = ledger.get(choice.freezing)
    if not isinstance(reading, Scalar) or reading.property != "freezing_point" or reading.doubts:
        raise LedgerError(
            [f"sources/rules.toml: grid {choice.row}: '{choice.freezing}' is not a usable freezing point"]
        )
    return [reading]


def _freezing_input(reading: Scalar) -> Input:
    return Input(id=reading.id, digest=digest(reading.plain()), note="where the liquid freezes at 1 atm")


def _saturation_input(grid: Grid, grids: Mapping[str, Grid]) -> list[Input]:
    if grid.saturation is None:
        return []
    saturation = grids[grid.saturation]
    return [Input(id=saturation.id, digest=digest(saturation.plain()), note="where the liquid begins")]
