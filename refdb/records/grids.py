"""Node values made into the form that joins them, from their plain form.

Recommending and auditing both join nodes, so both find it here. Other grids are found by id, because a pressure may
begin at a saturation pressure, and a temperature end at a freezing point, that grids of their own give.
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
"""Of a state just at saturation, rounding must not say that it boils."""

REMEMBERED = 4096
"""Grids whose coefficients are kept: many rows of a liquid are bounded by one saturation pressure."""

Grids = Callable[[str], Mapping[str, Any]]
"""Finds a grid in its plain form by id."""


def grid_spec(grid: Mapping[str, Any], grids: Grids, table: UnitTable) -> dict[str, Any]:
    """The description of the form that joins a grid's nodes; coefficients keep every digit of a double.

    They are those of the polynomial through the values as printed, each rounded once.

    Raises:
        LedgerError: the saturation pressure that bounds it is not joined in its logarithm.
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
        spans: where it holds, by part of the state; a pressure that begins at saturation from zero on.
        typical: the size of its values, for a relative error, in the grid's unit.
    """

    def __init__(self, grid: Mapping[str, Any], grids: Grids, table: UnitTable, functions: Functions = PLAIN) -> None:
        self._form = ScaledPolynomial(grid_spec(grid, grids, table), functions)
        self._places = [_Place.of(axis, table) for axis in grid["axes"]]
        self.spans: dict[str, tuple[float, float]] = {place.name: place.span for place in self._places}
        self.typical: float = statistics.median(abs(printed_number(text)) for text in grid["values"])

    def value(self, state: Mapping[str, float | None]) -> float:
        """The value in the grid's unit; at 1 atm where no pressure is given, at saturation where that is higher.

        Args:
            state: parts of the state by name, in the units that states are held in.
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
    """One axis: what a part of the state, in the unit it is held in, is multiplied with and added to."""

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
    """The saturation pressure in the unit of the axis that begins there: a factor is a summand of the logarithm."""
    if grid["of"] != "logarithm":
        raise LedgerError([f"{grid['id']}: a saturation pressure is joined in its logarithm; write of = 'logarithm'"])
    from refdb.exact.functions import log

    spec = grid_spec(grid, grids, table)
    factor = float(table.find(grid["unit"], "pressure").to(1.0, table.find(unit, "pressure")))
    spec["coefficients"][0] = repr(float(spec["coefficients"][0]) + log(factor))
    return spec


@lru_cache(maxsize=REMEMBERED)
def _coefficients(values: tuple[str, ...], counts: tuple[int, ...], of: str) -> Any:
    """Nested tuples of texts, by power of the scaled first variable, of the second, of the third."""
    from refdb.exact.chebyshev import coefficients

    return _texts(coefficients([printed_exactly(text) for text in values], counts, of == "logarithm"))


def _texts(numbers: Any) -> Any:
    return tuple(map(_texts, numbers)) if isinstance(numbers, tuple) else repr(numbers)
