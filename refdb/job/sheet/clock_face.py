"""The cross-section of the pipe as a clock seen along the flow: where around it the sensors go."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from refdb.job.figures import plain
from refdb.job.sheet.canvas import Canvas, Point
from refdb.job.sheet.drawing import SCALES
from refdb.job.sheet.geometry import Geometry, geometry

WIDTH, TALL = 180.0, 92.0
"""Of the drawing, mm of paper."""
CENTRE: Point = (46.0, 45.0)
MOST = 62.0
"""Of the outside diameter on paper, mm."""
SENSOR, HOURS = 5.0, 8.5
"""How high a sensor stands on the pipe, and where the hours stand outside it, mm of paper."""
FAR = 45.0
"""Degrees from the horizontal diameter within which sensors stand on a pipe that lies."""
STEPS = 72
THIN = 0.7
"""mm of paper: a layer thinner than this is told of in words, for it cannot be seen."""
WORDS_AT, ROW = 96.0, 5.0
STANDING = frozenset({"upward", "downward", "vertical"})


def clock_face(document: Mapping[str, Any]) -> Markup | None:
    """The cross-section to scale; None where the document holds no spacing to draw."""
    drawn = drawn_clock(document)
    if drawn is None:
        return None
    sides = "one side" if document["arrangement"]["sides"] == "same" else "opposite sides"
    return drawn.svg(f"The pipe seen along the flow, its layers to scale, with the sensors on {sides} of it.")


def drawn_clock(document: Mapping[str, Any]) -> Canvas | None:
    """The same as a canvas, whose texts can be looked at."""
    section = geometry(document)
    if section is None or section.exit_spacing <= 0.0:
        return None
    scale = next(each for each in reversed(SCALES) if 2.0 * section.top / each <= MOST)
    canvas = Canvas(WIDTH, TALL, "Cross-section of the pipe seen along the flow, to scale")
    lies = document["arrangement"]["orientation"] not in STANDING
    _layers(canvas, section, scale)
    if lies:
        _settling(canvas, section.bore / 2.0 / scale)
    _sound(canvas, section, scale)
    _hours(canvas, section.top / scale, lies)
    for row, words in enumerate(_words(document, section, scale, lies)):
        canvas.text((WORDS_AT, 12.0 + ROW * row), words)
    return canvas


def _at(radius: float, hour: float) -> Point:
    """A point at an hour of the clock."""
    angle = math.radians(30.0 * hour)
    return CENTRE[0] + radius * math.sin(angle), CENTRE[1] - radius * math.cos(angle)


def _circle(radius: float) -> list[Point]:
    return [_at(radius, 12.0 * step / STEPS) for step in range(STEPS)]


def _layers(canvas: Canvas, section: Geometry, scale: float) -> None:
    radius: float = section.top
    for band in section.bands:
        canvas.area(_circle(radius / scale), band.name)
        radius -= band.thickness
    canvas.area(_circle(radius / scale), "liquid")


def _settling(canvas: Canvas, radius: float) -> None:
    """Where gas gathers and where solids settle, in a pipe that lies."""
    for kind, hours in (("gas", (-1.5, 1.5)), ("grit", (4.5, 7.5))):
        rim = [_at(0.98 * radius, hours[0] + (hours[1] - hours[0]) * step / 24) for step in range(25)]
        canvas.area(rim, kind)


def _sound(canvas: Canvas, section: Geometry, scale: float) -> None:
    """The sensors at 9 and, on opposite sides, 3 o'clock, with the path between them."""
    outside, inside = section.top / scale, section.bore / 2.0 / scale
    canvas.line(_at(inside, 9.0), _at(inside, 3.0), "sound")
    names = (("A", 9.0), ("B", 3.0)) if section.side < 0 else (("A, B", 9.0),)
    for name, hour in names:
        _sensor(canvas, outside, hour)
        out = -1.0 if hour == 9.0 else 1.0
        at = (CENTRE[0] + out * (outside + SENSOR - 1.2), CENTRE[1] - 5.2)
        canvas.text(at, name, "end" if out < 0 else "start")


def _sensor(canvas: Canvas, outside: float, hour: float) -> None:
    out = -1.0 if hour == 9.0 else 1.0
    foot, head = CENTRE[0] + out * outside, CENTRE[0] + out * (outside + SENSOR)
    corners: Sequence[Point] = [
        (foot, CENTRE[1] - 3.0),
        (head, CENTRE[1] - 2.0),
        (head, CENTRE[1] + 2.0),
        (foot, CENTRE[1] + 3.0),
    ]
    canvas.area(corners, "wedge")


def _hours(canvas: Canvas, outside: float, lies: bool) -> None:
    for hour in range(12):
        canvas.line(_at(outside + 0.8, hour), _at(outside + (2.2 if hour % 3 else 3.2), hour))
    canvas.text((CENTRE[0], CENTRE[1] - outside - 4.2), "12", "middle")
    canvas.text((CENTRE[0], CENTRE[1] + outside + 6.4), "6", "middle")
    canvas.text((CENTRE[0] + outside + HOURS, CENTRE[1] + 5.0), "3")
    canvas.text((CENTRE[0] - outside - HOURS, CENTRE[1] + 5.0), "9", "end")
    if not lies:
        return
    for mark in (1.5, 4.5, 7.5, 10.5):
        canvas.line(_at(outside + 0.8, mark), _at(outside + 5.0, mark), "dashed")


def _words(document: Mapping[str, Any], section: Geometry, scale: float, lies: bool) -> list[str]:
    passes = document["arrangement"]["passes"]
    side = "in line, on one side" if section.side > 0 else "on opposite sides"
    found = [
        "seen along the flow, hours as on a clock",
        f"sensors A and B {side}",
        f"{passes} pass{'es' if passes > 1 else ''}",
        f"outside {plain(document['pipe']['outside_diameter'], 4)}, bore {plain(document['pipe']['bore'], 4)}",
    ]
    if lies:
        found += ["between the dashed marks: 45° either way", "dots: gas gathers; dashes: solids settle"]
    else:
        found.append("anywhere around, off the plane of the last bend")
    if document["arrangement"]["seam"] != "none":
        found.append("keep sensors and reflections off the seam")
    thin = [band.name for band in section.bands if band.thickness / scale < THIN]
    if thin:
        found += ["too thin to be seen at this scale:", ", ".join(thin)]
    ratio = f"1:{scale:g}" if scale >= 1.0 else f"{1.0 / scale:g}:1"
    return [*found, f"scale {ratio} where printed at 100 %"]
