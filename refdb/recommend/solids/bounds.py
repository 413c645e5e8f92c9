"""Rule `family-bounds/1`: between what a property of a solid lies, where nobody tells it and no estimate is narrow.

A bound is no value. It is told for the material's family, or where too few of its members are known, for the wider
groups that the policy names; both ends are moved outwards by what the members at the ends are uncertain by.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, input_of, speaks_for_others, weakest_seen
from refdb.recommend.policy import BoundGroup, BoundPolicy, Family, Policy
from refdb.recommend.solids.dispersion import frequency_of
from refdb.records import digest, number_text
from refdb.records.models import (
    Input,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Seen,
    Subject,
)
from refdb.records.readings import single_value
from refdb.records.rules import FAMILY_BOUNDS
from refdb.units import UnitTable

COVERED = 2.0
"""Standard uncertainties by which the ends are moved outwards."""
GAPS = 1.5
"""Mean gaps between neighbouring members by which they are moved further: with these, 100 of 106 published speeds lie
between the ends that the others of their family give (shared/docs/fill-solids.md)."""
NARROW = 0.05
"""Members less certain than this, relative, tell no end where enough others do: their ends would be their doubts."""


def bound_solids(
    subjects: Iterable[Subject],
    rows: Mapping[str, RecommendedValue],
    best: Mapping[str, RecommendedValue],
    policy: Policy,
    table: UnitTable,
    printed: Mapping[str, PropertyReading],
) -> dict[str, RecommendedValue]:
    """A bound for every material and property that has no row at all.

    Args:
        rows: what is published or derived, by id: the members that tell the ends.
        best: every row that there is, estimates among them.
        printed: the readings whose printed range bounds other materials, by id.

    Raises:
        LedgerError: one of them is no range.
    """
    bounds = policy.bounds
    if bounds is None:
        return {}
    materials = [subject for subject in subjects if subject.subject_kind == "material"]
    families = {subject.id: subject.family for subject in materials}
    members: dict[tuple[str, str], list[RecommendedValue]] = defaultdict(list)
    for row in rows.values():
        if row.subject in families and row.condition is None and speaks_for_others(row):
            members[families[row.subject], row.property].append(row)
    found = {}
    for subject in materials:
        family = policy.family(subject.family)
        for property_id in bounds.properties:
            row_id = f"{subject.id}.{property_id}"
            if family is not None and row_id not in best and subject.id not in bounds.none:
                bound = _printed(subject, property_id, bounds, printed, family, table)
                told = _members(subject, property_id, bounds, members) if bound is None else None
                if told is not None:
                    bound = _of_members(subject, property_id, told[0], told[1], family)
                if bound is not None:
                    found[row_id] = bound
    return found


def _printed(
    subject: Subject,
    property_id: str,
    bounds: BoundPolicy,
    printed: Mapping[str, PropertyReading],
    family: Family,
    table: UnitTable,
) -> RecommendedValue | None:
    """The range that a document prints for the wider kind of material that this one is of."""
    entry = next((one for one in bounds.printed if subject.id in one.subjects and one.property == property_id), None)
    if entry is None:
        return None
    reading = printed.get(entry.reading)
    if not isinstance(reading, Range):
        raise LedgerError([f"sources/rules: bounds.printed: '{entry.reading}' is no range in the ledger"])
    target = table.si(table.find(reading.unit).dimension)
    read = single_value(reading.plain(), target, table)
    words = f"no document seen tells it; {reading.source} prints this range for {reading.subject}: {entry.reason}"
    inputs = [Input(id=reading.id, digest=digest(reading.plain()))]
    ends = (read.value - read.half_range, read.value + read.half_range)
    return _row(subject, property_id, target.symbol, ends, words, inputs, reading.seen, family)


def _members(
    subject: Subject, property_id: str, bounds: BoundPolicy, members: Mapping[tuple[str, str], list[RecommendedValue]]
) -> tuple[list[RecommendedValue], str] | None:
    """The narrowest group with enough members, and what it is called."""
    for words, families in _groups(subject.family, bounds.groups):
        found = [row for family in families for row in members.get((family, property_id), [])]
        narrow = [row for row in found if _uncertainty(row) <= NARROW * _value(row)]
        if len(found) >= bounds.members:
            best = narrow if len(narrow) >= bounds.members else found
            return sorted(best, key=lambda row: row.id), words
    return None


def _groups(family: str, groups: Sequence[BoundGroup]) -> Iterator[tuple[str, Sequence[str]]]:
    yield f"of its family, {family}", [family]
    for group in groups:
        if family in group.members:
            yield f"of {group.name}", group.members


def _of_members(
    subject: Subject, property_id: str, members: Sequence[RecommendedValue], group: str, family: Family
) -> RecommendedValue | None:
    lowest = min(members, key=lambda row: (_value(row) - COVERED * _uncertainty(row), row.id))
    highest = max(members, key=lambda row: (_value(row) + COVERED * _uncertainty(row), row.id))
    values = [_value(row) for row in members]
    further = GAPS * (max(values) - min(values)) / (len(values) - 1)
    low = _value(lowest) - COVERED * _uncertainty(lowest) - further
    high = _value(highest) + COVERED * _uncertainty(highest) + further
    if low <= 0.0:
        return None  # Nothing but that it is no less than nothing.
    ends = [lowest] if lowest is highest else [lowest, highest]
    words = f"no document seen tells it; {len(members)} materials {group}, lie between these"
    row = _row(
        subject,
        property_id,
        members[0].unit,
        (low, high),
        words,
        [input_of(row) for row in ends],
        weakest_seen(row.seen for row in ends),
        family,
    )
    return row.model_copy(
        update={
            "frequency": frequency_of(members),
            "working": {**(row.working or {}), "members": str(len(members))},
        }
    )


def _row(
    subject: Subject,
    property_id: str,
    unit: str,
    ends: tuple[float, float],
    words: str,
    inputs: list[Input],
    seen: Seen,
    family: Family,
) -> RecommendedValue:
    low, high = ends
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit=unit,
        form={"name": "constant/1", "coefficients": {"c0": number_text(0.5 * (low + high), 4)}},
        domain={"temperature": family.room_temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(0.5 * (high - low) / RECTANGULAR, 3), unit=unit, code="family-repeatability", text=words
        ),
        bound="between",
        rule=FAMILY_BOUNDS.name,
        basis="estimated",
        seen=seen,
        rung="family",
        inputs=inputs,
        working={"lowest": number_text(low), "highest": number_text(high)},
    )


def _value(row: RecommendedValue) -> float:
    return float(row.form["coefficients"]["c0"])


def _uncertainty(row: RecommendedValue) -> float:
    return float(row.uncertainty.number)
