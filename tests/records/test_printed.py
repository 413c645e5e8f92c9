"""Numbers as documents print them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.records import printed_number, rounding_half_width
from refdb.records.printed import printed_exactly
from tests.rows import each


@each(
    ("text", "number"),
    [
        ("5960", 5960.0),
        ("19 300", 19300.0),
        ("19\u00a0300", 19300.0),
        ("19\u2009300", 19300.0),
        ("19 300.5", 19300.5),
        (".00181", 0.00181),
        ("0.30", 0.3),
        ("-5.799136e-2", -0.05799136),
        ("−0.5", -0.5),
        ("19.5 × 10^10", 19.5e10),
        ("19.5·10^-3", 0.0195),
        ("2.0e11", 2.0e11),
        ("7.", 7.0),
    ],
)
def test_a_printed_number_is_read_as_printed(text: str, number: float) -> None:
    assert float(printed_exactly(text)) == number
    assert printed_number(text) == pytest.approx(number, rel=1e-15)


@each("text", ["", "about 5", "1,482", "12 34", "nan", "1e", "0x10", "5960 m/s", "１２"])
def test_anything_else_is_not_a_printed_number(text: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        printed_number(text)


def test_a_printed_number_can_be_had_to_its_last_digit() -> None:
    assert printed_exactly("3 31/32") == Fraction(127, 32)
    assert printed_exactly("1/3") == Fraction(1, 3)
    assert printed_exactly("1234.56789012345678901") == Decimal("1234.56789012345678901")


@pytest.mark.parametrize("text", ["1e400", "9" * 400, "9" * 400 + "/3", "1 × 10^400"])
def test_a_number_that_no_float_holds_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="larger than any number"):
        printed_number(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_that_python_prints_is_read_back(number: float) -> None:
    assert printed_number(repr(number)) == number


@pytest.mark.parametrize(
    ("text", "half"), [("5960", 0.5), ("7.85", 0.005), ("0.30", 0.005), ("2.0e11", 0.05e11), ("19.5 × 10^10", 0.05e10)]
)
def test_rounding_hides_half_a_unit_of_the_last_digit(text: str, half: float) -> None:
    assert rounding_half_width(text) == pytest.approx(half)
