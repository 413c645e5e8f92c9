"""The closed vocabularies."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.values.question import NoQuestion, UnitsQuestion
from refdb.values.vocabularies import property_documents, refused_documents, system_documents, unit_documents
from refdb_api.describe import Routes
from refdb_api.documents import PropertyList, SystemList, UnitList
from refdb_api.respond import document

routes = Routes("vocabulary")


@routes.get("/properties", "properties", "The properties", PropertyList, NoQuestion)
async def properties(request: Request, _: NoQuestion) -> Response:
    """Every property with its definition, dimension and units."""
    return document(request, {"items": property_documents()})


@routes.get("/units", "units", "The units", UnitList, UnitsQuestion)
async def units(request: Request, asked: UnitsQuestion) -> Response:
    """Every unit with every accepted spelling, and the spellings that are refused, with the way out."""
    items, refused = unit_documents(asked.dimension), refused_documents(asked.dimension)
    return document(request, {"items": items, "refused": refused})


@routes.get("/systems", "systems", "The pipe systems", SystemList, NoQuestion)
async def systems(request: Request, _: NoQuestion) -> Response:
    """Every pipe system, its standard and edition, and how much of it is here."""
    return document(request, {"items": system_documents()})
