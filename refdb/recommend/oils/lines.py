"""Rule `temperature-line/1`: a straight line in temperature through what documents print of a liquid."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from refdb.constants import ROOM_CELSIUS
from refdb.exact.sums import root_mean_square, root_sum_square
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.policy import Line
from refdb.records import digest, number_text, printed_number, rounding_half_width
from refdb.records.models import (
    Input,
    LeftOut,
    PrintedInterval,
    PrintedQuantity,
    PrintedState,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Source,
    Table,
)
from refdb.records.rules import TEMPERATURE_LINE
from refdb.units import UnitTable

UNSTATED_HALF_WIDTH = 5.0
"""Kelvin about 20 degC within which an unstated room temperature lies."""


@dataclass(frozen=True, slots=True)
class PrintedPoint:
    """One printed number in the unit asked for: where it stands in degC, and half the width that its print leaves.

    Attributes:
        celsius_half_width: half the interval that the temperature may lie in.
    """

    celsius: float
    value: float
    half_width: float
    celsius_half_width: float = 0.0


def points_of(reading: PropertyReading, unit: str, table: UnitTable) -> list[PrintedPoint]:
    """The numbers of a single value, a range or a table of temperatures; none for anything else."""
    target, own = table.find(unit), table.find(reading.unit)
    if isinstance(reading, Scalar | Range):
        ends = (reading.low, reading.high) if isinstance(reading, Range) else (reading.number, reading.number)
        low, high = (own.to(printed_number(end), target) for end in ends)
        half = rounding_half_width(ends[0])
        if isinstance(reading, Scalar):
            low, high = (own.to(printed_number(ends[0]) + sign * half, target) for sign in (-1.0, 1.0))
        celsius, width = _temperature(reading.state, table)
        return [PrintedPoint(celsius, (low + high) / 2.0, abs(high - low) / 2.0, width)]
    if isinstance(reading, Table) and reading.variable.name == "temperature":
        scale, degrees = table.find(reading.variable.unit, "temperature"), table.find("degC", "temperature")
        return [
            PrintedPoint(
                float(scale.to(printed_number(x), degrees)),
                float(own.to(printed_number(y), target)),
                abs(float(own.difference_to(rounding_half_width(y), target))),
            )
            for x, y in reading.points
        ]
    return []


def _temperature(state: PrintedState, table: UnitTable) -> tuple[float, float]:
    """The middle of a state's temperature in degC, and half its width."""
    printed, degrees = state.temperature, table.find("degC", "temperature")
    if isinstance(printed, PrintedQuantity):
        return float(table.find(printed.unit, "temperature").to(printed_number(printed.number), degrees)), 0.0
    if isinstance(printed, PrintedInterval):
        unit = table.find(printed.unit, "temperature")
        low, high = (float(unit.to(printed_number(end), degrees)) for end in (printed.low, printed.high))
        return (low + high) / 2.0, (high - low) / 2.0
    return ROOM_CELSIUS, UNSTATED_HALF_WIDTH


@dataclass(frozen=True, slots=True)
class _Voice:
    """One independent document: its readings and their points."""

    readings: list[PropertyReading]
    points: list[PrintedPoint]

    def centred(self) -> list[tuple[float, float]]:
        """Temperatures and values, each less the document's mean."""
        celsius = statistics.fmean(point.celsius for point in self.points)
        value = statistics.fmean(point.value for point in self.points)
        return [(point.celsius - celsius, point.value - value) for point in self.points]


def recommend_line(
    line: Line, readings: Sequence[PropertyReading], si: str, sources: Mapping[str, Source], table: UnitTable
) -> RecommendedValue:
    """The row that `line` asks for.

    Raises:
        LedgerError: no reading can be used, or the slope is neither stated nor printed.
    """
    inside = {reading.id: _inside(line, reading, si, table) for reading in readings if not reading.doubts}
    usable = {name: points for name, points in inside.items() if points}
    seen = [reading for reading in readings if reading.id in usable and reading.seen != "memory"]
    used = seen or [reading for reading in readings if reading.id in usable]
    if not used:
        raise LedgerError([f"sources/rules: line {line.row}: no reading can be used"])
    voices = _voices(used, usable, sources)
    slope, slope_uncertainty = _slope(line, voices)
    at = float(line.at)
    levels = [
        statistics.fmean(point.value - slope * (point.celsius - at) for point in voice.points) for voice in voices
    ]
    value = statistics.fmean(levels)
    uncertainty = _uncertainty(line, voices, levels, slope, slope_uncertainty)
    first = used[0]
    return RecommendedValue(
        id=line.row,
        subject=first.subject,
        property=first.property,
        unit=si,
        form={
            "name": "temperature-coefficient/1",
            "variable": {"name": "temperature", "unit": "degC"},
            "coefficients": {"c0": number_text(value, 6), "c1": number_text(slope, 4), "t0": line.at},
        },
        domain={"temperature": line.temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(uncertainty, 2),
            unit=si,
            code="between-sources" if len(voices) > 1 else "family-repeatability",
            text=f"what specimens differ by, the scatter of {len(voices)} document(s), and the slope at the ends",
        ),
        rule=TEMPERATURE_LINE.name,
        basis=weakest_basis(reading.basis for reading in used),
        seen=weakest_seen(reading.seen for reading in used),
        rung="published" if seen else "memory",
        inputs=[
            Input(id=reading.id, digest=digest(reading.plain()), weight=number_text(1.0 / len(used)))
            for reading in sorted(used, key=lambda reading: reading.id)
        ],
        left_out=[
            LeftOut(id=reading.id, digest=digest(reading.plain()), reason=_why_not(reading, usable))
            for reading in readings
            if reading not in used
        ]
        or None,
        working={
            "reason": line.reason,
            "slope": f"{number_text(slope, 4)} {si}/K" + (" (stated)" if line.slope else " (printed points)"),
            "slope_uncertainty": f"{number_text(slope_uncertainty, 2)} {si}/K",
            "lowest": number_text(min(levels)),
            "highest": number_text(max(levels)),
        },
    )


def _inside(line: Line, reading: PropertyReading, si: str, table: UnitTable) -> list[PrintedPoint]:
    low, high = (printed_number(end) for end in (line.temperature.low, line.temperature.high))
    return [point for point in points_of(reading, si, table) if low <= point.celsius <= high]


def _why_not(reading: PropertyReading, usable: Mapping[str, object]) -> str:
    if reading.doubts:
        return "; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)
    if reading.id in usable:
        return "recalled, where a document was seen"
    return "says nothing as a number within the interval of the line"


def _voices(
    used: Sequence[PropertyReading], points: Mapping[str, list[PrintedPoint]], sources: Mapping[str, Source]
) -> list[_Voice]:
    grouped: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in used:
        grouped[sources[reading.source].lineage or reading.source].append(reading)
    return [
        _Voice(members, [point for reading in members for point in points[reading.id]])
        for _, members in sorted(grouped.items())
    ]


def _slope(line: Line, voices: Sequence[_Voice]) -> tuple[float, float]:
    """The slope and its standard uncertainty: stated, or pooled within documents."""
    if line.slope is not None:
        return float(line.slope), float(line.slope_uncertainty or 0.0)
    centred = [pair for voice in voices for pair in voice.centred()]
    square = math.fsum(x * x for x, _ in centred)
    product = math.fsum(x * y for x, y in centred)
    if square == 0.0:
        raise LedgerError([f"sources/rules: line {line.row}: needs a slope; no document prints two temperatures"])
    slope = product / square
    freedom = len(centred) - len(voices) - 1
    scatter = math.fsum(off * off for off in (y - slope * x for x, y in centred))
    return slope, math.sqrt(scatter / max(freedom, 1) / square)


def _uncertainty(
    line: Line, voices: Sequence[_Voice], levels: Sequence[float], slope: float, slope_uncertainty: float
) -> float:
    at, value = float(line.at), statistics.fmean(levels)
    points = [(level, point) for level, voice in zip(levels, voices, strict=True) for point in voice.points]
    scatter = root_mean_square(point.value - level - slope * (point.celsius - at) for level, point in points)
    printed = root_mean_square(point.half_width / RECTANGULAR for _, point in points)
    unstated = abs(slope) * max(point.celsius_half_width for _, point in points) / RECTANGULAR
    documents = statistics.stdev(levels) if len(levels) > 1 else 0.0
    specimens = max(float(line.spread) * abs(value), documents) * math.sqrt(1.0 + 1.0 / len(levels))
    ends = (printed_number(line.temperature.low), printed_number(line.temperature.high))
    farthest = max(abs(end - at) for end in ends)
    return root_sum_square(specimens, scatter, printed, unstated, slope_uncertainty * farthest / RECTANGULAR)
