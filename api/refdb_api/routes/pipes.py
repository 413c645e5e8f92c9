"""Pipes and the roughness of surfaces."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.answer import PipeAnswer, RoughnessAnswer
from refdb.vocabulary import systems
from refdb_api.describe import Routes
from refdb_api.parameters import PAGE, RELEASE, read_query
from refdb_api.respond import document
from refdb_api.routes.common import database, listed, options_of, release_of
from refdb_api.schemas import PipeDocument, PipeList, RoughnessList

routes = Routes("pipes")

_PIPES = ("system", "size", "designation", "units", *RELEASE, *PAGE)
_PIPE = ("units", *RELEASE)
_ROUGHNESS = ("material", "unit", "units", *RELEASE, *PAGE)
PIPES, PIPE, ROUGHNESS = map(frozenset, (_PIPES, _PIPE, _ROUGHNESS))


@routes.get("/pipes", "pipes", "Pipes in the trade's words", PipeList, _PIPES)
async def pipes(request: Request) -> Response:
    """The pipes of a system (of all, without one) that have a size and a designation."""
    query = read_query(request, PIPES)
    release = release_of(request, query)
    system = query.one("system")
    options = options_of(query)
    found = [
        pipe
        for system_id in ([system] if system is not None else systems())
        for pipe in database(request).pipes(system_id, query.one("size"), query.one("designation"), options, release)
    ]
    return listed(request, query, release, found, PipeAnswer.document)


@routes.get("/pipes/{pipe_id}", "pipe", "One pipe by its row id", PipeDocument, _PIPE)
async def pipe(request: Request) -> Response:
    """The pipe with a row id such as b36.10-nps-8-sch-40."""
    query = read_query(request, PIPE)
    found = database(request).pipe_row(request.path_params["pipe_id"], options_of(query), release_of(request, query))
    return document(request, found.document())


@routes.get("/roughness", "roughness", "Roughness of surfaces", RoughnessList, _ROUGHNESS)
async def roughness(request: Request) -> Response:
    """The surfaces of a material, or all; a name that is not known is refused, never guessed."""
    query = read_query(request, ROUGHNESS)
    release = release_of(request, query)
    found = database(request).roughness(query.one("material"), options_of(query), release)
    return listed(request, query, release, found, RoughnessAnswer.document)
