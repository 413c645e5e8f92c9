"""Holding readings against a file of text: a table, a program, a page that was saved.

A number counts as found again where the same number stands beside the name of the thing: in a line that holds the name
or the document's DOI, or, if it has digits enough not to stand there by chance, in the lines that follow up to the next
blank one. The same digits elsewhere in the file prove nothing. Under another prefix, 0.108 m for 108 mm, they are the
same number: what a document prints in one unit a program may hold in another.
"""

from __future__ import annotations

import html
import re
from collections.abc import Collection, Mapping, Sequence
from decimal import Context, Decimal, InvalidOperation
from functools import lru_cache
from itertools import takewhile
from typing import NamedTuple

from refdb.records.models import Reading
from refdb.records.numbers import EnteredNumber, numbers_of
from refdb.transcription.compared import Compared

BLOCK = 40
"""How many lines a block may have at most."""

TELLING = 4
"""Digits, from the first to the last that is not zero, that a number needs to be told from others in a block."""

WRITTEN_OUT, FLOAT = 16, Context(prec=12, traps=[])
"""From how many digits on a number is a float written out, as 0.9533300000000002 is, and to how many it is rounded."""

PREFIXES = (0, -3, 3, -6, 6, -9, 9)
"""Powers of ten by which the same number may be written under another prefix."""

_TOKEN = re.compile(r"[-+−]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?")
_NAMED = re.compile(r"(?:row|entry|key|name|material|table|function|variable)s? ['\"]?([\w .()/%-]+)")
_TAG = re.compile(r"<[^>]+>")
_WORD = re.compile(r"[a-z0-9]+")


class _Line(NamedTuple):
    """A line of a file with the words and the numbers in it."""

    text: str
    words: frozenset[str]
    numbers: Mapping[Decimal, str]


def compare(reading: Reading, content: bytes, names: Collection[str] = (), doi: str | None = None) -> list[Compared]:
    """Hold every number of a reading against a file.

    Args:
        names: further names of the thing.
        doi: of the document; where lines of the file name it, only these are looked at.

    Returns:
        One entry a number, in the reading's order; `found` is None where the number stands beside no mention of the
        thing.
    """
    lines = _lines(content)
    if doi is not None:
        stub = doi.partition("/")[2].lower()
        lines = [line for line in lines if stub in line.text.lower()] or lines
        names = [*names, stub]
    wanted_words = _names(reading, names)
    naming = [at for at, line in enumerate(lines) if any(line.words.issuperset(words) for words in wanted_words)]
    return [_compared(number, lines, naming) for number in numbers_of(reading)]


def _compared(number: EnteredNumber, lines: Sequence[_Line], naming: Sequence[int]) -> Compared:
    wanted = as_decimal(number.text)
    found = None
    if wanted is not None:
        reach = BLOCK if len(wanted.as_tuple().digits) >= TELLING else 1
        forms = prefixed(wanted)
        blocks = (takewhile(lambda line: line.text.strip(), lines[at : at + reach]) for at in naming)
        texts = (line.numbers.get(form) for block in blocks for line in block for form in forms)
        found = next((text for text in texts if text is not None), None)
    return Compared(number, found, found is not None, "beside its name")


# The readings of a document are compared one after the other with one file.
@lru_cache(maxsize=1)
def _lines(content: bytes) -> list[_Line]:
    return [_Line(line, frozenset(_words(line)), numbers_in(line)) for line in _text(content).splitlines()]


def _text(content: bytes) -> str:
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    if "<html" in text[:2000].lower():
        text = html.unescape(_TAG.sub(" ", text.replace("</tr>", "\n")))
    return text


def _names(reading: Reading, more: Collection[str]) -> list[tuple[str, ...]]:
    """The words under which the thing may stand: what the document calls it, its subject, what the locator names."""
    texts = [reading.name_printed or "", str(getattr(reading, "subject", "")), *more]
    texts += _NAMED.findall(reading.locator)
    return [words for words in dict.fromkeys(map(_words, texts)) if words]


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(text.lower()))


def prefixed(number: Decimal) -> list[Decimal]:
    """A number as it stands, and as it may be written under another prefix."""
    return [number.scaleb(power) for power in PREFIXES]


def numbers_in(line: str) -> dict[Decimal, str]:
    """Every number in a line, with its text there."""
    found: dict[Decimal, str] = {}
    for token in _TOKEN.findall(line):
        number = as_decimal(token)
        if number is not None:
            found.setdefault(number, token)
    return found


def as_decimal(text: str) -> Decimal | None:
    """The number that a text prints; grouping is understood, and a float written out by a program is rounded again."""
    plain = text.replace("−", "-").replace("\u2009", "").replace(" ", "").replace("x10^", "e").replace("×10^", "e")
    try:
        number = Decimal(plain)
    except InvalidOperation:
        return None
    written_out = len(number.as_tuple().digits) >= WRITTEN_OUT
    return (FLOAT.create_decimal(number) if written_out else number).normalize(FLOAT)
