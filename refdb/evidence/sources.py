"""What documents say: readings as they are printed, and the documents themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import likeliest
from refdb.problems import UnknownName
from refdb.records.readings import PROPERTY_READING_KINDS, as_printed
from refdb.values.citation import citation
from refdb.values.refusals import check_property

if TYPE_CHECKING:
    from refdb.evidence.documents import ReadingDocument, SourceDocument


def readings(
    store: ReleaseStore, subject: StoredRecord, property_id: str | None, source: str | None, release: ReleaseInfo
) -> list[ReadingDocument]:
    """What each source says about a subject, as printed.

    Args:
        property_id: only readings of this property.
        source: only what this source says.

    Raises:
        UnknownName, BadParameter: the property or source is not known.
    """
    if property_id is not None:
        check_property(property_id, subject)
    if source is not None:
        one_source(store, source, release)
    return [
        _reading_document(store, reading, release)
        for reading in store.about(PROPERTY_READING_KINDS, subject.id, release)
        if property_id in {None, reading.body["property"]} and source in {None, reading.body["source"]}
    ]


def sources(store: ReleaseStore, release: ReleaseInfo) -> list[SourceDocument]:
    """Every published document of a release."""
    return [_source_document(record) for record in store.of_kind("source", release)]


def one_source(store: ReleaseStore, key: str, release: ReleaseInfo) -> SourceDocument:
    """One document, and how many rows rest on it.

    Raises:
        UnknownName: there is no such source.
    """
    record = store.record(key, release)
    if record is None or record.body["kind"] != "source":
        known = [r.id for r in store.of_kind("source", release)]
        near = likeliest(key, known)
        raise UnknownName(
            f"source: there is no source '{key}'; the nearest keys are {', '.join(near or known[:5])}.",
            parameter="source",
            given=key,
            candidates=near or known,
        )
    resting = store.resting_on(key, release)
    return {**_source_document(record), "release": release.label, "rows_resting_on_it": len(resting)}


def _reading_document(store: ReleaseStore, record: StoredRecord, release: ReleaseInfo) -> ReadingDocument:
    source = store.record(record.body["source"], release)
    told = {
        "row": {"id": record.id, "digest": record.digest},
        **{key: value for key, value in as_printed(record.body).items() if key not in {"format", "id"}},
        "citation": citation(source.body) if source is not None else record.body["source"],
    }
    # The record format says which further members each kind of reading has.
    return cast("ReadingDocument", told)


def _source_document(record: StoredRecord) -> SourceDocument:
    told = {
        "key": record.id,
        "citation": citation(record.body),
        **{key: value for key, value in record.body.items() if key not in {"format", "id", "kind"}},
        "row": {"id": record.id, "digest": record.digest},
    }
    # The record format says which further members a source has.
    return cast("SourceDocument", told)
