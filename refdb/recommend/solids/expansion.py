"""Rule `solid-expansion/1`: by how much a material grows, as the mean from 20 degC to the temperature asked for.

Documents print means from 20 degC to a temperature, as curves or as one number, or a number for "room temperature" that
is such a mean to 100 degC as a rule. All are brought to one line: the coefficient at 20 degC and its rise with the end
of the interval, which curves tell and single numbers take from their kin.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from refdb.constants import ROOM_CELSIUS
from refdb.exact.functions import EXACT
from refdb.exact.sums import root_sum_square, weighted_mean
from refdb.forms.states import StatePoint
from refdb.recommend.evidence import RECTANGULAR, ROOM_WORDS, weakest_basis, weakest_seen
from refdb.recommend.lineage import Lineages
from refdb.recommend.policy import SolidExpansion
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    Equation,
    Input,
    LeftOut,
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    Range,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Subject,
    Table,
)
from refdb.records.readings import function_of_reading, single_value
from refdb.records.rules import SOLID_EXPANSION
from refdb.units import UnitTable

UNSTATED = (20.0, 100.0)
"""degC: up to where a mean reaches that is printed for room temperature (common practice, no source)."""
STEP = 20.0
"""K between the temperatures at which a curve is taken."""
MEAN, INSTANTANEOUS = "thermal_expansion", "instantaneous_expansion"
LEAST_SPAN = 40.0
"""K that a curve must cover before it tells how the mean rises."""


@dataclass(frozen=True, slots=True)
class _Voice:
    """What one document says: the mean coefficient at 20 degC in 1/K, its uncertainty, and its rise if it tells one."""

    reading: PropertyReading
    value: float
    uncertainty: float
    rise: float | None


def recommend_solid_expansion(
    subject: Subject,
    readings: Sequence[PropertyReading],
    policy: SolidExpansion,
    lineages: Lineages,
    table: UnitTable,
    condition: str | None = None,
) -> RecommendedValue | None:
    """The line through what documents print of a material, as the mean from 20 degC; None where none can be used.

    Args:
        readings: of means and of instantaneous coefficients; the latter rise twice as fast with the temperature.
    """
    voices: dict[str, list[_Voice]] = {}
    left_out = []
    for reading in sorted(readings, key=lambda reading: reading.id):
        reason = "; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)
        voice = None if reason else _voice(reading, policy, table)
        if voice is None:
            words = reason or "tells no coefficient at a known temperature"
            left_out.append(LeftOut(id=reading.id, digest=digest(reading.plain()), reason=words))
        else:
            voices.setdefault(lineages.of(reading.source), []).append(voice)
    return _row(subject, list(voices.values()), left_out, policy, condition) if voices else None


def instantaneous(mean: RecommendedValue) -> RecommendedValue:
    """The instantaneous coefficient of a mean line: the derivative of the whole growth from 20 degC."""
    coefficients = mean.form["coefficients"]
    rising = {**coefficients, "c1": number_text(2.0 * float(coefficients["c1"]), 3)}
    return mean.model_copy(
        update={
            "id": mean.id.replace(f".{MEAN}", f".{INSTANTANEOUS}"),
            "property": INSTANTANEOUS,
            "form": {**mean.form, "coefficients": rising},
        }
    )


def _voice(reading: PropertyReading, policy: SolidExpansion, table: UnitTable) -> _Voice | None:
    target = table.si("per_temperature")
    if isinstance(reading, Scalar | Range):
        if reading.property == INSTANTANEOUS:
            return None  # At what temperature is hardly ever told, and few print a single one.
        read = single_value(reading.plain(), target, table)
        low, high = _end(reading, table)
        middle = (low + high) / 2.0 - ROOM_CELSIUS
        rise = float(policy.rise)
        factor = 1.0 + rise * middle
        width = (high - low) / 2.0 / RECTANGULAR
        own = root_sum_square(
            read.rounding / RECTANGULAR,
            read.half_range / RECTANGULAR,
            read.value * rise * width,
            read.value * float(policy.rise_uncertainty) * middle,
        )
        return _Voice(reading, read.value / factor, own / factor, None)
    if isinstance(reading, Equation | Table) and reading.variable.name == "temperature":
        points = list(_points(reading, policy, table))
        if not points:
            return None
        if reading.property == INSTANTANEOUS:
            # Of a mean a0 + r x the instantaneous coefficient is a0 + 2 r x: the mean at twice as far.
            points = [(2.0 * above, value) for above, value in points]
        return _of_curve(reading, points, policy)
    return None


def _points(reading: Equation | Table, policy: SolidExpansion, table: UnitTable) -> Iterator[tuple[float, float]]:
    """Kelvin above 20 degC and the mean to there in 1/K, as far as both the curve and the policy reach."""
    function, unit = function_of_reading(reading.plain(), table, EXACT), table.find(reading.unit)
    low, high = function.spans["temperature"]
    low, high = max(low, ROOM_CELSIUS), min(high, max(float(policy.temperature.high), low))
    steps = max(1, math.ceil((high - low) / STEP))
    for step in range(steps + 1):
        celsius = low + (high - low) * step / steps
        mean = float(unit.to(float(function.value(StatePoint(celsius))), table.si("per_temperature")))
        yield celsius - ROOM_CELSIUS, mean


def _of_curve(reading: PropertyReading, points: Sequence[tuple[float, float]], policy: SolidExpansion) -> _Voice:
    """A line by least squares where the curve is long enough; else its mean, with the rise of its kin."""
    middle = statistics.fmean(above for above, _ in points)
    mean = statistics.fmean(value for _, value in points)
    span = points[-1][0] - points[0][0]
    if span < LEAST_SPAN:
        factor = 1.0 + float(policy.rise) * middle
        return _Voice(reading, mean / factor, mean * float(policy.rise_uncertainty) * middle / factor, None)
    squares = math.fsum((above - middle) * (above - middle) for above, _ in points)
    slope = math.fsum((above - middle) * (value - mean) for above, value in points) / squares
    at_20 = mean - slope * middle
    off = max(abs(at_20 + slope * above - value) for above, value in points)
    return _Voice(reading, at_20, off / RECTANGULAR, slope / at_20)


def _end(reading: Scalar | Range, table: UnitTable) -> tuple[float, float]:
    """Between what the upper end of the interval of a printed mean lies, in degC."""
    printed, degrees = reading.state.temperature, table.find("degC", "temperature")
    if isinstance(printed, PrintedInterval):
        high = float(table.find(printed.unit, "temperature").to(printed_number(printed.high), degrees))
        return high, high
    if isinstance(printed, PrintedQuantity):
        at = float(table.find(printed.unit, "temperature").to(printed_number(printed.number), degrees))
        return min(at, ROOM_CELSIUS), max(at, ROOM_CELSIUS)
    assert printed in ROOM_WORDS  # noqa: S101 - a single value tells its temperature in one of these ways
    return UNSTATED


def _row(
    subject: Subject,
    groups: Sequence[Sequence[_Voice]],
    left_out: Sequence[LeftOut],
    policy: SolidExpansion,
    condition: str | None,
) -> RecommendedValue:
    singles = [
        (
            statistics.fmean(voice.value for voice in group),
            root_sum_square(
                statistics.fmean(voice.uncertainty for voice in group),
                statistics.pstdev([voice.value for voice in group]),
            ),
        )
        for group in groups
    ]
    used = [voice for group in groups for voice in group]
    middle = statistics.fmean(value for value, _ in singles)
    spread = float(policy.spread) * middle
    if len(singles) > 1:
        spread = max(spread, statistics.stdev([value for value, _ in singles]))
    inverse = [1.0 / (own * own + spread * spread) for _, own in singles]
    total = math.fsum(inverse)
    value = weighted_mean([value for value, _ in singles], inverse)
    rises = [voice.rise for voice in used if voice.rise is not None]
    rise = statistics.fmean(rises) if rises else float(policy.rise)
    low, high = float(policy.temperature.low), float(policy.temperature.high)
    farthest = max(high - ROOM_CELSIUS, ROOM_CELSIUS - low)
    of_rise = float(policy.rise_uncertainty) * farthest / RECTANGULAR * value
    uncertainty = root_sum_square(spread, math.sqrt(1.0 / total), of_rise)
    weights = {
        voice.reading.id: w / total / len(group) for w, group in zip(inverse, groups, strict=True) for voice in group
    }
    return RecommendedValue(
        id=".".join(part for part in (subject.id, "thermal_expansion", condition) if part),
        subject=subject.id,
        property="thermal_expansion",
        condition=condition,
        unit="1/K",
        form={
            "name": "temperature-coefficient/1",
            "variable": {"name": "temperature", "unit": "degC"},
            "coefficients": {
                "c0": number_text(value, 4),
                "c1": number_text(rise * value, 3),
                "t0": f"{ROOM_CELSIUS:g}",
            },
        },
        domain={"temperature": policy.temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(uncertainty, 2),
            unit="1/K",
            code="between-sources" if len(groups) > 2 else "family-repeatability",
            text=f"from {len(groups)} independent document(s), what grades and documents differ by, and the rise",
        ),
        rule=SOLID_EXPANSION.name,
        basis=weakest_basis(voice.reading.basis for voice in used),
        seen=weakest_seen(voice.reading.seen for voice in used),
        rung="published",
        inputs=[
            Input(
                id=voice.reading.id,
                digest=digest(voice.reading.plain()),
                value=number_text(voice.value, 4),
                standard_uncertainty=number_text(voice.uncertainty, 2),
                weight=number_text(weights[voice.reading.id]),
            )
            for voice in used
        ],
        left_out=list(left_out) or None,
        working={
            "independent_readings": str(len(groups)),
            "rise": f"{number_text(100.0 * rise, 2)} % per kelvin of the upper end, "
            + (f"from {len(rises)} curve(s)" if rises else "of its kin"),
        },
    )
