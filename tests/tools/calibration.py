"""Leaving one source out, in turn: does what the rest recommends hold what the left-out source prints?

The campaign derives every row of a material again without one lineage of documents, and asks where that lineage's
readings lie. `tests/recommend/test_calibration.py` holds the figures against their bounds, and `make docs` writes them
into `shared/docs/consensus.md` with a calibration plot.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from refdb.ledger import load_ledger
from refdb.recommend.derive import ValueRules
from refdb.recommend.evidence import AT_ROOM_TEMPERATURE, SPEEDS, own_evidence, resolutions_of
from refdb.recommend.policy import load_policy
from refdb.records.models import PropertyReading, Range, RecommendedValue, Scalar, Source, Subject
from refdb.release.vocabulary import compile_vocabulary
from refdb.units import UnitTable
from tests.conftest import PROJECT

COVERAGE_FACTOR = 2.0
OUTLIER = "outlier:"
PROPERTIES = (*SPEEDS, "density", "youngs_modulus", "shear_modulus", "poisson_ratio")


@dataclass(frozen=True)
class Left:
    """One reading, and what the other documents recommend without its lineage, in SI."""

    family: str
    property_id: str
    reading: str
    read: float
    own_uncertainty: float
    recommended: float
    row_uncertainty: float
    outlier: bool

    @property
    def score(self) -> float:
        """The deviation in combined standard uncertainties."""
        return abs(self.read - self.recommended) / math.hypot(self.row_uncertainty, self.own_uncertainty)

    @property
    def inside(self) -> bool:
        return self.score <= COVERAGE_FACTOR


@dataclass(frozen=True)
class Campaign:
    """Every left-out reading, and the relative expanded uncertainties of the published rows."""

    left: Sequence[Left]
    expanded: dict[tuple[str, str], list[float]]

    def of(self, family: str, *properties: str) -> list[Left]:
        """The left-out readings of a family; of every property where none is named."""
        return [
            left for left in self.left if left.family == family and (left.property_id in properties or not properties)
        ]


def coverage(left: Sequence[Left]) -> float:
    """The fraction of left-out readings inside k = 2."""
    return statistics.fmean(one.inside for one in left)


def campaign() -> Campaign:
    """The campaign on the project's own ledger."""
    vocabulary = compile_vocabulary(PROJECT)
    ledger, policy = load_ledger(PROJECT, vocabulary), load_policy(PROJECT)
    values = ValueRules(ledger, policy, vocabulary)
    names = {member: name for name, family in policy.families.items() for member in family.members}
    subjects = {s.id: names[s.family] for s in ledger.of(Subject) if s.family in names}
    readings = [reading for reading in ledger.of(PropertyReading) if reading.subject in subjects]
    lineages = {source.id: source.lineage or source.id for source in ledger.of(Source)}
    whole = values.recommended(readings)
    resolutions = resolutions_of(ledger.of(PropertyReading))
    table = UnitTable.from_documents(vocabulary["units"])

    def uncertainty(reading: PropertyReading) -> float:
        assert isinstance(reading, Scalar | Range)
        si, family = vocabulary["properties"][reading.property]["si"], policy.families[subjects[reading.subject]]
        return own_evidence(reading, si, family, policy.room, resolutions, table).standard_uncertainty

    by_lineage: dict[str, set[str]] = defaultdict(set)
    for reading in readings:
        by_lineage[lineages[reading.source]].add(reading.subject)
    left: list[Left] = []
    for lineage, touched in sorted(by_lineage.items()):
        rest = [r for r in readings if r.subject in touched and lineages[r.source] != lineage]
        without = values.recommended(rest)
        own = {reading.id: reading for reading in readings if lineages[reading.source] == lineage}
        left.extend(_left_out(own, whole, without, uncertainty, subjects))
    return Campaign(left, _expanded(whole, subjects))


def _left_out(
    own: dict[str, PropertyReading],
    whole: dict[str, RecommendedValue],
    without: dict[str, RecommendedValue],
    uncertainty: Callable[[PropertyReading], float],
    subjects: dict[str, str],
) -> Iterator[Left]:
    for row_id in sorted({f"{reading.subject}.{reading.property}" for reading in own.values()}):
        row, rest = whole.get(row_id), without.get(row_id)
        if row is None or rest is None or {row.rung, rest.rung} != {"published"}:
            continue
        told = [(entry.id, entry.value, False) for entry in row.inputs]
        told += [(entry.id, entry.value, True) for entry in row.left_out or [] if entry.reason.startswith(OUTLIER)]
        for reading_id, value, outlier in told:
            if reading_id in own and value is not None:
                yield Left(
                    subjects[row.subject],
                    row.property,
                    reading_id,
                    float(value),
                    uncertainty(own[reading_id]),
                    float(rest.form["coefficients"]["c0"]),
                    float(rest.uncertainty.number),
                    outlier,
                )


def _expanded(whole: dict[str, RecommendedValue], subjects: dict[str, str]) -> dict[tuple[str, str], list[float]]:
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for row in whole.values():
        if row.rung == "published" and row.condition is None and row.form["name"] in AT_ROOM_TEMPERATURE:
            value = float(row.form["coefficients"]["c0"])
            relative = COVERAGE_FACTOR * float(row.uncertainty.number) / value
            found[subjects[row.subject], row.property].append(relative)
    return found


def page(found: Campaign) -> str:
    """The figures of the campaign, for the documentation."""
    lines = [
        "# How well the recommended values hold\n",
        "One lineage of documents is left out at a time, every row is derived again from the rest, and each reading "
        "that was left out is held against the row it had no part in. A reading lies inside where it is off by at most "
        "twice the combined standard uncertainty of row and reading. Readings with a doubt, or against which a check "
        "speaks, are not asked; those that the whole evidence shows to be outliers are.\n",
        "| family | property | readings left out | inside k = 2 | of these outliers | published rows "
        "| median expanded uncertainty |",
        "|---|---|---|---|---|---|---|",
    ]
    families = dict.fromkeys(name for name, _ in sorted(found.expanded))
    for family in families:
        for property_id in PROPERTIES:
            rows = found.expanded.get((family, property_id), [])
            if rows:
                lines.append(_line(family, property_id, found.of(family, property_id), rows))
        everything = found.of(family)
        if everything:
            lines.append(_line(family, "all together", everything, []))
    lines.append("\n![Observed against expected coverage](consensus.svg)\n")
    return "\n".join(lines)


def _line(family: str, property_id: str, left: Sequence[Left], rows: Sequence[float]) -> str:
    inside = f"{sum(one.inside for one in left)} ({coverage(left):.0%})" if left else ""
    outliers = str(sum(one.outlier for one in left)) if left else ""
    median = f"{statistics.median(rows):.1%}" if rows else ""
    return f"| {family} | {property_id} | {len(left)} | {inside} | {outliers} | {len(rows) or ''} | {median} |"


SIZE, MARGIN = 320, 40
COLOURS = {"metals": "#1f5fa8", "plastics": "#b3541e"}


def plot(found: Campaign) -> str:
    """The calibration plot as SVG: the fraction of readings within k, against what a normal distribution gives."""
    scale = SIZE - 2 * MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIZE} {SIZE}" font-family="sans-serif" font-size="10">',
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{scale}" height="{scale}" fill="none" stroke="#888"/>',
        _polyline([(0.0, 0.0), (1.0, 1.0)], "#bbb"),
        f'<text x="{SIZE / 2:g}" y="{SIZE - 12}" text-anchor="middle">expected fraction within k</text>',
        f'<text x="14" y="{SIZE / 2:g}" text-anchor="middle" transform="rotate(-90 14 {SIZE / 2:g})">'
        "observed fraction</text>",
    ]
    for place, (family, colour) in enumerate(COLOURS.items()):
        left = found.of(family)
        if left:
            parts.append(_polyline(_calibration(left), colour))
            label = f"{family}: {len(left)} readings"
            parts.append(f'<text x="{MARGIN + 8}" y="{MARGIN + 16 + 14 * place}" fill="{colour}">{label}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def _calibration(left: Sequence[Left]) -> list[tuple[float, float]]:
    steps = [step / 20.0 for step in range(61)]
    return [(math.erf(k / math.sqrt(2.0)), statistics.fmean(one.score <= k for one in left)) for k in steps]


def _polyline(points: Sequence[tuple[float, float]], colour: str) -> str:
    scale = SIZE - 2 * MARGIN
    places = " ".join(f"{MARGIN + scale * x:.1f},{SIZE - MARGIN - scale * y:.1f}" for x, y in points)
    return f'<polyline points="{places}" fill="none" stroke="{colour}" stroke-width="1.5"/>'
