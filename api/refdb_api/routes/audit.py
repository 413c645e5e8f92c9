"""Sources, rows, provenance, history, releases, and what is suspicious in them."""

from __future__ import annotations

from fastapi import Request, Response
from starlette.concurrency import run_in_threadpool

from refdb.evidence.bibliography import bibtex, csl_items
from refdb.evidence.documents import (
    AuditDocument,
    ChangesDocument,
    ExportDocument,
    HistoryDocument,
    PipeAuditDocument,
    ProvDocument,
    ProvenanceDocument,
    RightsDocument,
    RowDocument,
    SourceDocument,
)
from refdb.evidence.export import export_document
from refdb.evidence.prov import prov_document
from refdb.evidence.question import (
    AuditQuestion,
    ChangesQuestion,
    HistoryQuestion,
    OneReleaseQuestion,
    ReleaseExportQuestion,
    RightsQuestion,
    RowQuestion,
    SourceQuestion,
)
from refdb.evidence.rights import rights as documents_by_rights
from refdb.lookup.documents import ReleaseDocument
from refdb.values.question import ListQuestion, NoQuestion
from refdb_api.describe import Routes
from refdb_api.documents import Citations, ReleaseList, SourceList
from refdb_api.respond import asked_again, document
from refdb_api.routes.common import as_is, database, listed, release_of

routes = Routes("audit")


@routes.get("/sources", "sources", "The published documents", SourceList, ListQuestion)
async def sources(request: Request, asked: ListQuestion) -> Response:
    """Every document: citation, where and how it was seen, rights."""
    release = release_of(request, asked)
    return listed(request, asked, release, database(request).sources(release), as_is)


@routes.get("/rights", "rights", "The documents by rights", RightsDocument, RightsQuestion)
async def rights(request: Request, asked: RightsQuestion) -> Response:
    """The documents by what the copies allow in which they were seen: copyleft, database right, no licence, ..."""
    return document(request, documents_by_rights(database(request).store, release_of(request, asked)))


@routes.get("/sources/{key}", "source", "One document", SourceDocument, SourceQuestion)
async def source(request: Request, asked: SourceQuestion) -> Response:
    """One document, and how many rows rest on it."""
    release = release_of(request, asked)
    return document(request, database(request).source(asked.key, release))


@routes.get("/rows/{row_id}", "row", "A record as it stands in a release", RowDocument, RowQuestion)
async def row(request: Request, asked: RowQuestion) -> Response:
    """The record behind a row id, with its digest."""
    release = release_of(request, asked)
    return document(request, database(request).row(asked.row, release))


@routes.get(
    "/rows/{row_id}/provenance", "provenance", "The chain from a row to its sources", ProvenanceDocument, RowQuestion
)
async def provenance(request: Request, asked: RowQuestion) -> Response:
    """Rule, readings as printed, weights, what was left out and why, down to page numbers."""
    release = release_of(request, asked)
    return document(request, database(request).provenance(asked.row, release))


@routes.get("/rows/{row_id}/prov", "prov", "The chain from a row as W3C PROV", ProvDocument, RowQuestion)
async def prov(request: Request, asked: RowQuestion) -> Response:
    """The chain from a row to its sources in the words of W3C PROV, as PROV-JSON."""
    release = release_of(request, asked)
    return document(request, prov_document(database(request).store, asked.row, release))


@routes.get("/rows/{row_id}/citations", "citations", "The documents behind a row", Citations, RowQuestion)
async def citations(request: Request, asked: RowQuestion) -> Response:
    """The documents behind a row as a citation list, in CSL-JSON and in BibTeX."""
    release = release_of(request, asked)
    items = csl_items(database(request).store, [asked.row], release)
    return document(request, {"release": release.label, "items": items, "bibtex": bibtex(items)})


@routes.get("/rows/{row_id}/history", "history", "Every version of a row", HistoryDocument, HistoryQuestion)
async def history(request: Request, asked: HistoryQuestion) -> Response:
    """The versions of a row with the releases each spans."""
    return document(request, database(request).history(asked.row))


@routes.get("/releases", "releases", "The releases", ReleaseList, NoQuestion)
async def releases(request: Request, _: NoQuestion) -> Response:
    """The releases, oldest first, with their digests, what each corrects and by which it is corrected."""
    return document(request, {"items": [release.document() for release in database(request).releases()]})


@routes.get("/releases/{label}", "release", "One release", ReleaseDocument, OneReleaseQuestion)
async def release(request: Request, asked: OneReleaseQuestion) -> Response:
    """A release by its label, what it corrects, by which it is corrected, and earlier cuts under its label."""
    return asked_again(document(request, database(request).release(asked.label).document()))


@routes.get("/releases/{label}/export", "export", "A whole release", ExportDocument, ReleaseExportQuestion)
async def export(request: Request, asked: ReleaseExportQuestion) -> Response:
    """Every record of a release; or those that do without some classes of rights, and how many were left out."""
    release = database(request).release(asked.label)
    # Tens of thousands of records: the service answers others meanwhile.
    return document(request, await run_in_threadpool(export_document, database(request).store, release, asked.without))


@routes.get(
    "/releases/{label}/changes",
    "changes",
    "What a release changed since an older one",
    ChangesDocument,
    ChangesQuestion,
)
async def changes(request: Request, asked: ChangesQuestion) -> Response:
    """Rows added, withdrawn and corrected; values, pipes and roughness that moved, the largest move first."""
    return document(request, database(request).changes(asked.label, asked.since))


@routes.get(
    "/audit/{scope}", "audit", "What is suspicious in the evidence", AuditDocument | PipeAuditDocument, AuditQuestion
)
async def audit(request: Request, asked: AuditQuestion) -> Response:
    """Readings far from what is recommended, readings with doubts or left out, values of a single lineage."""
    release = release_of(request, asked)
    return document(request, database(request).audit(asked.scope, release))
