"""The arithmetic of the rules of consensus: from what independent documents say to a value and its uncertainty.

`consensus/1` takes the plain mean; `consensus/2` the random-effects mean, pooled with what is known of the family;
`consensus/3` the same by classes of evidence, with widths that were estimated from the documents.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from refdb.exact.student import t_quantile
from refdb.exact.sums import root_mean_square, root_sum_square
from refdb.laws import DOUBTED
from refdb.recommend.evidence import (
    Evidence,
    Resolutions,
    Single,
    evidence_of,
    own_evidence,
    printed_evidence,
)
from refdb.recommend.evidence_classes import EvidenceClasses
from refdb.recommend.policy import Family, Policy
from refdb.recommend.random_effects import COVERAGE, Prior, combine, modified_z_scores
from refdb.records import number_text
from refdb.records.models import Range, Scalar, UncertaintyCode
from refdb.records.rules import CONSENSUS, EVIDENCE_AT_20, RANDOM_EFFECTS, Rule
from refdb.units import UnitTable

FEWEST_FOR_INTERVAL = 3
FEWEST_FOR_OUTLIERS = 3


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value for one specimen, in the property's SI unit; `weights` are those of the independent documents."""

    value: float
    uncertainty: float
    weights: list[float]
    code: UncertaintyCode
    text: str
    working: dict[str, str]


class Arithmetic(Protocol):
    """How a rule of consensus weighs documents."""

    rule: Rule
    prefers_seen: bool

    def evidence(self, reading: Scalar | Range, si: str, family: Family, table: UnitTable) -> Evidence:
        """A reading in SI with its own standard uncertainty."""
        ...

    def gives_way(self, evidence: Sequence[Evidence]) -> dict[str, str]:
        """Ids of readings beside which something better exists, each with the reason."""
        ...

    def outliers(self, singles: Sequence[Single], property_id: str, family: Family) -> dict[int, str]:
        """Documents too far from the others to be of the same thing, by position, each with the reason."""
        ...

    def estimate(self, singles: Sequence[Single], property_id: str, family: Family) -> Estimate:
        """The value for one specimen."""
        ...


class PlainMean:
    """Rule consensus/1: every independent document counts the same."""

    rule = CONSENSUS
    prefers_seen = False

    def evidence(self, reading: Scalar | Range, si: str, family: Family, table: UnitTable) -> Evidence:
        """With the family's between-document spread as part of each reading's own uncertainty."""
        return evidence_of(reading, si, family.spread_of(reading.property), reading.property == "poisson_ratio", table)

    def gives_way(self, evidence: Sequence[Evidence]) -> dict[str, str]:  # noqa: ARG002 - the rule knows no classes
        """None: this rule knows no classes of evidence."""
        return {}

    def outliers(self, singles: Sequence[Single], property_id: str, family: Family) -> dict[int, str]:  # noqa: ARG002 - the rule leaves none out
        """None: this rule keeps them."""
        return {}

    def estimate(self, singles: Sequence[Single], property_id: str, family: Family) -> Estimate:  # noqa: ARG002 - the spread is in the readings
        """The plain mean; half the prediction interval where three documents allow one."""
        count = len(singles)
        values = [single.value for single in singles]
        mean = statistics.fmean(values)
        own = root_mean_square(single.standard_uncertainty for single in singles)
        working = _told(values) | {"mean": number_text(mean), "typical_reading_uncertainty": number_text(own, 2)}
        deviation = statistics.stdev(values) if count > 1 else 0.0
        working["standard_deviation"] = number_text(deviation, 3)
        uncertainty, code = root_sum_square(own, deviation), _FAMILY
        if count >= FEWEST_FOR_INTERVAL:
            quantile = t_quantile(0.5 + COVERAGE / 2.0, count - 1)
            half_interval = quantile * deviation * math.sqrt(1.0 + 1.0 / count)
            working["t_quantile"] = number_text(quantile, 4)
            agree = half_interval / 2.0 < own
            uncertainty, code = (own, _FAMILY) if agree else (half_interval / 2.0, _SOURCES)
        return Estimate(mean, uncertainty, [1.0 / count] * count, code, _TEXTS[code].format(n=count), working)


class RandomEffects:
    """Rule consensus/2: documents weigh by what they are uncertain by, and the family's spread stands beside theirs."""

    rule = RANDOM_EFFECTS
    prefers_seen = True

    def __init__(self, policy: Policy, resolutions: Resolutions) -> None:
        self._room = policy.room
        self._resolutions = resolutions

    def evidence(self, reading: Scalar | Range, si: str, family: Family, table: UnitTable) -> Evidence:
        """With what one reading of one specimen may be off by; what documents differ by is estimated from them."""
        return own_evidence(reading, si, family, self._room, self._resolutions, table)

    def gives_way(self, evidence: Sequence[Evidence]) -> dict[str, str]:  # noqa: ARG002 - the rule knows no classes
        """None: this rule knows no classes of evidence."""
        return {}

    def outliers(self, singles: Sequence[Single], property_id: str, family: Family) -> dict[int, str]:
        """By modified z-score, whose scale is never below what the family and the reading itself allow."""
        if len(singles) < FEWEST_FOR_OUTLIERS:
            return {}
        values = [single.value for single in singles]
        median = statistics.median(values)
        spread = _absolute(family.spread_of(property_id), property_id, median)
        return _outliers(values, median, [root_sum_square(spread, single.standard_uncertainty) for single in singles])

    def estimate(self, singles: Sequence[Single], property_id: str, family: Family) -> Estimate:
        """The random-effects mean; half the interval for one further specimen."""
        values = [single.value for single in singles]
        spread = _absolute(family.spread_of(property_id), property_id, statistics.median(values))
        prior = Prior(spread, family.freedom)
        found = combine(values, [single.standard_uncertainty for single in singles], prior)
        working = _told(values) | {
            "mean": number_text(found.mean),
            "between_sources": number_text(found.between, 3),
            "family_spread": f"{number_text(spread, 3)} with {prior.freedom} degrees of freedom",
            "pooled_spread": number_text(found.pooled, 3),
            "mean_uncertainty": number_text(found.mean_uncertainty, 3),
            "degrees_of_freedom": str(found.freedom),
            "t_quantile": number_text(found.quantile, 4),
        }
        code: UncertaintyCode = _SOURCES if len(values) >= FEWEST_FOR_INTERVAL else _FAMILY
        text = (
            "half the 95 % interval for one further specimen, from "
            f"{len(values)} independent document(s) and the spread that its family shows between documents"
        )
        return Estimate(found.mean, found.half_interval / 2.0, found.weights, code, text, working)


class Weighed:
    """Rules consensus/3 and /4: what something better exists for is left out; how far each class is off was estimated.

    The spread of a group is what documents of a good class differ by: specimens, measuring and copying together. It
    stands once in the row's uncertainty, which is that of one further document about one further specimen.
    """

    prefers_seen = True

    def __init__(
        self, policy: Policy, resolutions: Resolutions, classes: EvidenceClasses, rule: Rule = EVIDENCE_AT_20
    ) -> None:
        self.rule = rule
        self._policy = policy
        self._resolutions = resolutions
        self._classes = classes
        self._excess = {
            (entry.name, property_id): float(entry.excess)
            for entry in policy.class_widths
            for property_id in entry.properties
        }

    def evidence(self, reading: Scalar | Range, si: str, family: Family, table: UnitTable) -> Evidence:
        """With what its print leaves open, and what a document of its class is off by more than a good one."""
        found = printed_evidence(reading, si, family, self._policy.room, self._resolutions, table)
        return self.classed(found, reading.property, family)

    def classed(self, evidence: Evidence, property_id: str, family: Family) -> Evidence:
        """Evidence of a property with what its class is off by."""
        name = self._classes.of(evidence.reading)
        width = self._width(property_id, evidence.value, family)
        own = root_sum_square(evidence.standard_uncertainty, self._excess.get((name, property_id), 0.0) * width)
        return replace(evidence, standard_uncertainty=own)

    def gives_way(self, evidence: Sequence[Evidence]) -> dict[str, str]:
        """Ids of readings beside which something better exists, each with the reason."""
        names = {item.reading.id: self._classes.of(item.reading) for item in evidence}
        weaker = self._classes.gives_way([(names[item.reading.id], item.reading.source) for item in evidence])
        return {
            reading: f"{name}, which gives way to a {weaker[name]}" for reading, name in names.items() if name in weaker
        }

    def outliers(self, singles: Sequence[Single], property_id: str, family: Family) -> dict[int, str]:
        """By modified z-score, whose scale is never below the group's spread and the document's own uncertainty."""
        if len(singles) < FEWEST_FOR_OUTLIERS:
            return {}
        values = [single.value for single in singles]
        median = statistics.median(values)
        spread = self._width(property_id, median, family)
        return _outliers(values, median, [root_sum_square(spread, single.standard_uncertainty) for single in singles])

    def estimate(self, singles: Sequence[Single], property_id: str, family: Family) -> Estimate:
        """The random-effects mean; half the interval for one further document."""
        values = [single.value for single in singles]
        spread = self._width(property_id, statistics.median(values), family)
        prior = Prior(spread, self._policy.widths_of(family).of(property_id).freedom)
        found = combine(values, [single.standard_uncertainty for single in singles], prior)
        working = _told(values) | {
            "mean": number_text(found.mean),
            "between_sources": number_text(found.between, 3),
            "family_spread": f"{number_text(spread, 3)} with {prior.freedom} degrees of freedom",
            "pooled_spread": number_text(found.pooled, 3),
            "mean_uncertainty": number_text(found.mean_uncertainty, 3),
            "degrees_of_freedom": str(found.freedom),
            "t_quantile": number_text(found.quantile, 4),
        }
        code: UncertaintyCode = _SOURCES if len(values) >= FEWEST_FOR_INTERVAL else _FAMILY
        text = (
            "half the 95 % interval for one further document about one further specimen, from "
            f"{len(values)} independent document(s) and the spread that its family shows between documents"
        )
        return Estimate(found.mean, found.half_interval / 2.0, found.weights, code, text, working)

    def _width(self, property_id: str, value: float, family: Family) -> float:
        return _absolute(float(self._policy.widths_of(family).of(property_id).spread), property_id, value)


_SOURCES: UncertaintyCode = "between-sources"
_FAMILY: UncertaintyCode = "family-repeatability"
_TEXTS: dict[UncertaintyCode, str] = {
    _SOURCES: "half the 95 % prediction interval for one further specimen, from {n} independent documents",
    _FAMILY: (
        "spread that readings of this family of materials show from one document to the next; "
        "{n} independent reading(s)"
    ),
}


def _outliers(values: Sequence[float], median: float, floors: Sequence[float]) -> dict[int, str]:
    return {
        place: f"outlier: {number_text(values[place], 4)} lies {score:+.1f} robust standard deviations from "
        f"{number_text(median, 4)}, the median of {len(values)} documents (modified z-score, limit {DOUBTED:g})"
        for place, score in enumerate(modified_z_scores(values, floors))
        if abs(score) > DOUBTED
    }


def _told(values: Sequence[float]) -> dict[str, str]:
    return {
        "independent_readings": str(len(values)),
        "lowest": number_text(min(values)),
        "highest": number_text(max(values)),
    }


def _absolute(spread: float, property_id: str, value: float) -> float:
    return spread if property_id == "poisson_ratio" else spread * abs(value)
