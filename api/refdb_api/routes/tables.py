"""Tables for printing, and the recipe for measuring a speed on site."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.liquids.documents import StrengthDocument
from refdb.liquids.question import StrengthQuestion
from refdb.onsite.ask import speed_on_site
from refdb.onsite.documents import MeasuredLiquidSpeedDocument, MeasuredSpeedDocument
from refdb.onsite.question import MeasureSpeedQuestion
from refdb.suspensions.documents import SuspensionDocument
from refdb.suspensions.question import SuspensionSpeedQuestion
from refdb.values.documents import TableDocument
from refdb.values.options import options_of
from refdb.values.question import MaterialsQuestion, TableQuestion
from refdb.values.table import materials_table, table_of
from refdb_api.describe import Routes
from refdb_api.documents import MaterialList
from refdb_api.respond import document
from refdb_api.routes.common import as_is, database, listed, release_of, released_options_of

routes = Routes("tables")


@routes.get("/table", "table", "A table over a range of states", TableDocument, TableQuestion)
async def table(request: Request, asked: TableQuestion) -> Response:
    """Properties over one range of states, or two: temperature=0..100 step 5 degC."""
    found = table_of(
        database(request).reader,
        asked.subject,
        asked.property,
        asked.ranges(),
        condition=asked.condition,
        options=released_options_of(asked),
        release=release_of(request, asked),
    )
    return document(request, found.document())


@routes.get(
    "/table/materials", "materials_table", "Every material with its speeds and density", MaterialList, MaterialsQuestion
)
async def materials(request: Request, asked: MaterialsQuestion) -> Response:
    """Both speeds, density, slopes, uncertainties, rows and sources of every material; null where nobody published."""
    release = release_of(request, asked)
    lines = materials_table(database(request).reader, options=released_options_of(asked), release=release)
    return listed(request, asked, release, lines, as_is)


@routes.get(
    "/strength",
    "strength",
    "The strength of a solution on other bases: by mass, volume or amount, or from its density",
    StrengthDocument,
    StrengthQuestion,
)
async def strength(request: Request, asked: StrengthQuestion) -> Response:
    """The mass fraction, and the strength on every basis that the release's densities and molar masses allow."""
    found = database(request).strength(
        asked.subject,
        asked.strength,
        temperature=asked.temperature,
        to=asked.to,
        release=release_of(request, asked),
    )
    return document(request, found.document())


@routes.get(
    "/suspension",
    "suspension",
    "The sound speed of an emulsion or a slurry of fine particles, or the fraction that has a measured one",
    SuspensionDocument,
    SuspensionSpeedQuestion,
)
async def suspension(request: Request, asked: SuspensionSpeedQuestion) -> Response:
    """Wood's equation with its uncertainty and validity; liquids that mix, and gas, are refused.

    Give fraction for the speed, or sound_speed for every fraction that has it.
    """
    found = database(request).suspension(asked, options=options_of(asked), release=release_of(request, asked))
    return document(request, found.document())


@routes.get(
    "/measure-speed",
    "measure_speed",
    "A speed measured on site: from an echo in a solid, or a travel time through a liquid",
    MeasuredSpeedDocument | MeasuredLiquidSpeedDocument,
    MeasureSpeedQuestion,
)
async def measure_speed(request: Request, asked: MeasureSpeedQuestion) -> Response:
    """The speed and its standard uncertainty.

    In a solid from a known thickness and the time of echoes, after ASTM E494; in a liquid from its travel time over a
    known path, or against water in the same vessel.
    """
    found = speed_on_site(database(request).reader, asked, release_of(request, asked))
    return document(request, found.document())
