"""Each form: its values, its slope against finite differences, and one kernel for a number and an array."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from refdb.exact.functions import EXACT
from refdb.forms import FORMS, make_form
from refdb.forms.scales import to_scale
from tests.rows import each

CONSTANT: dict[str, Any] = {"name": "constant/1", "coefficients": {"c0": "5900"}}
LINEAR: dict[str, Any] = {"name": "temperature-coefficient/1", "coefficients": {"c0": "2700", "c1": "-2.5", "t0": "20"}}
POLYNOMIAL: dict[str, Any] = {
    "name": "polynomial/1",
    "coefficients": {"c0": "1400", "c1": "5", "c2": "-0.058", "c3": "3.3e-4"},
}
TABLE: dict[str, Any] = {
    "name": "hermite-table/1",
    "points": [["0", "10", "0"], ["10", "20", "1.3"], ["20", "40", "0.4"], ["40", "45", "0"]],
}
SATURATION: dict[str, Any] = {
    "name": "scaled-polynomial/1",
    "of": "logarithm",
    "axes": [{"name": "temperature", "unit": "degC", "low": "0", "high": "40"}],
    "coefficients": ["0.1", "1.2", "-0.05"],
}
SURFACE: dict[str, Any] = {
    "name": "scaled-polynomial/1",
    "of": "value",
    "axes": [
        {"name": "temperature", "unit": "degC", "low": "0", "high": "40"},
        {"name": "pressure", "unit": "MPa", "low": SATURATION, "high": "10"},
    ],
    "coefficients": [["1500", "8", "0.1"], ["20", "-1", "0"], ["-3", "0.2", "0.01"]],
}
BROKEN_POWERS: dict[str, Any] = {
    "name": "power-sum/1",
    "axes": [{"name": "temperature", "unit": "degC"}],
    "terms": [["1449", "0"], ["4.6", "1"], ["-0.05", "1.5"]],
}
VOLUME: dict[str, Any] = {
    "name": "scaled-polynomial/1",
    "of": "value",
    "axes": [*SURFACE["axes"], {"name": "salinity", "unit": "g/kg", "low": "0", "high": "42"}],
    "coefficients": [
        [["1500", "25", "-1"], ["8", "0.5", "0.2"]],
        [["20", "-2", "0.3"], ["-1", "0.4", "0"]],
        [["-3", "0.1", "0"], ["0.2", "0", "-0.05"]],
    ],
}
OIL_EXPANSION: dict[str, Any] = {
    "name": "oil-expansion/1",
    "coefficients": {"c0": "850", "a0": "8.3e-4", "t0": "15"},
}
WALTHER: dict[str, Any] = {"name": "walther/1", "coefficients": {"c0": "1e-6", "c1": "9.2", "c2": "3.6"}}
QUOTIENT: dict[str, Any] = {
    "name": "quotient/1",
    "axes": [{"name": "temperature", "unit": "degC"}],
    "numerator": POLYNOMIAL,
    "denominator": LINEAR | {"variable": {"name": "temperature", "unit": "degC", "scale": "IPTS-68"}},
}
EXPANSION: dict[str, Any] = {
    "name": "expansion/1",
    "axes": [{"name": "temperature", "unit": "degC"}],
    "density": POLYNOMIAL,
}
CLASSICAL: dict[str, Any] = {
    "name": "classical-absorption/1",
    "axes": [{"name": "temperature", "unit": "degC"}],
    "viscosity": BROKEN_POWERS,
    "density": LINEAR | {"variable": {"name": "temperature", "unit": "degC", "scale": "IPTS-68"}},
    "sound_speed": POLYNOMIAL,
}
SPECS = [
    CONSTANT,
    LINEAR,
    POLYNOMIAL,
    TABLE,
    SATURATION,
    BROKEN_POWERS,
    QUOTIENT,
    EXPANSION,
    CLASSICAL,
    OIL_EXPANSION,
    WALTHER,
]
OF_LIBRARY_FUNCTIONS = {"oil-expansion/1", "power-sum/1", "walther/1"}
"""Forms whose value is a power or an exponential, which libraries round differently."""


def test_every_form_is_exercised_here() -> None:
    assert {spec["name"] for spec in SPECS} == set(FORMS)


@pytest.mark.parametrize(
    ("spec", "x", "expected"),
    [
        (CONSTANT, 12.0, 5900.0),
        (LINEAR, 30.0, 2675.0),
        (POLYNOMIAL, 10.0, 1400 + 50 - 5.8 + 0.33),
        (TABLE, 10.0, 20.0),
        (TABLE, 40.0, 45.0),
        (TABLE, 0.0, 10.0),
        (QUOTIENT, 10.0, (1400 + 50 - 5.8 + 0.33) / (2700 - 2.5 * (10.0024 - 20))),
        (EXPANSION, 10.0, -(5 - 1.16 + 0.099) / (1400 + 50 - 5.8 + 0.33)),
    ],
)
def test_a_form_gives_the_value_written_for_it(spec: dict[str, Any], x: float, expected: float) -> None:
    assert make_form(spec).value(x) == pytest.approx(expected, rel=1e-14)


@each("spec", SPECS, ids=lambda spec: spec["name"])
def test_a_slope_is_the_derivative(spec: dict[str, Any]) -> None:
    form, step = make_form(spec), 1e-5
    for x in (0.5, 5.0, 17.3, 33.0):
        difference = (form.value(x + step) - form.value(x - step)) / (2 * step)
        slope = form.slopes(x)[0]
        # A constant is told for a range: that it stays the same in it is not known.
        assert slope is None if spec["name"] == "constant/1" else slope == pytest.approx(difference, rel=1e-6, abs=1e-6)


@each("spec", SPECS, ids=lambda spec: spec["name"])
def test_an_array_is_answered_element_by_element_as_single_numbers_are(spec: dict[str, Any]) -> None:
    form = make_form(spec)
    xs = np.linspace(0.0, 40.0, 57)
    # Plain sums and products agree to the last bit. Powers, exponentials and logarithms of math and numpy do not on
    # every processor; the rounding of an answer to twelve digits hides what they differ by.
    plain = spec.get("of") != "logarithm" and spec["name"] not in OF_LIBRARY_FUNCTIONS
    tolerance = 0.0 if plain else 1e-13
    assert list(form.value(xs)) == pytest.approx([form.value(float(x)) for x in xs], rel=tolerance, abs=0.0)
    if spec["name"] == "constant/1":
        return
    assert list(form.slopes(xs)[0]) == pytest.approx([form.slopes(float(x))[0] for x in xs], rel=tolerance, abs=0.0)


class Strange:
    """Every exponential and every power is 7."""

    @staticmethod
    def exp(x: float) -> float:
        return 7.0 + 0.0 * x

    @staticmethod
    def power(base: float, exponent: float) -> float:
        return 7.0 + 0.0 * base * exponent


# Written out with 7 for every exponential and power.
@pytest.mark.parametrize(
    ("spec", "state", "value"),
    [
        (SATURATION, (20.0,), 7.0),
        (BROKEN_POWERS, (20.0,), 1449 + 4.6 * 7.0 - 0.05 * 7.0),
        (OIL_EXPANSION, (20.0,), 850 * 7.0),
        (WALTHER, (20.0,), 1e-6 * (7.0 - 0.7)),
        (QUOTIENT | {"numerator": SATURATION, "denominator": CONSTANT}, (20.0,), 7.0 / 5900),
        (EXPANSION | {"density": WALTHER}, (20.0,), math.log(10.0) * 7.0 * 3.6 * 7.0**2 / 293.15 / (7.0 - 0.7)),
        (
            CLASSICAL | {"density": CONSTANT, "sound_speed": SATURATION},
            (20.0,),
            8 * math.pi**2 / 3 * 1480.85 / 5900 / 343,
        ),
        (SURFACE, (20.0, 8.5), 1500.0),
    ],
)
def test_elementary_functions_are_those_that_a_form_is_given(
    spec: dict[str, Any], state: tuple[float, ...], value: float
) -> None:
    assert make_form(spec, Strange()).value(*state) == pytest.approx(value, rel=1e-14)
    assert make_form(spec).value(*state) != pytest.approx(value, rel=1e-3)


@each("spec", SPECS, ids=lambda spec: spec["name"])
def test_with_correctly_rounded_functions_an_array_is_its_elements_to_the_last_bit(spec: dict[str, Any]) -> None:
    form = make_form(spec, EXACT)
    xs = np.linspace(0.5, 40.0, 12)
    # An array goes through other machine code than a number: the last bit of its functions is not promised.
    assert list(form.value(xs)) == pytest.approx([form.value(float(x)) for x in xs], rel=1e-13)
    assert list(form.value(xs)) == pytest.approx(list(make_form(spec).value(xs)), rel=1e-13)


def test_a_table_never_leaves_the_interval_of_its_neighbours() -> None:
    form = make_form(TABLE)
    ys = form.value(np.linspace(0.0, 40.0, 401))
    assert np.all(np.diff(ys) >= 0)
    assert ys.min() == 10.0
    assert ys.max() == 45.0


def test_a_form_that_lacks_a_part_or_does_not_exist_is_an_error() -> None:
    with pytest.raises(KeyError):
        make_form({"name": "polynomial/1", "coefficients": {"c0": "1", "c2": "3"}})
    with pytest.raises(KeyError):
        make_form({"name": "polynomial/9", "coefficients": {}})


def test_temperatures_are_carried_to_the_scale_of_an_old_equation() -> None:
    assert to_scale(100.0, "ITS-90") == 100.0
    assert to_scale(100.0, None) == 100.0
    assert to_scale(100.0, "IPTS-68") == pytest.approx(100.024)
    with pytest.raises(ValueError, match="IPTS-48"):
        to_scale(100.0, "IPTS-48")


@pytest.mark.parametrize(("temperature", "pressure"), [(3.0, 9.0), (20.0, 5.0), (37.0, 4.0)])
def test_a_surface_that_begins_at_saturation_is_the_polynomial_written_for_it(
    temperature: float, pressure: float
) -> None:
    u = temperature / 20.0 - 1.0
    low = math.exp(0.1 + 1.2 * u - 0.05 * u * u)
    v = 2.0 * (pressure - low) / (10.0 - low) - 1.0
    rows = [[float(number) for number in row] for row in SURFACE["coefficients"]]
    expected = sum(c * u**i * v**j for i, row in enumerate(rows) for j, c in enumerate(row))
    assert make_form(SURFACE).value(temperature, pressure) == pytest.approx(expected, rel=1e-13)


@pytest.mark.parametrize("of", ["value", "logarithm"])
def test_the_slopes_of_a_surface_are_its_derivatives_although_saturation_moves(of: str) -> None:
    scale = {"value": 1.0, "logarithm": 1e-3}[of]
    rows = [[str(float(number) * scale) for number in row] for row in SURFACE["coefficients"]]
    form, step = make_form(SURFACE | {"of": of, "coefficients": rows}), 1e-5
    by_temperature, by_pressure = form.slopes(25.0, 6.0)
    along_temperature = (form.value(25.0 + step, 6.0) - form.value(25.0 - step, 6.0)) / (2 * step)
    along_pressure = (form.value(25.0, 6.0 + step) - form.value(25.0, 6.0 - step)) / (2 * step)
    assert by_temperature == pytest.approx(along_temperature, rel=1e-6)
    assert by_pressure == pytest.approx(along_pressure, rel=1e-6)


def test_a_surface_answers_arrays_as_it_answers_numbers() -> None:
    form = make_form(SURFACE)
    temperatures, pressures = np.linspace(1.0, 39.0, 23), np.linspace(6.0, 10.0, 23)
    values, slopes = form.value(temperatures, pressures), form.slopes(temperatures, pressures)
    for index in (0, 11, 22):
        state = float(temperatures[index]), float(pressures[index])
        assert values[index] == pytest.approx(form.value(*state), rel=1e-14)
        assert slopes[0][index] == pytest.approx(form.slopes(*state)[0], rel=1e-12)


def test_a_form_of_three_variables_is_the_polynomial_written_for_it() -> None:
    temperature, pressure, salinity = 13.0, 4.0, 30.0
    u, w = temperature / 20.0 - 1.0, salinity / 21.0 - 1.0
    low = math.exp(0.1 + 1.2 * u - 0.05 * u * u)
    v = 2.0 * (pressure - low) / (10.0 - low) - 1.0
    expected = sum(
        float(number) * u**i * v**j * w**k
        for i, plane in enumerate(VOLUME["coefficients"])
        for j, row in enumerate(plane)
        for k, number in enumerate(row)
    )
    assert make_form(VOLUME).value(temperature, pressure, salinity) == pytest.approx(expected, rel=1e-13)


def test_each_slope_of_three_variables_is_a_derivative() -> None:
    form, state = make_form(VOLUME), np.array([13.0, 6.0, 30.0])
    for place, slope in enumerate(form.slopes(*state)):
        step = np.zeros(3)
        step[place] = 1e-5
        assert slope == pytest.approx((form.value(*(state + step)) - form.value(*(state - step))) / 2e-5, rel=1e-6)


def test_a_sum_of_powers_is_the_equation_written_for_it() -> None:
    surface = {
        "name": "power-sum/1",
        "axes": [{"name": "temperature"}, {"name": "salinity"}],
        "terms": [["1000", "0", "0"], ["-0.2", "1", "0"], ["0.8", "0", "1"], ["-0.004", "1", "1.5"]],
    }
    form = make_form(surface)
    assert form.value(10.0, 35.0) == pytest.approx(1000.0 - 2.0 + 28.0 - 0.04 * 35.0**1.5, rel=1e-14)
    by_temperature, by_salinity = form.slopes(10.0, 35.0)
    assert by_temperature == pytest.approx(-0.2 - 0.004 * 35.0**1.5)
    assert by_salinity == pytest.approx(0.8 - 0.04 * 1.5 * 35.0**0.5)


UNDER_PRESSURE = [{"name": "temperature", "unit": "degC"}, {"name": "pressure", "unit": "MPa"}]


def test_a_quotient_asks_each_form_for_its_own_variables_and_begins_where_one_of_them_does() -> None:
    form = make_form({"name": "quotient/1", "axes": UNDER_PRESSURE, "numerator": POLYNOMIAL, "denominator": SURFACE})
    above, below = make_form(POLYNOMIAL), make_form(SURFACE)
    assert form.value(25.0, 6.0) == above.value(25.0) / below.value(25.0, 6.0)
    step = 1e-5
    along = (form.value(25.0, 6.0 + step) - form.value(25.0, 6.0 - step)) / (2 * step)
    assert form.slopes(25.0, 6.0)[1] == pytest.approx(along, rel=1e-6)
    assert form.boiling(25.0) == below.boiling(25.0)  # type: ignore[attr-defined]


def test_an_expansion_is_the_relative_slope_of_its_density_at_constant_pressure() -> None:
    form, density = make_form({"name": "expansion/1", "axes": UNDER_PRESSURE, "density": SURFACE}), make_form(SURFACE)
    assert form.value(25.0, 6.0) == -density.slopes(25.0, 6.0)[0] / density.value(25.0, 6.0)
    assert len(form.slopes(25.0, 6.0)) == 2
    assert form.boiling(25.0) == density.boiling(25.0)  # type: ignore[attr-defined]


def test_the_classical_absorption_is_stokes_formula_without_bulk_viscosity() -> None:
    form = make_form(CLASSICAL | {"axes": UNDER_PRESSURE, "sound_speed": SURFACE})
    viscosity, density, speed = make_form(BROKEN_POWERS), make_form(LINEAR), make_form(SURFACE)
    wanted = 2.0 * math.pi**2 * (4.0 / 3.0) * viscosity.value(25.0) / density.value(25.0) / speed.value(25.0, 6.0) ** 3
    # The density is on IPTS-68, a few millikelvin away.
    assert form.value(25.0, 6.0) == pytest.approx(wanted, rel=1e-5)
    assert form.boiling(25.0) == speed.boiling(25.0)  # type: ignore[attr-defined]


def test_the_classical_absorption_takes_a_kinematic_viscosity_as_it_is() -> None:
    both = make_form(CLASSICAL | {"density": CONSTANT})
    kinematic = make_form({name: part for name, part in CLASSICAL.items() if name != "density"})
    assert both.value(10.0) == pytest.approx(kinematic.value(10.0) / make_form(CONSTANT).value(10.0), rel=1e-14)


def test_the_slopes_of_the_classical_absorption_are_its_derivatives() -> None:
    form = make_form(CLASSICAL | {"axes": UNDER_PRESSURE, "sound_speed": SURFACE})
    by_temperature, by_pressure = form.slopes(25.0, 6.0)
    step = 1e-4
    warmer, colder = form.value(25.0 + step, 6.0), form.value(25.0 - step, 6.0)
    pressed, eased = form.value(25.0, 6.0 + step), form.value(25.0, 6.0 - step)
    # The values are of the order of 1e-8: an absolute tolerance would let everything pass.
    assert by_temperature == pytest.approx((warmer - colder) / (2 * step), rel=1e-6, abs=0.0)
    assert by_pressure == pytest.approx((pressed - eased) / (2 * step), rel=1e-6, abs=0.0)
