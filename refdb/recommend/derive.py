"""Deriving every recommended row from the ledger."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, partial
from typing import Any, TypeVar

from refdb.ledger import Ledger
from refdb.problems import LedgerError
from refdb.recommend.arithmetic import Arithmetic, PlainMean, RandomEffects, Weighed
from refdb.recommend.evidence import SPEEDS, resolutions_of
from refdb.recommend.evidence_classes import EvidenceClasses
from refdb.recommend.lineage import Lineages
from refdb.recommend.liquids.bounds import Liquids
from refdb.recommend.liquids.curve_fit import CurveFitting
from refdb.recommend.liquids.from_rows import bound_absorption, derive_expansion, derive_kinematic_viscosity
from refdb.recommend.liquids.grid import recommend_grid
from refdb.recommend.liquids.grid_kind import Bounds, recommend_kind
from refdb.recommend.liquids.reference import recommend_reference
from refdb.recommend.liquids.saturation import recommend_saturation
from refdb.recommend.named import wrong_names
from refdb.recommend.oils.lines import recommend_line
from refdb.recommend.oils.oils import recommend_oils, recommend_viscosity
from refdb.recommend.pipes.dimensions import recommend_pipes
from refdb.recommend.pipes.printed import recommend_linings, recommend_tolerances
from refdb.recommend.pipes.roughness import recommend_roughness
from refdb.recommend.policy import Analogue, Family, Oil, Policy, Repeatability
from refdb.recommend.solids.analogue import estimate_analogues
from refdb.recommend.solids.attenuation import ATTENUATIONS, recommend_attenuation
from refdb.recommend.solids.bounds import bound_solids
from refdb.recommend.solids.checks import Checks, FamilySpans
from refdb.recommend.solids.consensus import Consensus
from refdb.recommend.solids.covariance import with_correlations
from refdb.recommend.solids.derived import DerivedSpeeds
from refdb.recommend.solids.dispersion import Dispersions
from refdb.recommend.solids.expansion import INSTANTANEOUS, MEAN, instantaneous, recommend_solid_expansion
from refdb.recommend.solids.family import estimate_families
from refdb.recommend.solids.from_rows import derive_isotropic_speed
from refdb.recommend.solids.isotropic import derive_speed, inconsistent_pairs
from refdb.recommend.solids.kin import named_rows, widened
from refdb.recommend.solids.slopes import Slopes
from refdb.recommend.solids.temperature import AT_TEMPERATURES, Temperatures
from refdb.recommend.solids.wound import bound_wound_walls
from refdb.recommend.solutions.points import at_pure_end
from refdb.recommend.solutions.rows import Solutions
from refdb.recommend.steps import Earlier, Plain, Reads, Step, Steps
from refdb.records import digest, number_text
from refdb.records.models import (
    Envelope,
    Input,
    LiningReading,
    PipeReading,
    PropertyReading,
    Reading,
    RecommendedValue,
    RoughnessReading,
    Source,
    Subject,
    ToleranceReading,
)
from refdb.records.rules import (
    ANALOGUE,
    ATTENUATION,
    CLASSICAL_ABSORPTION,
    CONSENSUS,
    CURVE_FIT_EXACT,
    DEAD_OIL,
    EVIDENCE_AT_20,
    EXPANSION,
    FAMILY,
    FAMILY_BOUNDS,
    GRID_EXACT,
    GRID_NEAR_ATMOSPHERE_EXACT,
    GRID_OF_KIND_EXACT,
    ISOTROPIC,
    ISOTROPIC_MODULI,
    PRINTED_DIMENSIONS,
    PRINTED_LIMITS,
    PRINTED_PIPES,
    PRINTED_ROUGHNESS,
    QUOTIENT,
    REFERENCE,
    ROUGHNESS_OF_DOCUMENTS,
    RULES,
    SOLID_EXPANSION,
    SOLID_TEMPERATURE,
    TEMPERATURE_LINE,
    UNBIASED,
    VISCOSITY_LINE,
    WEIGHED_EVIDENCE,
    WOUND_WALL,
)
from refdb.units import UnitTable
from refdb.vocabulary import VocabularyDocument

Item = TypeVar("Item")

CHECKED = tuple(Repeatability.model_fields)
"""The properties of solids about which the policy says something."""

Tell = Callable[[str], None]
Rows = dict[str, RecommendedValue]


@dataclass(frozen=True, slots=True)
class Derived:
    """The rows that the rules recommend, in their plain form by id, and the steps that made them, by name.

    Attributes:
        computed: the names of the steps that were computed; the others were carried forward.
    """

    rows: dict[str, Plain]
    steps: dict[str, Step]
    computed: list[str]


def recommend(
    ledger: Ledger,
    policy: Policy,
    vocabulary: VocabularyDocument,
    tell: Tell | None = None,
    earlier: Earlier | None = None,
) -> Derived:
    """Every row that the rules recommend from the ledger.

    Args:
        tell: called with each subject's id as its rows are derived, for a progress bar.
        earlier: the newest release, whose rows are carried forward where they rest on what they rested on; everything
            is computed where none is given.
    """
    table = UnitTable.from_documents(vocabulary["units"])
    steps = Steps(ledger.records, table, earlier or Earlier())
    values = ValueRules(ledger, policy, vocabulary, steps).recommended(ledger.of(PropertyReading), tell)
    rows = [row.plain() for row in values.values()]
    rows += _printed_rows(ledger, vocabulary, table, steps)
    return Derived({row["id"]: row for row in rows}, steps.taken, steps.derived)


def _printed_rows(ledger: Ledger, vocabulary: VocabularyDocument, table: UnitTable, steps: Steps) -> list[Plain]:
    """Rows of pipes, tolerances, linings and surfaces, which no other row rests on."""
    sources = {source.id: source for source in ledger.of(Source)}
    roughness_unit = vocabulary["properties"]["roughness"]["si"]
    rows: list[Plain] = []
    for system, pipes in sorted(_grouped(ledger.of(PipeReading), lambda reading: reading.system).items()):
        reads = Reads((PRINTED_DIMENSIONS, PRINTED_PIPES), records=pipes)
        rows += steps.printed(f"pipes {system}", reads, partial(recommend_pipes, pipes))
    for surface, found in sorted(_grouped(ledger.of(RoughnessReading), lambda reading: reading.surface).items()):
        reads = Reads(
            (PRINTED_ROUGHNESS, ROUGHNESS_OF_DOCUMENTS),
            policy=(roughness_unit,),
            records=[*found, *_sources_of(found, sources)],
        )
        make = partial(recommend_roughness, found, roughness_unit, table, sources)
        rows += steps.printed(f"roughness {surface}", reads, make)
    for row, limits in sorted(_grouped(ledger.of(ToleranceReading), lambda reading: reading.tolerance).items()):
        reads = Reads((PRINTED_LIMITS,), records=limits)
        rows += steps.printed(f"tolerance {row}", reads, partial(recommend_tolerances, limits))
    for row, linings in sorted(_grouped(ledger.of(LiningReading), lambda reading: reading.lining).items()):
        reads = Reads((PRINTED_LIMITS,), records=linings)
        rows += steps.printed(f"lining {row}", reads, partial(recommend_linings, linings))
    return rows


def _sources_of(readings: Iterable[Reading], sources: Mapping[str, Source]) -> list[Source]:
    return [sources[key] for key in sorted({reading.source for reading in readings})]


class ValueRules:
    """The ladder of values: published, derived from it, a named relative's, the family's, and remembered ones last.

    Args:
        steps: takes each step, or carries its rows forward; every step is computed, and none noted, without it.
    """

    def __init__(
        self, ledger: Ledger, policy: Policy, vocabulary: VocabularyDocument, steps: Steps | None = None
    ) -> None:
        self._ledger = ledger
        self._policy = policy
        self._vocabulary = vocabulary
        self._steps = steps
        self._table = UnitTable.from_documents(vocabulary["units"])
        self._subjects = ledger.of(Subject)
        self._sources = {source.id: source for source in ledger.of(Source)}
        wrong = list(wrong_names(policy, {subject.id for subject in self._subjects}, self._sources))
        if wrong:
            raise LedgerError(wrong)
        self._rule = RULES[policy.consensus.rule] if policy.consensus is not None else CONSENSUS
        self._second = self._rule is not CONSENSUS
        self._weighs = self._rule in (WEIGHED_EVIDENCE, EVIDENCE_AT_20)
        self._bounds = Bounds.of(ledger.records)
        self._liquids = Liquids(ledger.records, self._table)
        self._family_of = {subject.id: subject.family for subject in self._subjects}
        self._subject_of = {subject.id: subject for subject in self._subjects}
        self._spans = FamilySpans(self._subjects, ledger.of(PropertyReading), self._table)
        self._resolutions = resolutions_of(ledger.of(PropertyReading))
        arithmetic: Arithmetic = RandomEffects(policy, self._resolutions) if self._second else PlainMean()
        if self._weighs:
            arithmetic = Weighed(policy, self._resolutions, EvidenceClasses(policy.evidence, self._sources), self._rule)
        shared = policy.shared_lineages if self._weighs else ()
        dispersions = None
        if self._weighs:
            groups = {member: name for name, family in policy.families.items() for member in family.members}
            group_of = {subject.id: groups[subject.family] for subject in self._subjects if subject.family in groups}
            dispersions = Dispersions(ledger.of(PropertyReading), group_of, self._table)
        self._lineages = Lineages(self._sources.values(), shared)
        self.consensus = Consensus(arithmetic, self._lineages, policy, self._table, dispersions)

    def recommended(self, readings: Sequence[PropertyReading], tell: Tell | None = None) -> Rows:
        """The rows that follow from some or all readings of the ledger, by id."""
        by_subject = _grouped(readings, lambda reading: reading.subject)
        pure_ends = self._pure_ends(readings)
        rows: Rows = {}
        remembered: Rows = {}
        subjects = self._subjects
        published: dict[str, Rows] = {}
        for subject in subjects:
            if tell is not None:
                tell(subject.id)
            own = self._published(subject, by_subject.get(subject.id, []), pure_ends.get(subject.id, []))
            remembered |= {row_id: row for row_id, row in own.items() if row.rung == "memory"}
            published[subject.id] = {row_id: row for row_id, row in own.items() if row.rung != "memory"}
        for row in self._widened({row_id: row for own in published.values() for row_id, row in own.items()}):
            published[row.subject][row.id] = row
        expansions = self._expansions({row_id: row for own in published.values() for row_id, row in own.items()})
        rows |= expansions
        temperatures = self._temperatures(readings, published, expansions)
        for subject in subjects:
            published[subject.id] |= self._tempered(subject, published[subject.id], temperatures)
        speeds = self.derived_speeds({row_id: row for own in published.values() for row_id, row in own.items()})
        for subject in subjects:
            derived = self._derived(subject, published[subject.id], speeds)
            own = published[subject.id] | derived | self._tempered(subject, derived, temperatures)
            rows |= own | self._correlated(subject, own)
        rows = _pointed(rows)
        solutions = Solutions(self._policy.solutions, self._ledger.records, self._vocabulary["properties"], self._table)
        rows |= solutions.rows(
            [reading for reading in readings if self._policy.solutions.holds(reading.subject)], rows, self._taken
        )
        for solution in self._policy.solutions.molar_masses:
            rows |= self._derived_of_liquid(solution, rows)
        rows |= {row_id: row for row_id, row in self._oils.items() if row.rung == "derived" and row_id not in rows}
        estimated = remembered | self._oils | self._families(subjects, rows)
        estimated |= self._analogues(subjects, rows, self._policy.analogues)
        estimated |= self._wound
        estimated |= self._limits(rows, estimated | rows)
        for name, of_subject in _grouped(estimated.values(), lambda row: row.subject).items():
            estimated |= self._tempered(self._subject_of[name], {row.id: row for row in of_subject}, temperatures)
        best = estimated | rows
        return self._bounded(subjects, best) | best

    def _taken(
        self, name: str, reads: Callable[[], Reads], make: Callable[[], Iterable[RecommendedValue]]
    ) -> list[RecommendedValue]:
        """The rows of a step, computed or carried forward."""
        return list(make()) if self._steps is None else self._steps.values(name, reads(), make, RecommendedValue)

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
        solutes = {subject.id: subject.solution.solute for subject in self._subjects if subject.solution}
        ends = [reading for reading in readings if solutes.get(reading.subject) and at_pure_end(reading, self._table)]
        return _grouped(ends, lambda reading: solutes[reading.subject] or "")

    def _published(
        self, subject: Subject, readings: Sequence[PropertyReading], pure_ends: Sequence[PropertyReading]
    ) -> Rows:
        if self._policy.solutions.holds(subject.id):
            return {}
        inconsistent = cache(partial(self.inconsistent, subject, readings))
        rows: Rows = {}
        own, ends = (_grouped(group, _property_told) for group in (readings, pure_ends))
        for property_id in sorted({*own, *ends, *self._told_by_constants(subject, readings)}):
            group, pure = own.get(property_id, []), ends.get(property_id, [])
            found = self._taken(
                f"published {subject.id}.{property_id}",
                partial(self._reads_of_published, subject, property_id, [*readings, *pure]),
                partial(self._of_property, subject, property_id, group, pure, readings, inconsistent),
            )
            rows |= {row.id: row for row in found}
        return rows

    def _told_by_constants(self, subject: Subject, readings: Sequence[PropertyReading]) -> Sequence[str]:
        """The speeds, where constants found from sound may tell them."""
        found = subject.isotropic and any(reading.method == "dynamic" for reading in readings)
        return SPEEDS if found and self._weighs else ()

    def _of_property(
        self,
        subject: Subject,
        property_id: str,
        group: Sequence[PropertyReading],
        pure_ends: Sequence[PropertyReading],
        of_subject: Sequence[PropertyReading],
        inconsistent: Callable[[], Mapping[str, str]],
    ) -> Iterator[RecommendedValue]:
        """The row that a reading was chosen for or a curve goes through; else those of the consensus."""
        si = self._vocabulary["properties"][property_id]["si"]
        chosen = self._chosen(f"{subject.id}.{property_id}", group, si) if group else None
        chosen = chosen or self._curve(subject, property_id, [*group, *pure_ends], si)
        if chosen is not None:
            yield chosen
            return
        family, attenuation = self._policy.family(subject.family), self._policy.attenuation
        if property_id in ATTENUATIONS and family is not None and attenuation is not None:
            room, lineages = self._policy.room, self._lineages
            yield from _known(
                [recommend_attenuation(subject, property_id, group, family, attenuation, lineages, room, self._table)]
            )
            return
        expansion = self._policy.solid_expansion(subject.family)
        if property_id == MEAN and expansion is not None:
            for condition in (None, *sorted({r.condition for r in group if r.condition})):
                members = [r for r in group if r.condition == condition]
                mean = recommend_solid_expansion(subject, members, expansion, self._lineages, self._table, condition)
                if mean is not None:
                    yield from (mean, instantaneous(mean))
            return
        for condition in (None, *sorted({r.condition for r in group if r.condition})):
            if condition is None and not subject.isotropic and all(r.condition for r in group):
                continue  # What differs by direction has no value without one.
            members = [r for r in group if condition in (None, r.condition)]
            row = self.consensus.recommend(
                subject, property_id, si, members, inconsistent(), condition, of_subject if self._second else ()
            )
            if row is not None:
                yield row

    def _reads_of_published(self, subject: Subject, property_id: str, readings: Sequence[PropertyReading]) -> Reads:
        """What the published rows of a property rest on: all readings of the subject, since checks hold one against
        another and bounds are readings too."""
        records: list[Envelope] = [subject, *readings, *_sources_of(readings, self._sources)]
        si = self._vocabulary["properties"][property_id]["si"]
        row = f"{subject.id}.{property_id}"
        policy = self._policy
        if property_id in ATTENUATIONS:
            return Reads((ATTENUATION,), (policy.attenuation, policy.family(subject.family), policy.room, si), records)
        if property_id == "thermal_expansion" and subject.subject_kind == "material":
            return Reads((SOLID_EXPANSION,), (policy.solid_expansion(subject.family), si), records)
        if row in policy.grids:
            choice = policy.grids[row]
            named = [self._ledger.records.get(name) for name in (choice.reading, choice.freezing) if name is not None]
            return Reads((GRID_EXACT,), (choice, si), [*records, *(record for record in named if record is not None)])
        if row in policy.references:
            return Reads((REFERENCE,), (policy.references[row], si), records)
        if row in policy.lines:
            return Reads((TEMPERATURE_LINE,), (policy.lines[row], si), records)
        if row in policy.viscosities:
            return Reads((VISCOSITY_LINE,), (policy.viscosities[row], si), records)
        fit, family = policy.curve_fits.get(property_id), policy.family(subject.family)
        kinds = [kind for kind in policy.grid_kinds if kind.property == property_id]
        printed = {(reading.source, reading.property, reading.unit) for reading in readings}
        return Reads(
            (
                GRID_OF_KIND_EXACT,
                GRID_NEAR_ATMOSPHERE_EXACT,
                CURVE_FIT_EXACT,
                self._rule,
            ),
            (si, fit, family, policy.consensus, policy.room, *self._weighing(family), *kinds),
            records,
            computed={
                "elsewhere": self._spans.elsewhere(subject, CHECKED) if self._second and family is not None else {},
                "dispersion": self._dispersion_figures(subject, property_id),
                "resolutions": sorted((*key, self._resolutions[key]) for key in printed & self._resolutions.keys()),
            },
        )

    def _dispersion_figures(self, subject: Subject, property_id: str) -> list[str]:
        found = self.consensus.dispersion(subject, property_id)
        return [number_text(found.per_decade, 6), found.words] if found is not None else []

    def _weighing(self, family: Family | None) -> Sequence[Any]:
        """What the policy says of classes of evidence and of the widths of a group of families."""
        if family is None or not self._weighs:
            return ()
        policy = self._policy
        return (*policy.evidence, *policy.class_widths, policy.widths_of(family), *policy.shared_lineages)

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

    def _curve(
        self, subject: Subject, property_id: str, group: Sequence[PropertyReading], si: str
    ) -> RecommendedValue | None:
        """The row of a liquid whose property no equation of state gives."""
        policy = self._policy.curve_fits.get(property_id)
        if policy is None or subject.subject_kind != "liquid":
            return None
        if policy.property == "saturation_pressure":
            return recommend_saturation(policy, self._liquids, group)
        return CurveFitting(policy, self._liquids.of(subject.id), self._sources, si, self._table).recommend(
            subject, group
        )

    def _widened(self, published: Rows) -> Iterator[RecommendedValue]:
        """Published speeds of metals and of what mostly consists of them, wide enough to hold one another."""
        for entry in self._policy.dilute:
            for property_id in SPEEDS:
                yield from self._taken(
                    f"kinds of {entry.of}.{property_id}",
                    partial(Reads, (self._rule,), (entry,), rows=named_rows(entry, property_id, published)),
                    partial(_values_of, widened, entry, property_id, published),
                )

    def _correlated(self, subject: Subject, own: Rows) -> Rows:
        """The rows of a material that err together."""
        if subject.subject_kind != "material" or not self._weighs:
            return {}

        def source_of(record_id: str) -> str | None:
            record = self._ledger.records.get(record_id)
            return record.source if isinstance(record, PropertyReading) else None

        made = self._taken(
            f"correlated {subject.id}",
            partial(Reads, (self._rule,), self._policy.error_correlations, [subject], own.values()),
            partial(_values_of, with_correlations, own, self._policy.error_correlations, source_of),
        )
        return {row.id: row for row in made}

    def _expansions(self, published: Rows) -> Rows:
        """What families and named relatives let expect of the thermal expansion, on which slopes and densities rest."""
        if self._policy.temperature is None:
            return {}
        known = {row_id: row for row_id, row in published.items() if row.property in (MEAN, INSTANTANEOUS)}
        entries = [entry for entry in self._policy.analogues if MEAN in entry.properties]
        lent = self._analogues(self._subjects, known, entries)
        return self._families(self._subjects, known, "expansion of family") | lent

    def _temperatures(
        self, readings: Sequence[PropertyReading], published: Mapping[str, Rows], expansions: Rows
    ) -> Temperatures | None:
        """What tells the rows of solids at other temperatures; None where the policy says nothing of it."""
        policy = self._policy.temperature
        if policy is None:
            return None
        rows = {row_id: row for own in published.values() for row_id, row in own.items()} | expansions
        return Temperatures(Slopes(self._subjects, readings, rows, policy, self._table), policy)

    def _tempered(self, subject: Subject, rows: Rows, temperatures: Temperatures | None) -> Rows:
        """The rows of a solid that follow its temperature."""
        if temperatures is None or subject.subject_kind != "material" or not rows:
            return {}
        found = [row for row in rows.values() if row.property in AT_TEMPERATURES]
        made = self._taken(
            f"temperature {subject.id}: {' '.join(sorted({row.rung for row in found}))}",
            lambda: Reads((SOLID_TEMPERATURE,), (), [subject], found, {"slopes": temperatures.rests_on(subject)}),
            lambda: temperatures.applied(subject, {row.id: row for row in found}),
        )
        return {row.id: row for row in made}

    def derived_speeds(self, published: Rows) -> DerivedSpeeds | None:
        """What gives speeds that nobody published, from all published rows; None under a rule before consensus/3."""
        if not self._weighs:
            return None
        classes = EvidenceClasses(self._policy.evidence, self._sources)

        def unfounded(row: RecommendedValue) -> bool:
            records = (self._ledger.records.get(entry.id) for entry in row.inputs)
            return not classes.founded([record for record in records if isinstance(record, PropertyReading)])

        return DerivedSpeeds(self._subjects, published, self._policy, unfounded)

    def _derived(self, subject: Subject, published: Rows, speeds: DerivedSpeeds | None) -> Rows:
        if self._policy.solutions.holds(subject.id):
            return {}
        if subject.subject_kind == "liquid":
            return self._derived_of_liquid(subject.id, published)
        family = self._policy.family(subject.family)
        if family is None or not subject.isotropic or not (self._second or family.elastic):
            return {}
        rows: Rows = {}
        for property_id in SPEEDS:
            if f"{subject.id}.{property_id}" not in published:
                found = self._speed(subject, property_id, family, published, speeds)
                rows |= {row.id: row for row in found}
        return rows

    def _speed(
        self, subject: Subject, property_id: str, family: Family, published: Rows, speeds: DerivedSpeeds | None
    ) -> list[RecommendedValue]:
        """A speed that nobody published."""
        name = f"derived {subject.id}.{property_id}"
        if speeds is not None:
            return self._taken(
                name,
                lambda: Reads(
                    (UNBIASED,), (family, *self._policy.dilute), [subject], speeds.kin(subject), speeds.figures
                ),
                lambda: _known([speeds.row(subject, property_id)]),
            )
        rule, derive = (ISOTROPIC, derive_isotropic_speed) if self._second else (ISOTROPIC_MODULI, derive_speed)
        return self._taken(
            name,
            lambda: Reads((rule,), (family,), [subject], published.values()),
            lambda: _known([derive(subject, property_id, published, family)]),
        )

    def _derived_of_liquid(self, subject: str, published: Rows) -> Rows:
        own = {row_id: row for row_id, row in published.items() if row.subject == subject}

        def make() -> Iterator[RecommendedValue]:
            derived = [derive_kinematic_viscosity(subject, own, self._table)]
            if self._policy.expansion is not None:
                derived.append(derive_expansion(subject, own, self._policy.expansion, self._table))
            return (row for row in _known(derived) if row.id not in own)

        found = self._taken(
            f"derived {subject}",
            lambda: Reads((QUOTIENT, EXPANSION), (self._policy.expansion,), rows=own.values()),
            make,
        )
        return {row.id: row for row in found}

    # What an oil's rows rest on is named in the policy, whichever readings are given.
    @cached_property
    def _oils(self) -> Rows:
        """The rows of all oils that follow from their densities."""
        return {row.id: row for oil in self._policy.oils for row in self._oil(oil)}

    def _oil(self, oil: Oil) -> list[RecommendedValue]:
        """The rows of an oil that follow from its density."""
        model = self._policy.oil_model
        named = [*oil.density, *([model.speed_equation] if model is not None else [])]
        records = [record for name in named if (record := self._ledger.records.get(name)) is not None]
        return self._taken(
            f"oil {oil.subject}",
            lambda: Reads((DEAD_OIL,), (oil, model), records),
            lambda: recommend_oils([oil], model, self._ledger.records, self._table).values(),
        )

    def _families(self, subjects: Sequence[Subject], rows: Rows, step: str = "family") -> Rows:
        """What families have in common, for members of which nothing better is known."""
        by_family = _grouped(rows.values(), lambda row: self._family_of[row.subject])
        found: Rows = {}
        for name, members in sorted(_grouped(subjects, lambda subject: subject.family).items()):
            own = {row.id: row for row in by_family.get(name, [])}
            made = self._taken(
                f"{step} {name}",
                partial(Reads, (FAMILY,), (self._policy.estimate, self._policy.family(name)), members, own.values()),
                partial(_values_of, estimate_families, members, own, self._policy),
            )
            found |= {row.id: row for row in made}
        return found

    @property
    def _wound(self) -> Rows:
        """Bounds of walls that are wound of fibres."""
        policy = self._policy.wound
        if policy is None:
            return {}
        named = {name for laminate in policy.laminates for name in laminate.readings()}
        records = {name: self._ledger.records[name] for name in sorted(named) if name in self._ledger.records}
        readings = {name: record for name, record in records.items() if isinstance(record, PropertyReading)}
        found = {name: self._policy.family(self._family_of[name]) for name in policy.subjects}
        families = {name: family for name, family in found.items() if family is not None}
        made = self._taken(
            "wound walls",
            partial(Reads, (WOUND_WALL,), (policy, *families.values()), readings.values()),
            partial(_values_of, bound_wound_walls, self._subject_of, policy, readings, families, self._table),
        )
        return {row.id: row for row in made}

    def _limits(self, rows: Rows, best: Rows) -> Rows:
        """Bounds of what nothing else is known of."""
        if self._policy.bounds is None:
            return {}
        solids = {row_id: row for row_id, row in rows.items() if row.property in self._policy.bounds.properties}
        materials = [subject for subject in self._subjects if subject.subject_kind == "material"]
        wanted = [f"{one.id}.{name}" for one in materials for name in self._policy.bounds.properties]
        answered = sorted(row_id for row_id in wanted if row_id in best)
        named = {entry.reading: self._ledger.records.get(entry.reading) for entry in self._policy.bounds.printed}
        printed = {name: record for name, record in named.items() if isinstance(record, PropertyReading)}
        made = self._taken(
            "bounds of solids",
            partial(
                Reads,
                (FAMILY_BOUNDS,),
                (self._policy.bounds, *self._policy.families.values()),
                [*materials, *printed.values()],
                solids.values(),
                {"answered": answered},
            ),
            partial(_values_of, bound_solids, materials, solids, best, self._policy, self._table, printed),
        )
        return {row.id: row for row in made}

    def _analogues(self, subjects: Sequence[Subject], rows: Rows, entries: Iterable[Analogue]) -> Rows:
        """What named relatives lend."""
        found: Rows = {}
        for entry in entries:
            named = [f"{subject}.{name}" for subject in (entry.subject, entry.of) for name in entry.properties]
            own = {row: rows[row] for row in named if row in rows}
            made = self._taken(
                f"analogue {entry.subject} of {entry.of}: {' '.join(entry.properties)}",
                partial(Reads, (ANALOGUE,), (entry,), rows=own.values()),
                partial(_values_of, estimate_analogues, subjects, own, [entry]),
            )
            found |= {row.id: row for row in made}
        return found

    def _bounded(self, subjects: Sequence[Subject], best: Rows) -> Rows:
        """The least absorption of every liquid; what is published stands before it."""
        by_subject = _grouped(best.values(), lambda row: row.subject)
        found: Rows = {}
        for subject in subjects:
            if subject.subject_kind == "liquid":
                own = {row.id: row for row in by_subject.get(subject.id, [])}
                made = self._taken(
                    f"bound {subject.id}",
                    partial(Reads, (CLASSICAL_ABSORPTION,), rows=own.values()),
                    partial(self._bound, subject.id, own),
                )
                found |= {row.id: row for row in made}
        return found

    def _bound(self, liquid: str, own: Rows) -> list[RecommendedValue]:
        return _known([bound_absorption(liquid, own, self._table)])


def _pointed(rows: Rows) -> Rows:
    """The rows, with derived speeds naming the rows that they rest on as these are now: with their correlations."""
    digests: dict[str, str] = {}

    def digest_now(entry: Input) -> str:
        if entry.id not in rows:
            return entry.digest
        if entry.id not in digests:
            digests[entry.id] = digest(rows[entry.id].plain())
        return digests[entry.id]

    return {
        row_id: row
        if row.rule != UNBIASED.name
        else row.model_copy(
            update={"inputs": [entry.model_copy(update={"digest": digest_now(entry)}) for entry in row.inputs]}
        )
        for row_id, row in rows.items()
    }


def _property_told(reading: PropertyReading) -> str:
    """The property whose row a reading may enter: an instantaneous expansion tells a mean one too."""
    return MEAN if reading.property == INSTANTANEOUS else reading.property


def _known(rows: Iterable[RecommendedValue | None]) -> list[RecommendedValue]:
    return [row for row in rows if row is not None]


def _values_of(estimate: Callable[..., Rows], *arguments: Any) -> Iterable[RecommendedValue]:
    return estimate(*arguments).values()


def _grouped(items: Iterable[Item], key: Callable[[Item], str]) -> Mapping[str, list[Item]]:
    grouped: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        grouped[key(item)].append(item)
    return grouped
