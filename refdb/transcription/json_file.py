"""Holding readings against a JSON file: the numbers below the keys that the locator and the printed name give.

A part of the file belongs to the thing where its key, or a text in it, is the printed name or is named by the locator.
Of all such parts those with most of them on the way count, and a number must stand in one of these.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from refdb.records.models import Reading
from refdb.records.numbers import numbers_of
from refdb.transcription.compared import Compared
from refdb.transcription.text_file import as_decimal, numbers_in, prefixed

_NAMED = re.compile(r"[^,;/]+")


class _Part(NamedTuple):
    """A part of the file: the names on the way to it, and the numbers directly in it and below, as texts."""

    way: frozenset[str]
    numbers: dict[Decimal, str]


def compare(reading: Reading, content: bytes) -> list[Compared] | None:
    """Hold every number of a reading against a JSON file; None where the file is none, or names the thing nowhere."""
    parts = _parts(content)
    names = {_folded(reading.name_printed or ""), *map(_folded, _words_of(reading.locator))} - {""}
    most = max((len(part.way & names) for part in parts), default=0)
    if not most:
        return None
    numbers: dict[Decimal, str] = {}
    for part in parts:
        if len(part.way & names) == most:
            numbers |= part.numbers
    found = [(number, _text(number.text, numbers)) for number in numbers_of(reading)]
    return [Compared(number, text, text is not None, "parsed") for number, text in found]


def _text(entered: str, numbers: dict[Decimal, str]) -> str | None:
    wanted = as_decimal(entered)
    if wanted is None:
        return None
    return next((numbers[form] for form in prefixed(wanted) if form in numbers), None)


def _words_of(locator: str) -> Iterator[str]:
    """The pieces of a locator, and what follows `element`, `key` or `row` in one."""
    for piece in _NAMED.findall(locator):
        yield piece
        yield piece.strip().partition(" ")[2]


# The readings of a document are compared one after the other with one file.
@lru_cache(maxsize=1)
def _parts(content: bytes) -> list[_Part]:
    try:
        held = json.loads(content, parse_float=str, parse_int=str)
    except (ValueError, RecursionError):
        return []
    return list(_walk(held, frozenset()))


def _walk(held: Any, way: frozenset[str]) -> Iterator[_Part]:
    """Every part that holds numbers itself."""
    children: dict[Any, Any] = (
        held if isinstance(held, dict) else dict(enumerate(held)) if isinstance(held, list) else {}
    )
    texts = {name: child for name, child in children.items() if isinstance(child, str)}
    own = way | {_folded(text) for text in texts.values()}
    numbers: dict[Decimal, str] = {}
    for text in texts.values():
        numbers |= numbers_in(text)
    if numbers:
        yield _Part(own | {_folded(str(name)) for name in texts}, numbers)
    for name, child in children.items():
        if not isinstance(child, str):
            yield from _walk(child, own | ({_folded(name)} if isinstance(name, str) else set()))


def _children(held: Any) -> dict[Any, Any]:
    """What an object or a list holds, by key or place."""
    if isinstance(held, list):
        return dict(enumerate(held))
    return held if isinstance(held, dict) else {}


def _folded(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "", text.lower())
