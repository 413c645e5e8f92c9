"""Many small symmetric matrices at once: whether each is positive definite, and linear equations with it.

Cholesky's factors, column by column in one order.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from refdb.exact.sums import Array


def factors(matrices: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The lower triangular factors of matrices stacked along the first axis, and which of these are positive definite.

    The factor of one that is not holds no meaning. All eigenvalues of a matrix A are above a number d where A - d I is
    positive definite, and only there.
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
    """The solutions of linear equations, one for each matrix that has one of the factors.

    Args:
        wanted: the right sides, stacked along the first axis.
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
