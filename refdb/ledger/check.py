"""Checks across records: that names exist, units fit and ids are right."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from refdb.ledger.families import FAMILIES, read_families
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


@dataclass(frozen=True)
class Refused:
    """A record that is not valid, or whose id stands already at `taken`: its fields as the text has them."""

    kind: type[BaseModel]
    fields: Mapping[str, Any]
    file: Path
    line: int | None
    taken: tuple[Path, int | None] | None = None


def check_references(
    records: Mapping[str, AnyRecord],
    places: Mapping[str, tuple[Path, int | None]],
    refused: Sequence[Refused],
    text_root: Path,
    vocabulary: VocabularyDocument,
    findings: Findings,
) -> None:
    """Note every reference to something missing, every unit that does not fit and every id that is wrong.

    What was refused is checked as far as its fields go, so that all its faults are told at once.
    """
    check = _Check(records, read_families(text_root, findings), vocabulary)
    for record_id, record in records.items():
        file, line = places[record_id]
        for field, wrong in check.faults(record):
            findings.add(file, line, field, wrong)
    for one in refused:
        for field, wrong in check.faults_of_refused(one):
            findings.add(one.file, one.line, field, wrong)


class _Check:
    def __init__(
        self, records: Mapping[str, AnyRecord], families: Mapping[str, str], vocabulary: VocabularyDocument
    ) -> None:
        self.records = records
        self.families = families
        self.vocabulary = vocabulary
        self.table = UnitTable.from_documents(vocabulary["units"])
        self._free: dict[str, int] = {}
        self._by_kind: tuple[tuple[type, Callable[..., Iterator[Fault]]], ...] = (
            (Source, self._source),
            (Subject, self._subject),
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

    def faults_of_refused(self, refused: Refused) -> Iterator[Fault]:
        """What can be said of a record that was not kept; fields that are no text have their fault already."""
        text = {name: held for name, held in refused.fields.items() if isinstance(held, str)}
        prefix = id_prefix(refused.kind, text)
        if refused.taken is not None:
            file, line = refused.taken
            place = f"{file.parent.name}/{file.name}{f':{line}' if line else ''}"
            following = f"; the next free one is '{self._following(prefix)}'" if prefix else "; give each its own"
            yield "id", f"'{text['id']}' stands already at {place}{following}"
        elif prefix and "id" in text:
            yield from self._id(text["id"], prefix)
        if issubclass(refused.kind, PropertyReading):
            yield from self._belonging(text)

    def _belonging(self, text: Mapping[str, str]) -> Iterator[Fault]:
        """The faults of subject, property, condition and unit of a reading of a property."""
        if "subject" in text:
            yield from self._exists("subject", text["subject"], Subject, "shared/subjects/")
        if "condition" in text:
            yield from self._listed("condition", text["condition"], "conditions")
        if "property" not in text:
            return
        yield from self._listed("property", text["property"], "properties")
        definition = self.vocabulary["properties"].get(text["property"])
        if definition is None:
            return
        subject = self.records.get(text.get("subject", ""))
        if isinstance(subject, Subject) and subject.subject_kind not in definition["applies_to"]:
            yield "property", f"{text['property']} is not a property of a {subject.subject_kind}"
        if "unit" in text:
            yield from self._unit("unit", text["unit"], definition["dimension"])

    def _subject(self, record: Subject) -> Iterator[Fault]:
        kind = self.families.get(record.family)
        if kind is None:
            near = _nearest(record.family, self.families)
            yield "family", f"'{record.family}' is not in {FAMILIES}{near}; add it there, or correct the name"
        elif kind != record.subject_kind:
            yield "family", f"{record.family} is a family of a {kind}, not of a {record.subject_kind}"

    def _exists(self, field: str, name: str, kind: type, where: str) -> Iterator[Fault]:
        if not isinstance(self.records.get(name), kind):
            known = [row for row, record in self.records.items() if isinstance(record, kind)]
            yield field, f"'{name}' does not exist{_nearest(name, known)}; add it to {where} or correct the name"

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
            yield field, problem.detail.removeprefix(f"{field}: ")

    def _source(self, record: Source) -> Iterator[Fault]:
        # A release passes on all that it holds, so what it holds must be allowed to be passed on.
        if record.rights == WITHHELD:
            yield "rights", f"what is {WITHHELD} may not be passed on, as a release would; keep it as house values"

    def _reading(self, record: Reading) -> Iterator[Fault]:
        yield from self._exists("source", record.source, Source, "sources/documents/")

    def _property_reading(self, record: PropertyReading) -> Iterator[Fault]:
        names = ("subject", "property", "condition", "unit")
        yield from self._belonging({name: held for name in names if (held := getattr(record, name)) is not None})
        yield from self._id(record.id, f"{record.subject}.{record.property}.")
        yield from self._printed_unit("state.temperature", record.state.temperature, "temperature")
        yield from self._printed_unit("state.pressure", record.state.pressure, "pressure")
        yield from self._frequency(record.state.frequency)

    def _frequency(self, printed: PrintedQuantity | PrintedInterval | None) -> Iterator[Fault]:
        if printed is None:
            return
        yield from self._printed_unit("state.frequency", printed, "frequency")
        least = printed.low if isinstance(printed, PrintedInterval) else printed.number
        if printed_number(least) <= 0.0:
            yield "state.frequency", f"{least} {printed.unit} is no frequency; it is above zero"

    def _printed_unit(self, field: str, printed: object, dimension: str) -> Iterator[Fault]:
        if isinstance(printed, PrintedQuantity | PrintedInterval):
            yield from self._unit(field, printed.unit, dimension)

    def _id(self, record_id: str, prefix: str) -> Iterator[Fault]:
        rest = record_id.removeprefix(prefix)
        if not record_id.startswith(prefix) or not rest.isdigit():
            yield (
                "id",
                f"'{record_id}' should be '{prefix}' and a number; the next free one is '{self._following(prefix)}'",
            )

    def _following(self, prefix: str) -> str:
        """The next free id with this prefix; each is told once, so that all that is told can be followed."""
        if prefix not in self._free:
            numbers = [row.removeprefix(prefix) for row in self.records if row.startswith(prefix)]
            self._free[prefix] = max((int(number) for number in numbers if number.isdigit()), default=0)
        self._free[prefix] += 1
        return f"{prefix}{self._free[prefix]:02d}"

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


def _nearest(name: str, known: Iterable[str]) -> str:
    """The names most like one, in words; empty where nothing is."""
    near = get_close_matches(name, list(known), n=3)
    return f" (the nearest: {', '.join(near)})" if near else ""


def id_prefix(kind: type[BaseModel], fields: Mapping[str, str]) -> str | None:
    """What the id of a reading begins with, by its other fields; None where it is not told by them."""
    named = next((parts for base, parts in _PREFIXES if issubclass(kind, base)), None)
    if named is None or not all(part in fields for part in named[1]):
        return None
    return named[0].format(*(fields[part] for part in named[1]))


_PREFIXES: tuple[tuple[type[BaseModel], tuple[str, tuple[str, ...]]], ...] = (
    (PropertyReading, ("{}.{}.", ("subject", "property"))),
    (PipeReading, ("{}.", ("pipe",))),
    (RoughnessReading, ("roughness.{}.", ("surface",))),
    (ToleranceReading, ("{}.", ("tolerance",))),
    (LiningReading, ("{}.", ("lining",))),
)


def _limit_units(limit: Limit | None) -> list[str]:
    if limit is None:
        return []
    extreme = [limit.extreme.unit] if limit.extreme is not None else []
    return [term.unit for term in limit.greatest_of or []] + extreme
