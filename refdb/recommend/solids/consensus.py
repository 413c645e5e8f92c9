"""The rules of consensus: several documents' single values at room temperature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from refdb.exact.sums import root_sum_square
from refdb.recommend.arithmetic import Arithmetic
from refdb.recommend.evidence import (
    RECTANGULAR,
    SPEEDS,
    Evidence,
    at_room_temperature,
    one_of,
    weakest_basis,
    weakest_seen,
)
from refdb.recommend.policy import Family, Policy
from refdb.recommend.solids.slope import neglected, slope_of
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
)
from refdb.units import UnitTable

MEMORY = "memory"


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
    """Applies a rule to the readings of one property of one subject."""

    def __init__(self, arithmetic: Arithmetic, sources: Mapping[str, Source], policy: Policy, table: UnitTable) -> None:
        self._arithmetic = arithmetic
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
        of_subject: Sequence[PropertyReading] = (),
    ) -> RecommendedValue | None:
        """The recommended row, or None where no reading can be used.

        Args:
            of_subject: every reading of the subject: a speed's temperature slope may be among them.
            inconsistent: ids of readings that contradict a check, with the numbers that say so.
            condition: the condition the row is for, or None for the row of the subject as such.
        """
        family = self._policy.family(subject.family)
        if family is None or not family.knows(property_id):
            return None
        single = [r for r in readings if isinstance(r, Scalar | Range)]
        evidence = [self._arithmetic.evidence(r, si, family, self._table) for r in single]
        chosen = self._sort(evidence, inconsistent)
        self._leave_outliers_out(chosen, property_id, family)
        if not chosen.independent:
            return None
        return self._row(subject, property_id, si, chosen, family, condition, of_subject)

    def _sort(self, evidence: Sequence[Evidence], inconsistent: Mapping[str, str]) -> _Sorted:
        """Readings of one lineage are one: those of its best-seen document are averaged, the copies are left out."""
        chosen = _Sorted()
        leading: dict[str, list[Evidence]] = {}
        something_seen = False
        for item in sorted(evidence, key=lambda e: (SEEN_ORDER.index(e.reading.seen), e.reading.id)):
            reason = self._reason_against(item, inconsistent)
            if reason is None and self._arithmetic.prefers_seen and item.reading.seen == MEMORY and something_seen:
                reason = "from memory, where documents that were seen say it"
            if reason is None:
                lineage = self._sources[item.reading.source].lineage or item.reading.source
                group = leading.setdefault(lineage, [])
                if group and group[0].reading.source != item.reading.source:
                    reason = f"shares its origin with {group[0].reading.id} (lineage {lineage}); the two count once"
                else:
                    group.append(item)
                    something_seen = something_seen or item.reading.seen != MEMORY
            if reason is not None:
                chosen.leave_out(item, reason)
        chosen.independent = list(leading.values())
        chosen.left_out.sort(key=lambda e: e.id)
        return chosen

    def _leave_outliers_out(self, chosen: _Sorted, property_id: str, family: Family) -> None:
        singles = [one_of(group) for group in chosen.independent]
        reasons = self._arithmetic.outliers(singles, property_id, family)
        for place, reason in reasons.items():
            for item in chosen.independent[place]:
                chosen.leave_out(item, reason)
        chosen.independent = [group for place, group in enumerate(chosen.independent) if place not in reasons]
        chosen.left_out.sort(key=lambda e: e.id)

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
        of_subject: Sequence[PropertyReading],
    ) -> RecommendedValue:
        estimate = self._arithmetic.estimate([one_of(group) for group in chosen.independent], property_id, family)
        uncertainty, working = estimate.uncertainty, dict(estimate.working)
        slope = None
        if property_id in SPEEDS:
            slope = slope_of(property_id, estimate.value, of_subject, self._table)
            room = family.room_temperature
            half_width = (float(room.high) - float(room.low)) / 2.0
            left_over = neglected(slope, family) * estimate.value * half_width / RECTANGULAR
            uncertainty = root_sum_square(uncertainty, left_over)
            working["neglected_temperature_dependence"] = number_text(left_over, 2)
        weights = {
            item.reading.id: weight / len(group)
            for weight, group in zip(estimate.weights, chosen.independent, strict=True)
            for item in group
        }
        seen = weakest_seen(item.reading.seen for item in chosen.used)
        return RecommendedValue(
            id=".".join(part for part in (subject.id, property_id, condition) if part),
            subject=subject.id,
            property=property_id,
            condition=condition,
            unit=si,
            form=slope.form(estimate.value) if slope is not None else _constant(estimate.value),
            domain={"temperature": family.room_temperature},
            uncertainty=RecommendedUncertainty(
                number=number_text(uncertainty, 2), unit=si, code=estimate.code, text=estimate.text
            ),
            rule=self._arithmetic.rule.name,
            basis=weakest_basis(item.reading.basis for item in chosen.used),
            seen=seen,
            rung="memory" if self._arithmetic.prefers_seen and seen == MEMORY else "published",
            inputs=[
                Input(
                    id=item.reading.id,
                    digest=item.digest,
                    value=number_text(item.value),
                    standard_uncertainty=number_text(item.standard_uncertainty, 2),
                    weight=number_text(weights[item.reading.id]),
                )
                for item in chosen.used
            ]
            + (slope.inputs() if slope is not None else []),
            left_out=chosen.left_out or None,
            working=working,
        )


def _constant(value: float) -> dict[str, object]:
    return {"name": "constant/1", "coefficients": {"c0": number_text(value, 5)}}
