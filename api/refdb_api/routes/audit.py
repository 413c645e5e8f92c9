"""Sources, rows, provenance, history and releases."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from refdb_api.describe import described
from refdb_api.parameters import PAGE, RELEASE, read_query
from refdb_api.respond import document
from refdb_api.routes.common import as_is, database, listed, release_of
from refdb_api.schemas import (
    HistoryDocument,
    ProvenanceDocument,
    ReleaseDocument,
    ReleaseList,
    RowDocument,
    SourceDocument,
    SourceList,
)

router = APIRouter(tags=["audit"])

_LIST = (*RELEASE, *PAGE)
LIST, RELEASES, NOTHING = frozenset(_LIST), frozenset(RELEASE), frozenset[str]()


@router.get("/sources", operation_id="sources", **described("The published documents", SourceList, _LIST))
async def sources(request: Request) -> Response:
    """Every document: citation, where and how it was seen, rights."""
    query = read_query(request, LIST)
    release = release_of(request, query)
    return listed(request, query, release, database(request).sources(release), as_is)


@router.get("/sources/{key}", operation_id="source", **described("One document", SourceDocument, RELEASE))
async def source(request: Request, key: str) -> Response:
    """One document, and how many rows rest on it."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).source(key, release))


@router.get(
    "/rows/{row_id}",
    operation_id="row",
    **described("A record as it stands in a release", RowDocument, RELEASE),
)
async def row(request: Request, row_id: str) -> Response:
    """The record behind a row id, with its digest."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).row(row_id, release))


@router.get(
    "/rows/{row_id}/provenance",
    operation_id="provenance",
    **described("The chain from a row to its sources", ProvenanceDocument, RELEASE),
)
async def provenance(request: Request, row_id: str) -> Response:
    """Rule, readings as printed, weights, what was left out and why, down to page numbers."""
    release = release_of(request, read_query(request, RELEASES))
    return document(request, database(request).provenance(row_id, release))


@router.get("/rows/{row_id}/history", operation_id="history", **described("Every version of a row", HistoryDocument))
async def history(request: Request, row_id: str) -> Response:
    """The versions of a row with the releases each spans."""
    read_query(request, NOTHING)
    return document(request, database(request).history(row_id))


@router.get("/releases", operation_id="releases", **described("The releases", ReleaseList))
async def releases(request: Request) -> Response:
    """The releases, oldest first, with their digests."""
    read_query(request, NOTHING)
    return document(request, {"items": [release.document() for release in database(request).releases()]})


@router.get("/releases/{label}", operation_id="release", **described("One release", ReleaseDocument))
async def release(request: Request, label: str) -> Response:
    """A release by its label."""
    read_query(request, NOTHING)
    return document(request, database(request).release(label).document())
