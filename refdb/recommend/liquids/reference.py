"""Rule `reference/1`: one published equation or table followed, the others compared with it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refdb.exact.functions import EXACT
from refdb.exact.sums import root_sum_square
from refdb.forms.state_function import StateFunction
from refdb.forms.states import StateAxis, StatePoint
from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, doubts_told, weakest_basis, weakest_seen
from refdb.recommend.policy import Reference
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyInterval,
    Equation,
    Input,
    LeftOut,
    PrintedInterval,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Source,
    StateVariable,
    Table,
)
from refdb.records.readings import curve_spec
from refdb.records.rules import REFERENCE

COMPARED_EVERY = 1.0
"""Kelvin between the temperatures at which curves are compared."""


@dataclass(frozen=True)
class PrintedCurve:
    """A reading as a function of temperature in degC on ITS-90."""

    reading: Equation | Table
    function: StateFunction
    spec: dict[str, Any]
    low: float
    high: float

    def value(self, celsius: float) -> float:
        """The curve at a temperature in degC on ITS-90."""
        return float(self.function.value(StatePoint(celsius)))


def recommend_reference(
    reference: Reference, readings: Sequence[PropertyReading], si: str, sources: Mapping[str, Source]
) -> RecommendedValue:
    """The row that follows `reference.reading`.

    Raises:
        LedgerError: the reading named in `sources/rules` is not a usable equation or table.
    """
    curves = {curve.reading.id: curve for curve in curves_of(readings)}
    chosen = curves.get(reference.reading)
    if chosen is None or chosen.reading.unit != si:
        named = [reading for reading in readings if reading.id == reference.reading]
        raise LedgerError(
            [
                f"sources/rules: reference {reference.row}: '{reference.reading}' is not a usable equation in "
                f"{si}{doubts_told(named)}"
            ]
        )
    others = [curve for curve in curves.values() if curve is not chosen and curve.reading.unit == si]
    compared = [(curve, *_largest_deviation(chosen, curve)) for curve in others]
    largest = max((abs(deviation) for _, deviation, _ in compared), default=0.0)
    allowance = printed_number(reference.allowance.number) if reference.allowance else 0.0
    uncertainty = root_sum_square(largest / RECTANGULAR, allowance)
    domain: dict[StateVariable, AnyInterval] = {"temperature": _interval(chosen)}
    if reference.pressure is not None:
        domain["pressure"] = reference.pressure
    return RecommendedValue(
        id=reference.row,
        subject=chosen.reading.subject,
        property=chosen.reading.property,
        unit=si,
        form=chosen.spec,
        domain=domain,
        uncertainty=RecommendedUncertainty(
            number=number_text(uncertainty, 2),
            unit=si,
            code="between-sources",
            text=f"largest disagreement with {len(others)} other curve(s), and {_allowance_text(reference)}",
        ),
        rule=REFERENCE.name,
        basis=weakest_basis([chosen.reading.basis]),
        seen=weakest_seen([chosen.reading.seen]),
        rung="published",
        inputs=[_input(chosen.reading, "1", "followed")]
        + [_input(curve.reading, "0", f"compared: {_told(curve, by, at, sources)}") for curve, by, at in compared],
        left_out=_left_out(readings, curves) or None,
        working={
            "reason": reference.reason,
            **({"slopes": SPLINE if chosen.reading.basis == "computed" else MONOTONE} if _tabulated(chosen) else {}),
            "largest_disagreement": number_text(largest, 3),
            "allowance": _allowance_text(reference, with_size=True),
            **({"pressure_range": reference.pressure_reason} if reference.pressure_reason else {}),
        },
    )


def curves_of(readings: Sequence[PropertyReading]) -> list[PrintedCurve]:
    """The usable equations and tables among readings, as functions of temperature."""
    return [_curve(r) for r in readings if isinstance(r, Equation | Table) and not r.doubts]


def _curve(reading: Equation | Table) -> PrintedCurve:
    spec = curve_spec(reading.plain())
    if isinstance(reading, Equation):
        low, high = printed_number(reading.interval.low), printed_number(reading.interval.high)
    else:
        low, high = printed_number(reading.points[0][0]), printed_number(reading.points[-1][0])
    axis = StateAxis("temperature", scale=reading.variable.scale)
    return PrintedCurve(reading, StateFunction(spec, [axis], functions=EXACT), spec, low, high)


SPLINE = "cubic spline, not-a-knot (de Boor, A Practical Guide to Splines, 1978): the points are smooth to every digit"
MONOTONE = (
    "Fritsch and Butland (SIAM J. Sci. Stat. Comput. 5, 300-304, 1984): no curve leaves the interval of two points"
)


def _tabulated(curve: PrintedCurve) -> bool:
    return isinstance(curve.reading, Table)


def _interval(curve: PrintedCurve) -> PrintedInterval:
    if isinstance(curve.reading, Equation):
        return curve.reading.interval
    points = curve.reading.points
    return PrintedInterval(low=points[0][0], high=points[-1][0], unit=curve.reading.variable.unit)


def _largest_deviation(chosen: PrintedCurve, other: PrintedCurve) -> tuple[float, float]:
    """The largest difference other minus chosen over the common interval, and where it is."""
    low, high = max(chosen.low, other.low), min(chosen.high, other.high)
    steps = max(1, math.ceil((high - low) / COMPARED_EVERY))
    temperatures = [low + (high - low) * step / steps for step in range(steps + 1)]
    return max(((other.value(t) - chosen.value(t), t) for t in temperatures), key=lambda pair: abs(pair[0]))


def _told(curve: PrintedCurve, deviation: float, at: float, sources: Mapping[str, Source]) -> str:
    lineage = sources[curve.reading.source].lineage
    shared = f"; lineage {lineage}" if lineage else ""
    return f"{deviation:+.3g} {curve.reading.unit} at most, at {at:.4g} degC{shared}"


def _allowance_text(reference: Reference, with_size: bool = False) -> str:
    allowance = reference.allowance
    if allowance is None:
        return "no further allowance"
    return f"{allowance.number} {allowance.unit}: {allowance.text}" if with_size else allowance.text


def _input(reading: Equation | Table, weight: str, note: str) -> Input:
    return Input(id=reading.id, digest=digest(reading.plain()), weight=weight, note=note)


def _left_out(readings: Sequence[PropertyReading], curves: Mapping[str, PrintedCurve]) -> list[LeftOut]:
    return [
        LeftOut(
            id=reading.id,
            digest=digest(reading.plain()),
            reason="; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)
            or "a single value, where equations and tables are at hand",
        )
        for reading in readings
        if reading.id not in curves
    ]
