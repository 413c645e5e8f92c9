"""Materials and liquids: lists, values at a state, readings as printed."""

from __future__ import annotations

from fastapi import Request, Response
from starlette.concurrency import run_in_threadpool

from refdb.database import FIND_LIMIT, MATCH_LIMIT, Database
from refdb.liquids.documents import LiquidMatchDocument, StateMatchDocument
from refdb.liquids.measurement import LiquidQuestion
from refdb.lookup.state import read_state
from refdb.values.documents import BatchDocument, SubjectDocument, ValuesDocument
from refdb.values.options import Options, read_options
from refdb_api.bodies import BatchQuestion
from refdb_api.describe import Routes
from refdb_api.documents import FoundList, ReadingList, SubjectList
from refdb_api.keys import with_house
from refdb_api.parameters import CHOICES, PAGE, RELEASE, STATE, Query, read_limit, read_query
from refdb_api.question import read_question
from refdb_api.respond import ARROW, arrow, document, private, read_body, wants_arrow
from refdb_api.routes.common import as_is, database, listed, options_of, release_of, released_options_of

routes = Routes("materials and liquids")

_LIST = (*RELEASE, *PAGE)
_READINGS = ("property", "source", *RELEASE, *PAGE)
_VALUES = ("property", *STATE, "condition", *CHOICES, *RELEASE)
_FIND = ("q", "limit", *RELEASE)
_MATCH = (
    "sound_speed",
    *STATE,
    "sound_speed_uncertainty",
    "temperature_uncertainty",
    "liquid",
    "solution",
)
_MATCHED = (*_MATCH, "limit", "units", "accept", *RELEASE)

LIST, READINGS, VALUES, RELEASES, FIND, MATCHED = map(frozenset, (_LIST, _READINGS, _VALUES, RELEASE, _FIND, _MATCHED))
ANY_VALUES = VALUES | {"subject"}


async def _values(request: Request, kind: str | None, subject: str | None) -> Response:
    query = read_query(request, ANY_VALUES if subject is None else VALUES)
    options = options_of(query)
    served = database(request)
    if options.house:
        served = await with_house(request)
        # The house store is read with SQL, which must not keep other requests waiting.
        return private(await run_in_threadpool(_answered, request, query, served, options, kind, subject))
    return _answered(request, query, served, options, kind, subject)


def _answered(
    request: Request, query: Query, served: Database, options: Options, kind: str | None, subject: str | None
) -> Response:
    found = served.values(
        query.required("subject") if subject is None else subject,
        query.many("property"),
        state=read_state(*map(query.one, STATE)),
        condition=query.one("condition"),
        options=options,
        release=release_of(request, query),
        kind=kind,
    )
    return document(request, found.document())


def _add_values(plural: str, kind: str) -> None:
    """The route of values of one kind of subject. It is asked most, and routes are matched in order: it comes first."""

    @routes.get(
        f"/{plural}/{{name}}/values", f"{kind}_values", f"Values of a {kind} at a state", ValuesDocument, _VALUES
    )
    async def subject_values(request: Request) -> Response:
        return await _values(request, kind, request.path_params["name"])


def _add_others(plural: str, kind: str) -> None:
    """The other routes of one kind of subject."""

    @routes.get(f"/{plural}", plural, f"The {plural}", SubjectList, _LIST)
    async def subject_list(request: Request) -> Response:
        query = read_query(request, LIST)
        release = release_of(request, query)
        return listed(request, query, release, database(request).subjects(kind, release), as_is)

    @routes.get(f"/{plural}/{{name}}", kind, f"One {kind}", SubjectDocument, RELEASE)
    async def one_subject(request: Request) -> Response:
        release = release_of(request, read_query(request, RELEASES))
        served = database(request)
        return document(
            request, served.subject_document(served.subject(request.path_params["name"], release, kind), release)
        )

    @routes.get(
        f"/{plural}/{{name}}/readings",
        f"{kind}_readings",
        f"What each source says about a {kind}, as printed",
        ReadingList,
        _READINGS,
    )
    async def subject_readings(request: Request) -> Response:
        query = read_query(request, READINGS)
        release = release_of(request, query)
        items = database(request).readings(
            request.path_params["name"], query.one("property"), query.one("source"), release, kind
        )
        return listed(request, query, release, items, as_is)


_add_values("liquids", "liquid")
_add_values("materials", "material")


@routes.get(
    "/values", "values", "Values of a subject by any exact name", ValuesDocument, ("subject", *_VALUES), ("subject",)
)
async def values(request: Request) -> Response:
    """The properties of any subject at a state; names may hold slashes."""
    return await _values(request, None, None)


@routes.post(
    "/values", "batch_values", "Values of a subject at many states", BatchQuestion, BatchDocument, other_media=(ARROW,)
)
async def batch_values(request: Request) -> Response:
    """Columns of values, standard uncertainties, status and row. A state that cannot be answered spoils no other.

    Accept: application/vnd.apache.arrow.stream for an Arrow stream, with units in the metadata of its fields.
    """
    asked = read_question(await read_body(request))
    served = database(request)
    found = served.batch(
        asked.subject,
        asked.properties,
        state=asked.state,
        condition=asked.condition,
        options=read_options(asked.units, asked.unit, asked.accept, asked.layers),
        release=served.release(asked.release, asked.as_of),
    )
    return arrow(found.arrow()) if wants_arrow(request) else document(request, found.document())


@routes.get("/find", "find", "What fits a search text", FoundList, _FIND, ("q",))
async def find(request: Request) -> Response:
    """Subjects, pipes and sources whose names or designations fit, best first. The one forgiving question."""
    query = read_query(request, FIND)
    release = release_of(request, query)
    items = database(request).find(query.required("q"), read_limit(query, FIND_LIMIT), release)
    return document(request, {"release": release.label, "items": [item.document() for item in items]})


# Before the routes of one liquid, which would take "match" for a name.
@routes.get(
    "/liquids/match",
    "match_liquid",
    "Which liquids have a measured sound speed, or at which temperature or strength one has",
    LiquidMatchDocument | StateMatchDocument,
    _MATCHED,
    ("sound_speed",),
)
async def match_liquid(request: Request) -> Response:
    """Liquids that agree with a measured sound speed; with liquid its temperatures, with solution its strengths."""
    query = read_query(request, MATCHED)
    found = database(request).match_liquid(
        LiquidQuestion(**{name: query.one(name) for name in _MATCH}),
        options=released_options_of(query),
        release=release_of(request, query),
        limit=read_limit(query, MATCH_LIMIT),
    )
    return document(request, found.document())


_add_others("materials", "material")
_add_others("liquids", "liquid")
