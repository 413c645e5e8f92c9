"""The closed vocabularies."""

from __future__ import annotations

from fastapi import Request, Response

from refdb.values.vocabularies import property_documents, refused_documents, system_documents, unit_documents
from refdb_api.describe import Routes
from refdb_api.documents import PropertyList, SystemList, UnitList
from refdb_api.parameters import read_query
from refdb_api.respond import document

routes = Routes("vocabulary")

NOTHING, DIMENSION = frozenset[str](), frozenset({"dimension"})


@routes.get("/properties", "properties", "The properties", PropertyList)
async def properties(request: Request) -> Response:
    """Every property with its definition, dimension and units."""
    read_query(request, NOTHING)
    return document(request, {"items": property_documents()})


@routes.get("/units", "units", "The units", UnitList, ("dimension",))
async def units(request: Request) -> Response:
    """Every unit with every accepted spelling, and the spellings that are refused, with the way out."""
    dimension = read_query(request, DIMENSION).one("dimension")
    return document(request, {"items": unit_documents(dimension), "refused": refused_documents(dimension)})


@routes.get("/systems", "systems", "The pipe systems", SystemList)
async def systems(request: Request) -> Response:
    """Every pipe system, its standard and edition, and how much of it is here."""
    read_query(request, NOTHING)
    return document(request, {"items": system_documents()})
