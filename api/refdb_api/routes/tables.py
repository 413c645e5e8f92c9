"""Tables for printing, and the recipe for measuring a speed on site."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.answer.recipe import measured_speed
from refdb.answer.table import AXES, materials_table, table_of
from refdb.problems import BadParameter
from refdb_api.describe import Routes
from refdb_api.parameters import CHOICES, PAGE, RELEASE, STATE, read_query
from refdb_api.respond import document
from refdb_api.routes.common import as_is, database, listed, release_of, released_options_of
from refdb_api.schemas import MaterialList, MeasuredSpeedDocument, TableDocument

routes = Routes("tables")

_TABLE = ("subject", "property", *STATE, "condition", *CHOICES, *RELEASE)
_MATERIALS = (*CHOICES, *RELEASE, *PAGE)
_MEASURED = ("thickness", "thickness_uncertainty", "echo_time", "echo_time_uncertainty", "echoes", "speed_unit")
TABLE, MATERIALS, MEASURED = map(frozenset, (_TABLE, _MATERIALS, _MEASURED))


@routes.get("/table", "table", "A table over a range of states", TableDocument, _TABLE, ("subject",))
async def table(request: Request) -> Response:
    """Properties over one range of states, or two: temperature=0..100 step 5 degC."""
    query = read_query(request, TABLE)
    found = table_of(
        database(request),
        query.required("subject"),
        query.many("property"),
        {part: query.one(part) for part in AXES},
        condition=query.one("condition"),
        options=released_options_of(query),
        release=release_of(request, query),
    )
    return document(request, found.document())


@routes.get(
    "/table/materials", "materials_table", "Every material with its speeds and density", MaterialList, _MATERIALS
)
async def materials(request: Request) -> Response:
    """Both speeds, density, slopes, uncertainties, rows and sources of every material; null where nobody published."""
    query = read_query(request, MATERIALS)
    release = release_of(request, query)
    lines = materials_table(database(request), options=released_options_of(query), release=release)
    return listed(request, query, release, lines, as_is)


@routes.get(
    "/measure-speed",
    "measure_speed",
    "A speed measured on site from an echo",
    MeasuredSpeedDocument,
    _MEASURED,
    _MEASURED[:4],
)
async def measure_speed(request: Request) -> Response:
    """The speed and its standard uncertainty from a known thickness and the time of echoes, after ASTM E494."""
    query = read_query(request, MEASURED)
    echoes = query.one("echoes") or "1"
    if not (echoes.isascii() and echoes.isdecimal() and len(echoes) < 10):
        raise BadParameter(
            f"echoes: '{echoes[:20]}' is not a whole number of round trips, such as 1.",
            parameter="echoes",
            given=echoes,
        )
    thickness, thickness_uncertainty, echo_time, echo_time_uncertainty = map(query.required, _MEASURED[:4])
    found = measured_speed(
        thickness,
        thickness_uncertainty,
        echo_time,
        echo_time_uncertainty,
        int(echoes),
        query.one("speed_unit") or "m/s",
    )
    return document(request, found.document())
