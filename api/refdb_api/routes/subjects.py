"""Materials and liquids: lists, values at a state, readings as printed."""

from __future__ import annotations

from fastapi import Request, Response
from starlette.concurrency import run_in_threadpool

from refdb.database import Database
from refdb.evidence.question import ReadingsQuestion
from refdb.liquids.documents import LiquidMatchDocument, StateMatchDocument
from refdb.liquids.question import MatchLiquidQuestion
from refdb.lookup.state import read_state
from refdb.materials.documents import MaterialMatchDocument, UnlistedDocument
from refdb.materials.question import MatchMaterialQuestion, UnlistedMaterialQuestion
from refdb.values.documents import BatchDocument, SubjectDocument, ValuesDocument
from refdb.values.options import Options, options_of
from refdb.values.question import BatchQuestion, FindQuestion, ListQuestion, SubjectQuestion, ValuesQuestion
from refdb.values.subjects import subject_document
from refdb_api.bodies import BatchBody
from refdb_api.describe import Routes
from refdb_api.documents import FoundList, ReadingList, SubjectList
from refdb_api.keys import with_house
from refdb_api.question import read_question
from refdb_api.respond import ARROW, arrow, document, private, read_body, wants_arrow
from refdb_api.routes.common import as_is, database, listed, release_of, released_options_of

routes = Routes("materials and liquids")


async def _values(request: Request, asked: ValuesQuestion, kind: str | None) -> Response:
    options = options_of(asked)
    served = database(request)
    if options.house:
        served = await with_house(request)
        # The house store is read with SQL, which must not keep other requests waiting.
        return private(await run_in_threadpool(_answered, request, asked, served, options, kind))
    return _answered(request, asked, served, options, kind)


def _answered(
    request: Request, asked: ValuesQuestion, served: Database, options: Options, kind: str | None
) -> Response:
    found = served.values(
        asked.subject,
        asked.property,
        state=read_state(asked.temperature, asked.pressure, asked.salinity, asked.strength),
        condition=asked.condition,
        options=options,
        release=served.release(asked.release, asked.as_of),
        kind=kind,
    )
    return document(request, found.document())


def _add_values(plural: str, kind: str) -> None:
    """The route of values of one kind of subject. It is asked most, and routes are matched in order: it comes first."""

    @routes.get(
        f"/{plural}/{{name}}/values", f"{kind}_values", f"Values of a {kind} at a state", ValuesDocument, ValuesQuestion
    )
    async def subject_values(request: Request, asked: ValuesQuestion) -> Response:
        return await _values(request, asked, kind)


def _add_others(plural: str, kind: str) -> None:
    """The other routes of one kind of subject."""

    @routes.get(f"/{plural}", plural, f"The {plural}", SubjectList, ListQuestion)
    async def subject_list(request: Request, asked: ListQuestion) -> Response:
        release = release_of(request, asked)
        return listed(request, asked, release, database(request).subjects(kind, release), as_is)

    @routes.get(f"/{plural}/{{name}}", kind, f"One {kind}", SubjectDocument, SubjectQuestion)
    async def one_subject(request: Request, asked: SubjectQuestion) -> Response:
        release = release_of(request, asked)
        served = database(request)
        return document(request, subject_document(served.store, served.subject(asked.subject, release, kind), release))

    @routes.get(
        f"/{plural}/{{name}}/readings",
        f"{kind}_readings",
        f"What each source says about a {kind}, as printed",
        ReadingList,
        ReadingsQuestion,
    )
    async def subject_readings(request: Request, asked: ReadingsQuestion) -> Response:
        release = release_of(request, asked)
        items = database(request).readings(asked.subject, asked.property, asked.source, release, kind)
        return listed(request, asked, release, items, as_is)


_add_values("liquids", "liquid")
_add_values("materials", "material")


@routes.get("/values", "values", "Values of a subject by any exact name", ValuesDocument, ValuesQuestion)
async def values(request: Request, asked: ValuesQuestion) -> Response:
    """The properties of any subject at a state; names may hold slashes."""
    return await _values(request, asked, None)


@routes.post(
    "/values", "batch_values", "Values of a subject at many states", BatchBody, BatchDocument, other_media=(ARROW,)
)
async def batch_values(request: Request) -> Response:
    """Columns of values, standard uncertainties, status and row. A state that cannot be answered spoils no other.

    Accept: application/vnd.apache.arrow.stream for an Arrow stream, with units in the metadata of its fields.
    """
    asked = read_question(BatchQuestion, await read_body(request))
    found = database(request).batch(
        asked.subject,
        asked.properties,
        state=asked.state(),
        condition=asked.condition,
        options=options_of(asked),
        release=release_of(request, asked),
    )
    return arrow(found.arrow()) if wants_arrow(request) else document(request, found.document())


@routes.get("/find", "find", "What fits a search text", FoundList, FindQuestion)
async def find(request: Request, asked: FindQuestion) -> Response:
    """Subjects, pipes and sources whose names or designations fit, best first. The one forgiving question."""
    release = release_of(request, asked)
    items = database(request).find(asked.q, asked.limit, release)
    return document(request, {"release": release.label, "items": [item.document() for item in items]})


# Before the routes of one liquid, which would take "match" for a name.
@routes.get(
    "/liquids/match",
    "match_liquid",
    "Which liquids have a measured sound speed, or at which temperature or strength one has",
    LiquidMatchDocument | StateMatchDocument,
    MatchLiquidQuestion,
)
async def match_liquid(request: Request, asked: MatchLiquidQuestion) -> Response:
    """Liquids that agree with a measured sound speed; with liquid its temperatures, with solution its strengths."""
    found = database(request).match_liquid(
        asked, options=released_options_of(asked), release=release_of(request, asked), limit=asked.limit
    )
    return document(request, found.document())


# Before the routes of one material, for the same reason.
@routes.get(
    "/materials/match",
    "match_material",
    "Which materials agree with what was measured on a piece",
    MaterialMatchDocument,
    MatchMaterialQuestion,
)
async def match_material(request: Request, asked: MatchMaterialQuestion) -> Response:
    """Materials that agree with measured speeds and density, with what would tell them apart."""
    return await run_in_threadpool(_matched, request, asked)


def _matched(request: Request, asked: MatchMaterialQuestion) -> Response:
    # Every material is looked at, which must not keep other requests waiting.
    found = database(request).match_material(
        asked, options=released_options_of(asked), release=release_of(request, asked), limit=asked.limit
    )
    return document(request, found.document())


@routes.get(
    "/materials/unlisted",
    "unlisted_material",
    "What follows for a material that is in no list",
    UnlistedDocument,
    UnlistedMaterialQuestion,
)
async def unlisted_material(request: Request, asked: UnlistedMaterialQuestion) -> Response:
    """Speeds, density and dynamic moduli of one more of a family, conditional on what was measured on it."""
    return await run_in_threadpool(_unlisted, request, asked)


def _unlisted(request: Request, asked: UnlistedMaterialQuestion) -> Response:
    found = database(request).unlisted_material(
        asked, options=released_options_of(asked), release=release_of(request, asked)
    )
    return document(request, found.document())


_add_others("materials", "material")
_add_others("liquids", "liquid")
