"""Leaving one source out, for liquids whose rows are fitted through points: does the rest hold what it printed?

The campaign fits every property of a liquid again without one lineage of documents, wherever two or more measured it
near 1 atm, and asks where that lineage's points lie. `tests/recommend/test_curve_fit.py` holds the figures.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from functools import cache

from refdb.build.vocabulary import compile_vocabulary
from refdb.ledger import load_ledger
from refdb.recommend.curve_fit import CurveFitting, Polynomial
from refdb.recommend.curve_points import series_of
from refdb.recommend.liquid_bounds import Liquids
from refdb.recommend.policy import load_policy
from refdb.records.models import PropertyReading, RecommendedValue, Source, Subject
from refdb.units import UnitTable
from tests.conftest import PROJECT

COVERAGE_FACTOR = 2.0
FITTED = ("sound_speed", "density", "dynamic_viscosity")


@dataclass(frozen=True)
class LeftOutPoint:
    """A point of a left-out document, relative to the curve of the others, with both standard uncertainties."""

    property_id: str
    reading: str
    celsius: float
    relative: float
    row_uncertainty: float
    own_uncertainty: float

    @property
    def score(self) -> float:
        """The deviation in combined standard uncertainties."""
        return abs(self.relative) / math.hypot(self.row_uncertainty, self.own_uncertainty)


@cache
def campaign() -> tuple[LeftOutPoint, ...]:
    """Of every left-out document and property, the point that lies farthest from the curve of the others.

    Handbooks' curves are laid aside, so that it is the fit through points that is tried, of every liquid with points.
    """
    vocabulary = compile_vocabulary(PROJECT)
    ledger, policy = load_ledger(PROJECT, vocabulary), load_policy(PROJECT)
    table = UnitTable.from_documents(vocabulary["units"])
    sources = {source.id: source for source in ledger.of(Source)}
    subjects = {subject.id: subject for subject in ledger.of(Subject)}
    liquids = Liquids(ledger.records, table)
    grouped: dict[tuple[str, str], list[PropertyReading]] = defaultdict(list)
    for reading in ledger.of(PropertyReading):
        if reading.property in FITTED and reading.basis == "measured":
            if subjects[reading.subject].subject_kind == "liquid" and subjects[reading.subject].family != "water":
                grouped[reading.subject, reading.property].append(reading)
    left: list[LeftOutPoint] = []
    for (subject, property_id), readings in sorted(grouped.items()):
        entry = policy.curve_fits[property_id]
        fitting = CurveFitting(entry, liquids.of(subject), sources, vocabulary["properties"][property_id]["si"], table)
        lineages: dict[str, list[PropertyReading]] = defaultdict(list)
        for reading in readings:
            lineages[sources[reading.source].lineage or reading.source].append(reading)
        for lineage, own in sorted(lineages.items()):
            others = [reading for name, group in lineages.items() if name != lineage for reading in group]
            row = fitting.recommend(subjects[subject], others) if others else None
            if row is None:
                continue
            curve = _curve(row)
            points = []
            for reading in own:
                series, _ = series_of(reading, row.unit, entry, table)
                for celsius, value in zip(series.celsius, series.values, strict=True) if series is not None else ():
                    if curve.low <= celsius <= curve.high:
                        points.append(
                            LeftOutPoint(
                                property_id,
                                reading.id,
                                celsius,
                                value / curve.value(celsius) - 1.0,
                                float(row.uncertainty.number) / 100.0,
                                series.own,
                            )
                        )
            if points:
                left.append(max(points, key=lambda point: point.score))
    return tuple(left)


def _curve(row: RecommendedValue) -> Polynomial:
    form = row.form
    low, high = (float(form["axes"][0][end]) for end in ("low", "high"))
    numbers = [float(number[0] if isinstance(number, list) else number) for number in form["coefficients"]]
    return Polynomial(numbers, low, high, form["of"] == "logarithm")


def inside(points: tuple[LeftOutPoint, ...]) -> float:
    """The share of points inside the expanded uncertainty."""
    return sum(point.score <= COVERAGE_FACTOR for point in points) / len(points)
