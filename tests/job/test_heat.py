"""Heat: the coefficient as an integral over the rows, its signs, and a pair of temperatures that err together."""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from refdb.job import work_step
from refdb.job.flow.heat import mean_specific_heat
from refdb.problems import BadParameter
from tests.job.conftest import Changed

CIRCUIT = {"supply": "45 degC", "return": "30 degC", "meter_in": "supply"}


def test_the_mean_of_a_curve_is_its_integral() -> None:
    """The mean of T^4 from 300 to 350 is (350^5 - 300^5) / (5 x 50)."""
    expected = (350.0**5 - 300.0**5) / 250.0
    assert mean_specific_heat(lambda kelvin: kelvin**4, 350.0, 300.0) == pytest.approx(expected, rel=1e-12)
    assert mean_specific_heat(lambda kelvin: kelvin**4, 300.0, 350.0) == pytest.approx(expected, rel=1e-12)


def test_the_power_is_flow_times_coefficient_times_difference(database: Database, changed: Changed) -> None:
    told = work_step("heat", changed(heat=CIRCUIT), database)["heat"]
    expected = 150.0 / 3600.0 * told["heat_coefficient"]["magnitude"] * 1e3 * 15.0
    assert told["power"]["magnitude"] == pytest.approx(expected, rel=1e-9)
    assert told["energy_per_volume"]["magnitude"] == pytest.approx(told["power"]["magnitude"] / 150.0, rel=1e-9)


def test_cooling_is_below_zero_and_heating_above(database: Database, changed: Changed) -> None:
    heating = work_step("heat", changed(heat=CIRCUIT), database)["heat"]
    circuit = {"supply": "30 degC", "return": "45 degC", "meter_in": "return", "service": "cooling"}
    cooling = work_step("heat", changed(heat=circuit), database)["heat"]
    assert (heating["service"], cooling["service"]) == ("heating", "cooling")
    assert cooling["power"]["magnitude"] == pytest.approx(-heating["power"]["magnitude"], rel=1e-9)
    assert cooling["standard_uncertainty"]["magnitude"] > 0.0
    assert "takes up" in cooling["text"]


@pytest.mark.parametrize("correlation", [0.0, 0.8, 1.0])
def test_what_a_pair_errs_together_leaves_the_difference(
    database: Database, changed: Changed, correlation: float
) -> None:
    circuit = CIRCUIT | {"supply_uncertainty": "0.2 K", "return_uncertainty": "0.2 K", "correlation": correlation}
    told = work_step("heat", changed(heat=circuit), database)["heat"]
    expected = 0.2 * math.sqrt(2.0 * (1.0 - correlation))
    assert told["uncertainty_of_difference"]["magnitude"] == pytest.approx(expected, abs=1e-9)


def test_a_matched_pair_makes_the_heat_better_known(database: Database, changed: Changed) -> None:
    loose, matched = (
        work_step("heat", changed(heat=CIRCUIT | {"correlation": each}), database)["heat"] for each in (0.0, 0.9)
    )
    assert matched["standard_uncertainty"]["magnitude"] < loose["standard_uncertainty"]["magnitude"]


def test_a_mixture_is_outside_the_standard_and_says_so(database: Database, changed: Changed) -> None:
    liquid = {"substance": "propylene-glycol-water", "strength": "30 % mass", "sound_speed": "1620 m/s"}
    job = changed(liquid=liquid, heat=CIRCUIT)
    told = work_step("heat", job, database)["heat"]
    assert "for water only" in told["standard"]
    assert 3.7 < told["heat_coefficient"]["magnitude"] < 4.0


@pytest.mark.parametrize(
    ("circuit", "field"),
    [
        ({"supply": "30 degC", "return": "45 degC", "meter_in": "return", "service": "heating"}, "heat.service"),
        ({"supply": "45 degC", "return": "45 degC", "meter_in": "return"}, "heat.supply"),
        ({"supply": "70 degC", "return": "30 degC", "meter_in": "supply"}, "heat.meter_in"),
    ],
)
def test_a_circuit_that_contradicts_itself_is_refused_by_name(
    database: Database, changed: Changed, circuit: dict[str, str], field: str
) -> None:
    with pytest.raises(BadParameter, match=f"^{field}: "):
        work_step("heat", changed(heat=circuit), database)
