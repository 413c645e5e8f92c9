"""The closed vocabularies as documents."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.problems import UnknownName
from refdb.units import Unit, units
from refdb.vocabulary import properties, systems

if TYPE_CHECKING:
    from refdb.values.documents import PropertyDocument, RefusedUnit, SystemDocument, UnitDocument


def property_documents() -> list[PropertyDocument]:
    """Every property with its definition, dimension and units."""
    return [
        {
            "id": property_id,
            "name": definition["name"],
            "symbol": definition["symbol"],
            "dimension": definition["dimension"],
            "si": definition["si"],
            "us": definition["us"],
            "applies_to": definition["applies_to"],
            "definition": definition["definition"],
            "asked_of": definition["asked_of"],
        }
        for property_id, definition in properties().items()
    ]


def system_documents() -> list[SystemDocument]:
    """Every pipe system, its standard and edition, and how much of it is here."""
    return [
        {
            "id": system_id,
            "size_unit": definition.get("size_unit"),
            "tolerances": definition.get("tolerances", []),
            "name": definition["name"],
            "names": definition["names"],
            "standard": definition["standard"],
            "edition": definition["edition"],
            "size_words": definition["size_words"],
            "material": definition["material"],
            "complete": definition["complete"],
        }
        for system_id, definition in systems().items()
    ]


def unit_documents(dimension: str | None = None) -> list[UnitDocument]:
    """Every unit with every accepted spelling, or those of one dimension.

    Raises:
        UnknownName: there is no such dimension.
    """
    _check_dimension(dimension)
    return [_unit_document(unit) for unit in units().entries if dimension in {None, unit.dimension}]


def refused_documents(dimension: str | None = None) -> list[RefusedUnit]:
    """Every spelling that is refused although the trade writes it, with the reason and the way out.

    Raises:
        UnknownName: there is no such dimension.
    """
    _check_dimension(dimension)
    return [
        {"spellings": entry["spellings"], "dimensions": entry["dimensions"], "why": entry["why"]}
        for entry in units().refused()
        if dimension is None or not entry["dimensions"] or dimension in entry["dimensions"]
    ]


def _check_dimension(dimension: str | None) -> None:
    dimensions = units().dimensions()
    if dimension is not None and dimension not in dimensions:
        raise UnknownName(
            f"dimension: there is none called '{dimension}'; there are {', '.join(dimensions)}.",
            parameter="dimension",
            given=dimension,
            candidates=dimensions,
        )


def _unit_document(unit: Unit) -> UnitDocument:
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
