"""The polynomial through values at the extremes of Chebyshev polynomials, by its closed form.

With nodes x_j = -cos(pi j/N), the polynomial through f_0 ... f_N is the sum of c_k T_k(x), k from 0 to N, with
c_k = (2/N) (-1)^k sum of f_j cos(pi j k/N), the first and the last term of either sum halved; T_k has whole
coefficients in powers of x. Trefethen, Approximation Theory and Approximation Practice, SIAM 2013, chapters 2 to 4.
The sums run in whole multiples of 2^-192, so that only the coefficient is rounded, once.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import lcm
from operator import mul
from typing import Any

from refdb.exact.precise import precise

BITS = 192
"""Binary places of cosines and logarithms. A coefficient is a sum of values, each times at most 2.5^N."""

WHOLE = 1 << BITS
"""The number 1 as a whole number with `BITS` binary places."""

NOTHING = 1 << 100
"""A coefficient smaller than the largest value divided by this is set to 0: it is only what rounding leaves of 0."""

Exact = Decimal | Fraction | float

_precise = precise(BITS + 32)


@lru_cache
def extremes(count: int) -> tuple[float, ...]:
    """The nodes from -1 to 1, each rounded to the nearest double."""
    cosines = _cosines(count - 1)
    return tuple(-cosines[place] / WHOLE for place in range(count))


def coefficients(values: Sequence[Exact], counts: tuple[int, ...], logarithm: bool = False) -> Any:
    """The polynomial through values at the nodes of one or more axes, in powers of variables that run from -1 to 1.

    Args:
        values: one for each node of the lattice, the last axis varying fastest.
        counts: the number of nodes of each axis, at least two.
        logarithm: whether the polynomial goes through the natural logarithms of the values.

    Returns:
        Nested tuples: by rising power of the first variable, within that of the second, and so on. Each coefficient is
        that of the true polynomial, rounded to the nearest double.

    Raises:
        ValueError: a value has no logarithm.
    """
    numbers, denominator = _whole(values)
    if logarithm:
        numbers, denominator = _logarithms(numbers, denominator), WHOLE
    largest = max(map(abs, numbers))
    for count in counts:
        weights = _weights(count)
        size = len(numbers) // count
        rows = [numbers[start : start + size] for start in range(0, len(numbers), size)]
        # The first axis moves behind the others; after the last one the order is as at the start.
        numbers = [sum(map(mul, row, column)) for column in zip(*rows, strict=True) for row in weights]
        per_axis = 2 * (count - 1) * WHOLE
        denominator, largest = denominator * per_axis, largest * per_axis
    return _nested([number / denominator if abs(number) * NOTHING > largest else 0.0 for number in numbers], counts)


def _whole(values: Sequence[Exact]) -> tuple[list[int], int]:
    """The values as whole numbers over one denominator, exactly."""
    ratios = [value.as_integer_ratio() for value in values]
    denominator = lcm(*(below for _, below in ratios))
    return [above * (denominator // below) for above, below in ratios], denominator


def _logarithms(numbers: Sequence[int], denominator: int) -> list[int]:
    """The natural logarithms of `numbers` over `denominator`, with `BITS` binary places."""
    if min(numbers) <= 0:
        raise ValueError("only values above 0 have a logarithm")
    below = _fixed(_precise.log(denominator))
    return [_fixed(_precise.log(number)) - below for number in numbers]


@lru_cache
def _weights(count: int) -> tuple[tuple[int, ...], ...]:
    """For each power of x, the weight of the value at each node, with `BITS` binary places and times 2 (count - 1)."""
    last = count - 1
    cosines, ends = _cosines(last), (0, last)
    polynomials = _chebyshev(count)

    def weight(power: int, node: int) -> int:
        terms = (
            (1 if k in ends else 2) * (-1 if k % 2 else 1) * polynomials[k][power] * cosines[k * node % (2 * last)]
            for k in range(power, count)
        )
        return (1 if node in ends else 2) * sum(terms)

    return tuple(tuple(weight(power, node) for node in range(count)) for power in range(count))


@lru_cache
def _cosines(last: int) -> tuple[int, ...]:
    """cos(pi m/last) for m from 0 to 2 last - 1, with `BITS` binary places."""
    return tuple(_fixed(_precise.cospi(_precise.mpf(m) / last)) for m in range(2 * last))


def _chebyshev(count: int) -> list[list[int]]:
    """The coefficients of T_0, T_1, ... by rising power, each filled up with zeros."""
    found = [[1] + [0] * (count - 1), [0, 1] + [0] * (count - 2)]
    while len(found) < count:
        found.append([2 * up - down for up, down in zip([0, *found[-1]], found[-2], strict=False)])
    return found


def _fixed(x: Any) -> int:
    whole: int = x.to_fixed(BITS)
    return whole


def _nested(flat: Sequence[float], counts: tuple[int, ...]) -> Any:
    if len(counts) == 1:
        return tuple(flat)
    size = len(flat) // counts[0]
    return tuple(_nested(flat[start : start + size], counts[1:]) for start in range(0, len(flat), size))
