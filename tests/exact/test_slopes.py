"""Slopes of tables: beside the splines of scipy, and beside what they promise."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.exact.slopes import monotone_slopes, spline_slopes
from refdb.forms import make_form
from tests.peers import Peer

interpolate = Peer("scipy.interpolate")

STEPS = st.lists(st.tuples(st.floats(0.1, 10.0), st.floats(-100.0, 100.0)), min_size=2, max_size=40)


def table(steps: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    widths, ys = zip(*steps, strict=True)
    return list(itertools.accumulate(widths)), list(ys)


@given(STEPS)
def test_a_spline_is_that_of_scipy(steps: list[tuple[float, float]]) -> None:
    xs, ys = table(steps)
    expected = interpolate.CubicSpline(xs, ys)(xs, 1)
    assert spline_slopes(xs, ys) == pytest.approx(expected, abs=1e-12 * (1.0 + float(np.abs(expected).max())))


@given(STEPS)
def test_slopes_without_overshoot_are_those_of_scipy(steps: list[tuple[float, float]]) -> None:
    xs, ys = table(steps)
    expected = interpolate.PchipInterpolator(xs, ys)(xs, 1)
    assert monotone_slopes(xs, ys) == pytest.approx(expected, abs=1e-12 * (1.0 + float(np.abs(expected).max())))


def test_a_spline_through_a_cubic_is_the_cubic() -> None:
    xs = [-2.0, -1.0, 0.5, 1.0, 3.0]
    assert spline_slopes(xs, [x**3 for x in xs]) == pytest.approx([3.0 * x**2 for x in xs], rel=1e-13, abs=1e-13)


# Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 1984: the curve stays between the two points of each piece.
@given(STEPS)
def test_no_piece_leaves_the_interval_of_its_points(steps: list[tuple[float, float]]) -> None:
    xs, ys = table(steps)
    form = make_form({"name": "hermite-table/1", "points": list(zip(xs, ys, monotone_slopes(xs, ys), strict=True))})
    for (left, right), (first, last) in zip(itertools.pairwise(xs), itertools.pairwise(ys), strict=True):
        for part in (0.1, 0.3, 0.5, 0.7, 0.9):
            value = form.value(left + part * (right - left))
            assert min(first, last) - 1e-9 <= value <= max(first, last) + 1e-9
