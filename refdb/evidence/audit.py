"""What is suspicious in the evidence: readings far from what is recommended, flags, what was left out, lone witnesses.

Everything is computed from the records of a release: each reading is evaluated again and compared with the row.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, overload

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.evidence.audit_pipes import audit_pipes
from refdb.evidence.counts import counts_of
from refdb.evidence.reading_functions import NotComparableError, ReadingFunction, grids_of, lineage_of, reading_function
from refdb.evidence.suspicion import suspicions
from refdb.evidence.suspicion_liquids import suspicions_of_liquids
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import Problem, UnknownName
from refdb.records import printed_number
from refdb.records.grids import Grids
from refdb.records.readings import (
    PROPERTY_READING_KINDS,
    Span,
)
from refdb.units import Unit, significant
from refdb.values.citation import citation
from refdb.values.states import Spans, shared_states, spans_of, state_document, why_not_comparable

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.evidence.documents import (
        AuditDocument,
        AuditedReading,
        AuditParts,
        DeviatingReading,
        DeviationDocument,
        FlagDocument,
        FlaggedReading,
        LeftOutReading,
        NotComparedReading,
        PipeAuditDocument,
        Role,
        SingleLineageRow,
        SuspicionDocument,
        UncertaintyFrom,
    )
    from refdb.values.documents import UncertainValue


NEAR_ATMOSPHERE: Span = (STANDARD_ATMOSPHERE - 1e4, STANDARD_ATMOSPHERE + 1e4)
"""Pressures in Pa at which a reading counts as one near 1 atm, where the row says nothing of pressure."""


@overload
def audit(store: ReleaseStore, scope: Literal["solids", "liquids"], release: ReleaseInfo) -> AuditDocument: ...


@overload
def audit(store: ReleaseStore, scope: Literal["pipes"], release: ReleaseInfo) -> PipeAuditDocument: ...


@overload
def audit(store: ReleaseStore, scope: str, release: ReleaseInfo) -> AuditDocument | PipeAuditDocument: ...


def audit(store: ReleaseStore, scope: str, release: ReleaseInfo) -> AuditDocument | PipeAuditDocument:
    """What is suspicious in the evidence of a release.

    Args:
        scope: `liquids`, `solids` or `pipes`.

    Returns:
        For pipes, the parts of `audit_pipes`. For solids and liquids: `suspicions`, what laws, shape and peers say
        against readings, never by name;
        `deviations`: every reading without a doubting flag that its row does not simply repeat, at the state where it
        lies farthest from the recommended value; `flagged`: readings with a doubting flag; `left_out`: readings left
        out of their row, and why; `single_lineage`: recommended values that nothing independent supports;
        `not_compared`: other readings that could not be held against a row, and why. Each list has the most suspicious
        entry first, measured by the deviation in units of the combined standard uncertainty.

    Raises:
        UnknownName: there is no such scope.
    """
    examine = SCOPES.get(scope)
    if examine is None:
        raise UnknownName(
            f"scope: there is no audit of '{scope}'; there is one of {', '.join(SCOPES)}.",
            parameter="scope",
            given=scope,
            candidates=list(SCOPES),
        )
    return examine(store, release)


def _audit_of_subjects(
    kind: str, store: ReleaseStore, release: ReleaseInfo, suspicions: list[SuspicionDocument]
) -> AuditParts:
    subjects = [record.id for record in store.of_kind("subject", release) if record.body["subject_kind"] == kind]
    findings = [finding for subject in subjects for finding in _Subject(store, release, kind, subject).findings()]
    ordered = sorted(findings, key=_Finding.rank)
    sound = [finding for finding in ordered if not finding.doubts]
    rows = [row for subject in subjects for row in _advised(store, subject, release)]
    return {
        "deviations": [finding.deviating(finding.deviation) for finding in sound if finding.deviation is not None],
        "flagged": _flagged(ordered),
        "left_out": [finding.left_out() for finding in ordered if finding.role == "left out"],
        "single_lineage": _single_lineage(store, release, rows),
        "not_compared": [
            finding.not_compared() for finding in sound if finding.deviation is None and finding.role != "left out"
        ],
        "suspicions": suspicions,
    }


def _advised(store: ReleaseStore, subject: str, release: ReleaseInfo) -> list[StoredRecord]:
    """The recommended rows of a subject; what is estimated from its family rests on no reading of it."""
    rows = store.about(("recommended",), subject, release)
    return [row for row in rows if row.body["rung"] != "family"]


def _audit_of_solids(store: ReleaseStore, release: ReleaseInfo) -> AuditDocument:
    parts = _audit_of_subjects("material", store, release, suspicions(store, release))
    return {"scope": "solids", "release": release.label, "counts": counts_of(parts), **parts}


def _audit_of_liquids(store: ReleaseStore, release: ReleaseInfo) -> AuditDocument:
    parts = _audit_of_subjects("liquid", store, release, suspicions_of_liquids(store, release))
    return {"scope": "liquids", "release": release.label, "counts": counts_of(parts), **parts}


def _audit_of_pipes(store: ReleaseStore, release: ReleaseInfo) -> PipeAuditDocument:
    parts = audit_pipes(store, release)
    return {"scope": "pipes", "release": release.label, "counts": counts_of(parts), **parts}


SCOPES: Mapping[str, Callable[[ReleaseStore, ReleaseInfo], AuditDocument | PipeAuditDocument]] = {
    "liquids": _audit_of_liquids,
    "solids": _audit_of_solids,
    "pipes": _audit_of_pipes,
}
"""What can be audited: by name, what examines a release."""


@dataclass(frozen=True, slots=True)
class _Deviation:
    """A reading and the recommended value at the state where they lie farthest apart, in the row's unit."""

    state: State
    unit: Unit
    recommended: float
    recommended_uncertainty: float
    read: float
    read_uncertainty: float
    uncertainty_from: UncertaintyFrom

    @property
    def size(self) -> float:
        return self.read - self.recommended

    @property
    def combined(self) -> float:
        return math.hypot(self.recommended_uncertainty, self.read_uncertainty)

    def rank(self) -> tuple[float, float]:
        """The deviation in combined standard uncertainties; infinite where both are zero and they disagree."""
        size = abs(self.size)
        return (size / self.combined if self.combined else math.inf if size else 0.0), size

    def document(self) -> DeviationDocument:
        # A ratio of temperatures in degC says nothing.
        has_ratio = self.recommended != 0.0 and self.unit.offset == 0.0
        return {
            "state": state_document(self.state),
            "unit": self.unit.symbol,
            "recommended": _with_uncertainty(self.recommended, self.recommended_uncertainty),
            "read": _with_uncertainty(self.read, self.read_uncertainty),
            "uncertainty_from": self.uncertainty_from,
            "deviation": significant(self.size),
            "relative": significant(self.size / self.recommended, 4) if has_ratio else None,
            "in_uncertainties": significant(self.size / self.combined, 4) if self.combined else None,
        }


def _with_uncertainty(value: float, uncertainty: float) -> UncertainValue:
    return {"value": significant(value), "standard_uncertainty": significant(uncertainty)}


@dataclass(slots=True)
class _Finding:
    """One reading held against one row; `row` is None where the release advises no value."""

    reading: StoredRecord
    source: SourceReference
    lineage: str
    row: PreparedRow | None = None
    role: Role = "not used"
    entry: Mapping[str, Any] = field(default_factory=dict)
    independent: bool = True
    deviation: _Deviation | None = None
    why_not: str = ""

    @property
    def doubts(self) -> list[FlagDocument]:
        """Flags that keep the reading out of recommended values."""
        return [flag for flag in self.reading.body.get("flags", []) if flag["code"] != "note"]

    def rank(self) -> tuple[float, float, str, str]:
        """The most suspicious first; readings that could not be compared last."""
        measured, size = self.deviation.rank() if self.deviation is not None else (-math.inf, 0.0)
        return -measured, -size, self.reading.id, self.row.id if self.row is not None else ""

    def deviating(self, deviation: _Deviation) -> DeviatingReading:
        weight = self.entry.get("weight")
        return {
            **self._told(),
            "lineage": self.lineage,
            "independent": self.independent,
            "role": self.role,
            "weight": printed_number(weight) if weight is not None else None,
            **deviation.document(),
        }

    def flagged(self) -> FlaggedReading:
        return {**self._told(), "flags": self.doubts, "deviation": self._deviation()}

    def left_out(self) -> LeftOutReading:
        return {**self._told(), "reason": self.entry["reason"], "deviation": self._deviation()}

    def not_compared(self) -> NotComparedReading:
        return {**self._told(), "reason": self.why_not}

    def _deviation(self) -> DeviationDocument | None:
        return self.deviation.document() if self.deviation is not None else None

    def _told(self) -> AuditedReading:
        body = self.reading.body
        return {
            "subject": body["subject"],
            "property": body["property"],
            "row": {"id": self.row.id, "digest": self.row.digest} if self.row is not None else None,
            "reading": {"id": self.reading.id, "digest": self.reading.digest},
            "kind": body["kind"],
            "source": self.source,
        }


class _Subject:
    """The readings of one subject against its recommended values."""

    def __init__(self, store: ReleaseStore, release: ReleaseInfo, kind: str, subject: str) -> None:
        self._store = store
        self._release = release
        self._kind = kind
        self._grids = grids_of(store, release)
        self._rows = [PreparedRow(record) for record in _advised(store, subject, release)]
        self._readings = store.about(PROPERTY_READING_KINDS, subject, release)

    def findings(self) -> Iterator[_Finding]:
        """Every reading against every row it could speak for or against, but for those that a row repeats."""
        for reading in self._readings:
            body = reading.body
            rows = [
                row
                for row in self._rows
                if row.property == body["property"] and row.body.get("condition") in {None, body.get("condition")}
            ]
            if not rows:
                yield self._finding(reading, why_not="the release advises no value of this property")
            for row in rows:
                role, entry = _role(reading, row)
                if role is not None:
                    yield self._compared(reading, row, role, entry)

    def _finding(self, reading: StoredRecord, **more: Any) -> _Finding:
        body = reading.body
        source = self._store.record(body["source"], self._release)
        words = citation(source.body) if source is not None else body["source"]
        told: SourceReference = {"key": body["source"], "citation": words, "locator": body["locator"]}
        return _Finding(reading, told, lineage_of(self._store, self._release, reading), **more)

    def _compared(self, reading: StoredRecord, row: PreparedRow, role: Role, entry: Mapping[str, Any]) -> _Finding:
        finding = self._finding(reading, row=row, role=role, entry=entry)
        finding.independent = finding.lineage not in self._lineages_of_others(reading, row)
        try:
            finding.deviation = _largest_deviation(reading, row, entry, self._kind, self._grids)
        except NotComparableError as why:
            finding.why_not = str(why)
        except Problem as problem:
            finding.why_not = problem.detail
        return finding

    def _lineages_of_others(self, reading: StoredRecord, row: PreparedRow) -> set[str]:
        """What the other readings that make up a row descend from; rows among its inputs have no source."""
        others = [entry["id"] for entry in row.body["inputs"] if _weight(entry) and entry["id"] != reading.id]
        records = [self._store.record(row_id, self._release) for row_id in others]
        return {
            lineage_of(self._store, self._release, record)
            for record in records
            if record is not None and "source" in record.body
        }


def _role(reading: StoredRecord, row: PreparedRow) -> tuple[Role | None, Mapping[str, Any]]:
    """What a reading is to a row, None where the row repeats it; and the row's entry about it."""
    for entry in row.body["inputs"]:
        if entry["id"] == reading.id:
            weight = _weight(entry)
            return (None if weight == 1.0 else "averaged" if weight else "compared"), entry
    for entry in row.body.get("left_out", []):
        if entry["id"] == reading.id:
            return "left out", entry
    return "not used", {}


def _weight(entry: Mapping[str, Any]) -> float:
    return printed_number(entry["weight"]) if "weight" in entry else 0.0


def _largest_deviation(
    reading: StoredRecord, row: PreparedRow, entry: Mapping[str, Any], kind: str, grids: Grids
) -> _Deviation:
    """Where a reading lies farthest from a row, in units of the combined standard uncertainty.

    Raises:
        NotComparableError: they have no state in common.
    """
    read = reading_function(reading.body, row.unit, kind, grids)
    own = spans_of(row)
    if "temperature" in own and "temperature" not in read.spans:
        raise NotComparableError("the reading states no temperature")
    if "pressure" in read.spans:
        own.setdefault("pressure", NEAR_ATMOSPHERE)
    fault = why_not_comparable(own, read.spans)
    found = list(_deviations(row, read, own, entry))
    if not found:
        raise NotComparableError(fault or "the row answers at none of its states")
    return max(found, key=_Deviation.rank)


def _deviations(row: PreparedRow, read: ReadingFunction, own: Spans, entry: Mapping[str, Any]) -> Iterator[_Deviation]:
    for state in shared_states(own, read.spans, (row,), read.points):
        try:
            advised = row.evaluate(state, needs_temperature=False)
        except Problem:
            # The liquid boils or is frozen there.
            continue
        value = read.value(state)
        yield _Deviation(
            state,
            row.unit,
            float(advised.value),
            float(advised.standard_uncertainty),
            value,
            *read.uncertainty(value, entry),
        )


def _flagged(ordered: Iterable[_Finding]) -> list[FlaggedReading]:
    """Each doubted reading once, with its largest deviation where it speaks for several rows."""
    once: dict[str, _Finding] = {}
    for finding in ordered:
        if finding.doubts:
            once.setdefault(finding.reading.id, finding)
    return [finding.flagged() for finding in once.values()]


def _single_lineage(store: ReleaseStore, release: ReleaseInfo, rows: Iterable[StoredRecord]) -> list[SingleLineageRow]:
    """Rows whose evidence, what it was compared with included, all descends from one document or one lineage.

    Those from which something was left out come first: it spoke against the lone witness.
    """
    found: list[SingleLineageRow] = []
    for row in rows:
        witnesses = list(_witnesses(store, release, row))
        lineages = {lineage_of(store, release, reading) for reading in witnesses}
        if len(lineages) == 1:
            body = row.body
            found.append(
                {
                    "subject": body["subject"],
                    "property": body["property"],
                    "row": {"id": row.id, "digest": row.digest},
                    "lineage": lineages.pop(),
                    "sources": sorted({reading.body["source"] for reading in witnesses}),
                    "readings": len({reading.id for reading in witnesses}),
                    "left_out": len(body.get("left_out", [])),
                    "basis": body["basis"],
                    "seen": body["seen"],
                }
            )
    return sorted(found, key=lambda entry: (-entry["left_out"], entry["row"]["id"]))


def _witnesses(store: ReleaseStore, release: ReleaseInfo, row: StoredRecord) -> Iterator[StoredRecord]:
    """The readings of a row's own property behind it; derived rows are followed down."""
    for entry in row.body["inputs"]:
        record = store.record(entry["id"], release)
        if record is None:
            continue
        if "inputs" in record.body:
            yield from _witnesses(store, release, record)
        elif record.body["property"] == row.body["property"]:
            yield record
