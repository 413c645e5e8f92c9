"""Compiling the vocabulary: the only place where pint is asked anything."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections import Counter
from functools import lru_cache
from pathlib import Path
from typing import Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.problems import LedgerError
from refdb.units.nonlinear import CURVES
from refdb.vocabulary import VocabularyDocument

PARTS = ("properties", "conditions", "systems", "surfaces")


def compile_vocabulary(text_root: Path) -> VocabularyDocument:
    """The vocabulary of `shared/vocabulary/`, every unit with its factor and offset or the name of its function.

    Raises:
        LedgerError: a unit does not fit its dimension, a spelling stands twice for one dimension or is both accepted
            and refused, or a function is not known or used twice.
    """
    folder = text_root / "shared" / "vocabulary"
    compiled: VocabularyDocument = json.loads(
        _compiled(*((folder / f"{part}.toml").read_text(encoding="utf-8") for part in ("units", *PARTS)))
    )
    return compiled


@lru_cache(maxsize=4)
def _compiled(units: str, *parts: str) -> str:
    """The compiled vocabulary as JSON; pint takes a second to load, and is asked once about the same text."""
    table = tomllib.loads(units)
    properties, conditions, systems, surfaces = map(tomllib.loads, parts)
    compiled = _compile_units(table["unit"])
    refused = _compile_refused(table["refused"], compiled)
    _check_properties(properties, compiled)
    return json.dumps(
        VocabularyDocument(
            units=compiled,
            refused=refused,
            properties=properties,
            conditions=conditions,
            systems=systems,
            surfaces=surfaces,
        )
    )


def vocabulary_bytes(document: VocabularyDocument) -> bytes:
    """The compiled vocabulary as the bytes of its file, the same on every machine.

    Unlike canonical JSON it keeps the order of the text, since properties, systems and units are served in it.
    """
    return json.dumps(document, ensure_ascii=False).encode("utf-8")


def vocabulary_digest(document: VocabularyDocument) -> str:
    """The digest by which a release names its vocabulary: `sha256:` and the SHA-256 of the compiled file."""
    return "sha256:" + hashlib.sha256(vocabulary_bytes(document)).hexdigest()


def _compile_units(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    import pint

    # No default format or cache of pint survives this function: what it leaves behind is two numbers a unit.
    registry: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    # pint leaves the international-table Btu out under the name the trade's unit needs.
    if "Btu_it" not in registry:
        registry.define("Btu_it = 1055.05585262 joule")
    si: dict[str, Any] = {}
    compiled, faults = [], []
    for entry in entries:
        base = si.setdefault(entry["dimension"], registry.Unit(entry["pint"]))
        try:
            scale, offset = _line(registry, entry, base)
        except pint.DimensionalityError as error:
            faults.append(f"shared/vocabulary/units.toml: {entry['symbol']}: pint: {error}")
            continue
        compiled.append(_unit_document(entry, scale, offset))
    faults += _repeated_spellings(compiled) + _wrong_functions(compiled)
    if faults:
        raise LedgerError(faults)
    return compiled


def _unit_document(entry: dict[str, Any], scale: float | None, offset: float | None) -> dict[str, Any]:
    return {
        "symbol": entry["symbol"],
        "ucum": entry["ucum"],
        "dimension": entry["dimension"],
        "scale": scale,
        "offset": offset,
        "spellings": entry["spellings"],
        "gauge": entry.get("gauge", False),
        "assume": entry.get("assume"),
        "function": entry.get("function"),
    }


def _line(registry: Any, entry: dict[str, Any], base: Any) -> tuple[float | None, float | None]:
    """Factor and offset of a unit; neither, for a unit with a function."""
    if "function" in entry:
        return None, None
    scale, offset = _factor_and_offset(registry, entry, base)
    # A gauge pressure is counted from 1 atm.
    return scale, STANDARD_ATMOSPHERE if entry.get("gauge", False) else offset


def _wrong_functions(compiled: list[dict[str, Any]]) -> list[str]:
    """Two units of one function would be taken for the same straight line."""
    counts = Counter(unit["function"] for unit in compiled if unit["function"] is not None)
    return [
        f"shared/vocabulary/units.toml: the function '{name}' is not one of {', '.join(CURVES)}, used once each"
        for name, count in counts.items()
        if name not in CURVES or count > 1
    ]


def _compile_refused(entries: list[dict[str, Any]], units: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Every refusal, with the dimensions it is limited to; none of its spellings may be accepted there."""
    refused = [{**entry, "dimensions": entry.get("dimensions", [])} for entry in entries]
    counts = Counter(spelling for entry in refused for spelling in entry["spellings"])
    faults = [
        f"shared/vocabulary/units.toml: '{spelling}' is refused twice; keep one"
        for spelling, count in counts.items()
        if count > 1
    ]
    faults += [
        f"shared/vocabulary/units.toml: '{spelling}' is refused, and accepted for {unit['dimension']}"
        for entry in refused
        for unit in units
        for spelling in entry["spellings"]
        if spelling in {unit["symbol"], unit["ucum"], *unit["spellings"]}
        and (unit["dimension"] in entry["dimensions"] or not entry["dimensions"])
    ]
    if faults:
        raise LedgerError(faults)
    return refused


def _factor_and_offset(registry: Any, entry: dict[str, Any], base: Any) -> tuple[float, float]:
    """The straight line from a magnitude in the unit to the magnitude in the SI unit."""
    unit = registry.Unit(entry["pint"])
    zero = registry.Quantity(0.0, unit).to(base).magnitude
    if zero == 0.0:
        return _tidy(registry.Quantity(float(entry.get("times", "1")), unit).to(base).magnitude), 0.0
    # For an offset unit the difference of two converted temperatures loses digits; the delta unit does not.
    return _tidy(registry.Quantity(1.0, f"delta_{unit}").to("kelvin").magnitude), _tidy(zero)


def _tidy(factor: float) -> float:
    """Fifteen significant digits: a foot is 0.3048 m, not 0.30479999999999996."""
    return float(f"{factor:.15g}")


def _repeated_spellings(compiled: list[dict[str, Any]]) -> list[str]:
    counts = Counter(
        (unit["dimension"], spelling) for unit in compiled for spelling in (unit["symbol"], *unit["spellings"])
    )
    return [
        f"shared/vocabulary/units.toml: the spelling '{spelling}' stands twice for {dimension}; keep one"
        for (dimension, spelling), count in counts.items()
        if count > 1
    ]


def _check_properties(properties: dict[str, Any], units: list[dict[str, Any]]) -> None:
    known = {(unit["dimension"], unit["symbol"]) for unit in units}
    faults = [
        f"shared/vocabulary/properties.toml: {name}.{key}: {definition[key]} is not of {definition['dimension']}"
        for name, definition in properties.items()
        for key in ("si", "us")
        if (definition["dimension"], definition[key]) not in known
    ]
    if faults:
        raise LedgerError(faults)
