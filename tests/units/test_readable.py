"""Numbers in the units that a person reads."""

from __future__ import annotations

import pytest

from refdb.units import units
from refdb.units.readable import READ_IN, percent, readable


@pytest.mark.parametrize(
    ("magnitude", "unit", "words"),
    [
        (3920000000.0, "Pa", "3.92 GPa"),
        (530e6, "Pa", "530 MPa"),
        (101325.0, "Pa", "101.325 kPa"),
        (30.0, "Pa", "30 Pa"),
        (0.0, "Pa", "0 Pa"),
        (1.0034e-6, "m2/s", "1.0034 mm2/s"),
        (0.00089, "Pa.s", "0.89 mPa.s"),
        (0.25962, "kg/kg", "25.962 % mass"),
        (5895.02, "m/s", "5895.02 m/s"),
        (0.000046, "1/K", "0.000046 1/K"),
        (0.3, "1", "0.3"),
    ],
)
def test_a_number_is_told_in_the_unit_that_is_read(magnitude: float, unit: str, words: str) -> None:
    assert readable(magnitude, unit) == words


def test_every_unit_that_is_read_measures_what_it_stands_for() -> None:
    for unit, shown in READ_IN.items():
        assert {units().find(one).dimension for one in shown} == {units().find(unit).dimension}


def test_a_part_is_told_in_percent() -> None:
    assert percent(0.015) == "1.5 %"
