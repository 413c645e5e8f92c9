"""From the node values of a grid to the form that joins them; used by recommending and auditing.

A grid may need other grids, found by id: its pressure can begin at a saturation pressure, and its temperature can end
at a freezing point, that another grid gives.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from refdb.forms.functions import PLAIN, Functions
from refdb.forms.scaled import ScaledPolynomial
from refdb.problems import LedgerError
from refdb.records.printed import printed_exactly, printed_number
from refdb.units import UnitTable
from refdb.vocabulary import STATE

JUST_LIQUID = 1.0 + 1e-9
"""Factor on the pressure of a state at saturation, so that rounding does not make it boil."""

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


class GridCurve:
    """A grid, ready to be evaluated at states.

    Attributes:
        spans: the interval in which it holds, by part of the state; a pressure that begins at saturation starts at 0.
        typical: the typical size of its values in the grid's unit, for a relative error.
    """

    def __init__(self, grid: Mapping[str, Any], grids: Grids, table: UnitTable, functions: Functions = PLAIN) -> None:
        self._form = ScaledPolynomial(grid_spec(grid, grids, table), functions)
        self._places = [_Place.of(axis, table) for axis in grid["axes"]]
        self.spans: dict[str, tuple[float, float]] = {place.name: place.span for place in self._places}
        self.typical: float = statistics.median(abs(printed_number(text)) for text in grid["values"])

    def value(self, state: Mapping[str, float | None]) -> float:
        """The value in the grid's unit. Without a pressure, 1 atm is taken; one below saturation is raised to it.

        Args:
            state: parts of the state by name, in the units of `refdb.vocabulary.STATE`.
        """
        arguments: list[float] = []
        for place in self._places:
            held = state.get(place.name)
            if place.name == "pressure":
                held = place.atmosphere if held is None else held
                least = self._form.boiling(arguments[0]) * JUST_LIQUID if self._form.saturation is not None else 0.0
                arguments.append(max(held * place.per_held, least))
            else:
                assert held is not None  # noqa: S101 - asked only where its spans say
                arguments.append(held * place.per_held + place.offset)
        return float(self._form.value(*arguments))


@dataclass(frozen=True, slots=True)
class _Place:
    """One axis: the linear map from a part of the state, in the unit of states, to the argument of the axis."""

    name: str
    per_held: float
    offset: float
    atmosphere: float
    span: tuple[float, float]

    @classmethod
    def of(cls, axis: Mapping[str, Any], table: UnitTable) -> _Place:
        part = STATE[axis["name"]]
        held, printed = table.find(part.unit, part.dimension), table.find(axis["unit"], part.dimension)
        offset = float(held.to(0.0, printed))
        factor = float(held.to(1.0, printed)) - offset
        low = 0.0 if axis["low"] == "saturation" else float(printed.to(printed_number(axis["low"]), held))
        high = float(printed.to(printed_number(axis["high"]), held))
        atmosphere = table.find("atm", "pressure").to(1.0, held) if part.dimension == "pressure" else 0.0
        return cls(axis["name"], factor, offset, float(atmosphere), (low, high))


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
