"""A polynomial in scaled variables: what a grid of node values becomes when it is frozen."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from refdb.forms.base import FormSpec


class ScaledPolynomial:
    """`scaled-polynomial/1`: y = Σ c_ij uⁱ vʲ, each of u and v running from -1 to 1 over its axis.

    The second axis may begin at the saturation pressure of the liquid at the temperature of the first, so that the
    whole liquid region is a rectangle. With `of` = "logarithm" the polynomial gives the natural logarithm of y.

    Description: `axes` is a list of one or two of {name, unit, low, high}; `low` of a pressure may be a description of
    the saturation pressure, itself a `scaled-polynomial/1` of temperature in the same pressure unit. `coefficients`
    holds rows by rising power of u, numbers by rising power of v. `of` is "value" or "logarithm".
    """

    name: ClassVar[str] = "scaled-polynomial/1"
    __slots__ = (
        "_descending",
        "_high",
        "_logarithm",
        "_low",
        "_saturation",
        "_second_high",
        "_second_low",
        "variables",
    )

    def __init__(self, spec: FormSpec) -> None:
        axes = spec["axes"]
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in axes)
        self._logarithm = spec["of"] == "logarithm"
        self._low, self._high = float(axes[0]["low"]), float(axes[0]["high"])
        self._saturation: ScaledPolynomial | None = None
        self._second_low = self._second_high = 0.0
        if len(axes) == 2:
            self._second_high = float(axes[1]["high"])
            if isinstance(axes[1]["low"], Mapping):
                self._saturation = ScaledPolynomial(axes[1]["low"])
            else:
                self._second_low = float(axes[1]["low"])
        # By falling power of u inside, of v outside: few outer steps, each a short inner loop.
        rows = [[float(number) for number in row] for row in spec["coefficients"]]
        columns = list(zip(*rows, strict=True))
        self._descending = [tuple(reversed(column)) for column in reversed(columns)]

    def value(self, *arguments: Any) -> Any:
        """The property at a temperature, or at a temperature and a pressure."""
        u = self._first(arguments[0])
        total = _inner(self._descending[0], u)
        if len(arguments) == 2:
            v = self._second(*arguments)
            for column in self._descending[1:]:
                total = total * v + _inner(column, u)
        return _exponential(total) if self._logarithm else total

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivatives with respect to temperature, and pressure where there is one."""
        u, per_degree = self._first(arguments[0]), 2.0 / (self._high - self._low)
        total, by_u = _inner_with_slope(self._descending[0], u)
        if len(arguments) == 1:
            along: tuple[Any, ...] = (by_u * per_degree,)
        else:
            v, v_by_temperature, v_by_pressure = self._second_with_slopes(*arguments)
            by_v = total * 0.0
            for column in self._descending[1:]:
                inner, inner_by_u = _inner_with_slope(column, u)
                by_v = by_v * v + total
                total = total * v + inner
                by_u = by_u * v + inner_by_u
            along = (by_u * per_degree + by_v * v_by_temperature, by_v * v_by_pressure)
        if self._logarithm:
            y = _exponential(total)
            return tuple(y * slope for slope in along)
        return along

    def _first(self, x: Any) -> Any:
        return (2.0 * x - (self._low + self._high)) / (self._high - self._low)

    def _second(self, temperature: Any, pressure: Any) -> Any:
        low = self._second_low if self._saturation is None else self._saturation.value(temperature)
        return (2.0 * pressure - (low + self._second_high)) / (self._second_high - low)

    def _second_with_slopes(self, temperature: Any, pressure: Any) -> tuple[Any, Any, Any]:
        """v, and its derivatives: along the temperature it moves because saturation does."""
        low, low_by_temperature = self._second_low, 0.0
        if self._saturation is not None:
            low = self._saturation.value(temperature)
            (low_by_temperature,) = self._saturation.slopes(temperature)
        span = self._second_high - low
        v = (2.0 * pressure - (low + self._second_high)) / span
        return v, (v - 1.0) * low_by_temperature / span, 2.0 / span


def _inner(descending: tuple[float, ...], u: Any) -> Any:
    total = descending[0] + u * 0.0
    for coefficient in descending[1:]:
        total = total * u + coefficient
    return total


def _inner_with_slope(descending: tuple[float, ...], u: Any) -> tuple[Any, Any]:
    total, slope = descending[0] + u * 0.0, u * 0.0
    for coefficient in descending[1:]:
        slope = slope * u + total
        total = total * u + coefficient
    return total, slope


def _exponential(x: Any) -> Any:
    if isinstance(x, float):
        return math.exp(x)
    import numpy as np

    exponential: Callable[[Any], Any] = np.exp
    return exponential(x)
