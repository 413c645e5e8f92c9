"""A grid of a solution beside measured points and beside the row of water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.exact.functions import EXACT
from refdb.forms import ScaledPolynomial
from refdb.forms.states import StatePoint
from refdb.recommend.solutions.points import Point
from refdb.records import digest, printed_number
from refdb.records.models import (
    Grid,
    Input,
    RecommendedValue,
)
from refdb.records.state_functions import function_of_form
from refdb.units import UnitTable


@dataclass(frozen=True)
class ComparedWithGrid:
    """A reading or a row, its largest relative deviation from a grid, and where that is."""

    id: str
    digest: str
    relative: float
    at: str

    def input(self) -> Input:
        """As what the row was compared with."""
        note = f"compared: {100.0 * self.relative:+.2g} % at most, at {self.at}"
        return Input(id=self.id, digest=self.digest, weight="0", note=note)


def compared_points(form: ScaledPolynomial, grid: Grid, points: Sequence[Point]) -> list[ComparedWithGrid]:
    """Each reading's largest relative deviation at its own points, where they lie inside the grid."""
    if len(grid.axes) != 2:
        return []
    found: dict[str, ComparedWithGrid] = {}
    for point in points:
        if point.reading.basis == "computed" or not _inside(grid, point):
            continue
        relative = point.value / float(form.value(point.celsius, point.strength)) - 1.0
        known = found.get(point.reading.id)
        if known is None or abs(relative) > abs(known.relative):
            at = f"{point.celsius:.4g} degC, {point.strength:.3g} kg/kg"
            found[point.reading.id] = ComparedWithGrid(point.reading.id, digest(point.reading.plain()), relative, at)
    return [found[row] for row in sorted(found)]


def _inside(grid: Grid, point: Point) -> bool:
    return all(
        printed_number(axis.low) <= held <= printed_number(axis.high)
        for axis, held in zip(grid.axes, point.place, strict=True)
    )


def compared_water(
    form: ScaledPolynomial, grid: Grid, published: Mapping[str, RecommendedValue], table: UnitTable
) -> list[ComparedWithGrid]:
    """The grid at strength 0 beside the row of water, every 5 K."""
    water = published.get(f"water.{grid.property}")
    if water is None or len(grid.axes) != 2 or printed_number(grid.axes[1].low) > 0.0:
        return []
    low, high = (printed_number(text) for text in (grid.axes[0].low, grid.axes[0].high))
    beside = function_of_form(water.form, table, EXACT)
    deviations = [
        (float(form.value(t, 0.0)) / float(beside.value(StatePoint(t, STANDARD_ATMOSPHERE))) - 1.0, t)
        for t in _every(max(low, 0.01), high, 5.0)
    ]
    relative, celsius = max(deviations, key=lambda pair: abs(pair[0]))
    return [ComparedWithGrid(water.id, digest(water.plain()), -relative, f"{celsius:.4g} degC, strength 0")]


def _every(low: float, high: float, width: float) -> list[float]:
    """Places from end to end, about a width apart."""
    steps = max(1, round((high - low) / width))
    return [low + (high - low) * step / steps for step in range(steps + 1)]
