"""The sheet of a job as a printable page of HTML, which loads nothing and runs nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from markupsafe import Markup

from refdb.job.sheet import markup
from refdb.job.sheet.chart import chart
from refdb.job.sheet.clock_face import clock_face
from refdb.job.sheet.contents import contents
from refdb.job.sheet.drawing import drawing
from refdb.job.sheet.factor_chart import factor_chart
from refdb.job.sheet.parts import Cell, Drawing, Frame, Heading, Paragraph, Part, Points, Tabulation

NO_DRAWING = "No drawing: there is no spacing to draw; what is refused says why."
CROSSED = "No drawing: the sensors would cross over at this number of passes."


def page(document: Mapping[str, Any]) -> str:
    """A job's document as a printable page.

    Args:
        document: what `refdb.job.work_job` gave, in SI or US units.
    """
    drawn: dict[str, Callable[[], Markup | None]] = {
        "section": lambda: drawing(document) or markup.paragraph(_missing(document)),
        "clock face": lambda: clock_face(document),
        "profile factor": lambda: factor_chart(document["flow"]),
        "budget": lambda: chart(document["uncertainty"]),
    }
    sheet = contents(document)
    parts: list[Markup | None] = []
    for part in sheet.parts:
        made = drawn[part.name]() if isinstance(part, Drawing) else rendered(part)
        if isinstance(part, Drawing) and made is not None and parts:
            # A drawing stays with the words before it.
            made = Markup('<div class="keep">{}<div class="wide">{}</div></div>').format(parts.pop() or "", made)
        parts.append(made)
    return markup.document(sheet.title, markup.PAPER[document["units"]], [*parts, markup.SIGNATURE])


def _missing(document: Mapping[str, Any]) -> str:
    return NO_DRAWING if document["spacing"] is None else CROSSED


def rendered(part: Part) -> Markup | None:
    """A part in HTML; every text is escaped."""
    match part:
        case Heading(text):
            return markup.heading(text)
        case Paragraph(text, "title"):
            return Markup("<h1>{}</h1>").format(text)
        case Paragraph(text, kind):
            return markup.paragraph(text, "" if kind == "plain" else kind)
        case Points(items, "mind"):
            return Markup('<div class="mind">{}</div>').format(markup.points(items) or "")
        case Points(items, kind, True):
            inside = Markup("").join(
                Markup('<li id="source-{}">{}</li>').format(place, item) for place, item in enumerate(items, 1)
            )
            return Markup('<ol class="{}">{}</ol>').format(kind, inside)
        case Points(items, kind):
            return markup.points(items, kind)
        case Frame(title, items, kind):
            return markup.box(title, items, kind)
        case Tabulation(heads, rows, figures, chosen):
            cells = [[_cell(cell) for cell in row] for row in rows]
            return markup.table(heads, cells, figures, chosen)
        case Drawing():
            return None


def _cell(cell: str | Cell) -> str | Markup:
    if isinstance(cell, str):
        return cell
    links = Markup(" ").join(Markup('<a href="#source-{0}">[{0}]</a>').format(place) for place in cell.sources)
    return Markup("{} {}").format(cell.text, links) if cell.sources else cell.text
