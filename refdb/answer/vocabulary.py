"""The closed vocabularies as documents."""

from __future__ import annotations

from typing import Any

from refdb.problems import UnknownName
from refdb.units import units
from refdb.vocabulary import properties, systems


def property_documents() -> list[dict[str, Any]]:
    """Every property with its definition, dimension and units."""
    return [{"id": property_id, **definition} for property_id, definition in properties().items()]


def system_documents() -> list[dict[str, Any]]:
    """Every pipe system, its standard and edition, and how much of it is here."""
    return [{"id": system_id, **definition} for system_id, definition in systems().items()]


def unit_documents(dimension: str | None = None) -> list[dict[str, Any]]:
    """Every unit with every accepted spelling, or those of one dimension.

    Raises:
        UnknownName: there is no such dimension.
    """
    dimensions = units().dimensions()
    if dimension is not None and dimension not in dimensions:
        raise UnknownName(
            f"dimension: there is none called '{dimension}'; there are {', '.join(dimensions)}.",
            parameter="dimension",
            given=dimension,
            candidates=dimensions,
        )
    return [
        {
            "symbol": unit.symbol,
            "ucum": unit.ucum,
            "dimension": unit.dimension,
            "spellings": list(unit.spellings),
            "gauge": unit.gauge,
            "assume": unit.assume,
            "scale": unit.scale,
            "offset": unit.offset,
        }
        for unit in units().entries
        if dimension in {None, unit.dimension}
    ]
