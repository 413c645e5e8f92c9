"""Sums whose last bit does not depend on how many numbers the processor adds at a time."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def root_sum_square(*parts: float) -> float:
    """The root of the sum of squares, as independent uncertainties are combined."""
    return math.sqrt(math.fsum(part * part for part in parts))


def root_mean_square(values: Iterable[float]) -> float:
    """The root mean square of at least one value."""
    squares = [value * value for value in values]
    return math.sqrt(math.fsum(squares) / len(squares))


def weighted_mean(values: Iterable[float], weights: Iterable[float]) -> float:
    """The weighted mean of values."""
    pairs = list(zip(values, weights, strict=True))
    return math.fsum(value * weight for value, weight in pairs) / math.fsum(weight for _, weight in pairs)


def folded(values: Array) -> Any:
    """The sum along the first axis: the second half is added to the first, until one row is left.

    Returns:
        An array without the first axis; a number for an array of one axis.
    """
    if len(values) == 0:
        return np.zeros(values.shape[1:])
    rows = values
    while len(rows) > 1:
        half = (len(rows) + 1) // 2
        upper = rows[half:]
        rows = rows[:half].copy()
        rows[: len(upper)] += upper
    return rows[0]
