"""The longitudinal section of the pipe to scale, with sensors, path of the sound and dimensions."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from refdb.job.figures import decided, plain
from refdb.job.sheet.canvas import TEXT, Canvas, Point, fits_along
from refdb.job.sheet.geometry import Band, Geometry, geometry

WIDTH = 180.0
"""Of the drawing on paper, mm: what A4 and Letter both leave."""
LEFT, RIGHT, ABOVE, ROW = 4.0, 26.0, 11.0, 4.4
"""Room for texts and dimensions around the pipe, and the height of a row of labels, mm."""
MOST_HEIGHT, OVERHANG = 95.0, 18.0
BESIDE = 14.0
"""For the words of dimensions that find no room along a small pipe, mm."""
SCALES = (100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""Millimetres of the pipe for one of paper (ISO 5455)."""


@dataclass(frozen=True, slots=True)
class Paper:
    """Where the pipe stands on the paper."""

    scale: float
    left: float
    right: float
    axis: float
    """Of the pipe on paper; `left` and `right` are its ends, mm of the pipe."""

    def at(self, point: Point) -> Point:
        """A point of the pipe, on paper."""
        return LEFT + (point[0] - self.left) / self.scale, self.axis - point[1] / self.scale


def drawing(document: Mapping[str, Any]) -> Markup | None:
    """The section of a document's pipe; None where it holds no spacing, or sensors that would cross over."""
    drawn = drawn_section(document)
    if drawn is None:
        return None
    worked = document["spacing"]["passes"][document["arrangement"]["passes"] - 1]
    sides = document["arrangement"]["sides"]
    return drawn.svg(
        f"Two sensors on the {sides} side of the pipe, {plain(worked['spacing'], 4)} apart; the sound crosses the "
        f"liquid {worked['passes']} times at {plain(document['waves']['liquid_angle'], 3)} to the normal."
    )


def drawn_section(document: Mapping[str, Any]) -> Canvas | None:
    """The same as a canvas, whose texts can be looked at."""
    section = geometry(document)
    if section is None or section.exit_spacing <= 0.0:
        return None
    frame = _frame(section)
    below = frame.axis + section.top / frame.scale + _under(section, frame.scale)
    if not all(fits_along(2.0 * half / frame.scale, words) for half, words, _ in _heights(section, document)):
        below += BESIDE
    height = below + ROW * (len(section.bands) + 2 + section.crowded) + 13.0
    canvas = Canvas(WIDTH, height, "Longitudinal section of the pipe with the path of the sound, to scale")
    _pipe(canvas, section, frame)
    _sensors(canvas, section, frame)
    _sound(canvas, section, frame)
    _dimensions(canvas, section, frame, document)
    _labels(canvas, section, frame, document, below)
    _scale_bar(canvas, frame, height - 2.0, document)
    return canvas


def _frame(section: Geometry) -> Paper:
    """The largest scale at which the section fits the paper."""
    wedge, _ = section.wedge()
    back, high = -min(x for x, _ in wedge), max(y for _, y in wedge)
    scale = SCALES[0]
    for candidate in SCALES:
        wide = (section.exit_spacing + 2 * back) / candidate + 2 * OVERHANG + LEFT + RIGHT
        tall = (2 * section.top + high * (1 if section.side > 0 else 2)) / candidate
        if wide > WIDTH or tall > MOST_HEIGHT:
            break
        scale = candidate
    reach = back + OVERHANG * scale
    return Paper(scale, -reach, section.exit_spacing + reach, ABOVE + (high + section.top) / scale)


def _under(section: Geometry, scale: float) -> float:
    """What hangs below the pipe: the second sensor, where it stands there."""
    return max(max(y for _, y in section.wedge()[0]) / scale, TEXT + 1.5) if section.side < 0 else 0.0


def _pipe(canvas: Canvas, section: Geometry, frame: Paper) -> None:
    for sign in (1.0, -1.0):
        outer = section.top
        for band in section.bands:
            inner = outer - band.thickness
            corners = [(frame.left, outer), (frame.right, outer), (frame.right, inner), (frame.left, inner)]
            canvas.area([frame.at((x, sign * y)) for x, y in corners], band.name)
            outer = inner
    canvas.line(frame.at((frame.left, 0.0)), frame.at((frame.right, 0.0)), "axis")
    start = frame.at((frame.left, 0.0))
    # Below the axis: the angle of the sound is told above it.
    canvas.arrow((start[0] + 2.0, start[1] + 6.5), (start[0] + 15.0, start[1] + 6.5))
    canvas.text((start[0] + 2.0, start[1] + 5.0), "flow")
    end = frame.at((frame.right, -section.bore / 2.0))
    canvas.text((end[0] - 1.5, end[1] - 1.5), "far wall", "end")


def _placed(section: Geometry, frame: Paper, point: Point, first: bool) -> Point:
    """A point of a wedge, on paper."""
    if first:
        return frame.at((point[0], section.top + point[1]))
    return frame.at((section.exit_spacing - point[0], section.side * (section.top + point[1])))


def _sensors(canvas: Canvas, section: Geometry, frame: Paper) -> None:
    corners, middle = section.wedge()
    for first, name in ((True, "A"), (False, "B")):
        points = [_placed(section, frame, corner, first) for corner in corners]
        canvas.area(points, "wedge")
        canvas.line(points[1], points[2], "element")
        outer = _placed(section, frame, corners[0], first)
        above = first or section.side > 0
        at = (outer[0] + (-1.5 if first else 1.5), outer[1] + (-1.2 if above else 1.2 + TEXT))
        canvas.text(at, name, "end" if first else "start")
        end = _placed(section, frame, (0.0, 0.0), first)
        canvas.path([_placed(section, frame, middle, first), end], "sound")


def _sound(canvas: Canvas, section: Geometry, frame: Paper) -> None:
    way = section.way()
    canvas.path([frame.at(point) for point in way], "sound")
    for end in (way[0], way[-1]):
        canvas.dot(frame.at(end))
    entry = frame.at(way[len(section.bands)])
    radius = min(14.0, 0.35 * section.bore / frame.scale)
    canvas.line(entry, (entry[0], entry[1] + radius + 2.0), "dashed")
    canvas.arc(entry, radius, math.pi / 2.0, math.pi / 2.0 - section.liquid_angle)
    words = f"{math.degrees(section.liquid_angle):.1f}°"
    canvas.text((entry[0] - 1.0, entry[1] + radius), words, "end")


def _dimensions(canvas: Canvas, section: Geometry, frame: Paper, document: Mapping[str, Any]) -> None:
    marks = (-section.offset / 2.0, section.exit_spacing + section.offset / 2.0)
    high = max(y for _, y in section.wedge()[0])
    level = frame.axis - (section.top + high) / frame.scale - 3.5
    for mark, side in zip(marks, (1, section.side), strict=True):
        x, y = frame.at((mark, side * section.top))
        canvas.line((x, y), (x, level - 1.5))
    worked = next(item for item in document["spacing"]["passes"] if item["passes"] == section.passes)
    amount, _ = decided(worked["spacing"], worked["standard_uncertainty"])
    canvas.across(frame.at((marks[0], 0))[0], frame.at((marks[1], 0))[0], level, f"spacing {amount}")
    edge = frame.at((frame.right, 0.0))[0]
    for place, (half, words, spare) in zip((9.0, 18.0), _heights(section, document), strict=True):
        top, bottom = frame.at((0.0, half))[1], frame.at((0.0, -half))[1]
        for end in (top, bottom):
            canvas.line((edge, end), (edge + place + 1.5, end))
        # Words that find no room stand below everything that hangs under the pipe.
        room = _under(section, frame.scale) + (section.top - half) / frame.scale
        canvas.down(top, bottom, edge + place, words, spare + room)


def _heights(section: Geometry, document: Mapping[str, Any]) -> tuple[tuple[float, str, float], ...]:
    """What is told beside the pipe: half of it, the words, and how far below them they stand where it is short."""
    return (
        (section.bore / 2.0, f"bore {plain(document['pipe']['bore'], 4)}", 4.5),
        (section.outside / 2.0, f"outside {plain(document['pipe']['outside_diameter'], 4)}", 9.0),
    )


def _labels(canvas: Canvas, section: Geometry, frame: Paper, document: Mapping[str, Any], below: float) -> None:
    """What each layer is, on leaders that do not cross: the lowest row starts furthest to the left."""
    inner = section.top
    for row, band in enumerate(section.bands):
        middle = inner - band.thickness / 2.0
        inner -= band.thickness
        x, y = frame.at((frame.left, -middle))
        x += 3.0 + 3.0 * (len(section.bands) - 1 - row)
        end = below + ROW * (row + 1)
        canvas.dot((x, y), 0.4)
        canvas.line((x, y), (x, end - 1.0))
        canvas.text((x + 1.2, end), _band_words(band, document))
    row = len(section.bands) + 1
    words = f"in the wedges the sound goes at {math.degrees(section.wedge_angle):.1f}° to the normal"
    canvas.text((LEFT + 1.2, below + ROW * row), words)
    if section.crowded:
        words = "housings of the length that is told would overlap here, and are drawn smaller"
        canvas.text((LEFT + 1.2, below + ROW * (row + 1)), words)


def _band_words(band: Band, document: Mapping[str, Any]) -> str:
    label = "lining thickness" if band.name == "lining" else band.name
    item = next(item for item in document["inputs"] if item["name"] == label)
    amount, _ = decided(item["value"], item["standard_uncertainty"])
    if band.angle is None:
        return f"{band.name} {amount}, drawn straight across: no path was traced in it"
    mode = next(layer["mode"] for layer in document["waves"]["layers"] if layer["layer"] == band.name)
    wave = f"{mode} wave" if mode in {"shear", "longitudinal"} else "wave as told"
    return f"{band.name} {amount}, {wave} at {math.degrees(band.angle):.1f}° to the normal"


def _scale_bar(canvas: Canvas, frame: Paper, level: float, document: Mapping[str, Any]) -> None:
    """A bar that stays true however the page is enlarged, and the scale of the page as printed."""
    inch = document["units"] == "us"
    unit = 25.4 if inch else 1.0
    most = 45.0 * frame.scale / unit
    power = 10.0 ** math.floor(math.log10(most))
    length = power * max(step for step in (1.0, 2.0, 5.0) if step * power <= most)
    right = LEFT + length * unit / frame.scale
    canvas.box(LEFT, level - 6.2, right - LEFT, 1.2, "bar")
    canvas.text((right + 2.0, level - 5.0), f"{length:g} {'in' if inch else 'mm'}")
    ratio = f"1:{frame.scale:g}" if frame.scale >= 1.0 else f"{1.0 / frame.scale:g}:1"
    note = f"Scale {ratio} where the page is printed at 100 %. Of the wedges, only the angle is to scale."
    canvas.text((LEFT, level), note)
