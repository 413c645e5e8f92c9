"""What the outside checks of solutions share: points of documents, surfaces through some of them, rows as functions."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from refdb.forms import make_form
from refdb.recommend.solution_policy import SolutionPolicy
from refdb.recommend.solutions.points import Point, points_of
from refdb.recommend.solutions.surface import SolutionSurface
from refdb.recommend.solutions.surface_fit import Order
from refdb.records.models import RECORD, PropertyReading, RecommendedValue
from refdb.units import UnitTable, units
from refdb.vocabulary import properties, vocabulary
from tests.outside.evidence import Records

Row = Callable[[float, float], float]


def points_in(records: Records, policy: SolutionPolicy, row: str, source: str | None = None) -> list[Point]:
    """The points of a solution's property, of one document where it is named."""
    subject, name = row.split(".")
    readings: list[PropertyReading] = [
        RECORD.validate_python(body)  # type: ignore[misc]
        for row_id, body in sorted(records.items())
        if row_id.startswith(f"{row}.") and (source is None or body["source"] == source)
    ]
    table = UnitTable.from_documents(vocabulary()["units"])
    return points_of(readings, properties()[name]["si"], policy.molar_masses[subject], table)[0]


def surface_through(points: Iterable[Point], records: Records, order: Order | None = None) -> SolutionSurface:
    """The surface that rule surface-fit/2 draws through points."""
    kept = list(points)
    water = RECORD.validate_python(records[f"water.{kept[0].reading.property}"])
    assert isinstance(water, RecommendedValue)
    return SolutionSurface.through(kept, water, "value", units(), order)


def without_each(
    points: list[Point], width: float, place: Callable[[Point], float]
) -> list[tuple[list[Point], list[Point]]]:
    """For each isotherm or strength that has others on both sides: the points without it, and its points."""
    centres: list[float] = []
    for value in sorted(map(place, points)):
        if not centres or value - centres[-1] > width:
            centres.append(value)
    parted = []
    for centre in centres[1:-1]:
        out = [point for point in points if centre <= place(point) <= centre + width]
        parted.append(([point for point in points if point not in out], out))
    return parted


def largest_error(points: list[Point], records: Records, width: float, place: Callable[[Point], float]) -> float:
    """The largest error of surfaces of the released order at the points that were left out, in the row's unit."""
    errors, order = [], surface_through(points, records).fit.order
    for kept, out in without_each(points, width, place):
        surface = surface_through(kept, records, order)
        errors += [abs(float(surface.value(p.celsius, p.strength)) - p.value) for p in out]
    return max(errors)


def row_of(records: Records, row: str) -> Row:
    """A released row as a function of temperature in degC and mass fraction."""
    form = make_form(records[row]["form"])
    return lambda celsius, strength: float(form.value(float(celsius), float(strength)))


def relative_uncertainty(body: dict[str, Any]) -> float:
    """The standard uncertainty of a row as a fraction of its value."""
    assert body["uncertainty"]["unit"] == "%"
    return float(body["uncertainty"]["number"]) / 100.0


def turns(values: Iterable[float]) -> int:
    """How often a curve changes between rising and falling."""
    steps = np.diff(np.array(list(values)))
    signs = np.sign(steps[steps != 0.0])
    return int(np.count_nonzero(signs[1:] != signs[:-1]))
