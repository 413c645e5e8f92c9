"""The printed numbers of a reading, one by one, as a second reader compares them, and the digest of all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from refdb.records.canonical import canonical
from refdb.records.models import Reading

_NUMBERS = (
    "number", "low", "high", "minimum", "outside_diameter", "wall", "inside_diameter", "coefficients", "points",
    "values", "terms", "minus", "plus", "stated_uncertainty",
)  # fmt: skip
_BELONGS = frozenset({"subject", "property", "unit", "state", "variable", "axes"})
_TEXTS = frozenset({"unit", "kind", "of", "unlimited"})


@dataclass(frozen=True)
class EnteredNumber:
    """One number of a reading: where it stands in the record (`number`, `points.3.1`), and its text as entered."""

    reading: str
    place: str
    text: str


def numbers_of(reading: Reading) -> list[EnteredNumber]:
    """Every number that the document prints as (part of) the value, in order; not its state, nor axes of a grid."""
    return [EnteredNumber(reading.id, place, text) for place, text in _entered(reading.plain())]


def _entered(body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name in _NUMBERS:
        if name in body:
            yield from _texts(name, body[name])


def _texts(place: str, held: Any) -> Iterator[tuple[str, str]]:
    if isinstance(held, str):
        yield place, held
    elif isinstance(held, Mapping):
        for name, part in held.items():
            if name not in _TEXTS:
                yield from _texts(f"{place}.{name}", part)
    elif isinstance(held, list):
        for index, part in enumerate(held):
            yield from _texts(f"{place}.{index}", part)


def content_digest(readings: Iterable[Reading]) -> str:
    """SHA-256 over what a second reader compares: the numbers, units and states of readings, in order of their ids.

    A check is good for as long as this stays what it was; a flag or a note may change.
    """
    bodies = [reading.plain() for reading in sorted(readings, key=lambda reading: reading.id)]
    compared = [
        {
            "id": body["id"],
            "numbers": list(_entered(body)),
            **{name: part for name, part in body.items() if name in _BELONGS},
        }
        for body in bodies
    ]
    return "sha256:" + hashlib.sha256(canonical({"": compared})).hexdigest()
