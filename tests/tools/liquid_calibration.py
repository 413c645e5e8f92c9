"""Leaving one source out, for liquids whose rows are fitted through points: does the rest hold what it printed?

The campaign fits every property of a liquid again without one lineage of documents, wherever two or more measured it
near 1 atm, and asks where that lineage's points lie. `tests/recommend/test_curve_fit.py` holds the figures.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from refdb.ledger import load_ledger
from refdb.recommend.liquids.bounds import Liquids
from refdb.recommend.liquids.curve_fit import CurveFitting
from refdb.recommend.liquids.curve_points import series_of
from refdb.recommend.liquids.temperature_curve import TemperatureCurve
from refdb.recommend.policy import CurveFit, load_policy
from refdb.records.models import PropertyReading, RecommendedValue, Source, Subject
from refdb.release.vocabulary import compile_vocabulary
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
    return tuple(point for case in _cases() for point in case.left_out())


@dataclass(frozen=True)
class _Case:
    """The measured readings of one property of one liquid, by lineage."""

    subject: Subject
    policy: CurveFit
    fitting: CurveFitting
    lineages: Mapping[str, Sequence[PropertyReading]]
    table: UnitTable

    def left_out(self) -> Iterator[LeftOutPoint]:
        for lineage, own in sorted(self.lineages.items()):
            others = [reading for name, group in self.lineages.items() if name != lineage for reading in group]
            row = self.fitting.recommend(self.subject, others) if others else None
            points = list(self._points(row, own)) if row is not None else []
            if points:
                yield max(points, key=lambda point: point.score)

    def _points(self, row: RecommendedValue, own: Sequence[PropertyReading]) -> Iterator[LeftOutPoint]:
        curve, relative = _curve(row), float(row.uncertainty.number) / 100.0
        for reading in own:
            series, _ = series_of(reading, row.unit, self.policy, self.table)
            if series is None:
                continue
            for celsius, value in zip(series.celsius, series.values, strict=True):
                if curve.low <= celsius <= curve.high:
                    off = value / curve.value(celsius) - 1.0
                    yield LeftOutPoint(row.property, reading.id, celsius, off, relative, series.own)


def _cases() -> Iterator[_Case]:
    vocabulary = compile_vocabulary(PROJECT)
    ledger, policy = load_ledger(PROJECT, vocabulary), load_policy(PROJECT)
    table = UnitTable.from_documents(vocabulary["units"])
    sources = {source.id: source for source in ledger.of(Source)}
    # Of a solution a document says many things, one for each strength.
    pure = [s for s in ledger.of(Subject) if s.subject_kind == "liquid" and s.solution is None]
    tried = {s.id: s for s in pure if s.family != "water"}
    liquids = Liquids(ledger.records, table)
    grouped: dict[tuple[str, str], dict[str, list[PropertyReading]]] = defaultdict(lambda: defaultdict(list))
    for reading in ledger.of(PropertyReading):
        if reading.property in FITTED and reading.basis == "measured" and reading.subject in tried:
            lineage = sources[reading.source].lineage or reading.source
            grouped[reading.subject, reading.property][lineage].append(reading)
    for (subject, property_id), lineages in sorted(grouped.items()):
        entry, si = policy.curve_fits[property_id], vocabulary["properties"][property_id]["si"]
        fitting = CurveFitting(entry, liquids.of(subject), sources, si, table)
        yield _Case(tried[subject], entry, fitting, lineages, table)


def _curve(row: RecommendedValue) -> TemperatureCurve:
    form = row.form
    low, high = (float(form["axes"][0][end]) for end in ("low", "high"))
    numbers = [float(number[0] if isinstance(number, list) else number) for number in form["coefficients"]]
    return TemperatureCurve(numbers, low, high, form["of"] == "logarithm")


def inside(points: tuple[LeftOutPoint, ...]) -> float:
    """The share of points inside the expanded uncertainty."""
    return sum(point.score <= COVERAGE_FACTOR for point in points) / len(points)
