"""The sheet of a job on a terminal: the same parts as on the page, without the drawings."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import Any

from refdb.cli import printing
from refdb.job.sheet.contents import contents
from refdb.job.sheet.parts import Cell, Drawing, Frame, Heading, Paragraph, Part, Points, Tabulation

PICTURED = "--html shows the drawings: a section along the pipe, the cross-section, the budget, the profile factor."


def print_sheet(document: Mapping[str, Any]) -> None:
    """Print a job's document as people read it."""
    parts = [part for part in contents(document).parts if not isinstance(part, Drawing)]
    # A section that held nothing but a drawing goes with it.
    kept = [
        part
        for part, after in itertools.zip_longest(parts, parts[1:])
        if not (isinstance(part, Heading) and (after is None or isinstance(after, Heading)))
    ]
    printing.show(*(line for part in kept for line in _lines(part)), "", PICTURED)


def _lines(part: Part | None) -> Iterator[Any]:
    match part:
        case Heading(text):
            yield ""
            yield text.upper()
        case Paragraph(text):
            yield text
        case Points(items, _, numbered):
            yield from (f"[{place}] {item}" if numbered else f"- {item}" for place, item in enumerate(items, 1))
        case Frame(title, items):
            yield f"*** {title.upper()} ***"
            yield from (f"  - {item}" for item in items)
        case Tabulation():
            yield _grid(part)


def _grid(part: Tabulation) -> Any:
    table = printing.grid(*part.heads)
    for column in part.figures:
        table.columns[column].justify = "right"
    for place, row in enumerate(part.rows):
        cells = [_text(cell) for cell in row]
        if place == part.chosen:
            cells[0] = f"{cells[0]} *"
        table.add_row(*cells)
    return table


def _text(cell: str | Cell) -> str:
    if isinstance(cell, str):
        return cell
    return " ".join([cell.text, *(f"[{place}]" for place in cell.sources)])
