"""The closed vocabularies as documents."""

from __future__ import annotations

from typing import Any

from refdb.problems import UnknownName
from refdb.units import Unit, units
from refdb.vocabulary import properties, systems


def property_documents() -> list[dict[str, Any]]:
    """Every property with its definition, dimension and units."""
    return [{"id": property_id, **definition} for property_id, definition in properties().items()]


def system_documents() -> list[dict[str, Any]]:
    """Every pipe system, its standard and edition, and how much of it is here."""
    optional: dict[str, Any] = {"size_unit": None, "tolerances": []}
    return [{"id": system_id, **optional, **definition} for system_id, definition in systems().items()]


def unit_documents(dimension: str | None = None) -> list[dict[str, Any]]:
    """Every unit with every accepted spelling, or those of one dimension.

    Raises:
        UnknownName: there is no such dimension.
    """
    _check_dimension(dimension)
    return [_unit_document(unit) for unit in units().entries if dimension in {None, unit.dimension}]


def refused_documents(dimension: str | None = None) -> list[dict[str, Any]]:
    """Every spelling that is refused although the trade writes it, with the reason and the way out.

    Raises:
        UnknownName: there is no such dimension.
    """
    _check_dimension(dimension)
    entries = units().refused()
    return [e for e in entries if dimension is None or not e["dimensions"] or dimension in e["dimensions"]]


def _check_dimension(dimension: str | None) -> None:
    dimensions = units().dimensions()
    if dimension is not None and dimension not in dimensions:
        raise UnknownName(
            f"dimension: there is none called '{dimension}'; there are {', '.join(dimensions)}.",
            parameter="dimension",
            given=dimension,
            candidates=dimensions,
        )


def _unit_document(unit: Unit) -> dict[str, Any]:
    straight = unit.function is None
    return {
        "symbol": unit.symbol,
        "ucum": unit.ucum,
        "dimension": unit.dimension,
        "spellings": list(unit.spellings),
        "gauge": unit.gauge,
        "assume": unit.assume,
        "scale": unit.scale if straight else None,
        "offset": unit.offset if straight else None,
        "function": unit.function,
    }
