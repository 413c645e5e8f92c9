"""Least squares by Gram and Schmidt's method, each column made orthogonal twice, in sums of fixed order.

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
    """An orthonormal basis of the columns that were added, each as long as there are points.

    Attributes:
        sizes: what of each column, by length, was not in those before it.
    """

    def __init__(self, points: int) -> None:
        self.sizes: list[float] = []
        self._points = points
        self._basis: list[Array] = []
        self._shares: list[Array] = []

    def __len__(self) -> int:
        return len(self._basis)

    def add(self, column: Array) -> Array:
        """Take one more column in.

        Returns:
            the new vector of the basis; zeros where the column holds nothing new at all.
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
        """What the first `count` columns are multiplied with to come nearest to wanted values, in least squares."""
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
    """The polynomial, by rising power, that comes nearest to wanted values in weighted squares.

    Args:
        weights: of the squares.
    """
    roots = np.sqrt(np.array(weights, dtype=float))
    basis = Orthonormal(len(roots))
    for column in powers(np.array(places, dtype=float), order):
        basis.add(column * roots)
    return [float(number) for number in basis.coefficients(np.array(wanted, dtype=float) * roots, order + 1)]


def polynomial(numbers: Sequence[float], place: Any) -> Any:
    """A polynomial, its coefficients by rising power, at a place, a float or an array."""
    total: Any = 0.0
    for number in reversed(numbers):
        total = total * place + number
    return total
