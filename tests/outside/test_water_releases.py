"""Water against figures that the releases of IAPWS print, for the rows where the state lies inside them.

The figures were seen as carried by github.com/jjgomera/iapws, test.py (commit 00d5b3a), which names table and page of
each, unless another place is named. Node values of the rows come from CoolProp, so that CoolProp is put to the printed
figures outside the rows too.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.outside.evidence import ATMOSPHERE_MPA, KELVIN, Records, steps
from tests.outside.water import Rows, rows_of_water, saturation
from tests.peers import Peer

CP = Peer("CoolProp.CoolProp")
iapws = Peer("iapws")
iapws_water = Peer("iapws._iapws")
optimize = Peer("scipy.optimize")


def water(kelvin: float, density: float) -> Any:
    state = CP.AbstractState("HEOS", "Water")
    state.update(CP.DmassT_INPUTS, density, kelvin)
    return state


def density_slopes(rows: Rows, celsius: float, megapascals: float) -> tuple[float, float]:
    """kg/m3 per kelvin and kg/m3 per pascal."""
    by_kelvin, by_megapascal = rows["density"].slopes(celsius, megapascals)
    return float(by_kelvin), float(by_megapascal) * 1e-6


# IAPWS R6-95(2018), table 7, 300 K and 996.5560 kg/m3: 0.0992418352 MPa (the last digits, imprecise by the footnote of
# the release, as a public list of checks quotes them under WATER-EOS-T300-RHO996556), cv = 4.13018112 kJ/(kg K), w =
# 1501.51914 m/s. It is the only state of the table in the region of the rows. The table has no cp; the rows give cv by
# cv = cp - T (d rho/dT)^2 / (rho^2 d rho/dp), and so are checked with their slopes.
def test_the_verification_state_at_300_k_is_met(records: Records) -> None:
    rows = rows_of_water(records)
    state = 26.85, 0.0992418352
    density = float(rows["density"].value(*state))
    by_kelvin, by_pascal = density_slopes(rows, *state)
    isochoric = float(rows["specific_heat"].value(*state)) - 300.0 * by_kelvin**2 / (density**2 * by_pascal)

    assert density == pytest.approx(996.5560, rel=2e-8)
    assert float(rows["sound_speed"].value(*state)) == pytest.approx(1501.51914, rel=5e-8)
    assert isochoric == pytest.approx(4130.18112, rel=5e-7)


# IAPWS R6-95(2018), table 7: liquid states at 300 K and 500 K. MPa, kJ/(kg K), m/s.
@pytest.mark.parametrize(
    ("kelvin", "density", "megapascals", "isochoric", "speed"),
    [
        (300.0, 1005.308, 20.0022515, 4.06798347, 1534.92501),
        (300.0, 1188.202, 700.004704, 3.46135580, 2443.57992),
        (500.0, 838.025, 10.0003858, 3.22106219, 1271.28441),
        (500.0, 1084.564, 700.000405, 3.07437693, 2412.00877),
    ],
)
def test_the_library_behind_the_node_values_gives_the_verification_states(
    kelvin: float, density: float, megapascals: float, isochoric: float, speed: float
) -> None:
    state = water(kelvin, density)

    assert state.p() == pytest.approx(megapascals * 1e6, rel=2e-8)
    assert state.cvmass() == pytest.approx(isochoric * 1e3, rel=2e-8)
    assert state.speed_sound() == pytest.approx(speed, rel=2e-8)


# IAPWS R6-95(2018), table 8: saturation at 275 K and 450 K, pressure in MPa, saturated liquid density in kg/m3.
@pytest.mark.parametrize(
    ("kelvin", "megapascals", "density"), [(275.0, 0.698451167e-3, 999.887406), (450.0, 0.932203564, 890.341250)]
)
def test_saturation_is_that_of_the_verification_table(
    records: Records, kelvin: float, megapascals: float, density: float
) -> None:
    rows = rows_of_water(records)

    assert saturation(rows, kelvin - KELVIN) == pytest.approx(megapascals, rel=2e-8)
    assert float(rows["density"].value(kelvin - KELVIN, megapascals)) == pytest.approx(density, rel=2e-8)


# IAPWS SR1-86(1992), table 1: equations of their own. MPa, MPa/K and kg/m3 at the triple point and at the normal
# boiling point, 373.1243 K. Measured: 3.6e-6, 2.7e-4 and 3.5e-6.
@pytest.mark.parametrize(
    ("kelvin", "megapascals", "slope", "density"),
    [(273.16, 0.000611657, 44.436693e-6, 999.789), (373.1243, 0.101325, 0.003616, 958.365)],
)
def test_saturation_agrees_with_the_separate_equations_of_the_supplementary_release(
    records: Records, kelvin: float, megapascals: float, slope: float, density: float
) -> None:
    rows = rows_of_water(records)
    celsius = kelvin - KELVIN

    assert saturation(rows, celsius) == pytest.approx(megapascals, rel=5e-6)
    assert float(rows["saturation_pressure"].slopes(celsius)[0]) * 1e-6 == pytest.approx(slope, rel=5e-4)
    assert float(rows["density"].value(celsius, megapascals)) == pytest.approx(density, rel=5e-6)


# IAPWS R12-08, table 4: microPa s at 298.15 K and 998 kg/m3; the pressure of that state follows from CoolProp. The
# figure is also in the tests of CoolProp itself and of half a dozen other programs.
def test_the_viscosity_of_the_verification_table_is_met(records: Records) -> None:
    megapascals = water(298.15, 998.0).p() * 1e-6

    viscosity = float(rows_of_water(records)["dynamic_viscosity"].value(25.0, megapascals))

    assert viscosity == pytest.approx(889.735100e-6, rel=2e-7)


# IAPWS R12-08, table 4: the other states of a dense liquid.
@pytest.mark.parametrize(
    ("kelvin", "density", "micropascal_seconds"),
    [(298.15, 1200.0, 1437.649467), (373.15, 1000.0, 307.883622), (433.15, 1000.0, 217.685358)],
)
def test_the_library_behind_the_node_values_gives_the_viscosities_of_the_verification_table(
    kelvin: float, density: float, micropascal_seconds: float
) -> None:
    assert water(kelvin, density).viscosity() * 1e6 == pytest.approx(micropascal_seconds, rel=2e-8)


# IAPWS SR6-08(2011), table 8, 298.15 K and 0.1 MPa: cp = 4.18144618 kJ/(kg K), 997.047013 kg/m3, w = 1496.69922 m/s,
# 889.996774 microPa s, dv/dT = 2.58054178e-7 m3/(kg K), dv/dp = -4.53803340e-13 m3/(kg Pa). Its equations are its own,
# simple ones meant to be no less accurate (iapws.org/relguide/LiquidWater.html). Measured: 3e-5, 3e-8, 4e-8, 2.9e-5,
# 3.8e-5, 1e-8.
def test_the_rows_and_their_slopes_meet_the_supplementary_release_at_25_degc(records: Records) -> None:
    rows = rows_of_water(records)
    state = 25.0, 0.1
    density = float(rows["density"].value(*state))
    by_kelvin, by_pascal = density_slopes(rows, *state)

    assert float(rows["specific_heat"].value(*state)) == pytest.approx(4181.44618, rel=5e-5)
    assert density == pytest.approx(997.047013, rel=1e-7)
    assert float(rows["sound_speed"].value(*state)) == pytest.approx(1496.69922, rel=1e-7)
    assert float(rows["dynamic_viscosity"].value(*state)) == pytest.approx(889.996774e-6, rel=5e-5)
    assert -by_kelvin / density**2 == pytest.approx(2.58054178e-7, rel=1e-4)
    assert -by_pascal / density**2 == pytest.approx(-4.53803340e-13, rel=1e-7)


# IAPWS SR6-08(2011), evaluated by the package iapws from the triple point to where water boils at 0.1 MPa. Measured:
# 2.0e-6 (speed), 6e-8 (density), 3.5e-5 (specific heat), 3.1e-5 (viscosity).
@pytest.mark.parametrize(
    ("property_id", "key", "factor", "limit"),
    [
        ("sound_speed", "w", 1.0, 4e-6),
        ("density", "rho", 1.0, 2e-7),
        ("specific_heat", "cp", 1e3, 7e-5),
        ("dynamic_viscosity", "mu", 1.0, 7e-5),
    ],
)
def test_the_rows_follow_the_supplementary_release_from_0_to_99_degc(
    records: Records, property_id: str, key: str, factor: float, limit: float
) -> None:
    row = rows_of_water(records)[property_id]

    for celsius in steps(0.01, 99.5, step=0.5):
        theirs = float(iapws_water._Liquid(celsius + KELVIN, 0.1)[key]) * factor
        assert float(row.value(celsius, 0.1)) == pytest.approx(theirs, rel=limit), f"{celsius:.2f} degC"


# IAPWS-95: water boils at 373.1243 K under 1 atm, as the normal boiling point stands in the package iapws and in other
# public programs of the formulation.
def test_water_boils_at_1_atm_at_99_974_degc(records: Records) -> None:
    assert saturation(rows_of_water(records), 373.1243 - KELVIN) == pytest.approx(ATMOSPHERE_MPA, rel=1e-6)


# IAPWS R14-08(2011), table 3: ice Ih melts at 260 K under 138.268 MPa. The freezing point of the ledger was computed
# with this function of the package.
def test_the_library_behind_the_freezing_point_gives_the_melting_pressure_of_the_release() -> None:
    assert float(iapws_water._Melting_Pressure(260, "Ih")) == pytest.approx(138.268, abs=0.0005)


# IAPWS R10-06 gives check values of ice at its normal pressure melting point, 273.152519 K. The ledger's 273.1525 K is
# rounded.
def test_the_freezing_point_is_the_normal_melting_point_of_ice(records: Records) -> None:
    assert float(records["water.freezing_point.01"]["number"]) == pytest.approx(273.152519, abs=0.00005)


# Law: ice and water are in equilibrium where their Gibbs energies are equal; IAPWS R10-06 and R6-95, in package iapws.
@pytest.mark.filterwarnings("ignore:Using extrapolated values", "ignore:Metastable ice in liquid region")
def test_at_the_freezing_point_ice_and_water_have_the_same_gibbs_energy(records: Records) -> None:
    def surplus_of_ice(kelvin: float) -> float:
        return float(iapws_water._Ice(kelvin, ATMOSPHERE_MPA)["g"]) - float(iapws.IAPWS95(T=kelvin, P=ATMOSPHERE_MPA).g)

    melting = optimize.brentq(surplus_of_ice, 273.10, 273.159, xtol=1e-7)

    assert float(records["water.freezing_point.01"]["number"]) == pytest.approx(melting, abs=0.00005)
