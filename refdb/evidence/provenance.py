"""Walking an answer back to the pages it came from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from refdb.evidence.summary import Around, summary
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.problems import UnknownName
from refdb.records.readings import as_printed, single_value
from refdb.records.rules import RULES
from refdb.records.working import working_units
from refdb.units import significant, units
from refdb.values.citation import checked_by, citation, reproduced_in, short_citation
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.evidence.documents import HistoryDocument, ProvenanceDocument, RowDocument, SourceUse


RESTING_SHOWN = 50


def row_document(store: ReleaseStore, row: str, release: ReleaseInfo) -> RowDocument:
    """A released record as it stands, with its digest and the release it is read from.

    Raises:
        UnknownName: no row of the release has the id.
    """
    record = row_record(store, row, release)
    return {
        "row": {"id": record.id, "digest": record.digest},
        "release": release.label,
        "record": record.body,
    }


def row_record(store: ReleaseStore, row: str, release: ReleaseInfo) -> StoredRecord:
    """The record with this id.

    Raises:
        UnknownName: the release has none.
    """
    record = store.record(row, release)
    if record is None:
        known = "; it stands in other releases (see its history)" if store.versions(row) else ""
        raise UnknownName(f"row: release {release.label} has no row '{row}'{known}.", parameter="row", given=row)
    return record


def provenance(store: ReleaseStore, row: str, release: ReleaseInfo) -> ProvenanceDocument:
    """The chain from a row to its sources: rule, readings as printed, weights, what was left out and why.

    Raises:
        UnknownName: the release has no such row.
    """
    record = row_record(store, row, release)
    resting = store.resting_on(row, release)
    chain = _step(store, record, release)
    return {
        "release": release.label,
        "summary": summary(record, chain, Around(store, release, resting)),
        "chain": chain,
        "sources": [_also_resting(store, key, row, release) for key in sorted(set(_source_keys(chain)))],
        "rests_on_this": [{"row": name, "as": role} for name, role in resting[:RESTING_SHOWN]],
        "rests_on_this_total": len(resting),
    }


def _source_keys(step: dict[str, Any]) -> Iterator[str]:
    """The keys of the documents below a step of the chain."""
    if "source" in step:
        yield step["source"]["key"]
    for entry in [*step.get("inputs", []), *step.get("left_out", [])]:
        yield from _source_keys(entry)


def _also_resting(store: ReleaseStore, key: str, row: str, release: ReleaseInfo) -> SourceUse:
    """Which advice rests on the readings of a document, beside the row that was asked about."""
    readings = {name for name, _ in store.resting_on(key, release)}
    resting = {name for reading in readings for name, role in store.resting_on(reading, release) if role == "input"}
    others = sorted(resting - {row})
    return {"key": key, "readings": len(readings), "also_rest_on_it": others[:RESTING_SHOWN], "total": len(others)}


def history(store: ReleaseStore, row: str) -> HistoryDocument:
    """Every version of a row with the releases it spans.

    Raises:
        UnknownName: no release ever had the row.
    """
    versions = store.versions(row)
    if not versions:
        raise UnknownName(f"row: no release has a row '{row}'.", parameter="row", given=row)
    labels = {release.ordinal: release.label for release in store.releases}
    return {
        "row": row,
        "versions": [
            {
                "digest": version.digest,
                "since": labels[version.since],
                "until": labels[version.until] if version.until is not None else None,
                "record": version.body,
            }
            for version in versions
        ],
    }


def _step(store: ReleaseStore, record: StoredRecord, release: ReleaseInfo) -> dict[str, Any]:
    body = record.body
    step: dict[str, Any] = {"row": {"id": record.id, "digest": record.digest}, "kind": body["kind"]}
    if "inputs" in body:
        return step | _recommended(store, body, release)
    if "source" in body and body["kind"] != "designation":
        return step | _reading(store, body, release)
    return step | {"record": body}


def _recommended(store: ReleaseStore, body: dict[str, Any], release: ReleaseInfo) -> dict[str, Any]:
    rule = RULES[body["rule"]]
    result = {key: body[key] for key in _RESULT if key in body}
    return {
        "result": result,
        "rule": {"name": rule.name, "sentence": rule.sentence, "method": rule.method, "published": rule.published},
        "working": body.get("working", {}),
        "working_units": working_units(body),
        "inputs": [_entry(store, entry, body, release) for entry in body["inputs"]],
        "left_out": [_entry(store, entry, body, release) for entry in body.get("left_out", [])],
    }


_RESULT = (
    "unit", "form", "domain", "uncertainty", "dimensions", "number", "low", "high", "basis", "seen", "rung",
    "condition", "standard", "quantity", "designations", "where", "minus", "plus", "material", "side", "minimum",
    "subject", "property", "system", "size", "surface",
)  # fmt: skip


def _entry(store: ReleaseStore, entry: dict[str, Any], row: dict[str, Any], release: ReleaseInfo) -> dict[str, Any]:
    """What went into a row, or was left out of it, with all below."""
    own = {key: value for key, value in entry.items() if key not in {"id", "digest"}}
    record = store.record(entry["id"], release)
    if record is None:
        return {"row": {"id": entry["id"], "digest": entry["digest"]}, **own}
    unit = {"value_unit": _value_unit(record.body, row)} if "value" in own else {}
    return {**own, **unit, **_step(store, record, release)}


def _value_unit(body: dict[str, Any], row: dict[str, Any]) -> str:
    """The unit of an entry's value: properties are told in SI, roughness as the row is, pipes as they are printed.

    What went into a consensus is told as what it says of the row's property: two moduli may say a speed.
    """
    if row["rule"].startswith("consensus/"):
        return str(row["unit"])
    if "property" in body:
        return str(properties()[body["property"]]["si"])
    return str(row.get("unit") or body["unit"])


def _reading(store: ReleaseStore, body: dict[str, Any], release: ReleaseInfo) -> dict[str, Any]:
    source = store.record(body["source"], release)
    printed = {key: value for key, value in as_printed(body).items() if key not in _NOT_PRINTED}
    return {
        "printed": printed,
        "corrections": body.get("corrections", []),
        "converted": _converted(body),
        "locator": body["locator"],
        "basis": body["basis"],
        "seen": body["seen"],
        "flags": body.get("flags", []),
        "source": _source(source, body) if source is not None else {"key": body["source"]},
    }


def _converted(body: dict[str, Any]) -> dict[str, Any] | None:
    """A single printed value in the SI unit of its property, and how many of them the printed unit is."""
    if body["kind"] not in {"scalar", "range"}:
        return None
    definition = properties()[body["property"]]
    si = units().find(definition["si"], definition["dimension"])
    value = single_value(body, si, units()).value
    own = units().find(body["unit"], definition["dimension"])
    told = {"magnitude": significant(value), "unit": si.symbol}
    if own is si:
        return told | {"by": "as printed"}
    ratio = significant(own.difference_to(1.0, si)) if own.function is None and not own.offset else None
    return told | {"by": f"1 {own.symbol} = {ratio:g} {si.symbol}" if ratio else f"{own.symbol} to {si.symbol}"}


_NOT_PRINTED = {"format", "id", "kind", "source", "locator", "basis", "seen", "flags", "corrections"}


def _source(record: StoredRecord, reading: dict[str, Any]) -> dict[str, Any]:
    """A document, with the copies in which one of its readings was seen, and who read that a second time."""
    body = record.body
    copy = reproduced_in(body, [reading["id"]]) if reading["seen"] != "original" else None
    told = ("type", "seen_at", "seen_on", "transcribed_by", "rights", "lineage", "note", "withdrawn")
    return {
        "key": record.id,
        "citation": citation(body),
        "short_citation": short_citation(body),
        **({"reproduced_in": copy} if copy is not None else {}),
        "checked_by": checked_by(body, [reading["id"]]),
        **{key: body[key] for key in told if key in body},
    }
