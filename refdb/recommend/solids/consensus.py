"""The rules of consensus: several documents' single values at room temperature."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from refdb.exact.sums import root_sum_square
from refdb.recommend.arithmetic import Arithmetic, Weighed
from refdb.recommend.evidence import (
    RECTANGULAR,
    SPEEDS,
    Evidence,
    at_room_temperature,
    one_of,
    weakest_basis,
    weakest_seen,
)
from refdb.recommend.lineage import Lineages
from refdb.recommend.policy import Family, Policy
from refdb.recommend.solids.dispersion import Dispersion, Dispersions
from refdb.recommend.solids.dynamic import CONSTANTS, dynamic_speeds
from refdb.recommend.solids.slope import neglected, slope_of
from refdb.records import digest, number_text
from refdb.records.models import (
    SEEN_ORDER,
    Input,
    LeftOut,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Subject,
)
from refdb.records.rules import EVIDENCE_AT_20
from refdb.units import UnitTable

MEMORY = "memory"
NOT_STATIC = "found by sound: it stands among the speeds, and is no measure of what a load finds"
MODULI = ("youngs_modulus", "shear_modulus", "bulk_modulus")


@dataclass(frozen=True, slots=True)
class Offered:
    """What a document says, and what speaks against it by itself: a doubt, a law, another temperature."""

    evidence: Evidence
    against: str | None


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

    def __init__(
        self,
        arithmetic: Arithmetic,
        lineages: Lineages,
        policy: Policy,
        table: UnitTable,
        dispersions: Dispersions | None = None,
    ) -> None:
        self._dispersions = dispersions
        self._arithmetic = arithmetic
        self._lineages = lineages
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
        """The recommended row, or None where no reading can be used or what they say is less than its uncertainty.

        Args:
            of_subject: every reading of the subject: a speed's temperature slope may be among them.
            inconsistent: ids of readings that contradict a check, with the numbers that say so.
            condition: the condition the row is for, or None for the row of the subject as such.
        """
        family = self._policy.family(subject.family)
        if family is None or not family.knows(property_id):
            return None
        offered = self.offered(subject, property_id, si, readings, inconsistent, condition, of_subject)
        chosen = self._sort(offered)
        self._leave_outliers_out(chosen, property_id, family)
        if not chosen.independent:
            return None
        row = self._row(subject, property_id, si, chosen, family, condition, of_subject)
        if isinstance(self._arithmetic, Weighed) and says_nothing(row):
            return None
        return row

    def offered(
        self,
        subject: Subject,
        property_id: str,
        si: str,
        readings: Sequence[PropertyReading],
        inconsistent: Mapping[str, str],
        condition: str | None,
        of_subject: Sequence[PropertyReading] = (),
    ) -> list[Offered]:
        """Everything that documents say of a property, each with what speaks against it by itself.

        Raises:
            LedgerError: the rule has no widths for the subject's family.
        """
        family = self._policy.family(subject.family)
        if family is None:
            return []
        single = [r for r in readings if isinstance(r, Scalar | Range)]
        evidence = [self._arithmetic.evidence(r, si, family, self._table) for r in single]
        if isinstance(self._arithmetic, Weighed) and property_id in SPEEDS:
            if subject.isotropic:
                evidence += self._dynamic(self._arithmetic, subject, property_id, family, condition, of_subject)
            evidence = self._at_one_frequency(evidence, self.dispersion(subject, property_id))
        offered = [Offered(item, self._reason_against(item, inconsistent)) for item in evidence]
        return _static(offered, family.elastic) if isinstance(self._arithmetic, Weighed) else offered

    def dispersion(self, subject: Subject, property_id: str) -> Dispersion | None:
        """How a speed of a material rises with frequency; None where it hardly does."""
        family = self._policy.family(subject.family)
        if property_id not in SPEEDS or family is None or not family.dispersive or self._dispersions is None:
            return None
        return self._dispersions.of(subject.id, property_id)

    def _at_one_frequency(self, evidence: Sequence[Evidence], dispersion: Dispersion | None) -> list[Evidence]:
        if dispersion is None:
            return list(evidence)
        moved = []
        for item in evidence:
            value, width = dispersion.moved(item.value, item.reading, self._table)
            own = root_sum_square(item.standard_uncertainty, width)
            moved.append(replace(item, value=value, standard_uncertainty=own))
        return moved

    def _dynamic(
        self,
        weighed: Weighed,
        subject: Subject,
        property_id: str,
        family: Family,
        condition: str | None,
        of_subject: Sequence[PropertyReading],
    ) -> list[Evidence]:
        """What documents tell of a speed by constants found from sound."""
        own = [reading for reading in of_subject if condition in (None, reading.condition)]
        densities = [reading for reading in own if reading.property == "density"]
        row = self.recommend(subject, "density", "kg/m3", densities, {}, None)
        density = (float(row.form["coefficients"]["c0"]), float(row.uncertainty.number)) if row is not None else None
        found = dynamic_speeds(property_id, own, density, self._policy.room, self._table)
        return [weighed.classed(evidence, property_id, family) for evidence in found]

    def _sort(self, offered: Sequence[Offered]) -> _Sorted:
        """Readings of one lineage are one: those of its best-seen document are averaged, the copies are left out."""
        chosen = _Sorted()
        leading: dict[str, list[Evidence]] = {}
        something_seen = False
        weaker = self._arithmetic.gives_way([one.evidence for one in offered if one.against is None])
        for one in sorted(offered, key=lambda o: (SEEN_ORDER.index(o.evidence.reading.seen), o.evidence.reading.id)):
            item, reason = one.evidence, one.against or weaker.get(one.evidence.reading.id)
            if reason is None and self._arithmetic.prefers_seen and item.reading.seen == MEMORY and something_seen:
                reason = "from memory, where documents that were seen say it"
            if reason is None:
                reason = self._copied(item, leading)
            if reason is None:
                lineage = self._lineages.of(item.reading.source)
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

    def _copied(self, item: Evidence, leading: Mapping[str, list[Evidence]]) -> str | None:
        """Why a number counts once with one that is taken already: their documents coincide too often."""
        for group in leading.values():
            for other in group:
                words = self._lineages.copied(item.reading.source, other.reading.source, item.value, other.value)
                if words is not None:
                    return f"shares its origin with {other.reading.id} ({words}); the two count once"
        return None

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
        if property_id in SPEEDS and self._arithmetic.rule is not EVIDENCE_AT_20:
            slope = slope_of(property_id, estimate.value, of_subject, self._table)
            room = family.room_temperature
            half_width = (float(room.high) - float(room.low)) / 2.0
            left_over = neglected(slope, family) * estimate.value * half_width / RECTANGULAR
            uncertainty = root_sum_square(uncertainty, left_over)
            working["neglected_temperature_dependence"] = number_text(left_over, 2)
        dispersion = self.dispersion(subject, property_id)
        if dispersion is not None:
            working["dispersion"] = f"{number_text(100.0 * dispersion.per_decade, 2)} % a decade, {dispersion.words}"
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
            frequency=dispersion.record() if dispersion is not None else None,
            form=slope.form(estimate.value) if slope is not None else _constant(estimate.value),
            domain={"temperature": family.room_temperature},
            uncertainty=RecommendedUncertainty(
                number=number_text(uncertainty, 2), unit=si, code=estimate.code, text=estimate.text
            ),
            rule=self._arithmetic.rule.name,
            basis=weakest_basis(item.reading.basis for item in chosen.used),
            seen=seen,
            rung="memory" if self._arithmetic.prefers_seen and seen == MEMORY else "published",
            inputs=[one for item in chosen.used for one in _inputs(item, weights[item.reading.id])]
            + (slope.inputs() if slope is not None else []),
            left_out=chosen.left_out or None,
            working=working,
        )


def says_nothing(row: RecommendedValue) -> bool:
    """Whether a value is less than its own standard uncertainty: its documents speak of different things."""
    return float(row.uncertainty.number) >= abs(float(row.form["coefficients"]["c0"]))


def _static(offered: Sequence[Offered], elastic: bool) -> list[Offered]:
    """Without moduli found by sound: they stand among the speeds, and the modulus of a table is one under a load.

    Poisson's ratio hardly differs in metals. Where sound alone has found a modulus, it stays.
    """
    loaded = any(one.against is None and one.evidence.reading.method != "dynamic" for one in offered)

    def against(one: Offered) -> str | None:
        reading = one.evidence.reading
        of_load = reading.property in MODULI or (not elastic and reading.property in CONSTANTS)
        if reading.method == "dynamic" and not one.evidence.note and of_load and loaded:
            return one.against or NOT_STATIC
        return one.against

    return [Offered(one.evidence, against(one)) for one in offered]


def _inputs(item: Evidence, weight: float) -> list[Input]:
    """Evidence as what a row rests on; what it was computed with follows without a weight."""
    first = Input(
        id=item.reading.id,
        digest=item.digest,
        value=number_text(item.value),
        standard_uncertainty=number_text(item.standard_uncertainty, 2),
        weight=number_text(weight),
        note=item.note,
    )
    return [first] + [
        Input(id=part.id, digest=digest(part.plain()), note=f"goes with {item.reading.id}") for part in item.parts
    ]


def _constant(value: float) -> dict[str, object]:
    return {"name": "constant/1", "coefficients": {"c0": number_text(value, 5)}}
