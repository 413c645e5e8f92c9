"""What is suspicious in the evidence about pipes: doubts, disagreements, lone witnesses, what is only recalled."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.records import printed_number, rounding_half_width
from refdb.units import significant, units
from refdb.values.citation import citation

if TYPE_CHECKING:
    from refdb.documents import RowReference, SourceReference
    from refdb.evidence.documents import (
        FlagDocument,
        FlaggedPipeReading,
        LeftOutPipeReading,
        PipeAuditParts,
        PipeDisagreement,
        PrintedAs,
        RecalledRow,
        SingleDocumentSystem,
    )


READINGS = {"pipe": "pipe", "tolerance": "tolerance", "lining": "lining", "roughness": "surface"}
"""Kinds of reading, and the field that names the row a reading speaks for."""

ROWS = ("recommended-pipe", "recommended-tolerance", "recommended-lining", "recommended-roughness")
SAME_LENGTH = 1e-9
"""Metres; less than any document prints, more than conversion costs."""

DIMENSIONS: tuple[PrintedAs, ...] = ("outside_diameter", "wall", "inside_diameter")


def audit_pipes(store: ReleaseStore, release: ReleaseInfo) -> PipeAuditParts:
    """What is suspicious in the evidence of a release about pipes, tolerances, linings and roughness.

    Returns:
        `flagged`: readings with a doubting flag, as printed; `disagreements`: dimensions of one pipe that documents
        print differently, beyond what rounding explains, the largest first; `left_out`: sound readings that their row
        does not follow, and why; `recalled`: rows that nobody saw printed; `single_document`: by system, how many rows
        rest on one document alone.
    """
    readings = {kind: store.of_kind(kind, release) for kind in READINGS}
    return {
        "flagged": [_flagged(store, release, r) for members in readings.values() for r in members if _doubts(r)],
        "disagreements": _disagreements(readings["pipe"]),
        "left_out": [
            entry for kind in ROWS for row in store.of_kind(kind, release) for entry in _left_out(store, release, row)
        ],
        "recalled": [
            _recalled(row) for kind in ROWS for row in store.of_kind(kind, release) if row.body["rung"] == "memory"
        ],
        "single_document": _single_document(store, release),
    }


def _doubts(reading: StoredRecord) -> list[FlagDocument]:
    return [flag for flag in reading.body.get("flags", []) if flag["code"] != "note"]


def _reference(record: StoredRecord) -> RowReference:
    return {"id": record.id, "digest": record.digest}


def _source(store: ReleaseStore, release: ReleaseInfo, reading: StoredRecord) -> SourceReference:
    body = reading.body
    source = store.record(body["source"], release)
    words = citation(source.body) if source is not None else body["source"]
    return {"key": body["source"], "citation": words, "locator": body["locator"]}


_NOT_PRINTED = {
    "format", "id", "kind", "source", "locator", "basis", "seen", "flags", "pipe", "tolerance", "lining", "surface",
    "note",
}  # fmt: skip


def _flagged(store: ReleaseStore, release: ReleaseInfo, reading: StoredRecord) -> FlaggedPipeReading:
    body = reading.body
    return {
        "kind": body["kind"],
        "about": body[READINGS[body["kind"]]],
        "reading": _reference(reading),
        "source": _source(store, release, reading),
        "printed": {key: value for key, value in body.items() if key not in _NOT_PRINTED},
        "flags": _doubts(reading),
    }


def _left_out(store: ReleaseStore, release: ReleaseInfo, row: StoredRecord) -> Iterator[LeftOutPipeReading]:
    """Readings without doubts that a row leaves out: recalled ones, and those that print other numbers."""
    for entry in row.body.get("left_out", []):
        reading = store.record(entry["id"], release)
        if reading is not None and not _doubts(reading):
            yield {
                "kind": reading.body["kind"],
                "row": _reference(row),
                "reading": _reference(reading),
                "source": _source(store, release, reading),
                "reason": entry["reason"],
            }


def _recalled(row: StoredRecord) -> RecalledRow:
    body = row.body
    return {"kind": body["kind"], "row": _reference(row), "readings": [entry["id"] for entry in body["inputs"]]}


def _disagreements(readings: list[StoredRecord]) -> list[PipeDisagreement]:
    by_pipe: dict[str, list[StoredRecord]] = defaultdict(list)
    for reading in readings:
        if not _doubts(reading) and reading.body["seen"] != "memory":
            by_pipe[reading.body["pipe"]].append(reading)
    found = [
        entry
        for pipe, members in by_pipe.items()
        for dimension in DIMENSIONS
        if (entry := _disagreement(pipe, dimension, members)) is not None
    ]
    return sorted(found, key=lambda entry: (-entry["relative"], entry["pipe"]))


def _disagreement(pipe: str, dimension: PrintedAs, members: list[StoredRecord]) -> PipeDisagreement | None:
    """The two readings that lie farthest apart beyond their rounding, among those of one kind of dimension."""
    kind = f"{dimension}_is"
    apart = [
        (beyond, one, other)
        for one, other in combinations([r for r in members if dimension in r.body], 2)
        if one.body.get(kind) == other.body.get(kind)
        and (beyond := _relative_difference(one.body, other.body, dimension)) > 0.0
    ]
    if not apart:
        return None
    relative, one, other = max(apart, key=lambda entry: entry[0])
    return {
        "pipe": pipe,
        "dimension": dimension,
        "readings": [
            {
                "id": reading.id,
                "source": reading.body["source"],
                "printed": reading.body[dimension],
                "unit": reading.body["unit"],
            }
            for reading in (one, other)
        ],
        "relative": significant(relative, 4),
    }


def _relative_difference(one: dict[str, Any], other: dict[str, Any], dimension: str) -> float:
    """How far two prints differ, relative to the greater; 0 where rounding explains it."""
    (a, rounding_a), (b, rounding_b) = _metres(one, dimension), _metres(other, dimension)
    if one["unit"] != other["unit"]:
        allowed = rounding_a + rounding_b
    else:
        # The print with fewer digits may be the other one rounded; with as many digits it is another number.
        allowed = max(rounding_a, rounding_b) if rounding_a != rounding_b else 0.0
    difference = abs(a - b)
    return difference / max(a, b) if difference > allowed + SAME_LENGTH else 0.0


def _metres(body: dict[str, Any], dimension: str) -> tuple[float, float]:
    """A dimension, and half of its last printed digit."""
    scale = units().find(body["unit"], "length").scale
    text = body[dimension]
    rounding = 0.0 if "/" in text else rounding_half_width(text)
    return printed_number(text) * scale, rounding * scale


def _single_document(store: ReleaseStore, release: ReleaseInfo) -> list[SingleDocumentSystem]:
    alone: Counter[str] = Counter()
    rows: Counter[str] = Counter()
    for row in store.of_kind("recommended-pipe", release):
        if row.body["rung"] != "memory":
            sources = {
                reading.body["source"]
                for entry in row.body["inputs"]
                if (reading := store.record(entry["id"], release)) is not None
            }
            rows[row.body["system"]] += 1
            alone[row.body["system"]] += len(sources) == 1
    return [{"system": system, "rows": count, "alone": alone[system]} for system, count in sorted(rows.items())]
