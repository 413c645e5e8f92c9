"""The profile factor against the Reynolds number: curve, band, what was measured, and where a job stands."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from refdb.job.figures import number
from refdb.job.flow.profile import COVERAGE, developed_factor, profile
from refdb.job.flow.profile_evidence import FROM_RATIOS, MEASURED, SIMULATED
from refdb.job.sheet.canvas import Canvas, Point

WIDTH, LEFT, RIGHT, TOP, TALL = 180.0, 13.0, 4.0, 6.0, 66.0
"""Of the whole; room left of the axes, right and above for texts; height between the axes, mm."""
LEGEND, ROW = 11.0, 4.6
"""From the lower axis to the words below it, and from row to row, mm."""
FIRST, LAST = 1.0e3, 2.0e7
LOW, HIGH = 0.68, 0.98
"""What the axes hold, of Reynolds numbers and of factors."""
STEPS = 240
ROUGH = 0.01
"""Relative roughness of the second curve, where no job gives one."""
Sign = Callable[[Canvas, Point], None]


def factor_chart(flow: Mapping[str, Any] | None = None) -> Markup:
    """The curve of the factor along a diameter, with a band that holds it in 95 of 100 cases, beside measurements.

    Args:
        flow: the step `flow` of a job's document, whose pipe is drawn and whose flows are marked.
    """
    points: Sequence[Mapping[str, Any]] = flow["points"] if flow is not None else ()
    rough = points[0]["relative_roughness"] if points else 0.0
    rows = _legend(rough if points else None)
    canvas = Canvas(WIDTH, TOP + TALL + LEGEND + ROW * len(rows), "Profile factor against Reynolds number")
    grid = [FIRST * (LAST / FIRST) ** (step / STEPS) for step in range(STEPS + 1)]
    _band(canvas, grid, rough)
    _axes(canvas)
    canvas.path([_at(each, float(developed_factor(each, 0.0 if points else ROUGH))) for each in grid], "dashed")
    canvas.path([_at(each, float(developed_factor(each, rough))) for each in grid], "thick")
    for sign, evidence in ((_measured, MEASURED), (_simulated, SIMULATED), (_ratio, FROM_RATIOS)):
        for each in evidence:
            sign(canvas, _at(*each))
    _marks(canvas, points)
    for row, (draw, words) in enumerate(rows):
        level = TOP + TALL + LEGEND + ROW * row
        draw(canvas, (LEFT + 4.0, level - 1.0))
        canvas.text((LEFT + 10.0, level), words)
    return canvas.svg()


def _at(reynolds: float, factor: float) -> Point:
    part = math.log(reynolds / FIRST) / math.log(LAST / FIRST)
    return LEFT + (WIDTH - LEFT - RIGHT) * part, TOP + TALL * (HIGH - factor) / (HIGH - LOW)


def _band(canvas: Canvas, grid: Sequence[float], rough: float) -> None:
    told = [profile(each, rough) for each in grid]
    above = [_at(one.reynolds, one.interval[1] + COVERAGE * one.shape_uncertainty) for one in told]
    below = [_at(one.reynolds, one.interval[0] - COVERAGE * one.shape_uncertainty) for one in told]
    canvas.area([*above, *reversed(below)], "band")


def _axes(canvas: Canvas) -> None:
    left, right = LEFT, WIDTH - RIGHT
    low, high = TOP + TALL, TOP
    canvas.path([(left, high), (left, low), (right, low), (right, high), (left, high)], "thin")
    for decade in range(3, 8):
        for digit in range(1, 10):
            reynolds = digit * 10.0**decade
            if FIRST <= reynolds <= LAST:
                place = _at(reynolds, LOW)[0]
                canvas.line((place, low), (place, low - (2.0 if digit == 1 else 1.0)))
                if digit in {1, 3}:
                    canvas.text((place, low + 4.0), _thousands(reynolds), "middle")
    canvas.text((right, low + 7.5), "Reynolds number", "end")
    for hundredth in range(round(100 * LOW), round(100 * HIGH) + 1, 2):
        level = _at(FIRST, hundredth / 100)[1]
        canvas.line((left, level), (left + (2.0 if hundredth % 10 == 0 else 1.0), level))
        if hundredth % 4 == 0:
            canvas.text((left - 1.5, level + 1.0), f"{hundredth / 100:.2f}", "end")
    canvas.text((left - 9.5, high - 3.0), "profile factor along a diameter")


def _marks(canvas: Canvas, points: Sequence[Mapping[str, Any]]) -> None:
    """The flows of a job: a line at each Reynolds number, and a bar over what the Reynolds number may be."""
    for row, point in enumerate(sorted(points, key=lambda each: float(each["reynolds"]))):
        place, level = _at(_held(point["reynolds"]), LOW)[0], TOP + TALL - 3.5 - 4.0 * row
        canvas.line((place, TOP), (place, level))
        spread = COVERAGE * point["reynolds_uncertainty"]
        first, last = (_at(_held(point["reynolds"] + sign * spread), LOW)[0] for sign in (-1.0, 1.0))
        _span(canvas, first, last, level)
        words = f"{point['name']}: Re {_thousands(point['reynolds'])}, k = {point['profile_factor']:.4f}"
        if not FIRST <= point["reynolds"] <= LAST:
            words += ", off the scale"
        if last < WIDTH - 70.0:
            canvas.text((last + 2.0, level + 1.0), words)
        else:
            canvas.text((first - 2.0, level + 1.0), words, "end")


def _held(reynolds: float) -> float:
    """At the edge where it lies beyond the axis."""
    return min(max(reynolds, FIRST), LAST)


def _thousands(reynolds: float) -> str:
    """Three digits, in groups."""
    return f"{float(f'{reynolds:.3g}'):,.0f}".replace(",", "\u202f")


def _span(canvas: Canvas, first: float, last: float, level: float) -> None:
    canvas.line((first, level), (last, level), "thick")
    for end in (first, last):
        canvas.line((end, level - 1.0), (end, level + 1.0), "thick")


def _measured(canvas: Canvas, at: Point) -> None:
    canvas.dot(at, 0.8)


def _simulated(canvas: Canvas, at: Point) -> None:
    canvas.dot(at, 0.9, "ring")


def _ratio(canvas: Canvas, at: Point) -> None:
    for rise in (-0.9, 0.9):
        canvas.line((at[0] - 0.9, at[1] - rise), (at[0] + 0.9, at[1] + rise))


def _legend(rough: float | None) -> list[tuple[Sign, str]]:
    """Each sign with its words; the pipe's own relative roughness where a job gives one."""
    pipe = "smooth pipe" if rough is None else f"this pipe, roughness over bore {number(rough, 2)}"
    other = f"roughness over bore {ROUGH:g}" if rough is None else "smooth pipe"
    rows: list[tuple[Sign, str]] = [
        (_key("thick"), f"{pipe}; grey: where the factor lies in 95 of 100 cases"),
        (_key("dashed"), other),
        (_measured, "profiles measured in a smooth pipe"),
        (_simulated, "direct simulations, smooth pipe"),
        (_ratio, "from ratios of mean to greatest velocity, smooth tubes"),
    ]
    if rough is not None:
        rows.append((_bar, "what the Reynolds number of a flow may be (twice its standard uncertainty)"))
    return rows


def _key(kind: str) -> Sign:
    return lambda canvas, at: canvas.line((at[0] - 3.5, at[1]), (at[0] + 3.5, at[1]), kind)


def _bar(canvas: Canvas, at: Point) -> None:
    _span(canvas, at[0] - 3.0, at[0] + 3.0, at[1])
