"""Least squares by the Gram-Schmidt method, with every column orthogonalised twice, in sums of fixed order.

Twice is enough for a basis as orthogonal as doubles allow: Giraud, Langou, Rozložník and van den Eshof, Rounding error
analysis of the classical Gram-Schmidt orthogonalization process, 2005. Columns are added one by one, so that nested
models share their work.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from refdb.exact.sums import Array, folded


class Orthonormal:
    """An orthonormal basis of the columns added so far; each column has one number per point.

    Attributes:
        sizes: for each column, the length of its part that is orthogonal to the columns before it.
    """

    def __init__(self, points: int) -> None:
        self.sizes: list[float] = []
        self._points = points
        self._basis: list[Array] = []
        self._shares: list[Array] = []

    def __len__(self) -> int:
        return len(self._basis)

    def add(self, column: Array) -> Array:
        """Add one more column.

        Returns:
            The new vector of the basis; zeros if the column depends on those before it.
        """
        known = self._stacked(len(self))
        rest, shares = column, np.zeros(len(self))
        for _ in range(2):
            taken = folded((known * rest).T)
            rest = rest - folded(known * taken[:, None])
            shares = shares + taken
        size = math.sqrt(folded(rest * rest))
        vector = np.asarray(rest / size if size > 0.0 else np.zeros_like(rest))
        self.sizes.append(size)
        self._basis.append(vector)
        self._shares.append(shares)
        return vector

    def coefficients(self, wanted: Array, count: int) -> Array:
        """The coefficients of the first `count` columns in the least-squares fit to the wanted values."""
        left = folded((self._stacked(count) * wanted).T)
        found = np.zeros(count)
        for place in reversed(range(count)):
            found[place] = left[place] / self.sizes[place]
            left[:place] -= found[place] * self._shares[place]
        return found

    def _stacked(self, count: int) -> Array:
        return np.array(self._basis[:count]).reshape(count, self._points)


def powers(places: Array, order: int) -> list[Array]:
    """1, x, x², ... up to the power `order`, each from the one before it."""
    found = [np.ones_like(places)]
    for _ in range(order):
        found.append(found[-1] * places)
    return found


def fitted(places: Sequence[float], wanted: Sequence[float], weights: Sequence[float], order: int) -> list[float]:
    """The coefficients, by rising power, of the polynomial fitted to wanted values by weighted least squares.

    Args:
        places: the arguments.
        wanted: the value at each place.
        weights: the weight of each squared residual.
        order: the highest power.
    """
    roots = np.sqrt(np.array(weights, dtype=float))
    basis = Orthonormal(len(roots))
    for column in powers(np.array(places, dtype=float), order):
        basis.add(column * roots)
    return [float(number) for number in basis.coefficients(np.array(wanted, dtype=float) * roots, order + 1)]


def polynomial(numbers: Sequence[float], place: Any) -> Any:
    """The value of a polynomial with coefficients by rising power, at a float or an array."""
    total: Any = 0.0
    for number in reversed(numbers):
        total = total * place + number
    return total
