"""Drawing in millimetres of paper: lines, texts and dimensions as inline SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

Point = tuple[float, float]
ARROW = 2.2
TEXT = 3.0
"""Height of an arrow and of the texts, mm."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A text and the room it takes, in millimetres of paper."""

    words: str
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Placed) -> bool:
        """Whether two texts stand in each other."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def _placed(at: Point, words: str, anchor: str, turned: bool) -> Placed:
    wide, tall = _length(words), 0.8 * TEXT
    start = {"start": 0.0, "middle": -0.5 * wide, "end": -wide}[anchor]
    x, y = at
    if turned:  # reads from below
        return Placed(words, x - tall, y - start - wide, x + 0.2 * tall, y - start)
    return Placed(words, x + start, y - tall, x + start + wide, y + 0.2 * tall)


class Canvas:
    """A drawing that grows piece by piece; x to the right and y down, in millimetres of paper."""

    def __init__(self, width: float, height: float, title: str) -> None:
        self.size = (width, height)
        self._title = title
        self._parts: list[Markup] = []
        self.texts: list[Placed] = []

    def line(self, start: Point, end: Point, kind: str = "thin") -> None:
        """A straight line; `kind` is its class in the style sheet."""
        words = Markup('<line class="{}" x1="{}" y1="{}" x2="{}" y2="{}"/>')
        self._parts.append(words.format(kind, *map(_mm, (*start, *end))))

    def path(self, points: Sequence[Point], kind: str) -> None:
        """A line through points."""
        self._parts.append(Markup('<polyline class="{}" points="{}"/>').format(kind, _points(points)))

    def area(self, points: Sequence[Point], kind: str) -> None:
        """A closed figure."""
        self._parts.append(Markup('<polygon class="{}" points="{}"/>').format(kind, _points(points)))

    def box(self, left: float, top: float, width: float, height: float, kind: str) -> None:
        """A rectangle along the axes."""
        words = Markup('<rect class="{}" x="{}" y="{}" width="{}" height="{}"/>')
        self._parts.append(words.format(kind, *map(_mm, (left, top, width, height))))

    def dot(self, at: Point, radius: float = 0.7, kind: str = "solid") -> None:
        """A circle; `kind` is its class in the style sheet, by default filled."""
        words = Markup('<circle class="{}" cx="{}" cy="{}" r="{}"/>')
        self._parts.append(words.format(kind, *map(_mm, (*at, radius))))

    def arc(self, centre: Point, radius: float, first: float, last: float) -> None:
        """An arc between two angles, in radians clockwise from the right."""
        ends = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in (first, last)]
        words = Markup('<path class="thin" d="M {} {} A {} {} 0 0 {} {} {}"/>')
        numbers = (*map(_mm, (*ends[0], radius, radius)), int(last > first), *map(_mm, ends[1]))
        self._parts.append(words.format(*numbers))

    def text(self, at: Point, words: str, anchor: str = "start", turned: bool = False) -> None:
        """A text whose anchor is `start`, `middle` or `end`; turned, it reads from below."""
        turn = Markup(' transform="rotate(-90 {} {})"').format(*map(_mm, at)) if turned else ""
        self.texts.append(_placed(at, words, anchor, turned))
        shape = Markup('<text x="{}" y="{}" font-size="{}" text-anchor="{}"{}>{}</text>')
        self._parts.append(shape.format(*map(_mm, at), TEXT, anchor, turn, words))

    def across(self, left: float, right: float, height: float, words: str) -> None:
        """A horizontal dimension; its text stands above the line, or beside it where the line is short."""
        self.line((left, height), (right, height))
        self._arrows((left, height), (right, height))
        if right - left > _length(words) + 2 * ARROW:
            self.text(((left + right) / 2, height - 1.0), words, "middle")
        else:
            self.text((right + ARROW + 1.0, height + 1.0), words)

    def down(self, top: float, bottom: float, place: float, words: str, spare: float) -> None:
        """A vertical dimension with its text turned, left of the line, or `spare` below it where the line is short."""
        self.line((place, top), (place, bottom))
        self._arrows((place, top), (place, bottom))
        if fits_along(bottom - top, words):
            self.text((place - 1.0, (top + bottom) / 2), words, "middle", turned=True)
        else:
            self.line((place, bottom), (place, bottom + spare - TEXT))
            self.text((place + 1.0, bottom + spare), words, "end")

    def arrow(self, start: Point, end: Point, kind: str = "thick") -> None:
        """A line with a head at its end."""
        self.line(start, end, kind)
        self._head(end, math.atan2(end[1] - start[1], end[0] - start[0]))

    def _arrows(self, start: Point, end: Point) -> None:
        """The heads of a dimension; from outside where there is no room between them."""
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        inside = math.dist(start, end) > 3 * ARROW
        self._head(start, angle + math.pi if inside else angle)
        self._head(end, angle if inside else angle + math.pi)

    def _head(self, tip: Point, angle: float) -> None:
        sides = [
            (tip[0] - ARROW * math.cos(angle + turn), tip[1] - ARROW * math.sin(angle + turn)) for turn in (-0.2, 0.2)
        ]
        self.area([tip, *sides], "solid")

    def svg(self, described: str = "") -> Markup:
        """The drawing as an element that stands for itself.

        Args:
            described: in words, for whoever hears the page.
        """
        width, height = map(_mm, self.size)
        head = Markup(
            '<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{0}mm" height="{1}mm" viewBox="0 0 {0} {1}">'
            "<title>{2}</title><desc>{3}</desc>"
        ).format(width, height, self._title, described)
        return head + STYLE + HATCH + Markup("").join(self._parts) + Markup("</svg>")


STYLE = Markup(
    """<style>
text { font-family: "DejaVu Sans", Verdana, Arial, sans-serif; fill: #000; }
.thin, .dashed, .axis { stroke: #000; stroke-width: 0.18; fill: none; }
.dashed { stroke-dasharray: 1.2 0.8; }
.axis { stroke-dasharray: 6 1.2 1 1.2; }
.thick { stroke: #000; stroke-width: 0.45; fill: none; }
.sound { stroke: #000; stroke-width: 0.55; fill: none; stroke-linejoin: round; }
.solid { fill: #000; }
.wall { fill: url(#hatch); stroke: #000; stroke-width: 0.3; }
.lining { fill: #ddd; stroke: #000; stroke-width: 0.2; }
.deposits { fill: #aaa; stroke: #000; stroke-width: 0.2; }
.coating { fill: #fff; stroke: #000; stroke-width: 0.2; }
.wedge { fill: #eee; stroke: #000; stroke-width: 0.3; }
.element { stroke: #000; stroke-width: 1.1; }
.bar { fill: #777; stroke: #000; stroke-width: 0.2; }
.whole { fill: #000; }
.band { fill: #ddd; }
.gas { fill: url(#gather); stroke: none; }
.grit { fill: url(#settle); stroke: none; }
.liquid { fill: #fff; stroke: #000; stroke-width: 0.2; }
.ring { fill: #fff; stroke: #000; stroke-width: 0.25; }
</style>"""
)
"""Inside the drawing: not every renderer lets the page's own style into it."""
HATCH = Markup(
    '<defs><pattern id="hatch" width="1.4" height="1.4" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1.4" height="1.4" fill="#fff"/>'
    '<rect width="0.3" height="1.4" fill="#000"/></pattern>'
    '<pattern id="gather" width="2" height="2" patternUnits="userSpaceOnUse">'
    '<circle cx="1" cy="1" r="0.3" fill="#000"/></pattern>'
    '<pattern id="settle" width="3" height="2" patternUnits="userSpaceOnUse">'
    '<rect y="1" width="1.6" height="0.3" fill="#000"/></pattern></defs>'
)
"""Of cut metal, of gas that gathers and of what settles."""


def fits_along(length: float, words: str) -> bool:
    """Whether a text finds room along a dimension of so many mm of paper, between its heads."""
    return length > _length(words) + 2 * ARROW


def _length(words: str) -> float:
    """Of a text on paper, near enough: measured widths of this family lie 5 to 15 % below it."""
    return 0.6 * TEXT * len(words)


def _mm(number: float) -> str:
    return f"{number:.2f}"


def _points(points: Sequence[Point]) -> str:
    return " ".join(f"{_mm(x)},{_mm(y)}" for x, y in points)
