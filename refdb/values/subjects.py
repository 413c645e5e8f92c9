"""Subjects as they are told: names, family, what is advised, how many readings there are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.records.readings import PROPERTY_READING_KINDS
from refdb.values.options import ESTIMATE_RUNGS

if TYPE_CHECKING:
    from refdb.documents import SubjectReference
    from refdb.values.documents import SubjectDocument


def subjects(store: ReleaseStore, kind: str, release: ReleaseInfo) -> list[SubjectDocument]:
    """Every material or liquid with its names and the properties a release advises for it.

    Args:
        kind: `material` or `liquid`.
    """
    records = store.of_kind("subject", release)
    return [subject_document(store, record, release) for record in records if record.body["subject_kind"] == kind]


def subject_document(store: ReleaseStore, record: StoredRecord, release: ReleaseInfo) -> SubjectDocument:
    """A subject as plain JSON values: names, family, what is advised, how many readings there are."""
    body = record.body
    designations = store.about(("designation",), record.id, release)
    rows = [row for row in store.about(("recommended",), record.id, release) if row.body["rung"] not in ESTIMATE_RUNGS]
    readings = store.about(PROPERTY_READING_KINDS, record.id, release)
    return {
        **subject_reference(body),
        "family": body["family"],
        "note": body.get("note"),
        "designations": [{"kind": d.body["designation_kind"], "text": d.body["text"]} for d in designations],
        "properties": sorted({row.body["property"] for row in rows}),
        "conditions": sorted({row.body["condition"] for row in rows if "condition" in row.body}),
        "readings": len(readings),
        "row": {"id": record.id, "digest": record.digest},
        "release": release.label,
    }


def subject_reference(body: Mapping[str, Any]) -> SubjectReference:
    """A subject in short: id, kind and name."""
    return {"id": body["id"], "kind": body["subject_kind"], "name": body["name"]}
