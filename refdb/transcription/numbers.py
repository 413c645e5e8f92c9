"""The printed numbers of a reading, one by one, as a second reader compares them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from refdb.records.models import Reading

How = Literal["parsed", "beside its name", "in the file", "recomputed", "read by a person"]
"""How a number was found again, the strongest first: in the carrier's own structure, in the line or block that names the
thing, anywhere in the file; computed again with the library; read by somebody in the print."""

_NUMBERS = (
    "number", "low", "high", "minimum", "outside_diameter", "wall", "inside_diameter", "coefficients", "points",
    "values", "terms", "minus", "plus", "stated_uncertainty",
)  # fmt: skip
_TEXTS = frozenset({"unit", "kind", "of", "unlimited"})


@dataclass(frozen=True)
class PrintedNumber:
    """One number of a reading: where it stands in the record (`number`, `points.3.1`), and its text as entered."""

    reading: str
    place: str
    text: str


@dataclass(frozen=True)
class Compared:
    """A number held against a carrier or the print.

    `found` is the text that stands there, or None where no number could be found for it; `equal` says whether the two
    are the same number.
    """

    number: PrintedNumber
    found: str | None
    equal: bool
    how: How


def numbers_of(reading: Reading) -> list[PrintedNumber]:
    """Every number that the document prints as (part of) the value, in order; not its state, nor axes of a grid."""
    body = reading.plain()
    return [
        PrintedNumber(reading.id, place, text)
        for name in _NUMBERS
        if name in body
        for place, text in _texts(name, body[name])
    ]


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
