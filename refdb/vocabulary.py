"""The closed vocabulary: properties, units, conditions, pipe systems, surfaces.

Compiled by `refdb build` from `shared/vocabulary/` (pint supplies the unit factors there, once) and loaded here as
plain dictionaries, so that answering a question costs neither pint nor a TOML parser.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any, NamedTuple, TypedDict

from refdb.data import pinned


class StatePart(NamedTuple):
    """A part of a state: its dimension, and the unit in which states hold it, with the UCUM code."""

    dimension: str
    unit: str
    ucum: str


STATE = {
    "temperature": StatePart("temperature", "degC", "Cel"),
    "pressure": StatePart("pressure", "Pa", "Pa"),
    "salinity": StatePart("salinity", "g/kg", "g/kg"),
    "strength": StatePart("mass_fraction", "kg/kg", "kg/kg"),
    "frequency": StatePart("frequency", "Hz", "Hz"),
}

STRENGTHS = (
    "mass_fraction",
    "volume_fraction",
    "alcoholic_strength",
    "mole_fraction",
    "molality",
    "amount_concentration",
    "mass_concentration",
    "density",
)
"""What a strength may measure; a mass fraction needs nothing else to be known."""


class VocabularyDocument(TypedDict):
    """The compiled vocabulary: definitions by id, units with their factors, and refused spellings."""

    units: list[dict[str, Any]]
    refused: list[dict[str, Any]]
    properties: dict[str, dict[str, Any]]
    conditions: dict[str, dict[str, Any]]
    systems: dict[str, dict[str, Any]]
    surfaces: dict[str, dict[str, Any]]


@cache
def vocabulary() -> VocabularyDocument:
    """The compiled vocabulary, from the same build as the store that this process answers from.

    Raises:
        IntegrityError: it is missing, was cleared away by a later build, or does not fit its SHA-256.
    """
    document: VocabularyDocument = json.loads(pinned().vocabulary_bytes())
    return document


def properties() -> dict[str, dict[str, Any]]:
    """Property id to its definition: `name`, `dimension`, `si`, `us`, `applies_to`, `definition`."""
    return vocabulary()["properties"]


def systems() -> dict[str, dict[str, Any]]:
    """Pipe system id to its definition: `name`, `names`, `standard`, `edition`, `size_words`, `complete` and others."""
    return vocabulary()["systems"]


def conditions() -> dict[str, dict[str, Any]]:
    """Condition id to its definition: `name`, `definition`."""
    return vocabulary()["conditions"]


def surfaces() -> dict[str, dict[str, Any]]:
    """Surface id to its definition: `name`, `materials`, `condition`."""
    return vocabulary()["surfaces"]
