"""What a document would move, were a release cut today: which rows, by how much, why, beside the other readings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from refdb.evidence.changes import compared, unreleased
from refdb.lookup.evaluate import PreparedRow
from refdb.problems import Problem, UnknownName
from refdb.release import Draft
from refdb.units import significant
from refdb.values.states import shared_states, spans_of, state_document

if TYPE_CHECKING:
    from refdb.evidence.documents import ChangesDocument

Record = Mapping[str, Any]


@dataclass(frozen=True)
class Beside:
    """A reading (or row) that a row considered, what became of it, and whether it is of the previewed document."""

    reading: Record
    became: str
    own: bool


@dataclass(frozen=True)
class PreviewedRow:
    """A row that considers readings of the document: its value, the rule, and every reading it considered."""

    row: str
    value: str
    rule: str
    beside: Sequence[Beside]


@dataclass(frozen=True)
class Preview:
    """What a document would move.

    Attributes:
        key: of the document.
        changes: of the rows that consider its readings and of those that follow from them, as between releases.
        rows: those that consider its readings.
        unused: readings of the document that no row considers, with the reason.
    """

    key: str
    changes: ChangesDocument
    rows: Sequence[PreviewedRow]
    unused: Mapping[str, str]


def preview(draft: Draft, key: str) -> Preview:
    """What the document would move.

    Args:
        draft: what a release cut today would hold.

    Raises:
        UnknownName: the text has no such document.
    """
    if draft.records.get(key, {}).get("kind") != "source":
        raise UnknownName(f"key: there is no document '{key}' in the text.", parameter="key", given=key)
    own = {row for records in (draft.released, draft.records) for row, r in records.items() if r.get("source") == key}
    considering = {row for records in (draft.released, draft.records) for row in _considering(records, own)}
    touched = _following(draft, considering)
    parts = [{row: unreleased(records[row]) for row in touched if row in records} for records in _both(draft)]
    rows = [_previewed(draft.records, row, own) for row in sorted(considering) if row in draft.records]
    used = {one.reading["id"] for row in rows for one in row.beside}
    mine = {row: draft.records[row] for row in sorted(own) if row in draft.records}
    unused = {row: _why_unused(record) for row, record in mine.items() if row not in used}
    return Preview(key, compared(draft.label, "today", *parts), rows, unused)


def _both(draft: Draft) -> tuple[Mapping[str, Record], Mapping[str, Record]]:
    return draft.released, draft.records


def _considering(records: Mapping[str, Record], readings: set[str]) -> Iterator[str]:
    """The rows that some of the readings went into, or were left out of."""
    for row, record in records.items():
        if "inputs" in record and any(entry["id"] in readings for entry in _entries(record)):
            yield row


def _entries(record: Record) -> list[Record]:
    return [*record["inputs"], *record.get("left_out", [])]


def _following(draft: Draft, rows: set[str]) -> set[str]:
    """These rows, and all that rest on them in the release or today."""
    resting: dict[str, set[str]] = {}
    for records in _both(draft):
        for row, record in records.items():
            for entry in record.get("inputs", []):
                resting.setdefault(entry["id"], set()).add(row)
    found: set[str] = set()
    left = list(rows)
    while left:
        row = left.pop()
        if row not in found:
            found.add(row)
            left += resting.get(row, ())
    return found


def _previewed(records: Mapping[str, Record], row: str, own: set[str]) -> PreviewedRow:
    record = records[row]
    beside = [_beside(records, entry, own) for entry in _entries(record)]
    beside.sort(key=lambda one: not one.own)
    return PreviewedRow(row, _value(record), record["rule"], beside)


def _beside(records: Mapping[str, Record], entry: Record, own: set[str]) -> Beside:
    reading = records[entry["id"]]
    if "reason" in entry:
        became = f"left out: {entry['reason']}"
    else:
        became = ", ".join(f"{name} {entry[name]}" for name in ("weight", "note") if name in entry) or "went in"
    return Beside(reading, became, entry["id"] in own)


def _value(record: Record) -> str:
    """A row's value amid its states with its standard uncertainty, and where it holds; empty for dimensions."""
    if record["kind"] != "recommended":
        return ""
    row = PreparedRow(unreleased(record))
    states = list(shared_states(spans_of(row), spans_of(row), (row, row)))
    state = states[len(states) // 2]
    try:
        found = row.evaluate(state, needs_temperature=False)
    except Problem:
        return ""
    value, uncertainty = significant(float(found.value), 5), significant(float(found.standard_uncertainty), 2)
    temperature = state_document(state).get("temperature")
    at = f" at {temperature['magnitude']:g} {temperature['unit']}" if temperature else ""
    interval = record.get("domain", {}).get("temperature")
    holds = f", holds from {interval['low']} to {interval['high']} {interval['unit']}" if interval else ""
    return f"{value:g} ± {uncertainty:g} {record['unit']}{at}{holds}"


def _why_unused(record: Record) -> str:
    doubts = [flag for flag in record.get("flags", []) if flag["code"] != "note"]
    if doubts:
        return "; ".join(f"{flag['code']}: {flag['text']}" for flag in doubts)
    return "no rule makes a row of it"
