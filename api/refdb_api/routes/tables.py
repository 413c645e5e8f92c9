"""Tables for printing, and the recipe for measuring a speed on site."""

from __future__ import annotations

from dataclasses import fields

from fastapi import Request, Response

from refdb.liquids.documents import StrengthDocument
from refdb.onsite.documents import MeasuredLiquidSpeedDocument, MeasuredSpeedDocument
from refdb.onsite.echo import SOLID_PARTS, measured_speed
from refdb.onsite.travel_time import LiquidSpeedQuestion, refuse_solid_parts
from refdb.problems import BadParameter
from refdb.suspensions.documents import SuspensionDocument
from refdb.suspensions.question import SuspensionQuestion
from refdb.units import printable, whole_number
from refdb.values.documents import TableDocument
from refdb.values.options import read_options
from refdb.values.table import AXES, materials_table, table_of
from refdb_api.describe import Routes
from refdb_api.documents import MaterialList
from refdb_api.parameters import CHOICES, PAGE, RELEASE, STATE, read_query
from refdb_api.respond import document
from refdb_api.routes.common import as_is, database, listed, release_of, released_options_of

routes = Routes("tables")

_TABLE = ("subject", "property", *STATE, "condition", *CHOICES, *RELEASE)
_MATERIALS = (*CHOICES, *RELEASE, *PAGE)
_LIQUID_PARTS = (
    "travel_time",
    "travel_time_uncertainty",
    "path",
    "path_uncertainty",
    "water_time",
    "water_time_uncertainty",
    "temperature",
    "temperature_uncertainty",
)
_LIQUID = frozenset(_LIQUID_PARTS)
_MEASURED = (*SOLID_PARTS, "echoes", *_LIQUID_PARTS, "speed_unit", *RELEASE)
_STRENGTH = ("subject", "strength", "temperature", "to", *RELEASE)
_SUSPENSION_PARTS = tuple(field.name for field in fields(SuspensionQuestion) if field.name != "continuous")
_SUSPENSION = ("continuous", *_SUSPENSION_PARTS, "accept", *RELEASE)
TABLE, MATERIALS, MEASURED, STRENGTH, SUSPENSION = map(
    frozenset, (_TABLE, _MATERIALS, _MEASURED, _STRENGTH, _SUSPENSION)
)


@routes.get("/table", "table", "A table over a range of states", TableDocument, _TABLE, ("subject",))
async def table(request: Request) -> Response:
    """Properties over one range of states, or two: temperature=0..100 step 5 degC."""
    query = read_query(request, TABLE)
    found = table_of(
        database(request).reader,
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
    lines = materials_table(database(request).reader, options=released_options_of(query), release=release)
    return listed(request, query, release, lines, as_is)


@routes.get(
    "/strength",
    "strength",
    "The strength of a solution on other bases: by mass, volume or amount, or from its density",
    StrengthDocument,
    _STRENGTH,
    ("subject", "strength"),
)
async def strength(request: Request) -> Response:
    """The mass fraction, and the strength on every basis that the release's densities and molar masses allow."""
    query = read_query(request, STRENGTH)
    found = database(request).strength(
        query.required("subject"),
        query.required("strength"),
        temperature=query.one("temperature"),
        to=query.one("to"),
        release=release_of(request, query),
    )
    return document(request, found.document())


@routes.get(
    "/suspension",
    "suspension",
    "The sound speed of an emulsion or a slurry of fine particles, or the fraction that has a measured one",
    SuspensionDocument,
    _SUSPENSION,
    ("continuous",),
)
async def suspension(request: Request) -> Response:
    """Wood's equation with its uncertainty and validity; liquids that mix, and gas, are refused.

    Give fraction for the speed, or sound_speed for every fraction that has it.
    """
    query = read_query(request, SUSPENSION)
    given = {name: query.one(name) for name in _SUSPENSION_PARTS}
    found = database(request).suspension(
        SuspensionQuestion(query.required("continuous"), **given),
        options=read_options(accept=query.one("accept")),
        release=release_of(request, query),
    )
    return document(request, found.document())


@routes.get(
    "/measure-speed",
    "measure_speed",
    "A speed measured on site: from an echo in a solid, or a travel time through a liquid",
    MeasuredSpeedDocument | MeasuredLiquidSpeedDocument,
    _MEASURED,
)
async def measure_speed(request: Request) -> Response:
    """The speed and its standard uncertainty.

    In a solid from a known thickness and the time of echoes, after ASTM E494; in a liquid from its travel time over a
    known path, or against water in the same vessel.
    """
    query = read_query(request, MEASURED)
    unit = query.one("speed_unit") or "m/s"
    if query.any_of(_LIQUID):
        refuse_solid_parts({name: query.one(name) for name in (*SOLID_PARTS, "echoes")})
        asked = LiquidSpeedQuestion(**{name: query.one(name) for name in _LIQUID_PARTS})
        found = database(request).measure_liquid_speed(asked, unit=unit, release=release_of(request, query))
        return document(request, found.document())
    written = query.one("echoes") or "1"
    echoes = whole_number(written)
    if echoes is None:
        shown = printable(written)
        raise BadParameter(
            f"echoes: '{shown}' is not a whole number of round trips, such as 1.", parameter="echoes", given=shown
        )
    thickness, thickness_uncertainty, echo_time, echo_time_uncertainty = map(query.required, SOLID_PARTS)
    return document(
        request,
        measured_speed(thickness, thickness_uncertainty, echo_time, echo_time_uncertainty, echoes, unit).document(),
    )
