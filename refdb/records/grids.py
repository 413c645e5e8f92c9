"""From the node values of a grid to the form that joins them; used by recommending and auditing.

A grid may need other grids, found by id: its pressure can begin at a saturation pressure, and its temperature can end
at a freezing point, that another grid gives.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from refdb.forms.functions import PLAIN, Functions
from refdb.forms.state_function import StateFunction
from refdb.forms.states import Interval
from refdb.problems import LedgerError
from refdb.records.printed import printed_exactly, printed_number
from refdb.records.state_functions import axis_of, held_unit
from refdb.units import UnitTable
from refdb.vocabulary import STATE

REMEMBERED = 4096
"""Number of grids whose coefficients are kept: many rows of a liquid share one saturation pressure."""

Grids = Callable[[str], Mapping[str, Any]]
"""Finds a grid in its plain form by id."""


def grid_spec(grid: Mapping[str, Any], grids: Grids, table: UnitTable) -> dict[str, Any]:
    """The description of the form that joins a grid's nodes; coefficients keep every digit of a double.

    The polynomial goes through the values as printed, and each coefficient is rounded once.

    Raises:
        LedgerError: the grid of the saturation pressure that bounds it is not joined in its logarithm.
    """
    axes: list[dict[str, Any]] = [dict(axis) for axis in grid["axes"]]
    for axis in axes:
        del axis["nodes"]
        if axis["low"] == "saturation" and "saturation" in grid:
            axis["low"] = saturation_spec(grids(grid["saturation"]), grids, axis["unit"], table)
    return {
        "name": "scaled-polynomial/1",
        "of": grid["of"],
        "axes": axes,
        "coefficients": _lists(
            _coefficients(tuple(grid["values"]), tuple(axis["nodes"] for axis in grid["axes"]), grid["of"])
        ),
        **_freezing_spec(grid, grids, table),
    }


def function_of_grid(
    grid: Mapping[str, Any], grids: Grids, table: UnitTable, functions: Functions = PLAIN
) -> StateFunction:
    """A grid as a function of states, in its own unit; a pressure that begins at saturation starts at 0.

    Raises:
        LedgerError: as for `grid_spec`.
    """
    return StateFunction(
        grid_spec(grid, grids, table),
        [axis_of(axis, table) for axis in grid["axes"]],
        intervals={axis["name"]: _interval(axis, table) for axis in grid["axes"]},
        functions=functions,
    )


def typical_size(grid: Mapping[str, Any]) -> float:
    """The typical size of a grid's values in its unit, for a relative error."""
    return statistics.median(abs(printed_number(text)) for text in grid["values"])


def _interval(axis: Mapping[str, Any], table: UnitTable) -> Interval:
    printed, held = table.find(axis["unit"], STATE[axis["name"]].dimension), held_unit(axis["name"], table)
    low = 0.0 if axis["low"] == "saturation" else float(printed.to(printed_number(axis["low"]), held))
    return Interval.between(low, float(printed.to(printed_number(axis["high"]), held)))


def _lists(texts: Any) -> Any:
    return [_lists(inner) for inner in texts] if isinstance(texts, tuple) else texts


def _freezing_spec(grid: Mapping[str, Any], grids: Grids, table: UnitTable) -> dict[str, Any]:
    """The freezing point as a function of the rest of the state, for a grid that reaches below it."""
    if "freezing" not in grid:
        return {}
    return {"freezing": grid_spec(grids(grid["freezing"]), grids, table)}


def saturation_spec(grid: Mapping[str, Any], grids: Grids, unit: str, table: UnitTable) -> dict[str, Any]:
    """The form of the saturation pressure in the unit of the axis that begins there.

    The factor between the units is added to the logarithm.
    """
    if grid["of"] != "logarithm":
        raise LedgerError([f"{grid['id']}: a saturation pressure is joined in its logarithm; write of = 'logarithm'"])
    from refdb.exact.functions import log

    spec = grid_spec(grid, grids, table)
    factor = float(table.find(grid["unit"], "pressure").to(1.0, table.find(unit, "pressure")))
    spec["coefficients"][0] = repr(float(spec["coefficients"][0]) + log(factor))
    return spec


@lru_cache(maxsize=REMEMBERED)
def _coefficients(values: tuple[str, ...], counts: tuple[int, ...], of: str) -> Any:
    """The coefficients as nested tuples of texts, by power of the first, second and third scaled variable."""
    from refdb.exact.chebyshev import coefficients

    return _texts(coefficients([printed_exactly(text) for text in values], counts, of == "logarithm"))


def _texts(numbers: Any) -> Any:
    return tuple(map(_texts, numbers)) if isinstance(numbers, tuple) else repr(numbers)
