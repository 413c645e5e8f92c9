"""Numbers that stand in the tables of an installed library, read again where their locators point.

A locator names a table of the library and perhaps its key, such as `HHR_roughness["Wood tubes"]`, or a function of CAS
number and method that looks a table up, such as `Tm('64-17-5', method='CRC_ORG')`, or the list of walls of a series of
pipes, such as `LIGHTt_BS1387`, beside which its lists of diameters lie. A number is equal where it stands there; of a
table in columns, the numbers of one reading must stand in one row.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any

from refdb.problems import BadParameter
from refdb.records.models import Reading, Source
from refdb.records.numbers import numbers_of
from refdb.records.printed import printed_exactly
from refdb.transcription.compared import Compared
from refdb.transcription.libraries import Library, library_named, module_of

MODULES = {"fluids": ("fluids.friction", "fluids.piping"), "chemicals": ("chemicals",)}
"""The modules of a library in which the names of locators are looked for."""

_CALL = re.compile(r"(?P<name>\w+)\('(?P<cas>[\d-]+)', method='(?P<method>\w+)'\)")
_ENTRY = re.compile(r"(?:[\w.]+ )?(?P<name>\w+)\[\"(?P<key>.+)\"\]")
_WALLS = re.compile(r"(?:[\w.]+ )?(?P<series>[A-Z]+)t_(?P<standard>\w+)")
"""As fluids.piping names lists of one series: o the outside diameters, i the inside diameters, t the walls."""

Row = list[str]


def compare(reading: Reading, source: Source) -> list[Compared]:
    """The numbers of a reading against the row of the library's table that its locator points at.

    Args:
        reading: one whose locator points into a library.
        source: its document, whose `seen_at` names the library and the version.

    Returns:
        One for each number, in order; `found` is the library's number, or None where the row does not hold it.

    Raises:
        BadParameter: the document names no library whose tables are read here, or the locator points at nothing there.
        LibraryNeeded: the library is not installed, or not in the version that the document names.
    """
    rows = list(_rows(reading, source))
    numbers = numbers_of(reading)
    wanted = [printed_exactly(number.text) for number in numbers]
    best = max((_in_row(row, wanted) for row in rows), key=lambda found: sum(text is not None for text in found))
    return [Compared(number, text, text is not None, "parsed") for number, text in zip(numbers, best, strict=True)]


def _in_row(row: Row, wanted: list[Decimal | Fraction]) -> list[str | None]:
    """For each number the text in the row that is the same number, None where there is none."""
    held = {Decimal(text): text for text in row}
    return [next((text for number, text in held.items() if number == exact), None) for exact in wanted]


def _rows(reading: Reading, source: Source) -> Iterator[Row]:
    """The rows that a locator points at: one, or all of a table in columns."""
    library = library_named(source.seen_at)
    if library is None or library.name not in MODULES:
        raise _nothing_there(reading)
    if (call := _CALL.fullmatch(reading.locator)) is not None:
        yield _texts([_looked_up(library, call, reading)])
    elif (walls := _WALLS.fullmatch(reading.locator)) is not None:
        lists = [_named(library, f"{walls['series']}{kind}_{walls['standard']}", reading) for kind in "oit"]
        yield from map(_texts, zip(*lists, strict=True))
    elif (entry := _ENTRY.fullmatch(reading.locator)) is not None:
        yield from _entry_rows(library, entry, reading)
    else:
        raise _nothing_there(reading)


def _entry_rows(library: Library, entry: re.Match[str], reading: Reading) -> Iterator[Row]:
    table = _named(library, entry["name"], reading)
    if entry["key"] not in table:
        raise _nothing_there(reading)
    held = table[entry["key"]]
    if isinstance(held, tuple) and all(isinstance(column, list) for column in held):
        yield from (_texts(row) for row in zip(*held, strict=True))
    else:
        yield _texts(held if isinstance(held, tuple) else (held,))


def _texts(values: Iterable[Any]) -> Row:
    """The numbers among values, with all their digits."""
    return [repr(float(value)) for value in values if isinstance(value, int | float)]


def _looked_up(library: Library, call: re.Match[str], reading: Reading) -> Any:
    try:
        return _named(library, call["name"], reading)(call["cas"], method=call["method"])
    except ValueError:
        raise _nothing_there(reading) from None


def _named(library: Library, name: str, reading: Reading) -> Any:
    for module in MODULES[library.name]:
        found = getattr(module_of(library, module), name, None)
        if found is not None:
            return found
    raise _nothing_there(reading)


def _nothing_there(reading: Reading) -> BadParameter:
    return BadParameter(
        f"reading: the locator of {reading.id} points at no table of an installed library that is read here; name the "
        "table and its key, and the library with its version in seen_at of the document.",
        parameter="reading",
        given=reading.id,
    )
