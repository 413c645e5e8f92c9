"""Deriving every recommended row from the ledger."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from refdb.ledger import Ledger
from refdb.recommend.analogue import estimate_analogues
from refdb.recommend.arithmetic import Arithmetic, PlainMean, RandomEffects
from refdb.recommend.checks import Checks, FamilySpans
from refdb.recommend.consensus import Consensus
from refdb.recommend.curve_fit import CurveFitting
from refdb.recommend.derived import derive_isotropic_speed
from refdb.recommend.evidence import SPEEDS, resolutions_of
from refdb.recommend.family import estimate_families
from refdb.recommend.grid import recommend_grid
from refdb.recommend.grid_kind import Bounds, recommend_kind
from refdb.recommend.isotropic import derive_speed, inconsistent_pairs
from refdb.recommend.lines import recommend_line
from refdb.recommend.liquid_bounds import Liquids
from refdb.recommend.liquid_derived import bound_absorption, derive_expansion, derive_kinematic_viscosity
from refdb.recommend.liquid_saturation import recommend_saturation
from refdb.recommend.oils import recommend_oils, recommend_viscosity
from refdb.recommend.pipes import recommend_pipes
from refdb.recommend.policy import Policy, Repeatability
from refdb.recommend.printed import recommend_linings, recommend_tolerances
from refdb.recommend.reference import recommend_reference
from refdb.recommend.roughness import recommend_roughness
from refdb.recommend.solution_points import at_pure_end
from refdb.recommend.solutions import Solutions
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
from refdb.records.rules import RANDOM_EFFECTS
from refdb.units import UnitTable
from refdb.vocabulary import VocabularyDocument

CHECKED = tuple(Repeatability.model_fields)
"""The properties of solids about which the policy says something."""

Step = Callable[[str], None]
Rows = dict[str, RecommendedValue]


def recommend(
    ledger: Ledger, policy: Policy, vocabulary: VocabularyDocument, step: Step | None = None
) -> list[Recommended]:
    """Every row that the rules recommend from the ledger, in order of ids.

    Args:
        step: called with each subject's id as its rows are derived, for a progress bar.
    """
    values = Values(ledger, policy, vocabulary).recommended(ledger.of(PropertyReading), step)
    table = UnitTable.from_documents(vocabulary["units"])
    rows: list[Recommended] = [*values.values()]
    rows.extend(recommend_pipes(ledger.of(PipeReading)))
    roughness_unit = vocabulary["properties"]["roughness"]["si"]
    sources = {source.id: source for source in ledger.of(Source)}
    rows.extend(recommend_roughness(ledger.of(RoughnessReading), roughness_unit, table, sources))
    rows.extend(recommend_tolerances(ledger.of(ToleranceReading)))
    rows.extend(recommend_linings(ledger.of(LiningReading)))
    return sorted(rows, key=lambda row: row.id)


class Values:
    """The ladder of values: published, derived from it, a named relative's, the family's, and remembered ones last."""

    def __init__(self, ledger: Ledger, policy: Policy, vocabulary: VocabularyDocument) -> None:
        self._ledger = ledger
        self._policy = policy
        self._vocabulary = vocabulary
        self._table = UnitTable.from_documents(vocabulary["units"])
        self._sources = {source.id: source for source in ledger.of(Source)}
        self._second = policy.consensus is not None and policy.consensus.rule == RANDOM_EFFECTS.name
        self._bounds = Bounds.of(ledger.records)
        self._liquids = Liquids(ledger.records, self._table)
        self._spans = FamilySpans(ledger.of(Subject), ledger.of(PropertyReading), self._table)
        resolutions = resolutions_of(ledger.of(PropertyReading))
        arithmetic: Arithmetic = RandomEffects(policy, resolutions) if self._second else PlainMean()
        self._consensus = Consensus(arithmetic, self._sources, policy, self._table)

    def recommended(self, readings: Sequence[PropertyReading], step: Step | None = None) -> Rows:
        """The rows that follow from some or all readings of the ledger, by id."""
        by_subject = _grouped(readings, lambda reading: reading.subject)
        pure_ends = self._pure_ends(readings)
        rows: Rows = {}
        remembered: Rows = {}
        subjects = self._ledger.of(Subject)
        for subject in subjects:
            if step is not None:
                step(subject.id)
            own = self._published(subject, by_subject.get(subject.id, []), pure_ends.get(subject.id, []))
            remembered |= {row_id: row for row_id, row in own.items() if row.rung == "memory"}
            own = {row_id: row for row_id, row in own.items() if row.rung != "memory"}
            rows |= own | self._derived(subject, own)
        solutions = Solutions(self._policy.solutions, self._ledger.records, self._vocabulary["properties"], self._table)
        rows |= solutions.rows([reading for reading in readings if self._policy.solutions.holds(reading.subject)], rows)
        for solution in self._policy.solutions.molar_masses:
            rows |= self._derived_of_liquid(solution, rows)
        oils = recommend_oils(self._policy.oils, self._policy.oil_model, self._ledger.records, self._table)
        derived = {row_id: row for row_id, row in oils.items() if row.rung == "derived" and row_id not in rows}
        rows |= derived
        families = estimate_families(subjects, rows, self._policy)
        best = remembered | oils | families | estimate_analogues(subjects, rows, self._policy.analogues) | rows
        return self._bounded(subjects, best) | best

    def inconsistent(self, subject: Subject, readings: Sequence[PropertyReading]) -> dict[str, str]:
        """Readings that contradict a check, with the numbers that say so; none is asked of what is not isotropic."""
        if not subject.isotropic:
            return {}
        family = self._policy.family(subject.family)
        if not self._second or family is None or self._policy.consensus is None:
            return inconsistent_pairs(readings, self._table)
        elsewhere = self._spans.elsewhere(subject, CHECKED)
        checks = Checks(subject, family, self._policy.consensus, self._sources, self._table, elsewhere)
        return checks.contradictions(readings)

    def _pure_ends(self, readings: Sequence[PropertyReading]) -> Mapping[str, list[PropertyReading]]:
        """What was measured of solutions at strength 1, by the pure liquid that it is a reading of."""
        solutes = {subject.id: subject.solution.solute for subject in self._ledger.of(Subject) if subject.solution}
        ends = [reading for reading in readings if solutes.get(reading.subject) and at_pure_end(reading, self._table)]
        return _grouped(ends, lambda reading: solutes[reading.subject] or "")

    def _published(
        self, subject: Subject, readings: Sequence[PropertyReading], pure_ends: Sequence[PropertyReading]
    ) -> Rows:
        if self._policy.solutions.holds(subject.id):
            return {}
        inconsistent = self.inconsistent(subject, readings)
        rows: Rows = {}
        own, ends = (_grouped(group, lambda reading: reading.property) for group in (readings, pure_ends))
        for property_id in sorted({*own, *ends}):
            group = own.get(property_id, [])
            si = self._vocabulary["properties"][property_id]["si"]
            chosen = self._chosen(f"{subject.id}.{property_id}", group, si) if group else None
            chosen = chosen or self._curve(subject, [*group, *ends.get(property_id, [])], si)
            if chosen is not None:
                rows[chosen.id] = chosen
                continue
            for condition in (None, *sorted({r.condition for r in group if r.condition})):
                members = [r for r in group if condition in (None, r.condition)]
                row = self._consensus.recommend(
                    subject, property_id, si, members, inconsistent, condition, readings if self._second else ()
                )
                if row is not None:
                    rows[row.id] = row
        return rows

    def _chosen(self, row: str, group: Sequence[PropertyReading], si: str) -> RecommendedValue | None:
        """The row where a written reason says which reading it follows."""
        grid, reference = self._policy.grids.get(row), self._policy.references.get(row)
        if grid is not None:
            return recommend_grid(grid, group, self._ledger.records, si, self._table)
        if reference is not None:
            return recommend_reference(reference, group, si, self._sources)
        if row in self._policy.lines:
            return recommend_line(self._policy.lines[row], group, si, self._sources, self._table)
        if row in self._policy.viscosities:
            return recommend_viscosity(self._policy.viscosities[row], group, self._table)
        return recommend_kind(self._policy, group, self._bounds, si, self._table)

    def _curve(self, subject: Subject, group: Sequence[PropertyReading], si: str) -> RecommendedValue | None:
        """The row of a liquid whose property no equation of state gives."""
        policy = self._policy.curve_fits.get(group[0].property)
        if policy is None or subject.subject_kind != "liquid":
            return None
        if policy.property == "saturation_pressure":
            return recommend_saturation(policy, self._liquids, group)
        return CurveFitting(policy, self._liquids.of(subject.id), self._sources, si, self._table).recommend(
            subject, group
        )

    def _derived(self, subject: Subject, published: Rows) -> Rows:
        if subject.subject_kind == "liquid":
            return self._derived_of_liquid(subject.id, published)
        family = self._policy.family(subject.family)
        if family is None or not subject.isotropic:
            return {}
        missing = [property_id for property_id in SPEEDS if f"{subject.id}.{property_id}" not in published]
        if self._second:
            derived = [derive_isotropic_speed(subject, property_id, published, family) for property_id in missing]
        elif family.elastic:
            derived = [derive_speed(subject, property_id, published, family) for property_id in missing]
        else:
            derived = []
        return {row.id: row for row in derived if row is not None}

    def _derived_of_liquid(self, subject: str, published: Rows) -> Rows:
        derived = [derive_kinematic_viscosity(subject, published, self._table)]
        if self._policy.expansion is not None:
            derived.append(derive_expansion(subject, published, self._policy.expansion, self._table))
        return {row.id: row for row in derived if row is not None and row.id not in published}

    def _bounded(self, subjects: Sequence[Subject], best: Rows) -> Rows:
        """The least absorption of every liquid; what is published stands before it."""
        liquids = [subject.id for subject in subjects if subject.subject_kind == "liquid"]
        bounds = [bound_absorption(liquid, best, self._table) for liquid in liquids]
        return {row.id: row for row in bounds if row is not None}


def _grouped(
    readings: Sequence[PropertyReading], key: Callable[[PropertyReading], str]
) -> Mapping[str, list[PropertyReading]]:
    grouped: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in readings:
        grouped[key(reading)].append(reading)
    return grouped
