"""Student's t and roots, to the last bit."""

from __future__ import annotations

import math

import pytest

from refdb.exact.roots import root_between
from refdb.exact.student import t_quantile
from tests.peers import Peer

stats = Peer("scipy.stats")


@pytest.mark.parametrize("probability", [0.5, 0.6, 0.95, 0.975, 0.9999])
def test_quantiles_are_those_of_scipy(probability: float) -> None:
    freedoms = [*range(1, 60), 100, 101, 400]
    expected = [float(stats.t.ppf(probability, freedom)) for freedom in freedoms]
    assert [t_quantile(probability, freedom) for freedom in freedoms] == pytest.approx(expected, rel=1e-12, abs=1e-12)


# With one degree of freedom t is a tangent; with two, t^2 = 2 (2 p - 1)^2 / (1 - (2 p - 1)^2): Abramowitz and Stegun,
# Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
def test_quantiles_with_a_closed_form_are_it() -> None:
    assert t_quantile(0.75, 1) == 1.0
    assert t_quantile(0.75, 2) == pytest.approx(math.sqrt(2.0 / 3.0), rel=1e-15)


def test_a_root_is_the_last_double_before_the_sign_changes() -> None:
    root = root_between(lambda x: 2.0 - x * x, 0.0, 2.0)
    after = math.nextafter(root, 2.0)
    assert 2.0 - root * root > 0.0 >= 2.0 - after * after


def test_a_root_between_neighbours_is_the_first_of_them() -> None:
    assert root_between(lambda x: 1.0 - x, 1.0, math.nextafter(1.0, 2.0)) == 1.0
