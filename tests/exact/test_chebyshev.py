"""The polynomial through values at Chebyshev nodes: beside linear equations solved in 80 digits, and beside numpy."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refdb.exact.chebyshev import coefficients, extremes
from tests.peers import Peer

mpmath = Peer("mpmath")

PRINTED = st.decimals(-1000, 1000, places=6)


def test_nodes_are_symmetric_and_include_both_ends() -> None:
    assert extremes(2) == (-1.0, 1.0)
    assert extremes(5) == (-1.0, -(0.5**0.5), 0.0, 0.5**0.5, 1.0)
    assert extremes(32) == tuple(-node for node in reversed(extremes(32)))


def test_what_is_constant_has_no_other_coefficient_at_all() -> None:
    assert coefficients([Decimal("0.1")] * 9, (9,)) == (0.1, *[0.0] * 8)


# The third Chebyshev polynomial, 4 x^3 - 3 x, is -1 and 1 in turn at its extremes.
def test_a_chebyshev_polynomial_is_told_by_its_whole_numbers() -> None:
    assert coefficients([-1.0, 1.0, -1.0, 1.0], (4,)) == (0.0, -3.0, 0.0, 4.0)


# Each example solves a system in 80 digits.
@settings(max_examples=25)
@given(st.lists(PRINTED, min_size=2, max_size=12))
def test_coefficients_are_those_of_the_true_polynomial_rounded_once(values: list[Decimal]) -> None:
    last = len(values) - 1
    with mpmath.workdps(80):
        nodes = [-mpmath.cos(mpmath.pi * j / last) for j in range(last + 1)]
        powers = mpmath.matrix([[node**k for k in range(last + 1)] for node in nodes])
        true = mpmath.lu_solve(powers, mpmath.matrix([mpmath.mpf(str(value)) for value in values]))
        # A sum that is 0 in truth leaves 1e-77 of the values in 80 digits.
        expected = [float(number) if abs(number) > mpmath.mpf(10) ** -70 else 0.0 for number in true]
    assert list(coefficients(values, (len(values),))) == expected


def test_axes_follow_one_another_as_in_the_list_of_values() -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(size=(4, 3, 5))
    found = np.array(coefficients(values.ravel().tolist(), (4, 3, 5)))
    u, v, w = np.meshgrid(*(extremes(count) for count in (4, 3, 5)), indexing="ij")
    assert np.polynomial.polynomial.polyval3d(u, v, w, found) == pytest.approx(values, abs=1e-13)


def test_the_logarithms_of_values_may_be_joined() -> None:
    found = coefficients([Decimal(1), Decimal(10), Decimal(100)], (3,), logarithm=True)
    assert found == (float(mpmath.log(10)), float(mpmath.log(10)), 0.0)


def test_a_value_without_a_logarithm_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        coefficients([Decimal(1), Decimal(0)], (2,), logarithm=True)
