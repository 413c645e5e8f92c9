"""Pure liquids that follow equations of state: against the library between the nodes, laws of physics and handbooks.

The node values were computed with CoolProp; between the nodes the rows meet it again. Independently of it: the relation
of thermodynamics between three rows, the way liquids change with temperature and pressure, the VDI Heat Atlas and
Perry's handbook as the package chemicals carries them, and speeds measured by others.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pytest

from refdb.forms import Form, make_form
from tests.outside.evidence import ATMOSPHERE_MPA, KELVIN, Record, Records
from tests.peers import Peer
from tests.rows import each

CP = Peer("CoolProp.CoolProp")
chemicals = Peer("chemicals")
viscosity = Peer("chemicals.viscosity")
volume = Peer("chemicals.volume")

STATES = 30
"""Random states of each liquid."""

TOLERANCES = {
    "sound_speed": 1e-4,
    "density": 1e-4,
    "specific_heat": 5e-4,
    "dynamic_viscosity": 1e-3,
    "saturation_pressure": 1e-4,
}
"""What joining the nodes may cost, relative. Measured at 1,500 states of each liquid: 4.5e-5 (speed), 2.6e-5 (density),
3.8e-4 (specific heat), 2.9e-4 (viscosity) and 7e-5 (saturation pressure) at most; all but helium far less."""

NODES = {"temperature": 25, "pressure": 4}
"""Temperatures and pressures over each row's range at which its shape is looked at."""

State = tuple[float, float]
"""A temperature in degC and an absolute pressure in MPa."""

Rows = dict[str, Form]


@pytest.fixture(scope="module")
def rows(records: Records) -> dict[str, Rows]:
    """The forms of every liquid that follows grids by kind, by subject and property."""
    found: dict[str, Rows] = {}
    for record in records.values():
        if record.get("rule") == "grid/5":
            found.setdefault(record["subject"], {})[record["property"]] = make_form(record["form"])
    return found


def span(records: Records, subject: str, property_id: str) -> tuple[float, float, float]:
    """Both ends of the temperature in degC, and the highest pressure in MPa (0 where the row knows none)."""
    domain = records[f"{subject}.{property_id}"]["domain"]
    temperature = domain["temperature"]
    return float(temperature["low"]), float(temperature["high"]), float(domain.get("pressure", {}).get("high", "0"))


def liquid_states(records: Records, rows: Rows, subject: str, property_id: str) -> Iterator[State]:
    """Random states of a row, from just above saturation to the highest pressure."""
    chance = random.Random(f"{subject} {property_id}")  # noqa: S311 - a seeded choice of states, no secret
    low, high, top = span(records, subject, property_id)
    for _ in range(STATES):
        celsius = chance.uniform(low, high)
        least = float(rows["saturation_pressure"].value(celsius)) * 1e-6 * 1.00001
        yield celsius, least + chance.random() * (top - least)


def lattice(records: Records, rows: Rows, subject: str, property_id: str) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures down, pressures across, from saturation to the limit."""
    low, high, top = span(records, subject, property_id)
    celsius = np.linspace(low, high, NODES["temperature"])
    least = np.asarray(rows["saturation_pressure"].value(celsius)) * 1e-6
    share = np.linspace(0.0, 1.0, NODES["pressure"])
    return np.broadcast_to(celsius[:, None], (celsius.size, share.size)), least[:, None] + share * (top - least)[
        :, None
    ]


@cache
def library(fluid: str) -> Any:
    return CP.AbstractState("HEOS", fluid)


def of_library(fluid: str, celsius: float, megapascals: float, property_id: str) -> float:
    state = library(fluid)
    if property_id == "saturation_pressure":
        state.unspecify_phase()
        state.update(CP.QT_INPUTS, 0.0, celsius + KELVIN)
        return float(state.p())
    state.specify_phase(CP.iphase_liquid)
    state.update(CP.PT_INPUTS, megapascals * 1e6, celsius + KELVIN)
    told = {
        "sound_speed": state.speed_sound,
        "density": state.rhomass,
        "specific_heat": state.cpmass,
        "dynamic_viscosity": state.viscosity,
    }
    return float(told[property_id]())


def grids(records: Records) -> list[Record]:
    """The grids that rows of rule grid/5 follow."""
    followed = [record["inputs"][0]["id"] for record in records.values() if record.get("rule") == "grid/5"]
    return [records[row] for row in followed]


def test_more_than_a_hundred_and_twenty_liquids_follow_an_equation_of_state(rows: dict[str, Rows]) -> None:
    assert len(rows) >= 120
    assert sum("sound_speed" in row for row in rows.values()) >= 120
    assert sum("density" in row for row in rows.values()) >= 120


def test_random_states_of_every_liquid_are_those_of_the_library(records: Records, rows: dict[str, Rows]) -> None:
    for grid in grids(records):
        subject, property_id = grid["subject"], grid["property"]
        form = rows[subject][property_id]
        for celsius, megapascals in liquid_states(records, rows[subject], subject, property_id):
            theirs = of_library(grid["name_printed"], celsius, megapascals, property_id)
            state = (celsius,) if property_id == "saturation_pressure" else (celsius, megapascals)
            assert float(form.value(*state)) == pytest.approx(theirs, rel=TOLERANCES[property_id]), (grid["id"], state)


def test_the_stated_cost_of_joining_is_within_what_was_promised(records: Records) -> None:
    for grid in grids(records):
        assert 0.0 < float(grid["fit_error"]["number"]) / 100.0 <= TOLERANCES[grid["property"]], grid["id"]


# Law: w^-2 = d rho/dp - T (d rho/dT)^2 / (rho^2 cp), for any fluid. Three rows and two slopes in one equation. Slopes
# of polynomials are worst at the ends. Measured, the largest of 60 states of each liquid: 0.47 % (hydrogen sulphide).
def test_speed_density_and_specific_heat_obey_thermodynamics(records: Records, rows: dict[str, Rows]) -> None:
    for subject, row in rows.items():
        if not {"sound_speed", "density", "specific_heat"} <= row.keys():
            continue
        for celsius, megapascals in liquid_states(records, row, subject, "density"):
            density = float(row["density"].value(celsius, megapascals))
            by_kelvin, by_megapascal = (float(slope) for slope in row["density"].slopes(celsius, megapascals))
            heat = float(row["specific_heat"].value(celsius, megapascals))
            compliance = by_megapascal * 1e-6 - (celsius + KELVIN) * by_kelvin**2 / (density**2 * heat)
            ours = float(row["sound_speed"].value(celsius, megapascals))
            assert ours == pytest.approx(1.0 / math.sqrt(compliance), rel=6e-3), (subject, celsius, megapascals)


# What turns as real liquids do: heavy water is densest near 11 degC at 1 atm and a little colder under pressure (common
# knowledge, no source seen), and sound in it is fastest somewhat above the 74 degC of water. Nothing else turns.
TURNING = {
    ("heavy-water", "density"): (9.0, 14.0),
    ("heavy-water", "sound_speed"): (74.0, 84.0),
}


@pytest.mark.parametrize("property_id", ["sound_speed", "density", "dynamic_viscosity"])
def test_nothing_turns_with_the_temperature_that_does_not_turn_in_nature(
    records: Records, rows: dict[str, Rows], property_id: str
) -> None:
    """Along saturation and at fixed shares of the way from there to the highest pressure, warmer is less."""
    for subject, row in rows.items():
        if property_id not in row:
            continue
        celsius, megapascals = lattice(records, row, subject, property_id)
        rising = np.diff(row[property_id].value(celsius, megapascals), axis=0) >= 0.0
        if (subject, property_id) in TURNING:
            low, high = TURNING[subject, property_id]
            assert rising[celsius[1:] < low].all(), subject
            assert not rising[celsius[:-1] > high].any(), subject
        else:
            assert not rising.any(), (subject, celsius[1:][rising])


@pytest.mark.parametrize("property_id", ["sound_speed", "density", "dynamic_viscosity"])
def test_squeezing_a_liquid_makes_it_stiffer_denser_and_more_viscous(
    records: Records, rows: dict[str, Rows], property_id: str
) -> None:
    for subject, row in rows.items():
        if property_id in row and (subject, property_id) not in THINNER_UNDER_PRESSURE:
            celsius, megapascals = lattice(records, row, subject, property_id)
            values = row[property_id].value(celsius, megapascals)
            assert (np.diff(values, axis=1) > 0.0).all(), subject


THINNER_UNDER_PRESSURE = {("heavy-water", "dynamic_viscosity")}
"""Cold water flows more easily under pressure, and heavy water like it: common knowledge, no source seen."""

WAVERING_HEAT = {"oxygen", "fluorine"}
"""Their equations let the specific heat waver by 0.4 and 0.1 % below -189 degC under pressure; the uncertainty of the
rows, 1 and 3 %, allows for that."""


def test_a_liquid_boils_at_a_higher_pressure_when_it_is_warmer(records: Records, rows: dict[str, Rows]) -> None:
    for subject, row in rows.items():
        low, high, _ = span(records, subject, "saturation_pressure")
        assert (np.diff(row["saturation_pressure"].value(np.linspace(low, high, 60))) > 0.0).all(), subject


def test_specific_heat_turns_once_at_most(records: Records, rows: dict[str, Rows]) -> None:
    """Where heat capacity falls with warming it does so at the cold end: two turns would be an equation's waver."""
    for subject, row in rows.items():
        if "specific_heat" in row and subject not in WAVERING_HEAT:
            celsius, megapascals = lattice(records, row, subject, "specific_heat")
            rising = np.diff(row["specific_heat"].value(celsius, megapascals), axis=0) > 0.0
            assert (np.count_nonzero(np.diff(rising.astype(int), axis=0), axis=0) <= 1).all(), subject


@pytest.mark.parametrize("subject", ["toluene", "water", "seawater", "ethanol", "ammonia"])
def test_kinematic_viscosity_is_dynamic_viscosity_over_density(records: Records, subject: str) -> None:
    forms = {
        name: make_form(records[f"{subject}.{name}"]["form"])
        for name in ("kinematic_viscosity", "dynamic_viscosity", "density")
    }
    state = {"temperature": 30.0, "pressure": 5.0, "salinity": 35.0}

    def at(name: str) -> float:
        return float(forms[name].value(*(state[part] for part in forms[name].variables)))

    assert at("kinematic_viscosity") == at("dynamic_viscosity") / at("density")


@pytest.mark.parametrize(
    ("subject", "fluid"), [("water", "Water"), ("toluene", "Toluene"), ("ethanol", "Ethanol"), ("r-134a", "R134a")]
)
def test_liquids_expand_as_the_library_says(records: Records, subject: str, fluid: str) -> None:
    """CoolProp's own isobaric expansion, by derivatives of the equation of state instead of a polynomial's slope."""
    form, state = make_form(records[f"{subject}.thermal_expansion"]["form"]), library(fluid)
    state.specify_phase(CP.iphase_liquid)
    for celsius, megapascals in ((5.0, 1.0), (20.0, 2.0), (20.0, 9.0), (55.0, 5.0)):
        state.update(CP.PT_INPUTS, megapascals * 1e6, celsius + KELVIN)
        theirs = state.isobaric_expansion_coefficient()
        assert form.value(celsius, megapascals) == pytest.approx(theirs, rel=2e-3, abs=1e-8), (celsius, megapascals)


def test_water_does_not_expand_where_it_is_densest(records: Records) -> None:
    """At 3.98 degC and 1 atm: the temperature of greatest density, common knowledge, no source."""
    form = make_form(records["water.thermal_expansion"]["form"])
    assert form.value(3.98, ATMOSPHERE_MPA) == pytest.approx(0.0, abs=2e-7)


# Saturated liquid at 25 degC by the VDI Heat Atlas (equation PPDS2, VDI-Gesellschaft, 2010), as chemicals carries it.
HANDBOOK_DENSITIES = {
    "toluene": "108-88-3",
    "benzene": "71-43-2",
    "acetone": "67-64-1",
    "methanol": "67-56-1",
    "ethanol": "64-17-5",
    "n-hexane": "110-54-3",
    "n-heptane": "142-82-5",
    "n-decane": "124-18-5",
    "cyclohexane": "110-82-7",
    "propane": "74-98-6",
    "ammonia": "7664-41-7",
    "r-22": "75-45-6",
    "sulphur-dioxide": "7446-09-5",
}


@each(("subject", "cas"), HANDBOOK_DENSITIES.items())
def test_densities_are_those_of_the_vdi_heat_atlas(rows: dict[str, Rows], subject: str, cas: str) -> None:
    line = volume.rho_data_VDI_PPDS_2.loc[cas]
    shares = zip("ABCD", (0.35, 2.0 / 3.0, 1.0, 4.0 / 3.0), strict=True)
    reduced = 1.0 - (25.0 + KELVIN) / float(line["Tc"])
    printed = float(line["rhoc"]) + sum(float(line[name]) * reduced**power for name, power in shares)
    boiling = float(rows[subject]["saturation_pressure"].value(25.0)) * 1e-6
    assert float(rows[subject]["density"].value(25.0, boiling)) == pytest.approx(printed, rel=5e-3)


# Perry's Chemical Engineers' Handbook, 8th edition, table 2-313, as chemicals carries it; 25 degC.
@each(
    ("subject", "cas"),
    [
        ("toluene", "108-88-3"),
        ("benzene", "71-43-2"),
        ("methanol", "67-56-1"),
        ("ethanol", "64-17-5"),
        ("n-hexane", "110-54-3"),
        ("n-heptane", "142-82-5"),
        ("n-octane", "111-65-9"),
        ("cyclohexane", "110-82-7"),
        ("ammonia", "7664-41-7"),
    ],
)
def test_viscosities_are_those_of_perrys_handbook(rows: dict[str, Rows], subject: str, cas: str) -> None:
    line = viscosity.mu_data_Perrys_8E_2_313.loc[cas]
    printed = chemicals.EQ101(25.0 + KELVIN, *(float(line[f"C{place}"]) for place in range(1, 6)))
    boiling = float(rows[subject]["saturation_pressure"].value(25.0)) * 1e-6
    assert float(rows[subject]["dynamic_viscosity"].value(25.0, boiling)) == pytest.approx(printed, rel=0.04)


# Speeds at 1 atm measured by others, from the ThermoML archive of NIST: doi 10.1007/s10765-007-0223-x (toluene, benzene
# and ethylbenzene), 10.1007/s10765-008-0395-z (methanol), 10.1007/s10765-006-0063-0 (cyclohexane) and
# 10.1007/s10765-009-0665-4 (n-hexane).
@pytest.mark.parametrize(
    ("subject", "celsius", "measured"),
    [
        ("toluene", 20.0, 1325.34),
        ("toluene", 25.0, 1303.44),
        ("benzene", 25.0, 1298.27),
        ("ethylbenzene", 25.0, 1318.36),
        ("methanol", 25.0, 1102.68),
        ("cyclohexane", 25.0, 1254.4),
        ("n-hexane", 20.0, 1098.9),
    ],
)
def test_sound_speeds_are_those_that_were_measured(
    records: Records, rows: dict[str, Rows], subject: str, celsius: float, measured: float
) -> None:
    ours = float(rows[subject]["sound_speed"].value(celsius, ATMOSPHERE_MPA))
    stated = float(records[f"{subject}.sound_speed"]["uncertainty"]["number"]) / 100.0
    assert ours == pytest.approx(measured, rel=min(2.0 * stated, 4e-3))


# Where the library is known to be wrong, no row follows it.
@each(
    "row",
    [
        *(
            f"{subject}.dynamic_viscosity"
            for subject in ("n-pentane", "isopentane", "cyclopentane", "dimethyl-ether", "sulphur-hexafluoride")
        ),
        *(
            f"{subject}.dynamic_viscosity"
            for subject in ("r-11", "r-13", "r-14", "r-22", "r-143a", "hydrogen-sulphide")
        ),
        *(f"{subject}.sound_speed" for subject in ("propyne", "cyclopropane", "dodecamethylcyclohexasiloxane")),
        "cyclopropane.density",
    ],
)
def test_what_the_library_has_wrong_is_not_followed(records: Records, row: str) -> None:
    grid = records[f"{row}.51"]
    assert [flag["code"] for flag in grid["flags"]].count("suspect") == 1
    assert records.get(row, {}).get("rule") != "grid/5"
