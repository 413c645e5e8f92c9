"""Rule `consensus/1`: several documents' single values at room temperature."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from refdb.recommend.evidence import (
    RECTANGULAR,
    Evidence,
    at_room_temperature,
    evidence_of,
    weakest_basis,
    weakest_seen,
)
from refdb.recommend.policy import Family, Policy
from refdb.records import number_text
from refdb.records.models import (
    SEEN_ORDER,
    Input,
    LeftOut,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Source,
    Subject,
    UncertaintyCode,
)
from refdb.records.rules import CONSENSUS
from refdb.units import UnitTable

SPEEDS = ("longitudinal_speed", "shear_speed")
COVERAGE = 0.95


@dataclass
class _Sorted:
    """Readings that go in, grouped into independent ones, and those left out with the reason."""

    independent: list[list[Evidence]] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    @property
    def used(self) -> list[Evidence]:
        return sorted((item for group in self.independent for item in group), key=lambda item: item.reading.id)

    def leave_out(self, evidence: Evidence, reason: str) -> None:
        self.left_out.append(
            LeftOut(
                id=evidence.reading.id,
                digest=evidence.digest,
                reason=reason,
                value=number_text(evidence.value),
            )
        )


class Consensus:
    """Applies the rule to the readings of one property of one subject."""

    def __init__(self, sources: Mapping[str, Source], policy: Policy, table: UnitTable) -> None:
        self._sources = sources
        self._policy = policy
        self._table = table

    def recommend(
        self,
        subject: Subject,
        property_id: str,
        si: str,
        readings: Sequence[PropertyReading],
        inconsistent: Mapping[str, str],
        condition: str | None,
    ) -> RecommendedValue | None:
        """The recommended row, or None where no reading can be used.

        Args:
            inconsistent: ids of readings that contradict their own companions, with the numbers that say so.
            condition: the condition the row is for, or None for the row of the subject as such.
        """
        family = self._policy.family(subject.family)
        spread = family.spread(property_id) if family else None
        if family is None or spread is None:
            return None
        absolute = property_id == "poisson_ratio"
        single = [r for r in readings if isinstance(r, Scalar | Range)]
        evidence = [evidence_of(r, si, spread, absolute, self._table) for r in single]
        chosen = self._sort(evidence, inconsistent)
        if not chosen.independent:
            return None
        return self._row(subject, property_id, si, chosen, family, condition)

    def _sort(self, evidence: Sequence[Evidence], inconsistent: Mapping[str, str]) -> _Sorted:
        """Readings of one lineage are one: those of its best-seen document are averaged, the copies are left out."""
        chosen = _Sorted()
        leading: dict[str, list[Evidence]] = {}
        for item in sorted(evidence, key=lambda e: (SEEN_ORDER.index(e.reading.seen), e.reading.id)):
            reason = self._reason_against(item, inconsistent)
            if reason is None:
                lineage = self._sources[item.reading.source].lineage or item.reading.source
                group = leading.setdefault(lineage, [])
                if group and group[0].reading.source != item.reading.source:
                    reason = f"shares its origin with {group[0].reading.id} (lineage {lineage}); the two count once"
                else:
                    group.append(item)
            if reason is not None:
                chosen.leave_out(item, reason)
        chosen.independent = list(leading.values())
        chosen.left_out.sort(key=lambda e: e.id)
        return chosen

    def _reason_against(self, item: Evidence, inconsistent: Mapping[str, str]) -> str | None:
        if item.reading.doubts:
            return "; ".join(f"{flag.code}: {flag.text}" for flag in item.reading.doubts)
        if item.reading.id in inconsistent:
            return inconsistent[item.reading.id]
        return at_room_temperature(item.reading, self._policy.room, self._table)

    def _row(
        self,
        subject: Subject,
        property_id: str,
        si: str,
        chosen: _Sorted,
        family: Family,
        condition: str | None,
    ) -> RecommendedValue:
        single = [_one_of(group) for group in chosen.independent]
        mean = statistics.fmean(value for value, _ in single)
        uncertainty, working, code = _predictive(single, mean)
        if property_id in SPEEDS:
            room = family.room_temperature
            neglected = float(family.speed_slope) * mean * (float(room.high) - float(room.low)) / 2.0 / RECTANGULAR
            uncertainty = math.hypot(uncertainty, neglected)
            working["neglected_temperature_dependence"] = number_text(neglected, 2)
        weights = {item.reading.id: 1.0 / (len(single) * len(group)) for group in chosen.independent for item in group}
        return RecommendedValue(
            id=".".join(part for part in (subject.id, property_id, condition) if part),
            subject=subject.id,
            property=property_id,
            condition=condition,
            unit=si,
            form={"name": "constant/1", "coefficients": {"c0": number_text(mean, 5)}},
            domain={"temperature": family.room_temperature},
            uncertainty=RecommendedUncertainty(
                number=number_text(uncertainty, 2),
                unit=si,
                code=code,
                text=_TEXTS[code].format(n=len(single)),
            ),
            rule=CONSENSUS.name,
            basis=weakest_basis(item.reading.basis for item in chosen.used),
            seen=weakest_seen(item.reading.seen for item in chosen.used),
            rung="published",
            inputs=[
                Input(
                    id=item.reading.id,
                    digest=item.digest,
                    value=number_text(item.value),
                    standard_uncertainty=number_text(item.standard_uncertainty, 2),
                    weight=number_text(weights[item.reading.id]),
                )
                for item in chosen.used
            ],
            left_out=chosen.left_out or None,
            working=working,
        )


_TEXTS: dict[UncertaintyCode, str] = {
    "between-sources": "half the 95 % prediction interval for one further specimen, from {n} independent documents",
    "family-repeatability": (
        "spread that readings of this family of materials show from one document to the next; "
        "{n} independent reading(s)"
    ),
}


def _one_of(group: Sequence[Evidence]) -> tuple[float, float]:
    """What one document says as one value with one standard uncertainty, which carries the spread within it."""
    values = [item.value for item in group]
    own = math.sqrt(statistics.fmean(item.standard_uncertainty**2 for item in group))
    return statistics.fmean(values), math.hypot(own, statistics.pstdev(values))


def _predictive(single: Sequence[tuple[float, float]], mean: float) -> tuple[float, dict[str, str], UncertaintyCode]:
    """Standard uncertainty for one further specimen, the working, and the code of its kind."""
    count = len(single)
    values = [value for value, _ in single]
    own = math.sqrt(statistics.fmean(uncertainty**2 for _, uncertainty in single))
    working = {
        "independent_readings": str(count),
        "mean": number_text(mean),
        "lowest": number_text(min(values)),
        "highest": number_text(max(values)),
        "typical_reading_uncertainty": number_text(own, 2),
    }
    if count < 3:
        spread = statistics.stdev(values) if count == 2 else 0.0
        return (
            math.hypot(own, spread),
            working | {"standard_deviation": number_text(spread, 3)},
            "family-repeatability",
        )
    from scipy.stats import t

    deviation = statistics.stdev(values)
    quantile = float(t.ppf(0.5 + COVERAGE / 2.0, count - 1))
    interval = quantile * deviation * math.sqrt(1.0 + 1.0 / count)
    working |= {"standard_deviation": number_text(deviation, 3), "t_quantile": number_text(quantile, 4)}
    if interval / 2.0 < own:
        return own, working, "family-repeatability"
    return interval / 2.0, working, "between-sources"
