"""A polynomial in scaled variables, in which a grid of node values is frozen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from operator import mul
from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions

REMEMBERED = 4096
"""Number of states kept with their value and slopes: the guard, the value and the slopes of one answer use the same
state, and tools that plan a job use the same few temperatures again."""
SINGLE = {float}


class ScaledPolynomial:
    """`scaled-polynomial/1`: y = Σ c_ijk uⁱ vʲ wᵏ, each of u, v, w running from -1 to 1 over its axis.

    The second axis may begin at the saturation pressure of the liquid at the temperature of the first, so that the
    whole liquid region is a rectangle. With `of` = "logarithm" the polynomial gives the natural logarithm of y.

    Description: `axes` is a list of one to three of {name, unit, low, high}; `low` of a pressure may be a description
    of the saturation pressure, itself a `scaled-polynomial/1` of temperature in the same pressure unit.
    `coefficients` are lists by rising power of u of lists by rising power of v, and so on. `of` is "value" or
    "logarithm".
    """

    name: ClassVar[str] = "scaled-polynomial/1"
    __slots__ = ("_axes", "_both", "_descending", "_exp", "_logarithm", "saturation", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        axes = spec["axes"]
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in axes)
        self._logarithm = spec["of"] == "logarithm"
        self._exp = functions.exp
        self.saturation: ScaledPolynomial | None = next(
            (ScaledPolynomial(axis["low"], functions) for axis in axes if isinstance(axis["low"], Mapping)), None
        )
        # None: the low end is the saturation pressure.
        self._axes = tuple(
            (None if isinstance(axis["low"], Mapping) else float(axis["low"]), float(axis["high"])) for axis in axes
        )
        self._descending = _descending(spec["coefficients"], len(axes))
        self._both = lru_cache(REMEMBERED)(self._value_and_slopes)

    def value(self, *arguments: Any) -> Any:
        """The property at a state: an argument for each axis, in the axis' unit."""
        if set(map(type, arguments)) == SINGLE:
            return self._both(*arguments)[0]
        scaled = [
            _scale(x, self.boiling(arguments[0]) if low is None else low, high)
            for x, (low, high) in zip(arguments, self._axes, strict=True)
        ]
        total = _value(self._descending, scaled)
        return self._exp(total) if self._logarithm else total

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative along each axis, the other arguments held constant."""
        if set(map(type, arguments)) == SINGLE:
            return self._both(*arguments)[1]
        return self._value_and_slopes(*arguments)[1]

    def _value_and_slopes(self, *arguments: Any) -> tuple[Any, tuple[Any, ...]]:
        scaled, along, low_by_first = [], [], 0.0
        for x, (low, high) in zip(arguments, self._axes, strict=True):
            if low is None:
                low, low_by_first = self._boiling_and_slope(arguments[0])
            per_unit = 2.0 / (high - low)
            scaled.append((x - low) * per_unit - 1.0)
            along.append(per_unit)
        total, by_scaled = _value_and_slopes(self._descending, scaled)
        slopes = list(map(mul, by_scaled, along))
        if self.saturation is not None:
            # At constant pressure the scaled variable changes with temperature, as saturation moves the low end.
            slopes[0] = slopes[0] + slopes[1] * (scaled[1] - 1.0) * 0.5 * low_by_first
        if self._logarithm:
            total = self._exp(total)
            slopes = [total * slope for slope in slopes]
        return total, tuple(slopes)

    def boiling(self, temperature: Any) -> Any:
        """The saturation pressure at which the second axis begins; only for a form that has one."""
        assert self.saturation is not None  # noqa: S101 - asked only of a form that begins at saturation
        return self.saturation.value(temperature)

    def _boiling_and_slope(self, temperature: Any) -> tuple[Any, Any]:
        assert self.saturation is not None  # noqa: S101 - only an axis that begins at saturation has no low end
        both = self.saturation._both if type(temperature) is float else self.saturation._value_and_slopes
        pressure, slopes = both(temperature)
        return pressure, slopes[0]


def _scale(x: Any, low: Any, high: float) -> Any:
    return (x - low) * (2.0 / (high - low)) - 1.0


def _descending(coefficients: Sequence[Any], depth: int) -> Any:
    """The coefficients in reversed nesting: by falling power, the last variable outermost and the first innermost.

    Evaluation then takes few outer steps, each a short inner loop.
    """
    if depth == 1:
        return tuple(float(number) for number in reversed(coefficients))
    powers = _last_count(coefficients, depth)
    return tuple(_descending(_at_last(coefficients, depth, power), depth - 1) for power in reversed(range(powers)))


def _last_count(coefficients: Sequence[Any], depth: int) -> int:
    return len(coefficients) if depth == 1 else _last_count(coefficients[0], depth - 1)


def _at_last(coefficients: Sequence[Any], depth: int, power: int) -> Any:
    if depth == 1:
        return coefficients[power]
    return [_at_last(inner, depth - 1, power) for inner in coefficients]


def _value(descending: Any, scaled: Sequence[Any]) -> Any:
    if len(scaled) == 1:
        return _inner(descending, scaled[0])
    *others, last = scaled
    total = _value(descending[0], others)
    for part in descending[1:]:
        total = total * last + _value(part, others)
    return total


def _value_and_slopes(descending: Any, scaled: Sequence[Any]) -> tuple[Any, list[Any]]:
    """The polynomial and its derivative with respect to each scaled variable, in one pass."""
    if len(scaled) == 1:
        total, slope = _inner_with_slope(descending, scaled[0])
        return total, [slope]
    if len(scaled) == 2:
        return _of_two(descending, *scaled)
    *others, last = scaled
    total, slopes = _value_and_slopes(descending[0], others)
    by_last = total * 0.0
    for part in descending[1:]:
        inner, inner_slopes = _value_and_slopes(part, others)
        by_last = by_last * last + total
        total = total * last + inner
        slopes = [slope * last + inner_slope for slope, inner_slope in zip(slopes, inner_slopes, strict=True)]
    return total, [*slopes, by_last]


def _of_two(descending: Any, u: Any, v: Any) -> tuple[Any, list[Any]]:
    """The same for two variables, without lists: most single answers are about water, which has two."""
    total, by_u = _inner_with_slope(descending[0], u)
    by_v = total * 0.0
    for part in descending[1:]:
        inner, inner_by_u = _inner_with_slope(part, u)
        by_v = by_v * v + total
        total = total * v + inner
        by_u = by_u * v + inner_by_u
    return total, [by_u, by_v]


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
