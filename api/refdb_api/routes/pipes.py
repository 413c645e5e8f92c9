"""Pipes, their linings and the roughness of surfaces."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.pipes.documents import PipeDocument, PipeMatchDocument
from refdb.pipes.lining import LiningAnswer
from refdb.pipes.pipe import PipeAnswer
from refdb.pipes.question import LiningsQuestion, MatchPipeQuestion, PipeRowQuestion, PipesQuestion, RoughnessQuestion
from refdb.pipes.roughness import RoughnessAnswer
from refdb_api.describe import Routes
from refdb_api.documents import LiningList, PipeList, RoughnessList
from refdb_api.respond import document
from refdb_api.routes.common import database, listed, release_of, released_options_of

routes = Routes("pipes")


@routes.get("/pipes", "pipes", "Pipes in the trade's words", PipeList, PipesQuestion)
async def pipes(request: Request, asked: PipesQuestion) -> Response:
    """The pipes of a system (of all, without one) that have a size and a designation."""
    release = release_of(request, asked)
    found = database(request).pipes(asked.system, asked.size, asked.designation, released_options_of(asked), release)
    return listed(request, asked, release, found, PipeAnswer.document)


@routes.get("/pipes/match", "match_pipe", "Which pipes it can be, by measurement", PipeMatchDocument, MatchPipeQuestion)
async def match(request: Request, asked: MatchPipeQuestion) -> Response:
    """The pipes that a measured circumference or outside diameter, and perhaps a wall, can be, with probabilities."""
    found = database(request).match_pipe(
        asked, options=released_options_of(asked), release=release_of(request, asked), limit=asked.limit
    )
    return document(request, found.document())


@routes.get("/pipes/{pipe_id}", "pipe", "One pipe by its row id", PipeDocument, PipeRowQuestion)
async def pipe(request: Request, asked: PipeRowQuestion) -> Response:
    """The pipe with a row id such as b36.10-nps-8-sch-40."""
    found = database(request).pipe_row(asked.pipe_id, released_options_of(asked), release_of(request, asked))
    return document(request, found.document())


@routes.get("/linings", "linings", "Linings and coatings by standard and size", LiningList, LiningsQuestion)
async def linings(request: Request, asked: LiningsQuestion) -> Response:
    """What standards line the pipes of a system and a size with; all linings without a system."""
    release = release_of(request, asked)
    found = database(request).linings(asked.system, asked.size, asked.material, released_options_of(asked), release)
    return listed(request, asked, release, found, LiningAnswer.document)


@routes.get("/roughness", "roughness", "Roughness of surfaces", RoughnessList, RoughnessQuestion)
async def roughness(request: Request, asked: RoughnessQuestion) -> Response:
    """The surfaces of a material, or all; a name that is not known is refused, never guessed."""
    release = release_of(request, asked)
    found = database(request).roughness(asked.material, released_options_of(asked), release)
    return listed(request, asked, release, found, RoughnessAnswer.document)
