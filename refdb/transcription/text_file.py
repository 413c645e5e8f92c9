"""Holding readings against a file of text: a table, a program, a page that was saved.

A number counts as found again where the same number stands beside the name of the thing: in a line that holds the name,
or in the lines that follow it up to the next blank one. The same digits elsewhere in the file prove nothing.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal, InvalidOperation

from refdb.records.models import Reading
from refdb.records.numbers import EnteredNumber, numbers_of
from refdb.transcription.compared import Compared

BLOCK = 40
"""How many lines a block may have at most."""

_TOKEN = re.compile(r"[-+−]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?")
_NAMED = re.compile(r"(?:row|entry|key|name|material|table|function|variable)s? ['\"]?([\w .()/%-]+)")
_TAG = re.compile(r"<[^>]+>")
_WORD = re.compile(r"[a-z0-9]+")


def compare(reading: Reading, content: bytes) -> list[Compared]:
    """Hold every number of a reading against a file.

    Returns:
        One entry a number, in the reading's order; `found` is None where the number stands beside no mention of the
        thing.
    """
    lines = _lines(content)
    blocks = [_numbers_in(block) for block in _blocks(lines, _names(reading))]
    return [_compared(number, blocks) for number in numbers_of(reading)]


def _compared(number: EnteredNumber, blocks: Sequence[dict[Decimal, str]]) -> Compared:
    wanted = _decimal(number.text)
    found = next((block[wanted] for block in blocks if wanted is not None and wanted in block), None)
    return Compared(number, found, found is not None, "beside its name")


def _lines(content: bytes) -> list[str]:
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    if "<html" in text[:2000].lower():
        text = html.unescape(_TAG.sub(" ", text.replace("</tr>", "\n")))
    return text.splitlines()


def _names(reading: Reading) -> list[tuple[str, ...]]:
    """The words under which the thing may stand: what the document calls it, its subject, what the locator names."""
    texts = [reading.name_printed or "", str(getattr(reading, "subject", ""))]
    texts += _NAMED.findall(reading.locator)
    return [words for words in dict.fromkeys(map(_words, texts)) if words]


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(text.lower()))


def _blocks(lines: Sequence[str], names: Sequence[tuple[str, ...]]) -> Iterator[Sequence[str]]:
    """The block of every line that holds all words of one of the names: it, and what follows up to a blank line."""
    for index, line in enumerate(lines):
        words = set(_WORD.findall(line.lower()))
        if any(words.issuperset(name) for name in names):
            end = next(
                (at for at in range(index + 1, min(index + BLOCK, len(lines))) if not lines[at].strip()),
                min(index + BLOCK, len(lines)),
            )
            yield lines[index:end]


def _numbers_in(block: Sequence[str]) -> dict[Decimal, str]:
    found: dict[Decimal, str] = {}
    for token in _TOKEN.findall("\n".join(block)):
        number = _decimal(token)
        if number is not None:
            found.setdefault(number, token)
    return found


def _decimal(text: str) -> Decimal | None:
    """The number that a text prints; grouping and a comma for the point are understood."""
    plain = text.replace("−", "-").replace("\u2009", "").replace(" ", "").replace("x10^", "e").replace("×10^", "e")
    try:
        return Decimal(plain).normalize()
    except InvalidOperation:
        return None
