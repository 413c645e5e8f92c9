"""Least squares and definite matrices in sums of fixed order: beside numpy's linear algebra."""

from __future__ import annotations

import numpy as np
import pytest

from refdb.exact.definite import factors, solved
from refdb.exact.least_squares import Orthonormal, fitted, polynomial, powers
from refdb.exact.sums import Array


def basis_of(columns: list[Array]) -> tuple[Orthonormal, Array]:
    basis = Orthonormal(len(columns[0]))
    return basis, np.array([basis.add(column) for column in columns])


def test_columns_that_are_nearly_alike_give_a_basis_as_orthogonal_as_any() -> None:
    places = np.linspace(0.9, 1.0, 40)
    _, vectors = basis_of(powers(places, 7))
    assert vectors @ vectors.T == pytest.approx(np.eye(8), abs=1e-13)


def test_a_column_that_holds_nothing_new_adds_nothing() -> None:
    basis, vectors = basis_of([np.array([0.0, 0.0]), np.array([3.0, 4.0])])
    assert basis.sizes == [0.0, 5.0]
    assert vectors.tolist() == [[0.0, 0.0], [0.6, 0.8]]


def test_the_first_columns_are_fitted_as_if_there_were_no_others() -> None:
    rng = np.random.default_rng(4)
    columns, wanted = [rng.normal(size=30) for _ in range(6)], rng.normal(size=30)
    basis, _ = basis_of(columns)
    for count in range(1, 7):
        expected = np.linalg.lstsq(np.array(columns[:count]).T, wanted, rcond=None)[0]
        assert basis.coefficients(wanted, count) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("order", [1, 2, 3])
def test_a_weighted_polynomial_is_that_of_numpy(order: int) -> None:
    rng = np.random.default_rng(order)
    places, wanted, weights = rng.uniform(-1.0, 1.0, 25), rng.normal(size=25), rng.uniform(0.1, 3.0, 25)
    expected = np.polynomial.polynomial.polyfit(places, wanted, order, w=np.sqrt(weights))
    found = fitted(places.tolist(), wanted.tolist(), weights.tolist(), order)
    assert found == pytest.approx(expected, rel=1e-11)
    assert polynomial(found, 0.3) == pytest.approx(np.polynomial.polynomial.polyval(0.3, expected), rel=1e-11)


def symmetric(count: int, size: int) -> Array:
    rng = np.random.default_rng(size)
    roots = rng.normal(size=(count, size, size))
    return np.asarray(roots @ roots.transpose(0, 2, 1))


def test_whether_all_eigenvalues_are_above_a_number_is_told_without_them() -> None:
    matrices = symmetric(200, 4)
    least = np.linalg.eigvalsh(matrices)[:, 0]
    limit = float(np.median(least))
    _, above = factors(matrices - limit * np.eye(4))
    assert above.tolist() == (least > limit).tolist()


def test_many_linear_equations_are_solved_at_once() -> None:
    matrices, wanted = symmetric(7, 5) + np.eye(5), np.random.default_rng(5).normal(size=(7, 5))
    lower, definite = factors(matrices)
    assert definite.all()
    assert np.tril(lower) == pytest.approx(np.linalg.cholesky(matrices), rel=1e-11)
    assert solved(lower, wanted) == pytest.approx(np.linalg.solve(matrices, wanted[:, :, None])[:, :, 0], rel=1e-10)


def test_no_matrices_and_matrices_of_no_size_are_no_trouble() -> None:
    lower, definite = factors(np.zeros((0, 0, 0)))
    assert definite.all()
    assert solved(lower, np.zeros((0, 0))).shape == (0, 0)
