"""Finds where a function changes its sign, to the last bit."""

from __future__ import annotations

from collections.abc import Callable


def root_between(function: Callable[[float], float], low: float, high: float) -> float:
    """The last double at which a falling function is above 0, by bisection until no double lies between the ends.

    Args:
        function: above 0 at `low`, not above 0 at `high`, and falling between them.
    """
    while True:
        middle = low + (high - low) / 2.0
        if not low < middle < high:
            return low
        if function(middle) > 0.0:
            low = middle
        else:
            high = middle
