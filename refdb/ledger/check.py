"""Checks across records: that names exist, units fit and ids are right."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from refdb.ledger.findings import Findings
from refdb.problems import Problem
from refdb.records import printed_number
from refdb.records.models import (
    WITHHELD,
    AnyRecord,
    Designation,
    Equation,
    FormVariable,
    Grid,
    Limit,
    LiningReading,
    PipeReading,
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    Reading,
    RoughnessReading,
    Scoped,
    Source,
    Subject,
    Surface,
    Table,
    ToleranceReading,
)
from refdb.units import UnitTable
from refdb.vocabulary import STATE, VocabularyDocument

Fault = tuple[str, str]
"""A field and the sentence about it."""


def check_references(
    records: Mapping[str, AnyRecord],
    places: Mapping[str, tuple[Path, int | None]],
    vocabulary: VocabularyDocument,
    table: UnitTable,
    findings: Findings,
) -> None:
    """Note every reference to something missing, every unit that does not fit and every id that is wrong."""
    check = _Check(records, vocabulary, table)
    for record_id, record in records.items():
        file, line = places[record_id]
        for field, wrong in check.faults(record):
            findings.add(file, line, field, wrong)


class _Check:
    def __init__(self, records: Mapping[str, AnyRecord], vocabulary: VocabularyDocument, table: UnitTable) -> None:
        self.records = records
        self.vocabulary = vocabulary
        self.table = table
        self._by_kind: tuple[tuple[type, Callable[..., Iterator[Fault]]], ...] = (
            (Source, self._source),
            (Reading, self._reading),
            (PropertyReading, self._property_reading),
            (Equation, self._variable),
            (Table, self._variable),
            (Grid, self._grid),
            (Surface, self._axes),
            (PipeReading, self._pipe),
            (RoughnessReading, self._roughness),
            (Scoped, self._scoped),
            (ToleranceReading, self._tolerance),
            (LiningReading, self._lining),
            (Designation, self._designation),
        )

    def faults(self, record: AnyRecord) -> Iterator[Fault]:
        for kind, check in self._by_kind:
            if isinstance(record, kind):
                yield from check(record)

    def _exists(self, field: str, name: str, kind: type, where: str) -> Iterator[Fault]:
        if not isinstance(self.records.get(name), kind):
            yield field, f"'{name}' does not exist; add it to {where} or correct the name"

    def _listed(self, field: str, name: str, part: str) -> Iterator[Fault]:
        known = self.vocabulary[part]  # type: ignore[literal-required]
        if name not in known:
            yield (
                field,
                f"'{name}' is not in shared/vocabulary/{part}.toml; add it there or use one of {sorted(known)}",
            )

    def _unit(self, field: str, spelling: str, dimension: str) -> Iterator[Fault]:
        try:
            self.table.find(spelling, dimension, field)
        except Problem as problem:
            yield field, problem.detail

    def _source(self, record: Source) -> Iterator[Fault]:
        # A release passes on all that it holds, so what it holds must be allowed to be passed on.
        if record.rights == WITHHELD:
            yield "rights", f"what is {WITHHELD} may not be passed on, as a release would; keep it as house values"

    def _reading(self, record: Reading) -> Iterator[Fault]:
        yield from self._exists("source", record.source, Source, "sources/documents/")

    def _property_reading(self, record: PropertyReading) -> Iterator[Fault]:
        yield from self._exists("subject", record.subject, Subject, "shared/subjects/")
        yield from self._listed("property", record.property, "properties")
        if record.condition is not None:
            yield from self._listed("condition", record.condition, "conditions")
        definition = self.vocabulary["properties"].get(record.property)
        if definition is None:
            return
        subject = self.records.get(record.subject)
        if isinstance(subject, Subject) and subject.subject_kind not in definition["applies_to"]:
            yield "property", f"{record.property} is not a property of a {subject.subject_kind}"
        yield from self._unit("unit", record.unit, definition["dimension"])
        yield from self._id(record.id, f"{record.subject}.{record.property}.")
        yield from self._printed_unit("state.temperature", record.state.temperature, "temperature")
        yield from self._printed_unit("state.pressure", record.state.pressure, "pressure")

    def _printed_unit(self, field: str, printed: object, dimension: str) -> Iterator[Fault]:
        if isinstance(printed, PrintedQuantity | PrintedInterval):
            yield from self._unit(field, printed.unit, dimension)

    def _id(self, record_id: str, prefix: str) -> Iterator[Fault]:
        rest = record_id.removeprefix(prefix)
        if not record_id.startswith(prefix) or not rest.isdigit():
            taken = [
                int(r.removeprefix(prefix)) for r in self.records if r.startswith(prefix) and r.split(".")[-1].isdigit()
            ]
            following = f"{prefix}{max(taken, default=0) + 1:02d}"
            yield "id", f"'{record_id}' should be '{prefix}' and a number; the next free one is '{following}'"

    def _variable(self, record: Equation | Table) -> Iterator[Fault]:
        variable: FormVariable = record.variable
        if variable.name in {"temperature", "pressure"}:
            yield from self._unit("variable.unit", variable.unit, variable.name)

    def _axes(self, record: Grid | Surface) -> Iterator[Fault]:
        for axis in record.axes:
            yield from self._unit("axes.unit", axis.unit, STATE[axis.name].dimension)

    def _grid(self, record: Grid) -> Iterator[Fault]:
        yield from self._axes(record)
        if record.of == "logarithm" and any(printed_number(value) <= 0.0 for value in record.values):
            yield "values", "only numbers above 0 have a logarithm; write of = 'value' or other numbers"
        if record.saturation is not None:
            yield from self._exists("saturation", record.saturation, Grid, "the ledger")
        if record.freezing is not None:
            yield from self._exists("freezing", record.freezing, Grid, "the ledger")

    def _pipe(self, record: PipeReading) -> Iterator[Fault]:
        yield from self._listed("system", record.system, "systems")
        yield from self._unit("unit", record.unit, "length")
        yield from self._id(record.id, f"{record.pipe}.")
        if not record.pipe.startswith(f"{record.system}-"):
            yield "pipe", f"'{record.pipe}' should start with its system, '{record.system}-'"

    def _roughness(self, record: RoughnessReading) -> Iterator[Fault]:
        yield from self._listed("surface", record.surface, "surfaces")
        yield from self._unit("unit", record.unit, "length")
        yield from self._id(record.id, f"roughness.{record.surface}.")

    def _scoped(self, record: Scoped) -> Iterator[Fault]:
        for system in record.systems:
            yield from self._listed("systems", system, "systems")
        for condition in record.where or []:
            if condition.unit is not None:
                yield from self._unit("where", condition.unit, "length")

    def _tolerance(self, record: ToleranceReading) -> Iterator[Fault]:
        yield from self._id(record.id, f"{record.tolerance}.")
        for side, limit in (("minus", record.minus), ("plus", record.plus)):
            for unit in _limit_units(limit):
                if unit != "%":
                    yield from self._unit(side, unit, "length")

    def _lining(self, record: LiningReading) -> Iterator[Fault]:
        yield from self._id(record.id, f"{record.lining}.")
        yield from self._unit("unit", record.unit, "length")

    def _designation(self, record: Designation) -> Iterator[Fault]:
        yield from self._exists("subject", record.subject, Subject, "shared/subjects/")
        if record.source is not None:
            yield from self._exists("source", record.source, Source, "sources/documents/")


def _limit_units(limit: Limit | None) -> list[str]:
    if limit is None:
        return []
    extreme = [limit.extreme.unit] if limit.extreme is not None else []
    return [term.unit for term in limit.greatest_of or []] + extreme
