"""Elementary functions that round correctly: beside Python's decimal numbers of 60 digits, and beside fractions."""

from __future__ import annotations

import math
from decimal import Context, Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.exact.functions import exp, log, log10, power

SIXTY_DIGITS = Context(prec=60)
POSITIVE = st.floats(1e-30, 1e30)


@given(st.floats(-700.0, 700.0))
def test_the_exponential_is_the_double_nearest_to_the_true_value(x: float) -> None:
    assert exp(x) == float(SIXTY_DIGITS.exp(Decimal(x)))


@given(POSITIVE)
def test_logarithms_are_the_doubles_nearest_to_the_true_values(x: float) -> None:
    assert log(x) == float(SIXTY_DIGITS.ln(Decimal(x)))
    assert log10(x) == float(SIXTY_DIGITS.log10(Decimal(x)))


@given(st.floats(-1e6, 1e6), st.integers(1, 12))
def test_whole_powers_are_those_of_fractions_rounded_once(base: float, exponent: int) -> None:
    assert power(base, float(exponent)) == float(Fraction(base) ** exponent)


@given(st.floats(1e-3, 1e3), st.floats(-9.0, 9.0))
def test_broken_powers_are_the_doubles_nearest_to_the_true_values(base: float, exponent: float) -> None:
    assert power(base, exponent) == float(SIXTY_DIGITS.power(Decimal(base), Decimal(exponent)))


# (1 + 2^-27)^2 = 1 + 2^-26 + 2^-54 lies in the middle of two doubles; IEEE 754 rounds it to the even one.
def test_a_power_in_the_middle_of_two_doubles_goes_to_the_even_one() -> None:
    base = 1.0 + 2.0**-27
    assert power(base, 2.0) == base * base == 1.0 + 2.0**-26


def test_what_is_known_without_rounding_has_none() -> None:
    assert (exp(0.0), log(1.0), log10(1000.0), power(2.25, 1.5), power(4.0, -0.5)) == (1.0, 0.0, 3.0, 3.375, 0.5)


def test_arrays_give_the_same_digits_as_their_elements() -> None:
    places = np.linspace(0.1, 7.0, 12).reshape(3, 4)
    assert exp(places).tolist() == [[exp(x) for x in row] for row in places.tolist()]
    assert log(places).tolist() == [[log(x) for x in row] for row in places.tolist()]
    assert power(places, 1.5).tolist() == [[power(x, 1.5) for x in row] for row in places.tolist()]
    assert power(math.e, places).tolist() == [[power(math.e, x) for x in row] for row in places.tolist()]


def test_what_has_no_logarithm_is_refused() -> None:
    with pytest.raises((TypeError, ValueError)):
        log(-1.0)
