"""Sources, rows, provenance, history, releases, and what is suspicious in them."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.evidence.bibliography import bibtex, csl_items
from refdb.evidence.documents import (
    AuditDocument,
    ChangesDocument,
    HistoryDocument,
    PipeAuditDocument,
    ProvDocument,
    ProvenanceDocument,
    RowDocument,
    SourceDocument,
)
from refdb.evidence.prov import prov_document
from refdb.lookup.documents import ReleaseDocument
from refdb_api.describe import Routes
from refdb_api.documents import Citations, ReleaseList, SourceList
from refdb_api.parameters import PAGE, RELEASE, read_query
from refdb_api.respond import asked_again, document
from refdb_api.routes.common import as_is, database, listed, release_of

routes = Routes("audit")

_LIST = (*RELEASE, *PAGE)
LIST, RELEASES, NOTHING, SINCE = frozenset(_LIST), frozenset(RELEASE), frozenset[str](), frozenset({"since"})


@routes.get("/sources", "sources", "The published documents", SourceList, _LIST)
async def sources(request: Request) -> Response:
    """Every document: citation, where and how it was seen, rights."""
    query = read_query(request, LIST)
    release = release_of(request, query)
    return listed(request, query, release, database(request).sources(release), as_is)


@routes.get("/sources/{key}", "source", "One document", SourceDocument, RELEASE)
async def source(request: Request) -> Response:
    """One document, and how many rows rest on it."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).source(request.path_params["key"], release))


@routes.get("/rows/{row_id}", "row", "A record as it stands in a release", RowDocument, RELEASE)
async def row(request: Request) -> Response:
    """The record behind a row id, with its digest."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).row(request.path_params["row_id"], release))


@routes.get(
    "/rows/{row_id}/provenance", "provenance", "The chain from a row to its sources", ProvenanceDocument, RELEASE
)
async def provenance(request: Request) -> Response:
    """Rule, readings as printed, weights, what was left out and why, down to page numbers."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).provenance(request.path_params["row_id"], release))


@routes.get("/rows/{row_id}/prov", "prov", "The chain from a row as W3C PROV", ProvDocument, RELEASE)
async def prov(request: Request) -> Response:
    """The chain from a row to its sources in the words of W3C PROV, as PROV-JSON."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, prov_document(database(request).store, request.path_params["row_id"], release))


@routes.get("/rows/{row_id}/citations", "citations", "The documents behind a row", Citations, RELEASE)
async def citations(request: Request) -> Response:
    """The documents behind a row as a citation list, in CSL-JSON and in BibTeX."""
    release = release_of(request, read_query(request, RELEASES))
    items = csl_items(database(request).store, [request.path_params["row_id"]], release)
    return document(request, {"release": release.label, "items": items, "bibtex": bibtex(items)})


@routes.get("/rows/{row_id}/history", "history", "Every version of a row", HistoryDocument)
async def history(request: Request) -> Response:
    """The versions of a row with the releases each spans."""
    read_query(request, NOTHING)
    return document(request, database(request).history(request.path_params["row_id"]))


@routes.get("/releases", "releases", "The releases", ReleaseList)
async def releases(request: Request) -> Response:
    """The releases, oldest first, with their digests, what each corrects and by which it is corrected."""
    read_query(request, NOTHING)
    return document(request, {"items": [release.document() for release in database(request).releases()]})


@routes.get("/releases/{label}", "release", "One release", ReleaseDocument)
async def release(request: Request) -> Response:
    """A release by its label, what it corrects, by which it is corrected, and earlier cuts under its label."""
    read_query(request, NOTHING)
    return asked_again(document(request, database(request).release(request.path_params["label"]).document()))


@routes.get(
    "/releases/{label}/changes", "changes", "What a release changed since an older one", ChangesDocument, ("since",)
)
async def changes(request: Request) -> Response:
    """Rows added, withdrawn and corrected; values, pipes and roughness that moved, the largest move first."""
    query = read_query(request, SINCE)
    return document(request, database(request).changes(request.path_params["label"], query.one("since")))


@routes.get("/audit/{scope}", "audit", "What is suspicious in the evidence", AuditDocument | PipeAuditDocument, RELEASE)
async def audit(request: Request) -> Response:
    """Readings far from what is recommended, readings with doubts or left out, values of a single lineage."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).audit(request.path_params["scope"], release))
