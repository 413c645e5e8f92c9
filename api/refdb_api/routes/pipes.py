"""Pipes, their linings and the roughness of surfaces."""

from __future__ import annotations

from typing import Any

from fastapi import Request, Response

from refdb.database import MATCH_LIMIT
from refdb.pipes.documents import PipeDocument, PipeMatchDocument
from refdb.pipes.lining import LiningAnswer
from refdb.pipes.measurement import PipeQuestion
from refdb.pipes.pipe import PipeAnswer
from refdb.pipes.roughness import RoughnessAnswer
from refdb_api.describe import Routes
from refdb_api.documents import LiningList, PipeList, RoughnessList
from refdb_api.parameters import PAGE, RELEASE, read_limit, read_query
from refdb_api.respond import document
from refdb_api.routes.common import database, listed, release_of, released_options_of

routes = Routes("pipes")

_PIPES = ("system", "size", "designation", "units", "accept", *RELEASE, *PAGE)
_MATCH = (
    "circumference",
    "outside_diameter",
    "wall",
    "material",
    "system",
    "wall_points",
    "tape_thickness",
    "coating",
    "lining",
    "circumference_uncertainty",
    "outside_diameter_uncertainty",
    "wall_uncertainty",
    "gauge_speed",
    "material_speed",
    "gauge_reads_coating",
    "temperature",
)
_MATCHED = (*_MATCH, "limit", "units", "accept", *RELEASE)
_SEVERAL = frozenset({"outside_diameter", "wall"})
_PIPE = ("units", "accept", *RELEASE)
_LININGS = ("system", "size", "material", "units", "accept", *RELEASE, *PAGE)
_ROUGHNESS = ("material", "unit", "units", *RELEASE, *PAGE)
PIPES, PIPE, MATCHED, LININGS, ROUGHNESS = map(frozenset, (_PIPES, _PIPE, _MATCHED, _LININGS, _ROUGHNESS))


@routes.get("/pipes", "pipes", "Pipes in the trade's words", PipeList, _PIPES)
async def pipes(request: Request) -> Response:
    """The pipes of a system (of all, without one) that have a size and a designation."""
    query = read_query(request, PIPES)
    release = release_of(request, query)
    words = (query.one("system"), query.one("size"), query.one("designation"))
    found = database(request).pipes(*words, released_options_of(query), release)
    return listed(request, query, release, found, PipeAnswer.document)


@routes.get("/pipes/match", "match_pipe", "Which pipes it can be, by measurement", PipeMatchDocument, _MATCHED)
async def match(request: Request) -> Response:
    """The pipes that a measured circumference or outside diameter, and perhaps a wall, can be, with probabilities."""
    query = read_query(request, MATCHED)
    asked: dict[str, Any] = {
        name: (query.many(name) or None) if name in _SEVERAL else query.one(name) for name in _MATCH
    }
    found = database(request).match_pipe(
        PipeQuestion(**asked),
        options=released_options_of(query),
        release=release_of(request, query),
        limit=read_limit(query, MATCH_LIMIT),
    )
    return document(request, found.document())


@routes.get("/pipes/{pipe_id}", "pipe", "One pipe by its row id", PipeDocument, _PIPE)
async def pipe(request: Request) -> Response:
    """The pipe with a row id such as b36.10-nps-8-sch-40."""
    query = read_query(request, PIPE)
    found = database(request).pipe_row(
        request.path_params["pipe_id"], released_options_of(query), release_of(request, query)
    )
    return document(request, found.document())


@routes.get("/linings", "linings", "Linings and coatings by standard and size", LiningList, _LININGS)
async def linings(request: Request) -> Response:
    """What standards line the pipes of a system and a size with; all linings without a system."""
    query = read_query(request, LININGS)
    release = release_of(request, query)
    words = (query.one("system"), query.one("size"), query.one("material"))
    found = database(request).linings(*words, released_options_of(query), release)
    return listed(request, query, release, found, LiningAnswer.document)


@routes.get("/roughness", "roughness", "Roughness of surfaces", RoughnessList, _ROUGHNESS)
async def roughness(request: Request) -> Response:
    """The surfaces of a material, or all; a name that is not known is refused, never guessed."""
    query = read_query(request, ROUGHNESS)
    release = release_of(request, query)
    found = database(request).roughness(query.one("material"), released_options_of(query), release)
    return listed(request, query, release, found, RoughnessAnswer.document)
