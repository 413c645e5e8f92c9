"""Each form: its values, its slope against finite differences, and one kernel for a number and an array."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from refdb.forms import FORMS, make_form
from refdb.forms.scales import to_scale

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
SPECS = [CONSTANT, LINEAR, POLYNOMIAL, TABLE]


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
    ],
)
def test_a_form_gives_the_value_written_for_it(spec: dict[str, Any], x: float, expected: float) -> None:
    assert make_form(spec).value(x) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec["name"])
def test_a_slope_is_the_derivative(spec: dict[str, Any]) -> None:
    form, step = make_form(spec), 1e-5
    for x in (0.5, 5.0, 17.3, 33.0):
        difference = (form.value(x + step) - form.value(x - step)) / (2 * step)
        assert form.slope(x) == pytest.approx(difference, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("spec", SPECS, ids=lambda spec: spec["name"])
def test_an_array_is_answered_element_by_element_as_single_numbers_are(spec: dict[str, Any]) -> None:
    form = make_form(spec)
    xs = np.linspace(0.0, 40.0, 57)
    assert list(form.value(xs)) == [form.value(float(x)) for x in xs]
    assert list(form.slope(xs)) == [form.slope(float(x)) for x in xs]


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
