"""Deriving every recommended row from the ledger."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from refdb.ledger import Ledger
from refdb.recommend.consensus import SPEEDS, Consensus
from refdb.recommend.grid import recommend_grid
from refdb.recommend.isotropic import derive_speed, inconsistent_pairs
from refdb.recommend.pipes import recommend_pipes
from refdb.recommend.policy import Policy
from refdb.recommend.printed import recommend_linings, recommend_tolerances
from refdb.recommend.reference import recommend_reference
from refdb.recommend.roughness import recommend_roughness
from refdb.records.models import (
    LiningReading,
    PipeReading,
    PropertyReading,
    Recommended,
    RecommendedValue,
    RoughnessReading,
    Source,
    Subject,
    ToleranceReading,
)
from refdb.units import UnitTable
from refdb.vocabulary import VocabularyDocument

Step = Callable[[str], None]


def recommend(
    ledger: Ledger, policy: Policy, vocabulary: VocabularyDocument, step: Step | None = None
) -> list[Recommended]:
    """Every row that the rules recommend from the ledger, in order of ids.

    Args:
        step: called with each subject's id as its rows are derived, for a progress bar.
    """
    table = UnitTable.from_documents(vocabulary["units"])
    rows: list[Recommended] = []
    values = _values(ledger, policy, vocabulary, table, step)
    rows.extend(values.values())
    rows.extend(recommend_pipes(ledger.of(PipeReading)))
    roughness_unit = vocabulary["properties"]["roughness"]["si"]
    sources = {source.id: source for source in ledger.of(Source)}
    rows.extend(recommend_roughness(ledger.of(RoughnessReading), roughness_unit, table, sources))
    rows.extend(recommend_tolerances(ledger.of(ToleranceReading)))
    rows.extend(recommend_linings(ledger.of(LiningReading)))
    return sorted(rows, key=lambda row: row.id)


def _values(
    ledger: Ledger, policy: Policy, vocabulary: VocabularyDocument, table: UnitTable, step: Step | None
) -> dict[str, RecommendedValue]:
    sources = {source.id: source for source in ledger.of(Source)}
    consensus = Consensus(sources, policy, table)
    by_subject: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in ledger.of(PropertyReading):
        by_subject[reading.subject].append(reading)
    rows: dict[str, RecommendedValue] = {}
    for subject in ledger.of(Subject):
        if step is not None:
            step(subject.id)
        readings = by_subject[subject.id]
        inconsistent = inconsistent_pairs(readings, table) if subject.isotropic else {}
        for property_id, group in _by_property(readings).items():
            si = vocabulary["properties"][property_id]["si"]
            choice = policy.grids.get(f"{subject.id}.{property_id}")
            if choice is not None:
                rows[choice.row] = recommend_grid(choice, group, ledger.records, si, table)
                continue
            reference = policy.references.get(f"{subject.id}.{property_id}")
            if reference is not None:
                rows[reference.row] = recommend_reference(reference, group, si, sources)
                continue
            for condition in (None, *sorted({r.condition for r in group if r.condition})):
                members = [r for r in group if condition in (None, r.condition)]
                row = consensus.recommend(subject, property_id, si, members, inconsistent, condition)
                if row is not None:
                    rows[row.id] = row
        _add_derived_speeds(subject, policy, rows)
    return rows


def _add_derived_speeds(subject: Subject, policy: Policy, rows: dict[str, RecommendedValue]) -> None:
    family = policy.family(subject.family)
    if family is None or not family.elastic or not subject.isotropic:
        return
    for property_id in SPEEDS:
        if f"{subject.id}.{property_id}" not in rows:
            row = derive_speed(subject, property_id, rows, family)
            if row is not None:
                rows[row.id] = row


def _by_property(readings: Sequence[PropertyReading]) -> Mapping[str, list[PropertyReading]]:
    grouped: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in readings:
        grouped[reading.property].append(reading)
    return dict(sorted(grouped.items()))
