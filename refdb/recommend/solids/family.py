"""Rule `family/1`: what the members of a family have in common, where nothing is known of one of them."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from refdb.exact.student import t_quantile
from refdb.exact.sums import root_mean_square, root_sum_square
from refdb.recommend.evidence import input_of, speaks_for_others, weakest_seen
from refdb.recommend.policy import EstimatePolicy, Family, Policy
from refdb.recommend.random_effects import COVERAGE
from refdb.recommend.solids.dispersion import frequency_of
from refdb.records import number_text
from refdb.records.models import RecommendedUncertainty, RecommendedValue, Subject
from refdb.records.rules import FAMILY

EXPANSIONS = ("thermal_expansion", "instantaneous_expansion")


def estimate_families(
    subjects: Iterable[Subject], rows: Mapping[str, RecommendedValue], policy: Policy
) -> dict[str, RecommendedValue]:
    """A row for every subject and property that has none, where the family's other members allow one.

    Args:
        rows: what is published or derived, by row id.
    """
    if policy.estimate is None:
        return {}
    known = list(subjects)
    families = {subject.id: subject.family for subject in known}
    members: dict[tuple[str, str], list[RecommendedValue]] = defaultdict(list)
    for row in rows.values():
        if row.condition is None and speaks_for_others(row):
            members[families[row.subject], row.property].append(row)
    found: dict[str, RecommendedValue] = {}
    for subject in known:
        family = policy.family(subject.family)
        for (name, property_id), others in sorted(members.items()):
            row_id = f"{subject.id}.{property_id}"
            if family is not None and name == subject.family and row_id not in rows:
                estimate = _estimate(subject, property_id, others, family, policy.estimate)
                if estimate is not None:
                    found[row_id] = estimate
    return found


def _form(property_id: str, mean: float, members: Sequence[RecommendedValue]) -> dict[str, object]:
    """A constant at 20 degC; for an expansion the mean line of the members, all of which are told from there."""
    if property_id not in EXPANSIONS:
        return {"name": "constant/1", "coefficients": {"c0": number_text(mean, 4)}}
    rise = statistics.fmean(float(row.form["coefficients"]["c1"]) for row in members)
    coefficients = {**members[0].form["coefficients"], "c0": number_text(mean, 4), "c1": number_text(rise, 3)}
    return {**members[0].form, "coefficients": coefficients}


def _estimate(
    subject: Subject, property_id: str, members: Sequence[RecommendedValue], family: Family, policy: EstimatePolicy
) -> RecommendedValue | None:
    count = len(members)
    if count < policy.members:
        return None
    values = [float(row.form["coefficients"]["c0"]) for row in members]
    mean, deviation = statistics.fmean(values), statistics.stdev(values)
    own = root_mean_square(float(row.uncertainty.number) for row in members)
    quantile = t_quantile(0.5 + COVERAGE / 2.0, count - 1)
    uncertainty = root_sum_square(quantile / 2.0 * deviation * math.sqrt(1.0 + 1.0 / count), own)
    if uncertainty > float(policy.largest) * abs(mean):
        return None
    unit = members[0].unit
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit=unit,
        form=_form(property_id, mean, members),
        domain=members[0].domain if property_id in EXPANSIONS else {"temperature": family.room_temperature},
        frequency=frequency_of(members),
        uncertainty=RecommendedUncertainty(
            number=number_text(uncertainty, 2),
            unit=unit,
            code="family-repeatability",
            text=f"half the 95 % prediction interval for one further member of its family, from {count} members",
        ),
        rule=FAMILY.name,
        basis="estimated",
        seen=weakest_seen(row.seen for row in members),
        rung="family",
        inputs=[input_of(row, number_text(1.0 / count)) for row in sorted(members, key=lambda row: row.id)],
        working={
            "family": subject.family,
            "members": str(count),
            "lowest": number_text(min(values)),
            "highest": number_text(max(values)),
            "standard_deviation": number_text(deviation, 3),
            "t_quantile": number_text(quantile, 4),
            "typical_member_uncertainty": number_text(own, 2),
        },
    )
