"""Sums in a fixed order, and sums that are rounded once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from refdb.exact.sums import folded, root_mean_square, root_sum_square, weighted_mean

NUMBERS = st.floats(-1e6, 1e6)


def test_a_folded_sum_adds_the_second_half_to_the_first() -> None:
    # 1e16 + 1 is 1e16: in this order both ones are lost, in the order of the list one of them would be kept.
    assert folded(np.array([1e16, 3.0, -1e16, -2.0])) == 1.0
    assert folded(np.array([1e16, -1e16, 1.0, 1.0])) == (1e16 + 1.0) + (-1e16 + 1.0)
    assert folded(np.array([1.0, 2.0, 3.0])) == (1.0 + 3.0) + 2.0


@given(arrays(float, st.integers(1, 70), elements=NUMBERS))
def test_a_folded_sum_is_the_sum(values: np.ndarray) -> None:
    allowed = 1e-14 * (1.0 + math.fsum(abs(value) for value in values))
    assert folded(values) == pytest.approx(math.fsum(values), abs=allowed)


def test_rows_are_folded_like_numbers_and_left_as_they_were() -> None:
    rows = np.arange(15.0).reshape(5, 3)
    assert folded(rows).tolist() == [30.0, 35.0, 40.0]
    assert rows.tolist() == np.arange(15.0).reshape(5, 3).tolist()


def test_of_no_rows_the_sum_is_nothing() -> None:
    assert folded(np.zeros((0, 3))).tolist() == [0.0, 0.0, 0.0]


def test_uncertainties_are_joined_in_quadrature() -> None:
    assert root_sum_square(3.0, 4.0) == 5.0
    assert root_mean_square([3.0, 4.0]) == math.sqrt(12.5)


def test_a_weighted_mean_is_rounded_after_its_sums() -> None:
    assert weighted_mean([1.0, 4.0], [2.0, 1.0]) == 2.0
    assert weighted_mean([1e16, 1.0, -1e16], [1.0, 1.0, 1.0]) == 1.0 / 3.0
