"""Elementary functions that round the true value to the nearest double, on every machine."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from refdb.exact.precise import precise

BITS = 160
"""Bits to which a value is computed before it is rounded to the 53 bits of a double. How close values of the
exponential and the logarithm come to the middle between two doubles is known: Lefèvre and Muller, Worst Cases for
Correct Rounding of the Elementary Functions in Double Precision, INRIA RR-4044, 2000."""

REMEMBERED = 65536
"""Number of powers kept in memory: lattices on which equations are compared repeat the same arguments."""

_precise = precise(BITS)


def exp(x: Any) -> Any:
    """e to the power `x`, a float or an array."""
    return _each(_exp, x)


def log(x: Any) -> Any:
    """The natural logarithm of `x` above 0, a float or an array."""
    return _each(_log, x)


def log10(x: float) -> float:
    """The decimal logarithm of `x` above 0."""
    return float(_precise.log10(x))


def power(base: Any, exponent: Any) -> Any:
    """`base` to the power `exponent`, each a float or an array. A negative base takes whole exponents only."""
    if isinstance(base, float) and isinstance(exponent, float):
        return _power(base, exponent)
    import numpy as np

    bases, exponents = np.broadcast_arrays(np.asarray(base, dtype=float), np.asarray(exponent, dtype=float))
    found = map(_power, bases.ravel().tolist(), exponents.ravel().tolist())
    return np.array(list(found), dtype=float).reshape(bases.shape)


def _exp(x: float) -> float:
    return float(_precise.exp(x))


def _log(x: float) -> float:
    return float(_precise.log(x))


@lru_cache(REMEMBERED)
def _power(base: float, exponent: float) -> float:
    return float(_precise.power(base, exponent))


def _each(function: Callable[[float], float], x: Any) -> Any:
    if isinstance(x, float):
        return function(x)
    import numpy as np

    places = np.asarray(x, dtype=float)
    return np.array(list(map(function, places.ravel().tolist())), dtype=float).reshape(places.shape)


class CorrectlyRounded:
    """The elementary functions of `refdb.forms.Functions`, correctly rounded."""

    exp = staticmethod(exp)
    power = staticmethod(power)


EXACT = CorrectlyRounded()
"""The functions with which derivation evaluates forms."""
