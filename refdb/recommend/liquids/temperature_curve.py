"""A polynomial in temperature, and how it came about: what rule `curve-fit/2` makes a row of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from refdb.exact.functions import EXACT, log
from refdb.forms.scaled import ScaledPolynomial
from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_points import Series
from refdb.records import digest, number_text
from refdb.records.models import (
    Input,
    LeftOut,
    PropertyReading,
    UncertaintyCode,
)


@dataclass(frozen=True)
class TemperatureCurve:
    """Coefficients by rising power of the scaled temperature, of the value or its logarithm, from low to high degC."""

    coefficients: list[float]
    low: float
    high: float
    logarithm: bool

    def value(self, celsius: float) -> float:
        """The property at a temperature in degC."""
        return float(self._form.value(celsius))

    def shifted(self, relative: float) -> TemperatureCurve:
        """The same curve, larger by a part of itself."""
        if self.logarithm:
            moved = [self.coefficients[0] + relative, *self.coefficients[1:]]
        else:
            moved = [number * (1.0 + relative) for number in self.coefficients]
        return TemperatureCurve(moved, self.low, self.high, self.logarithm)

    @cached_property
    def _form(self) -> ScaledPolynomial:
        return ScaledPolynomial(self.spec(None), EXACT)

    def spec(self, saturation: dict[str, Any] | None) -> dict[str, Any]:
        """The description of the form; with a saturation pressure, nothing changes along an axis of pressure."""
        numbers = [number_text(number, 9) for number in self.coefficients]
        axes: list[dict[str, Any]] = [
            {"name": "temperature", "unit": "degC", "low": number_text(self.low, 7), "high": number_text(self.high, 7)}
        ]
        if saturation is not None:
            axes.append({"name": "pressure", "unit": "MPa", "low": saturation, "high": LiquidBounds.HIGHEST})
        return {
            "name": "scaled-polynomial/1",
            "of": "logarithm" if self.logarithm else "value",
            "axes": axes,
            "coefficients": numbers if saturation is None else [[number] for number in numbers],
        }


@dataclass(frozen=True)
class FittedCurve:
    """A curve with its relative standard uncertainty, and how it came about."""

    curve: TemperatureCurve
    relative: float
    code: UncertaintyCode
    text: str
    inputs: list[Input]
    used: list[PropertyReading]
    working: dict[str, str]


def curve_deviation(curve: TemperatureCurve, series: Series) -> tuple[float, float] | None:
    """The largest relative deviation of a series from a curve and where it is; None where they share no temperature."""
    found = [
        (value / curve.value(celsius) - 1.0, celsius)
        for celsius, value in zip(series.celsius, series.values, strict=True)
        if curve.low <= celsius <= curve.high
    ]
    return max(found, key=lambda pair: abs(pair[0])) if found else None


def scaled_values(values: Sequence[float], logarithm: bool) -> list[float]:
    """Values as a curve of the value or of its logarithm goes through them."""
    return [log(value) for value in values] if logarithm else list(values)


def input_of(series: Series, weight: str, note: str) -> Input:
    """A series as what a row rests on."""
    reading = series.reading
    return Input(id=reading.id, digest=digest(reading.plain()), weight=weight, note=note)


def left_out_of(reading: PropertyReading, reason: str) -> LeftOut:
    """A reading that was left out, with the reason, as a row tells it."""
    return LeftOut(id=reading.id, digest=digest(reading.plain()), reason=reason)
