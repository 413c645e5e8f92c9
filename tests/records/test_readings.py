"""A reading as numbers, from its plain form."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.forms.states import StatePoint
from refdb.records.readings import curve_spec, function_of_reading, own_points, single_value, stated_uncertainty
from refdb.units import units

SPEED = units().find("m/s", "speed")


def _scalar(number: str, unit: str, **more: Any) -> dict[str, Any]:
    return {"kind": "scalar", "number": number, "unit": unit, **more}


def _equation(unit: str, low: str, high: str, **variable: Any) -> dict[str, Any]:
    return {
        "kind": "equation",
        "form": "polynomial/1",
        "variable": {"name": "temperature", "unit": unit, **variable},
        "coefficients": {"c0": "0", "c1": "1"},
        "interval": {"low": low, "high": high, "unit": unit},
    }


def test_a_number_is_read_in_the_unit_asked_for_with_its_rounding() -> None:
    read = single_value(_scalar("1 000", "ft/s"), SPEED, units())
    assert read.value == pytest.approx(304.8)
    assert read.rounding == pytest.approx(0.5 * 0.3048)
    assert (read.half_range, read.stated) == (0.0, None)


def test_a_range_is_read_as_its_middle_and_half_its_width() -> None:
    read = single_value({"kind": "range", "low": "3.5", "high": "5.5", "unit": "km/s"}, SPEED, units())
    assert (read.value, read.half_range, read.rounding) == (4500.0, 1000.0, 50.0)


@pytest.mark.parametrize(
    ("number", "unit", "kind", "size"),
    [
        ("2", "m/s", "standard", 2.0),
        ("2", "m/s", "expanded", 1.0),
        ("1", "%", "expanded", 7.5),
        ("0.3", "%", "standard", 4.5),
        ("2", "m/s", "maximum error", None),
        ("2", "m/s", "not stated", None),
    ],
)
def test_only_a_standard_or_expanded_uncertainty_is_taken_as_stated(
    number: str, unit: str, kind: str, size: float | None
) -> None:
    stated = {"stated_uncertainty": {"number": number, "unit": unit, "kind": kind}}
    assert single_value(_scalar("1500", "m/s", **stated), SPEED, units()).stated == size
    assert stated_uncertainty({}, 1500.0, SPEED, units()) is None


def test_an_equation_takes_the_temperature_in_its_own_unit_and_scale() -> None:
    kelvin = function_of_reading(_equation("K", "273.15", "373.15"), units())
    assert kelvin.value(StatePoint(20.0)) == pytest.approx(293.15)
    assert kelvin.spans["temperature"] == pytest.approx((0.0, 100.0))
    old_scale = function_of_reading(_equation("degC", "0", "100", scale="IPTS-68"), units())
    assert old_scale.value(StatePoint(50.0)) == pytest.approx(50.012)


def test_an_equation_of_several_variables_counts_a_gauge_pressure_from_1_atm() -> None:
    surface = {
        "kind": "surface",
        "axes": [
            {"name": "temperature", "unit": "degC", "low": "0", "high": "40"},
            {"name": "pressure", "unit": "bar", "gauge": True, "low": "0", "high": "1000"},
            {"name": "salinity", "unit": "g/kg", "low": "0", "high": "42"},
        ],
        "terms": [["1400", "0", "0", "0"], ["1", "1", "0", "0"], ["2", "0", "1", "0"], ["3", "0", "0", "1"]],
    }
    curve = function_of_reading(surface, units())
    state = StatePoint(10.0, 101325.0 + 5e5, 35.0)
    assert curve.value(state) == pytest.approx(1400.0 + 10.0 + 2.0 * 5.0 + 3.0 * 35.0)
    assert curve.spans["pressure"] == pytest.approx((101325.0, 101325.0 + 1e8))


def test_a_table_knows_where_its_points_are_on_the_scale_of_today() -> None:
    table = {
        "kind": "table",
        "basis": "measured",
        "variable": {"name": "temperature", "unit": "degC", "scale": "IPTS-68"},
        "points": [["0", "1402"], ["50.012", "1542"]],
    }
    curve = function_of_reading(table, units())
    assert own_points(table, units()) == {"temperature": pytest.approx([0.0, 50.0])}
    assert curve.value(StatePoint(50.0)) == pytest.approx(1542.0)


def test_computed_points_are_joined_by_a_spline_and_measured_ones_without_overshoot() -> None:
    points = [["0", "0"], ["1", "0"], ["2", "1"], ["3", "1"]]
    table = {"kind": "table", "variable": {"name": "temperature", "unit": "degC"}, "points": points}
    computed, measured = (function_of_reading({**table, "basis": basis}, units()) for basis in ("computed", "measured"))
    halves = [0.5, 1.5, 2.5]
    assert min(computed.value(StatePoint(t)) for t in halves) < 0.0
    assert [measured.value(StatePoint(t)) for t in halves] == pytest.approx([0.0, 0.5, 1.0])
    assert curve_spec({**table, "basis": "measured"})["points"][0] == ["0", "0", "0"]
