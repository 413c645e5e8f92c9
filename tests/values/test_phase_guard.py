"""A liquid is answered where it is liquid: water from the triple point to 200 degC, from saturation to 10 MPa."""

from __future__ import annotations

import numpy as np
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.problems import MissingState, OutsideRange
from refdb.units import units


def test_water_is_answered_under_pressure(pending: Database) -> None:
    answer = pending.value("water", "sound_speed", temperature="120 degC", pressure="5 bar(g)")
    # IAPWS-95 through CoolProp 8.0.0 at 601 325 Pa: 1520.84 m/s.
    assert answer.magnitude == pytest.approx(1520.84, abs=0.01)
    assert answer.valid_range["pressure"] == ["saturation", "10 MPa"]
    assert set(answer.slopes) == {"temperature", "pressure"}
    assert answer.document()["slope"]["pressure"]["unit"] == "m/s/Pa"


def test_hot_water_without_a_pressure_is_refused_with_the_pressure_needed(pending: Database) -> None:
    with pytest.raises(MissingState, match=r"water at 120 degC is liquid only above 198\.7 kPa absolute") as caught:
        pending.value("water", "sound_speed", temperature="120 degC")
    assert caught.value.extensions["parameter"] == "pressure"


def test_a_pressure_below_saturation_is_refused_with_the_pressure_needed(pending: Database) -> None:
    with pytest.raises(OutsideRange, match=r"198\.7 kPa absolute"):
        pending.value("water", "density", temperature="120 degC", pressure="1.5 bar(a)")


def test_gauge_and_absolute_pressure_are_told_apart(pending: Database) -> None:
    gauge = pending.value("water", "density", temperature="120 degC", pressure="1 bar(g)")
    assert gauge.pascals == 201325.0
    with pytest.raises(OutsideRange):
        pending.value("water", "density", temperature="120 degC", pressure="1 bar(a)")


def test_cold_water_is_refused_with_its_freezing_point(pending: Database) -> None:
    with pytest.raises(OutsideRange, match=r"water freezes at 0\.0025 degC at 1 atm"):
        pending.value("water", "sound_speed", temperature="-5 degC")


def test_beyond_the_grid_is_refused(pending: Database) -> None:
    with pytest.raises(OutsideRange, match="200 degC"):
        pending.value("water", "sound_speed", temperature="201 degC", pressure="5 MPa")
    with pytest.raises(OutsideRange, match="10 MPa"):
        pending.value("water", "sound_speed", temperature="20 degC", pressure="11 MPa")


@pytest.mark.parametrize("property_id", ["sound_speed", "density", "dynamic_viscosity", "specific_heat"])
def test_slopes_agree_with_finite_differences(pending: Database, property_id: str) -> None:
    def at(celsius: float, kilopascals: float) -> float:
        state = {"temperature": f"{celsius!r} degC", "pressure": f"{kilopascals!r} kPa"}
        return float(pending.value("water", property_id, **state).magnitude)

    slopes = pending.value("water", property_id, temperature="150 degC", pressure="3000 kPa").slopes
    assert slopes["temperature"] == pytest.approx((at(150.05, 3000.0) - at(149.95, 3000.0)) / 0.1, rel=1e-4)
    assert slopes["pressure"] == pytest.approx((at(150.0, 3010.0) - at(150.0, 2990.0)) / 20000.0, rel=1e-3)


def test_arrays_are_guarded_element_by_element(pending: Database) -> None:
    celsius = units().find("degC")
    warm = Quantity(np.array([20.0, 60.0, 99.0]), celsius)
    assert len(pending.value("water", "sound_speed", temperature=warm).magnitude) == 3
    with pytest.raises(MissingState, match="120 degC"):
        pending.value("water", "sound_speed", temperature=Quantity(np.array([20.0, 120.0]), celsius))


def test_the_uncertainty_of_sound_speed_grows_with_pressure(pending: Database) -> None:
    def relative(pressure: str) -> float:
        answer = pending.value("water", "sound_speed", temperature="20 degC", pressure=pressure)
        return float(answer.standard_uncertainty.magnitude / answer.magnitude)

    assert relative("1 atm") == pytest.approx(3e-5, rel=1e-6)
    assert relative("5101.325 kPa") == pytest.approx(np.hypot(3e-5, 5 * 3.3e-5), rel=1e-6)


def test_the_first_release_answers_as_before(pending: Database) -> None:
    old = pending.value("water", "sound_speed", temperature="20 degC", release="2026r1")
    assert old.magnitude == pytest.approx(1482.37954675, abs=1e-8)
    assert old.valid_range["pressure"] == ["90 kPa", "110 kPa"]


def test_a_liquefied_gas_without_a_pressure_is_answered_at_saturation_and_says_so(pending: Database) -> None:
    answer = pending.value("r-134a", "sound_speed", temperature="20 degC")
    # Saturation of R-134a at 20 degC: 5.717 bar by CoolProp 8.0.0.
    assert answer.pascals == pytest.approx(571.7e3, rel=1e-3)
    assert answer.assumptions == ("pressure not given: saturation, 5.717 bar absolute",)


def test_a_liquid_that_does_not_boil_at_1_atm_is_answered_there(pending: Database) -> None:
    answer = pending.value("toluene", "density", temperature="20 degC")
    assert answer.pascals == 101325.0
    assert answer.assumptions == ("pressure not given: 1 atm",)


def test_a_liquefied_gas_at_a_pressure_that_lets_it_boil_is_refused(pending: Database) -> None:
    with pytest.raises(OutsideRange, match=r"r-134a at 20 degC is liquid only above 571\.7 kPa absolute"):
        pending.value("r-134a", "sound_speed", temperature="20 degC", pressure="1 atm")


def test_many_states_of_a_liquefied_gas_are_at_saturation_where_that_is_higher(pending: Database) -> None:
    celsius = Quantity(np.array([-40.0, 20.0, 500.0]), units().find("degC"))
    part = pending.batch("r-134a", ["density"], state={"temperature": celsius}).parts[0]
    single = [pending.value("r-134a", "density", temperature=f"{t} degC").magnitude for t in (-40, 20)]
    assert part.value[:2] == pytest.approx(single, rel=1e-12)
    assert np.isnan(part.value[2])
    assert part.each.assumptions == ("pressure not given: 1 atm, or saturation where that is higher",)


def test_a_liquefied_gas_too_hot_to_be_liquid_is_refused_with_its_range(pending: Database) -> None:
    with pytest.raises(OutsideRange, match=r"r-134a\.density is valid from -75 degC to 63 degC"):
        pending.value("r-134a", "density", temperature="500 degC")


def test_what_a_row_warns_of_stands_in_the_answer(pending: Database) -> None:
    (warning,) = pending.value("r-410a", "density", temperature="20 degC").document()["warnings"]
    assert "bubble point" in warning
