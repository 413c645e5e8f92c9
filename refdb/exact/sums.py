"""Sums whose last bit does not depend on how many numbers a processor adds at a time."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def root_sum_square(*parts: float) -> float:
    """The root of the sum of squares: how independent uncertainties are joined."""
    return math.sqrt(math.fsum(part * part for part in parts))


def root_mean_square(values: Iterable[float]) -> float:
    """The root of the mean of squares of one value or more."""
    squares = [value * value for value in values]
    return math.sqrt(math.fsum(squares) / len(squares))


def weighted_mean(values: Iterable[float], weights: Iterable[float]) -> float:
    """The mean of values by weight."""
    pairs = list(zip(values, weights, strict=True))
    return math.fsum(value * weight for value, weight in pairs) / math.fsum(weight for _, weight in pairs)


def folded(values: Array) -> Any:
    """The sum along the first axis: its second half is added to its first, and so on until one row is left.

    Returns:
        an array without the first axis; a number for one axis.
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
