"""Tests for positive definite matrices, and solves linear equations, for many small symmetric matrices at once.

Uses Cholesky's factors, computed column by column in a fixed order.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from refdb.exact.sums import Array


def factors(matrices: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The lower triangular factors of matrices stacked along the first axis, and which matrices are positive definite.

    The factor of a matrix that is not positive definite has no meaning. All eigenvalues of a matrix A are above a
    number d if and only if A - d I is positive definite.
    """
    lower = matrices.copy()
    definite = np.full(len(lower), True)
    for place in range(lower.shape[1]):
        pivot = lower[:, place, place]
        definite = definite & (pivot > 0.0)
        root = np.sqrt(np.where(pivot > 0.0, pivot, 1.0))
        below = lower[:, place + 1 :, place] / root[:, None]
        lower[:, place, place] = root
        lower[:, place + 1 :, place] = below
        lower[:, place + 1 :, place + 1 :] -= below[:, :, None] * below[:, None, :]
    return lower, definite


def solved(lower: Array, wanted: Array) -> Array:
    """The solutions of linear equations, one for each matrix.

    Args:
        lower: the factors that `factors` gave, stacked along the first axis.
        wanted: the right-hand sides, stacked along the first axis.
    """
    found = wanted.copy()
    size = lower.shape[1]
    for place in range(size):
        found[:, place] /= lower[:, place, place]
        found[:, place + 1 :] -= lower[:, place + 1 :, place] * found[:, place, None]
    for place in reversed(range(size)):
        found[:, place] /= lower[:, place, place]
        found[:, :place] -= lower[:, place, :place] * found[:, place, None]
    return found
