"""Sea water, against libraries that were not its source, published check values, and its own library off the nodes.

The node values of speed, density, heat capacity and freezing point come from gsw, those of viscosity from the
coefficients of a printed correlation.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from refdb.forms import make_form
from refdb.forms.scales import to_scale
from tests.peers import Peer
from tests.rows import each

CP = Peer("CoolProp.CoolProp")
gsw = Peer("gsw")
iapws = Peer("iapws")

Records = dict[str, dict[str, Any]]

REFERENCE_SALINITY = 35.16504
"""g/kg, of standard sea water: TEOS-10, as in iapws and gsw."""

STATES = list(itertools.product([0.0, 3.3, 11.0, 19.0, 27.7, 39.0], [0.101325, 1.0, 4.4, 10.0], [0.5, 8.0, 21.0, 36.0]))
"""Temperature in degC, pressure in MPa, absolute salinity in g/kg: none of them a node."""


def _value(records: Records, property_id: str, *state: float) -> float:
    return float(make_form(records[f"seawater.{property_id}"]["form"]).value(*state))


def _decibars(megapascals: float) -> float:
    return (megapascals * 1e6 - 101325.0) / 1e4


@each(("celsius", "megapascals", "salinity"), STATES)
def test_the_joined_nodes_follow_teos_10_through_gsw(
    records: Records, celsius: float, megapascals: float, salinity: float
) -> None:
    state = celsius, megapascals, salinity
    theirs = salinity, celsius, _decibars(megapascals)
    assert _value(records, "sound_speed", *state) == pytest.approx(float(gsw.sound_speed_t_exact(*theirs)), abs=0.03)
    assert _value(records, "density", *state) == pytest.approx(float(gsw.rho_t_exact(*theirs)), rel=2e-5)
    assert _value(records, "specific_heat", *state) == pytest.approx(float(gsw.cp_t_exact(*theirs)), rel=5e-4)


# IAPWS R13-08, programmed in iapws apart from gsw: the same Gibbs function, and water after IAPWS-95.
@each(("celsius", "megapascals", "salinity"), STATES[::5])
def test_an_independent_program_of_the_gibbs_function_agrees(
    records: Records, celsius: float, megapascals: float, salinity: float
) -> None:
    theirs = iapws.SeaWater(T=celsius + 273.15, P=megapascals, S=salinity / 1000.0)
    state = celsius, megapascals, salinity
    assert _value(records, "sound_speed", *state) == pytest.approx(theirs.w, abs=0.05)
    assert _value(records, "density", *state) == pytest.approx(theirs.rho, rel=2e-5)
    assert _value(records, "specific_heat", *state) == pytest.approx(1000.0 * theirs.cp, rel=5e-4)


# IAPWS R13-08, table 8a, as repeated in the tests of iapws (jjgomera/iapws, test.py): at 273.15 K and 0.101325 MPa.
def test_the_check_value_of_the_release_is_met(records: Records) -> None:
    assert _value(records, "sound_speed", 0.0, 0.101325, REFERENCE_SALINITY) == pytest.approx(1449.00246, abs=0.03)


# UNESCO Technical Papers in Marine Science 44: the check value of the function SVEL, S = 40, 40 degC, 10 000 dbar.
def test_the_equation_of_chen_and_millero_gives_the_check_value_of_the_report(records: Records) -> None:
    reading = records["seawater.sound_speed.02"]
    form = make_form({"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]})
    for check in reading["check_values"]:
        found = form.value(*map(float, check["at"]))
        assert found == pytest.approx(float(check["value"]["number"]), abs=float(check["tolerance"]))


# UNESCO 44, page 22, as repeated in the documentation of the Python library seawater 3.3.5 (dens0): on IPTS-68.
@pytest.mark.parametrize(
    ("salinity", "celsius", "density"),
    [(0.0, 0.0, 999.842594), (0.0, 30.0, 995.65113374), (35.0, 0.0, 1028.10633141), (35.0, 30.0, 1021.72863949)],
)
def test_the_one_atmosphere_equation_gives_the_densities_of_the_report(
    records: Records, salinity: float, celsius: float, density: float
) -> None:
    reading = records["seawater.density.02"]
    form = make_form({"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]})
    assert form.value(celsius, salinity) == pytest.approx(density, abs=1e-6)


# Pond and Pickard, Introductory Dynamical Oceanography, 2nd edition 1986, as repeated in the documentation of the
# Python library seawater 3.3.5 (cp): at 0 dbar, on IPTS-68.
@pytest.mark.parametrize(
    ("salinity", "celsius", "heat"),
    [(25.0, 0.0, 4048.4405375), (35.0, 0.0, 3986.53309476), (25.0, 40.0, 4051.2244911), (35.0, 20.0, 3993.85441786)],
)
def test_the_heat_capacities_of_a_textbook_are_met(
    records: Records, salinity: float, celsius: float, heat: float
) -> None:
    reading = records["seawater.specific_heat.02"]
    form = make_form({"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]})
    assert form.value(celsius, salinity) == pytest.approx(heat, abs=1e-5)
    absolute = salinity * REFERENCE_SALINITY / 35.0
    # Three decades of oceanography apart: 0.1 %.
    assert _value(records, "specific_heat", celsius, 0.101325, absolute) == pytest.approx(heat, rel=1e-3)


# Del Grosso (1974), refitted to ITS-90 by Wong and Zhu (1995): a standard error of 0.05 m/s against his measurements.
@each(("celsius", "practical"), itertools.product([0.0, 10.0, 20.0, 30.0], [30.0, 35.0, 40.0]))
def test_the_speed_lies_where_del_grosso_measured_it(records: Records, celsius: float, practical: float) -> None:
    reading = records["seawater.sound_speed.03"]
    form = make_form({"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]})
    ours = _value(records, "sound_speed", celsius, 0.101325, practical * REFERENCE_SALINITY / 35.0)
    assert ours == pytest.approx(form.value(to_scale(celsius, "ITS-90"), 0.0, practical), abs=0.1)


# CoolProp holds a fit of its own to the correlation of Sharqawy, Lienhard and Zubair (2010): they say 1.5 %.
@each(("celsius", "salinity"), itertools.product([0.5, 12.0, 25.0, 60.0, 90.0], [1.0, 20.0, 35.0, 80.0, 115.0]))
def test_the_viscosity_agrees_with_another_fit_to_the_same_correlation(
    records: Records, celsius: float, salinity: float
) -> None:
    brine = f"INCOMP::MITSW[{salinity / 1000.0}]"
    theirs = CP.PropsSI("V", "T", celsius + 273.15, "P", 1e6, brine)
    assert _value(records, "dynamic_viscosity", celsius, salinity) == pytest.approx(theirs, rel=1.5e-2)


# IAPWS R12-08, as coded in CoolProp: water without salt.
@pytest.mark.parametrize("celsius", [0.5, 12.0, 25.0, 60.0, 90.0])
def test_the_viscosity_without_salt_is_that_of_water(records: Records, celsius: float) -> None:
    water = CP.PropsSI("V", "T", celsius + 273.15, "P", 101325.0, "Water")
    assert _value(records, "dynamic_viscosity", celsius, 0.0) == pytest.approx(water, rel=5e-3)


# From memory, of oceanography's tables: sea water at 20 degC and 35 g/kg is about 1.08 mPa.s.
def test_the_viscosity_at_20_degc_is_that_of_the_tables(records: Records) -> None:
    assert _value(records, "dynamic_viscosity", 20.0, 35.0) == pytest.approx(1.08e-3, rel=1e-2)


# gsw, freezing point of air-free sea water; -1.92 degC for standard sea water at the surface is common knowledge.
def test_the_freezing_point_follows_gsw_and_is_near_minus_1_9(records: Records) -> None:
    for salinity, megapascals in itertools.product([3.0, 17.0, 35.0, 41.0], [0.101325, 2.0, 9.0]):
        theirs = float(gsw.t_freezing(salinity, _decibars(megapascals), 0.0))
        assert _value(records, "freezing_point", salinity, megapascals) == pytest.approx(theirs, abs=1e-3)
    assert _value(records, "freezing_point", REFERENCE_SALINITY, 0.101325) == pytest.approx(-1.92, abs=0.01)


def test_fresh_sea_water_is_water(records: Records) -> None:
    for celsius in (1.0, 15.0, 38.0):
        for property_id in ("sound_speed", "density", "specific_heat"):
            water = make_form(records[f"water.{property_id}"]["form"]).value(celsius, 0.101325)
            assert _value(records, property_id, celsius, 0.101325, 0.0) == pytest.approx(water, rel=1e-4)


def test_slopes_are_derivatives_and_every_property_is_smooth(records: Records) -> None:
    for property_id in ("sound_speed", "density", "specific_heat"):
        form = make_form(records[f"seawater.{property_id}"]["form"])
        state = np.array([17.0, 3.0, 33.0])
        for place, slope in enumerate(form.slopes(*state)):
            step = np.zeros(3)
            step[place] = 1e-4
            difference = (form.value(*(state + step)) - form.value(*(state - step))) / 2e-4
            assert slope == pytest.approx(difference, rel=1e-5)
