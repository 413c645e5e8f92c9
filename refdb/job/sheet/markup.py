"""Pieces of a printable page; every text that goes in is escaped, and nothing is loaded from elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

STYLE = Markup(
    """
@page { size: PAPER; margin: 14mm 15mm 16mm 15mm;
  @bottom-left { content: "refdb"; font: 7.5pt sans-serif; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 7.5pt sans-serif; } }
* { box-sizing: border-box; }
body { font: 9pt/1.32 "DejaVu Sans", Verdana, Arial, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 180mm; }
h1 { font-size: 15pt; margin: 0 0 1mm; }
h2 { font-size: 10.5pt; margin: 5mm 0 1.5mm; border-bottom: 0.35mm solid #000; break-after: avoid; }
p, ul, ol { margin: 1mm 0; }
ul, ol { padding-left: 5mm; }
table { border-collapse: collapse; width: 100%; margin: 1mm 0 2mm; font-size: 8pt; }
td:first-child { white-space: nowrap; }
.blank td:first-child, .sign td:first-child { white-space: normal; }
th, td { border-bottom: 0.12mm solid #555; padding: 0.6mm 1.2mm; text-align: left; vertical-align: top; }
th { border-bottom: 0.35mm solid #000; }
td.figure, th.figure { text-align: right; }
td.figure { white-space: nowrap; }
tr { break-inside: avoid; }
tr.chosen td { font-weight: bold; }
thead { display: table-header-group; }
a { color: #000; text-decoration: none; }
.caution { border: 0.8mm solid #000; padding: 1.5mm 3mm; margin: 3mm 0; break-inside: avoid; }
.verdict { border: 1.2mm double #000; padding: 1.5mm 3mm; margin: 2mm 0; break-inside: avoid; font-size: 10pt; }
.verdict strong { font-size: 13pt; }
.caution strong { display: block; text-transform: uppercase; letter-spacing: 0.08em; }
.mind { border-left: 1.5mm solid #000; padding: 0.5mm 0 0.5mm 3mm; margin: 2mm 0; }
.short { font-size: 10pt; margin: 2mm 0; }
.small, .small td, .small li { font-size: 7.5pt; overflow-wrap: anywhere; }
.sign td { height: 11mm; width: 33%; vertical-align: bottom; border: 0.2mm solid #000; font-size: 7.5pt; }
.keep { break-inside: avoid; }
.wide { overflow-x: auto; }
@media screen and (max-width: 160mm) { svg { min-width: 150mm; } body { padding: 0 2mm; }
  td:first-child { white-space: normal; } }
svg { display: block; max-width: 100%; height: auto; margin: 1.5mm 0; }
.blank td { height: 7.5mm; }
.blank td { border: 0.12mm solid #555; }
.blank td.asked { width: 38%; }
.blank td.unit { width: 22%; }
"""
)
PAPER = {"si": "A4", "us": "letter"}
"""What a page is printed on, by the units of its figures."""


def document(title: str, paper: str, parts: Iterable[Markup | None]) -> str:
    """A page that stands for itself.

    Args:
        paper: a size of paper that CSS knows.
        parts: of the body; None is left out.
    """
    head = Markup(
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{}</title>'
        '<meta name="viewport" content="width=device-width"><style>{}</style></head>\n<body>\n{}\n</body></html>\n'
    )
    body = Markup("\n").join(part for part in parts if part is not None)
    return str(head.format(title, STYLE.replace("PAPER", paper), body))


def heading(words: str) -> Markup:
    """The heading of a part."""
    return Markup("<h2>{}</h2>").format(words)


def paragraph(words: str | Markup, kind: str = "") -> Markup:
    """A paragraph, of a class of the style sheet."""
    return Markup('<p class="{}">{}</p>').format(kind, words) if kind else Markup("<p>{}</p>").format(words)


def points(items: Sequence[str | Markup], kind: str = "") -> Markup | None:
    """A list; None where there is nothing to list."""
    if not items:
        return None
    inside = Markup("").join(Markup("<li>{}</li>").format(item) for item in items)
    return Markup('<ul class="{}">{}</ul>').format(kind, inside)


def table(
    headings: Sequence[str],
    rows: Iterable[Sequence[str | Markup]],
    figures: Iterable[int] = (),
    chosen: int = -1,
    kind: str = "plain",
) -> Markup:
    """A table.

    Args:
        figures: the columns that hold numbers.
        chosen: the row that is worked on, in bold.
        kind: its class in the style sheet.
    """
    held = frozenset(figures)
    head = Markup("").join(_cell(_HEAD, text, column in held) for column, text in enumerate(headings))
    body = Markup("").join(_row(row, held, index == chosen) for index, row in enumerate(rows))
    whole = Markup('<div class="wide"><table class="{}"><thead><tr>{}</tr></thead><tbody>{}</tbody></table></div>')
    return whole.format(kind, head, body)


def _row(cells: Sequence[str | Markup], figures: frozenset[int], chosen: bool) -> Markup:
    inside = Markup("").join(_cell(_BODY, text, column in figures) for column, text in enumerate(cells))
    return Markup("<tr{}>{}</tr>").format(Markup(' class="chosen"') if chosen else "", inside)


_HEAD, _BODY = Markup("<th{}>{}</th>"), Markup("<td{}>{}</td>")


def _cell(shape: Markup, text: str | Markup, figure: bool) -> Markup:
    return shape.format(Markup(' class="figure"') if figure else "", text)


def box(title: str, items: Sequence[str], kind: str = "caution") -> Markup:
    """A frame that cannot be overlooked, of a class of the style sheet."""
    return Markup('<div class="{}"><strong>{}</strong>{}</div>').format(kind, title, points(items) or "")


SIGNATURE = Markup(
    '<table class="sign keep"><tr><td>Worked by, date</td><td>Checked by, date</td>'
    "<td>Mounted and read by, date, place</td></tr></table>"
)
"""A place to sign."""
