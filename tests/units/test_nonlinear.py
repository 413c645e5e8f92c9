"""Units that are no factor of their SI unit: round trips, ranges, differences."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.problems import OutsideRange, WrongDimension
from refdb.units import Unit, parse_quantity, units
from refdb.units.nonlinear import CURVES
from tests.rows import each

API, SSU = units().find("degAPI"), units().find("SSU")
DENSITY, VISCOSITY = units().si("density"), units().si("kinematic_viscosity")


def test_every_function_is_used_by_the_table() -> None:
    assert {unit.function for unit in units().entries} - {None} == set(CURVES)


@given(st.floats(min_value=-50.0, max_value=150.0))
def test_api_gravity_comes_back(degrees: float) -> None:
    back = DENSITY.to(API.to(degrees, DENSITY), API)
    assert back == pytest.approx(degrees, rel=1e-12, abs=1e-12 * 141.5)


@given(st.floats(min_value=32.0, max_value=1e6))
def test_saybolt_seconds_come_back(seconds: float) -> None:
    assert VISCOSITY.to(SSU.to(seconds, VISCOSITY), SSU) == pytest.approx(seconds, rel=1e-12)


def test_the_lower_end_of_saybolt_seconds_comes_back_too() -> None:
    assert SSU.to(VISCOSITY.to(1.81e-6, SSU), VISCOSITY) == pytest.approx(1.81e-6, rel=1e-12)


def test_ten_degrees_api_is_the_water_at_60_degf() -> None:
    assert API.to(10.0, DENSITY) == pytest.approx(999.016, rel=1e-15)
    assert API.to(10.0, units().find("SG 60/60 degF")) == pytest.approx(1.0, rel=1e-15)


def test_a_curve_leads_to_every_unit_of_its_dimension_and_from_it() -> None:
    pounds = units().find("lb/ft3")
    assert API.to(35.0, pounds) == pytest.approx(DENSITY.to(API.to(35.0, DENSITY), pounds), rel=1e-15)
    assert pounds.to(API.to(35.0, pounds), API) == pytest.approx(35.0, rel=1e-12)
    assert API.to(35.0, API) == 35.0


@each(
    ("unit", "magnitude", "target"),
    [
        (API, -131.5, DENSITY),
        (API, float("nan"), DENSITY),
        (API, np.array([35.0, -200.0]), DENSITY),
        (DENSITY, 0.0, API),
        (DENSITY, -850.0, API),
        (SSU, 31.0, VISCOSITY),
        (SSU, -5.0, VISCOSITY),
        (SSU, np.array([100.0, np.nan]), VISCOSITY),
        (VISCOSITY, 1e-6, SSU),
        (VISCOSITY, np.array([1e-6, 5e-5]), SSU),
    ],
)
def test_outside_its_range_a_curve_is_refused(unit: Unit, magnitude: Any, target: Unit) -> None:
    with pytest.raises(OutsideRange, match="defined"):
        unit.to(magnitude, target)


@pytest.mark.parametrize(("text", "dimension"), [("31 SSU", "kinematic_viscosity"), ("-200 degAPI", "density")])
def test_a_quantity_outside_the_range_is_refused_by_name(text: str, dimension: str) -> None:
    with pytest.raises(OutsideRange) as caught:
        parse_quantity(text, dimension, "oil")
    assert caught.value.detail.startswith("oil: ")
    assert caught.value.extensions["parameter"] == "oil"


@pytest.mark.parametrize(
    ("unit", "target", "words"),
    [(API, DENSITY, "degAPI"), (DENSITY, API, "degAPI"), (API, API, "degAPI"), (SSU, VISCOSITY, "SSU")],
)
def test_a_difference_of_a_curve_is_refused(unit: Unit, target: Unit, words: str) -> None:
    with pytest.raises(WrongDimension, match=f"a difference in {words} is no fixed difference"):
        unit.difference_to(0.5, target)


def test_a_curve_states_the_temperature_that_it_takes_for_granted() -> None:
    assert "60 degF" in (API.assume or "")
    assert "100 degF" in (SSU.assume or "")
