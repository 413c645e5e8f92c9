"""Lists of entries that fit the width they are printed in, with no word cut to pieces."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions

GAP = 2
"""Blanks between two columns."""
INDENT = 4
SHORT = 28
"""The length up to which a column keeps each of its cells on one line: a number stays with its unit."""
MOST_LINES = 4
"""The most lines that one entry of a table takes; beyond, its parts read better one after another."""

Row = Sequence[str]


class Listing:
    """Entries of equal parts: a table where the width allows one, else each entry by itself.

    A table needs a column for the longest word of each part, and for the whole of short parts. Where the columns do not
    fit, or become so narrow that an entry would run down many lines, an entry begins with its first part on a line of
    its own; the others follow indented, each with its heading.
    """

    def __init__(self, headings: Row, title: str | None = None) -> None:
        self._headings = list(headings)
        self._title = title
        self._rows: list[Row] = []

    def add_row(self, *cells: str) -> None:
        """Add an entry."""
        self._rows.append([" ".join(cell.split()) for cell in cells])

    @property
    def row_count(self) -> int:
        """How many entries there are."""
        return len(self._rows)

    def lines(self, width: int) -> Iterator[str]:
        """The list in lines of a width, without trailing blanks; only a word that is longer makes a longer line."""
        if self._title is not None:
            yield from _wrapped(self._title, width)
            yield ""
        widths = self._widths(width)
        yield from self._stacked(width) if widths is None else self._table(widths)
        yield ""

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> Iterator[Any]:
        """What rich prints of it: the lines as they are."""
        from rich.text import Text

        for line in self.lines(options.max_width):
            yield Text(line, no_wrap=True, overflow="ignore")

    def _widths(self, width: int) -> list[int] | None:
        """The widths of the columns; None where a table does not do."""
        columns = list(zip(self._headings, *self._rows, strict=True))
        most = [max(map(len, column)) for column in columns]
        least = [
            long if long <= SHORT else max(map(_longest_word, column))
            for long, column in zip(most, columns, strict=True)
        ]
        room = width - GAP * (len(columns) - 1)
        if sum(least) > room:
            return None
        widths = _shared(least, most, room)
        tallest = max(
            (len(_wrapped(cell, column)) for row in self._rows for cell, column in zip(row, widths, strict=True)),
            default=1,
        )
        return widths if tallest <= MOST_LINES else None

    def _table(self, widths: Sequence[int]) -> Iterator[str]:
        yield from _side_by_side(self._headings, widths)
        yield "─" * (sum(widths) + GAP * (len(widths) - 1))
        for row in self._rows:
            yield from _side_by_side(row, widths)

    def _stacked(self, width: int) -> Iterator[str]:
        for first, *others in self._rows:
            yield from _wrapped(first, width)
            parts = [f"{name}: {cell}" for name, cell in zip(self._headings[1:], others, strict=True) if cell]
            yield from (" " * INDENT + line for line in _wrapped("; ".join(parts), width - INDENT))


def _shared(least: Sequence[int], most: Sequence[int], room: int) -> list[int]:
    """Widths that fit into a room: short columns keep what they want, long ones are cut to one common width."""
    for common in range(room, 0, -1):
        widths = [max(low, min(high, common)) for low, high in zip(least, most, strict=True)]
        if sum(widths) <= room:
            return widths
    return list(least)


def _side_by_side(cells: Row, widths: Sequence[int]) -> Iterator[str]:
    parts = [_wrapped(cell, width) for cell, width in zip(cells, widths, strict=True)]
    for number in range(max(len(part) for part in parts)):
        shown = (part[number] if number < len(part) else "" for part in parts)
        yield (" " * GAP).join(f"{text:<{width}}" for text, width in zip(shown, widths, strict=True)).rstrip()


def _wrapped(text: str, width: int) -> list[str]:
    """A text in lines, broken at blanks alone."""
    if len(text) <= width:
        return [text]
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False) or [""]


def _longest_word(text: str) -> int:
    return max((len(word) for word in text.split()), default=0)
