"""Quantiles of Student's t distribution, computed to many digits and rounded once."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from refdb.exact.precise import precise

BITS = 160

_precise = precise(BITS)


@lru_cache
def t_quantile(probability: float, freedom: int) -> float:
    """The quantile of Student's t distribution at a probability.

    The probability of |t| below sqrt(freedom) tan(angle) is a finite sum of powers of the cosine of the angle:
    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4. It rises with the angle and bends
    downwards, so Newton's steps from 0 never pass the solution.

    Args:
        probability: at least 0.5 and below 1.
        freedom: degrees of freedom, at least one.
    """
    share = 2 * _precise.mpf(probability) - 1
    numbers, slope = _terms(freedom)
    angle = _precise.mpf(0)
    step = share / slope
    while step > _precise.ldexp(1, 16 - BITS):
        angle += step
        missing = share - _inside(angle, freedom, numbers)
        step = missing / (slope * _precise.power(_precise.cos(angle), freedom - 1))
    return float(_precise.sqrt(freedom) * _precise.tan(angle))


def _terms(freedom: int) -> tuple[list[Any], Any]:
    """The coefficients of the powers of the cosine, two powers apart, and the slope of the probability at 0."""
    odd = freedom % 2
    numbers = [_precise.mpf(1)] if freedom > 1 else []
    for power in range(2 + odd, freedom - 1, 2):
        numbers.append(numbers[-1] * (power - 1) / power)
    slope = _precise.fsum(numbers)
    return numbers, 2 / _precise.pi * (1 + slope) if odd else slope


def _inside(angle: Any, freedom: int, numbers: list[Any]) -> Any:
    """The probability that |t| is below sqrt(freedom) tan(angle)."""
    cosine, sine = _precise.cos(angle), _precise.sin(angle)
    series = _precise.mpf(0)
    for number in reversed(numbers):
        series = series * cosine * cosine + number
    return 2 / _precise.pi * (angle + sine * cosine * series) if freedom % 2 else sine * series
