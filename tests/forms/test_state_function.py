"""A form as a function of states: its axes, where it holds, its guards and its uncertainty, in numbers alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from refdb.constants import KELVIN_AT_0_CELSIUS, STANDARD_ATMOSPHERE
from refdb.forms.state_function import StateFunction, Uncertainty, VapourBound
from refdb.forms.states import Interval, StateAxis, StatePoint

LINE = {"name": "polynomial/1", "coefficients": {"c0": "0", "c1": "1"}}
KELVIN = StateAxis("temperature", zero=KELVIN_AT_0_CELSIUS)
CELSIUS = StateAxis("temperature")
MEGAPASCAL = StateAxis("pressure", per_unit=1e6)
WARM = {"temperature": Interval.between(0.0, 100.0)}

# The saturation pressure of an invented liquid in MPa: its logarithm rises from -1 at 0 degC to 1 at 100 degC.
SATURATION = {
    "name": "scaled-polynomial/1",
    "of": "logarithm",
    "axes": [{"name": "temperature", "unit": "degC", "low": "0", "high": "100"}],
    "coefficients": ["0", "1"],
}
UNDER_PRESSURE = {
    "name": "scaled-polynomial/1",
    "of": "value",
    "axes": [
        {"name": "temperature", "unit": "degC", "low": "0", "high": "100"},
        {"name": "pressure", "unit": "MPa", "low": SATURATION, "high": "10"},
    ],
    "coefficients": [["1000"], ["10"]],
}


def _liquid(**more: Any) -> StateFunction:
    intervals = WARM | {"pressure": Interval.between(0.0, 1e7)}
    return StateFunction(UNDER_PRESSURE, [CELSIUS, MEGAPASCAL], intervals=intervals, **more)


@pytest.mark.parametrize(
    ("axis", "state", "argument"),
    [
        (KELVIN, StatePoint(20.0), 293.15),
        (
            StateAxis("temperature", per_unit=1.0 / 1.8, origin=459.67 / 1.8, zero=KELVIN_AT_0_CELSIUS),
            StatePoint(100.0),
            212.0,
        ),
        (StateAxis("temperature", scale="IPTS-68"), StatePoint(50.0), 50.012),
        (StateAxis("pressure", per_unit=1e5, origin=STANDARD_ATMOSPHERE), StatePoint(pascals=601325.0), 5.0),
        (StateAxis("salinity", per_unit=1000.0), StatePoint(salinity=35.0), 0.035),
    ],
)
def test_an_argument_has_the_unit_the_scale_and_the_origin_of_its_axis(
    axis: StateAxis, state: StatePoint, argument: float
) -> None:
    line = StateFunction(LINE, [axis])
    assert line.value(state) == pytest.approx(argument, rel=1e-12)
    held = dict(state.parts())[axis.name]
    assert axis.held(argument) == pytest.approx(held, rel=1e-12)
    step = 1e-3 * abs(held)
    nudged = axis.argument(held + step) - axis.argument(held - step)
    assert line.slopes(state) == {axis.name: pytest.approx(nudged / (2.0 * step), rel=1e-9)}


def test_numbers_and_arrays_give_the_same_values_and_breaches() -> None:
    function = _liquid(uncertainty=Uncertainty(0.1, in_percent=True))
    celsius = np.array([-5.0, 20.0, 99.0, 120.0])
    together = list(function.breaches(StatePoint(celsius, 1e6), 1e6))
    for place, single in enumerate(celsius.tolist()):
        state = StatePoint(single, 1e6)
        broken = [breach.kind for breach in function.breaches(state, 1e6) if breach.first() is not None]
        assert broken == [b.kind for b in together if np.broadcast_to(b.where, celsius.shape)[place]]
        value = function.value(StatePoint(celsius, 1e6))[place]
        assert function.value(state) == pytest.approx(value, rel=1e-14)
        assert function.standard_uncertainty(value, state) == pytest.approx(0.001 * value)


def test_a_state_may_miss_a_bound_by_rounding_and_by_no_more() -> None:
    function = StateFunction(LINE, [CELSIUS], intervals=WARM)
    assert [b.first() for b in function.breaches(StatePoint(100.0 + 5e-8), None)] == [None]
    assert [b.first() for b in function.breaches(StatePoint(100.0 + 5e-7), None)] == [0]


def test_a_liquid_below_its_saturation_pressure_boils_and_is_raised_to_just_above_it() -> None:
    function = _liquid()
    cold, hot = StatePoint(0.0, 1e5), StatePoint(100.0, 1e5)
    # e^-1 and e MPa.
    assert function.saturation_pressure(100.0) == pytest.approx(2.718281828e6)
    (boils,) = [breach for breach in function.breaches(hot, 1e5) if breach.where]
    assert (boils.kind, boils.part, boils.held) == ("boils", "pressure", 100.0)
    assert boils.limit == pytest.approx(2.718281828e6)
    raised = function.liquid_at(hot)
    assert not any(breach.where for breach in function.breaches(raised, 1e5))
    assert function.liquid_at(cold).pascals == pytest.approx(0.3678794412e6)
    assert function.liquid_at(StatePoint(20.0, 5e6)) == StatePoint(20.0, 5e6)


def test_without_a_pressure_it_is_1_atm_or_saturation_for_a_liquefied_gas() -> None:
    assert _liquid().usual_pressure(100.0) == STANDARD_ATMOSPHERE
    liquefied = _liquid(at_saturation=True)
    assert liquefied.usual_pressure(100.0) == pytest.approx(2.718281828e6)
    assert liquefied.usual_pressure(np.array([50.0, 100.0])) == pytest.approx([1e6, 2.718281828e6])
    # Outside the range nothing is known of saturation.
    assert liquefied.usual_pressure(150.0) == STANDARD_ATMOSPHERE


def test_a_solution_is_frozen_below_the_freezing_point_at_its_strength() -> None:
    freezing = StateFunction({"name": "power-sum/1", "axes": [{"name": "strength"}], "terms": [["-40", "1"]]},
                             [StateAxis("strength")])  # fmt: skip
    wide = {"temperature": Interval.between(-50.0, 100.0)}
    function = StateFunction(LINE, [CELSIUS], intervals=wide, freezing=freezing)
    told = [(b.kind, b.where, b.limit) for b in function.breaches(StatePoint(-15.0, strength=0.25), None) if b.where]
    assert told == [("frozen", True, pytest.approx(-10.0))]
    assert not any(b.where for b in function.breaches(StatePoint(-15.0, strength=0.5), None))


@pytest.mark.parametrize(("most", "given", "kinds"), [
    (None, None, ["boils"]), (None, 3e6, []), (STANDARD_ATMOSPHERE, None, []), (STANDARD_ATMOSPHERE, 5e4, ["may boil"]),
])  # fmt: skip
def test_a_vapour_pressure_beside_a_form_without_pressure_tells_where_it_boils(
    most: float | None, given: float | None, kinds: list[str]
) -> None:
    curve = StateFunction(SATURATION | {"coefficients": ["13.8", "1"]}, [CELSIUS])
    function = StateFunction(LINE, [CELSIUS], intervals=WARM, vapour=VapourBound(curve, 0.0, 100.0, most))
    broken = [breach.kind for breach in function.breaches(StatePoint(80.0), given) if breach.where]
    assert broken == kinds


def test_an_uncertainty_grows_with_the_pressure_above_1_atm() -> None:
    growing = Uncertainty(3.0, per_megapascal=2.0)
    assert growing.of(1000.0, StatePoint(pascals=STANDARD_ATMOSPHERE + 2e6)) == pytest.approx(5.0)
    assert growing.of(1000.0, StatePoint()) == 3.0
    assert Uncertainty(0.5, in_percent=True).of(-200.0, StatePoint()) == pytest.approx(1.0)


def test_an_uncertainty_grows_with_the_kelvin_from_20_degc() -> None:
    growing = Uncertainty(3.0, per_kelvin=0.1)
    assert growing.of(1000.0, StatePoint(60.0)) == pytest.approx(5.0)
    assert growing.of(1000.0, StatePoint(-20.0)) == pytest.approx(5.0)
    assert growing.of(1000.0, StatePoint(20.0)) == 3.0


def test_a_constant_says_nothing_of_its_slope() -> None:
    function = StateFunction({"name": "constant/1", "coefficients": {"c0": "5"}}, [CELSIUS])
    assert function.slopes(StatePoint(20.0)) == {}
