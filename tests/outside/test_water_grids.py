"""Water from the triple point to 200 degC and 10 MPa: the rows that follow grids, against libraries not their source.

The node values were computed with CoolProp. Here they meet iapws (IAPWS-95 and the 2008 viscosity, programmed apart
from CoolProp), chemicals (a third program of IAPWS-95 and of the viscosity), and figures of the releases themselves.
"""

from __future__ import annotations

import csv
import random
from typing import Any

import CoolProp.CoolProp as CP  # noqa: N817 - the name its manual uses
import pytest
from chemicals import iapws95_rho, mu_IAPWS
from iapws import IAPWS95

from refdb.forms import make_form
from tests.conftest import PROJECT

Records = dict[str, dict[str, Any]]

# IAPWS R6-95 and R12-08 leave the joining as the only difference: 0.002 % for speed and density, 0.05 % for the others.
LIMITS = {"sound_speed": 2e-5, "density": 2e-5, "specific_heat": 5e-4, "dynamic_viscosity": 5e-4}
STATES = 150


def _states(records: Records) -> list[tuple[float, float]]:
    """Random temperatures in degC with pressures in MPa between saturation and 10 MPa."""
    chance = random.Random(1995)  # noqa: S311 - a seeded choice of states, no secret
    saturation = make_form(records["water.saturation_pressure"]["form"])
    states = []
    for _ in range(STATES):
        celsius = chance.uniform(0.02, 199.9)
        low = float(saturation.value(celsius)) * 1e-6
        states.append((celsius, low * 1.0001 + chance.random() * (10.0 - low * 1.0001)))
    return states


def _value(records: Records, property_id: str, celsius: float, megapascals: float) -> float:
    return float(make_form(records[f"water.{property_id}"]["form"]).value(celsius, megapascals))


def test_random_states_agree_with_iapws(records: Records) -> None:
    for celsius, megapascals in _states(records):
        water = IAPWS95(T=celsius + 273.15, P=megapascals)
        theirs = {
            "sound_speed": water.w,
            "density": water.rho,
            "specific_heat": 1000.0 * water.cp,
            "dynamic_viscosity": water.mu,
        }
        for property_id, limit in LIMITS.items():
            ours = _value(records, property_id, celsius, megapascals)
            assert ours == pytest.approx(theirs[property_id], rel=limit), (property_id, celsius, megapascals)


def test_random_states_agree_with_chemicals(records: Records) -> None:
    for celsius, megapascals in _states(records):
        density = float(iapws95_rho(celsius + 273.15, megapascals * 1e6))
        viscosity = mu_IAPWS(celsius + 273.15, density)
        assert _value(records, "density", celsius, megapascals) == pytest.approx(density, rel=LIMITS["density"])
        assert _value(records, "dynamic_viscosity", celsius, megapascals) == pytest.approx(viscosity, rel=5e-4)


# IAPWS R6-95(2018), table 8: saturation at 275 K and 450 K, pressure in MPa, saturated liquid density in kg/m3; the
# figures are from memory of the release.
@pytest.mark.parametrize(
    ("kelvin", "megapascals", "density"), [(275.0, 0.698451167e-3, 999.887406), (450.0, 0.932203564, 890.341250)]
)
def test_saturation_is_that_of_the_verification_table(
    records: Records, kelvin: float, megapascals: float, density: float
) -> None:
    saturation = float(make_form(records["water.saturation_pressure"]["form"]).value(kelvin - 273.15)) * 1e-6
    assert saturation == pytest.approx(megapascals, rel=2e-8)
    assert _value(records, "density", kelvin - 273.15, megapascals) == pytest.approx(density, rel=2e-7)


# IAPWS R6-95(2018), table 7: at 300 K and 996.5560 kg/m3 w is 1501.51914 m/s (as quoted in the tests of the iapws
# package); the pressure of that state, 0.099 241 8352 MPa, is from memory and confirmed by the density.
def test_the_verification_state_at_300_k_is_met(records: Records) -> None:
    state = 26.85, 0.0992418352
    assert _value(records, "density", *state) == pytest.approx(996.5560, rel=1e-6)
    assert _value(records, "sound_speed", *state) == pytest.approx(1501.51914, rel=1e-6)


# IAPWS R12-08, table 4: 889.735100 microPa s at 298.15 K and 998 kg/m3 (figure from memory of the release); the
# pressure of that state follows from CoolProp.
def test_the_viscosity_of_the_verification_table_is_met(records: Records) -> None:
    state = CP.AbstractState("HEOS", "Water")
    state.update(CP.DmassT_INPUTS, 998.0, 298.15)
    assert _value(records, "dynamic_viscosity", 25.0, state.p() * 1e-6) == pytest.approx(889.735100e-6, rel=1e-5)


def test_water_boils_at_1_atm_at_99_974_degc(records: Records) -> None:
    """The normal boiling point of IAPWS-95, 373.1243 K (Wagner and Pruss 2002, section 2)."""
    saturation = make_form(records["water.saturation_pressure"]["form"])
    assert float(saturation.value(99.9743)) == pytest.approx(101325.0, rel=1e-4)


@pytest.mark.parametrize("property_id", LIMITS)
def test_the_stated_cost_of_joining_the_nodes_is_within_what_was_promised(records: Records, property_id: str) -> None:
    working = records[f"water.{property_id}"]["working"]
    number, unit = working["fit_error"].split()
    assert unit == "%"
    assert 0.0 < float(number) / 100.0 <= LIMITS[property_id]


@pytest.mark.parametrize("property_id", LIMITS)
def test_every_node_written_down_is_what_the_library_gives_there(property_id: str) -> None:
    """CoolProp at the state beside each node of the ledger's file, liquid phase, to the digits written down."""
    document = "iapws-r12-08" if property_id == "dynamic_viscosity" else "iapws-r6-95"
    file = PROJECT / "sources" / "documents" / document / f"water-{property_id.replace('_', '-')}-grid.csv"
    state = CP.AbstractState("HEOS", "Water")
    state.specify_phase(CP.iphase_liquid)
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    assert len(rows) >= 70
    for row in rows:
        state.update(CP.PT_INPUTS, float(row["pressure"]), max(float(row["temperature"]) + 273.15, 273.16))
        theirs = {
            "sound_speed": state.speed_sound,
            "density": state.rhomass,
            "specific_heat": state.cpmass,
            "dynamic_viscosity": state.viscosity,
        }[property_id]()
        assert float(row["value"]) == pytest.approx(theirs, rel=2e-8)


def test_sound_in_water_is_fastest_near_74_degc_at_1_atm(records: Records) -> None:
    """Known of water since its first careful measurements, and given by IAPWS-95; within 1 K."""
    celsius = [60.0 + 0.05 * step for step in range(560)]
    speeds = [_value(records, "sound_speed", t, 0.101325) for t in celsius]
    assert celsius[speeds.index(max(speeds))] == pytest.approx(74.0, abs=1.0)
