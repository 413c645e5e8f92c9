"""Solutions beside measurements and figures that did not make their rows, and beside water and the pure liquids."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from refdb.forms import ScaledPolynomial, make_form
from refdb.recommend.liquids.grid import grid_spec
from refdb.recommend.policy import load_policy
from refdb.recommend.solution_policy import SolutionPolicy
from refdb.recommend.solutions.speeds import continued, thermodynamic_speed
from refdb.records.models import RECORD, Grid, RecommendedValue
from refdb.units import UnitTable, units
from refdb.vocabulary import vocabulary
from tests.conftest import PROJECT
from tests.outside.evidence import ATMOSPHERE_MPA, Records
from tests.outside.solutions import largest_error, points_in, relative_uncertainty, row_of, turns

ISOTHERM, STRENGTH = 0.6, 0.006


@pytest.fixture(scope="module")
def policy() -> SolutionPolicy:
    """What the rules say of solutions."""
    return load_policy(PROJECT).solutions


# Each isotherm and each strength between others is predicted by the surface through the rest, in the order of the
# released row. ThermoML archive: doi 10.1016/j.jct.2018.02.022 (ethanol; one long isotherm and a few points at three
# other temperatures) and 10.1016/j.tca.2016.09.005 (1,3-propanediol); Archer, J. Phys. Chem. Ref. Data 21, 1992, by his
# own program (sodium chloride, 0 to 120 degC, every third of a mole). Measured, the largest, in the same order:
# 7.9, 1.0, 0.75 and 3.3 m/s, and 0.47 kg/m3 for the density of sodium chloride.
LEFT_OUT = [
    ("ethanol-water.sound_speed", "doi-jct-2018-02-022", 8.5),
    ("1-3-propanediol-water.sound_speed", "zaoui-djelloul-daouadji-2016", 1.1),
    ("1-3-propanediol-water.density", "zaoui-djelloul-daouadji-2016", 0.8),
    ("sodium-chloride-water.sound_speed", "archer-1992", 3.6),
    ("sodium-chloride-water.density", "archer-1992", 0.55),
]


@pytest.mark.parametrize(("row", "source", "tolerance"), LEFT_OUT, ids=[row for row, *_ in LEFT_OUT])
def test_an_isotherm_and_a_strength_left_out_are_found_again(
    records: Records, policy: SolutionPolicy, row: str, source: str, tolerance: float
) -> None:
    points = points_in(records, policy, row, source)
    assert largest_error(points, records, ISOTHERM, lambda point: point.celsius) < tolerance
    assert largest_error(points, records, STRENGTH, lambda point: point.strength) < tolerance


# Every surface and correlation at strength 0, beside the row of water: within twice the standard uncertainty of the
# solution's row. Formulations of IAPWS for water (R6-95, R12-08).
def test_at_strength_0_there_is_water(records: Records, policy: SolutionPolicy) -> None:
    compared = 0
    for subject, name in itertools.product(
        policy.molar_masses, ("density", "sound_speed", "dynamic_viscosity", "specific_heat")
    ):
        row = records.get(f"{subject}.{name}")
        if row is None or row["form"]["axes"][-1]["low"] != "0":
            continue
        water, solution = make_form(records[f"water.{name}"]["form"]), row_of(records, row["id"])
        low, high = (row["form"]["axes"][0][end] for end in ("low", "high"))
        for celsius in np.linspace(max(float(low), 0.01), min(float(high), 99.9), 12).tolist():
            off = solution(celsius, 0.0) / float(water.value(celsius, ATMOSPHERE_MPA)) - 1.0
            assert abs(off) < 2.0 * relative_uncertainty(row), (row["id"], celsius, off)
            compared += 1
    assert compared > 1000


# The strong ends against pure liquids: 1,3-propanediol, doi 10.1016/j.fluid.2014.06.005 and 10.1021/je7004374
# (ThermoML); ethylene and propylene glycol, doi 10.1021/acs.jced.5b00662 and 10.1021/je9010882, which make the ratio of
# the analogue.
def test_at_strength_1_there_is_the_pure_liquid(records: Records, policy: SolutionPolicy) -> None:
    for subject in ("1-3-propanediol-water", "ethylene-glycol-water", "propylene-glycol-water"):
        row = f"{subject}.sound_speed"
        solution, u = row_of(records, row), relative_uncertainty(records[row])
        pure = [
            point for point in points_in(records, policy, row) if point.strength > 0.999 and 10 <= point.celsius <= 40
        ]
        assert len(pure) >= 4
        for point in pure:
            assert solution(point.celsius, 1.0) == pytest.approx(point.value, rel=2.0 * u)


# Real turning points, measured (the same two papers): sound in ethanol-water is fastest near a mass fraction of 0.22
# (1625.7 m/s at 20 degC, 1619.0 at 25), in 1,3-propanediol-water near 0.65 to 0.7. Along the temperature ethanol-water
# is flat near 0.15 and 1,3-propanediol-water near 0.32. 1,3-propanediol-water is densest near 0.9 when cold, acetic
# acid near 0.78 (CRC Handbook, 102nd ed.: 1.0700 g/cm3 at 20 degC). No other surface turns along the strength.
TURNING = {
    "ethanol-water.sound_speed": (0.2, 0.26),
    "1-3-propanediol-water.sound_speed": (0.6, 0.75),
    "ethylene-glycol-water.sound_speed": (0.6, 0.8),
    "diethylene-glycol-water.sound_speed": (0.5, 0.75),
    "propylene-glycol-water.sound_speed": (0.35, 0.65),
    "1-3-propanediol-water.density": (0.8, 1.0),
    "acetic-acid-water.density": (0.6, 0.9),
}


def test_sound_speed_and_density_turn_along_the_strength_only_where_they_do_in_nature(
    records: Records, policy: SolutionPolicy
) -> None:
    for subject, name in itertools.product(policy.molar_masses, ("sound_speed", "density")):
        row = records.get(f"{subject}.{name}")
        if row is None:
            continue
        axes = row["form"]["axes"]
        solution = row_of(records, row["id"])
        for celsius in np.linspace(max(float(axes[0]["low"]), 1.0), float(axes[0]["high"]), 7).tolist():
            strengths = np.linspace(float(axes[1]["low"]), float(axes[1]["high"]), 61).tolist()
            values = [solution(celsius, strength) for strength in strengths]
            if row["id"] not in TURNING:
                assert turns(values) == 0, (row["id"], celsius)
            elif turns(values):
                low, high = TURNING[row["id"]]
                assert turns(values) == 1, (row["id"], celsius)
                assert low <= strengths[int(np.argmax(values))] <= high, (row["id"], celsius)


def test_where_glycol_and_alcohol_are_flat_along_the_temperature(records: Records) -> None:
    propanediol, ethanol = (
        row_of(records, "1-3-propanediol-water.sound_speed"),
        row_of(records, "ethanol-water.sound_speed"),
    )
    flat = [propanediol(celsius, 0.32) for celsius in range(10, 41, 5)]
    assert max(flat) - min(flat) < 6.0
    assert abs(ethanol(25, 0.163) - ethanol(20, 0.163)) < 3.5
    assert max(ethanol(20, strength / 100) for strength in range(101)) == pytest.approx(1625.7, abs=3.0)


# Archer's equation at single states that the surface passes between: by his own program, 20 degC, 0.1 MPa.
# Kleis and Sanchez, Solar Energy 45, 1990, as public programs quote their equation: within 10 m/s.
def test_sodium_chloride_beside_another_equation(records: Records) -> None:
    row = row_of(records, "sodium-chloride-water.sound_speed")
    for celsius, percent, speed in ((20, 5, 1539.92), (20, 10, 1599.08), (20, 20, 1717.40), (60, 10, 1641.70)):
        assert row(celsius, percent / 100) == pytest.approx(speed, abs=10.0)


# The thermodynamic route, shown where the speed is known: sodium chloride beside Archer (1992) between 10 and 80 degC
# and to 5 mol/kg, potassium chloride beside measurements at 2.13 mol/kg (doi 10.1016/j.tca.2012.06.006, ThermoML).
# Measured: -1.0 to +1.8 %.
def test_the_thermodynamic_route_holds_within_2_percent(records: Records, policy: SolutionPolicy) -> None:
    table = UnitTable.from_documents(vocabulary()["units"])

    def form(source: str, name: str) -> ScaledPolynomial:
        grid = next(
            body
            for body in records.values()
            if body["kind"] == "grid"
            and body["source"] == source
            and body["id"].startswith(f"sodium-chloride-water.{name}.")
        )
        model = RECORD.validate_python(grid)
        assert isinstance(model, Grid)
        return ScaledPolynomial(grid_spec(model, {model.id: model}, table))

    forms = (
        form("al-ghafri-2012", "density"),
        form("al-ghafri-2012", "bulk_modulus"),
        form("laliberte-2009", "specific_heat"),
    )
    known = [
        point
        for point in points_in(records, policy, "sodium-chloride-water.sound_speed", "archer-1992")
        if 10 <= point.celsius <= 80 and 0.014 < point.strength < 0.23
    ]
    off = [float(thermodynamic_speed(*forms, p.celsius, p.strength)) / p.value - 1.0 for p in known]
    assert len(off) > 50
    assert max(map(abs, off)) < 0.02
    assert math.sqrt(sum(o * o for o in off) / len(off)) < 0.01

    chloride = row_of(records, "potassium-chloride-water.sound_speed")
    for point in points_in(records, policy, "potassium-chloride-water.sound_speed"):
        assert chloride(point.celsius, point.strength) == pytest.approx(point.value, rel=0.02)


# The analogue, shown where both are measured: glycol ethers in water at 25 degC (ThermoML, doi 10.1021/je9010882 and
# others of that archive); each from each other one by the same formula. Measured: 1.1 % in root mean square, 3.0 % at
# most, which is why the rows carry 1.2 to 2 %. Ethylene glycol: "30 percent, 1638 +- 3.5 m/s, 15.6 to 38.4 degC", J.
# Clin. Ultrasound 7, 465, 1979, which does not say of what: by mass, or by volume (0.32 by mass).
ETHERS = (
    "2-methoxyethanol-water",
    "2-ethoxyethanol-water",
    "diethylene-glycol-monomethyl-ether-water",
    "diethylene-glycol-monoethyl-ether-water",
)


def test_the_excess_over_water_goes_on_as_it_ends(records: Records) -> None:
    """Archer, J. Phys. Chem. Ref. Data 21, 793-829, 1992: sodium chloride as if known from 10 to 40 degC alone.

    What estimates of glycols are allowed for going from 10 to 0 degC and from 40 to 60 degC is 0.5 %.
    """
    row, water = (
        RecommendedValue.model_validate(records[f"{subject}.sound_speed"])
        for subject in ("sodium-chloride-water", "water")
    )
    middle = {**row.domain, "temperature": row.domain["temperature"].model_copy(update={"low": "10", "high": "40"})}
    speed = continued(row.model_copy(update={"domain": middle}), water, units())
    celsius, strength = (axis.ravel() for axis in np.meshgrid([0.5, 5.0, 25.0, 50.0, 60.0], [0.0, 0.1, 0.2, 0.259]))
    error = np.abs(speed(celsius, strength) / ScaledPolynomial(row.form).value(celsius, strength) - 1.0)
    assert np.max(error[celsius <= 40.0]) < 0.001
    assert np.max(error) < 0.0025
    assert np.max(error[celsius > 40.0]) > np.max(error[celsius <= 40.0]), "nothing was continued"


def test_homologues_stand_for_one_another(records: Records, policy: SolutionPolicy) -> None:
    isotherms = {}
    for ether in ETHERS:
        points = points_in(records, policy, f"{ether}.sound_speed")
        isotherms[ether] = sorted((p.strength, p.value) for p in points if abs(p.celsius - 25.0) < 0.5)
    off = []
    for own, other in itertools.permutations(ETHERS, 2):
        ratio = isotherms[own][-1][1] / isotherms[other][-1][1]
        strengths, speeds = zip(*isotherms[other], strict=True)
        off += [
            float(np.interp(w, strengths, speeds)) * (1.0 + w * (ratio - 1.0)) / speed - 1.0
            for w, speed in isotherms[own][1:-1]
        ]
    assert math.sqrt(sum(o * o for o in off) / len(off)) < 0.012
    assert max(map(abs, off)) < 0.032
    glycol = row_of(records, "ethylene-glycol-water.sound_speed")
    for celsius, strength in itertools.product((15.6, 27, 38.4), (0.30, 0.325)):
        assert glycol(celsius, strength) == pytest.approx(1638.0, rel=0.012)


# Densities of glycols in water measured by others than the tables that are followed: ThermoML, doi
# 10.1021/acs.jced.6b00526 and 10.1016/j.fluid.2013.01.025 (ethylene glycol, to 40 degC), Nakanishi (1967) and MacBeth
# and Thompson (1951) for propylene glycol. Measured, the largest: 0.08 and 0.11 %.
@pytest.mark.parametrize(
    ("row", "sources"),
    [
        ("ethylene-glycol-water.density", ("doi-acs-jced-6b00526", "doi-fluid-2013-01-025")),
        ("propylene-glycol-water.density", ("nakanishi-1967", "macbeth-thompson-1951")),
    ],
)
def test_densities_of_glycol_solutions(
    records: Records, policy: SolutionPolicy, row: str, sources: tuple[str, ...]
) -> None:
    solution = row_of(records, row)
    points = [p for source in sources for p in points_in(records, policy, row, source) if p.strength <= 0.6]
    assert len(points) > 10
    for point in points:
        assert solution(point.celsius, point.strength) == pytest.approx(point.value, rel=0.0015)


# Laliberte's correlation beside the figures of the CRC Handbook (102nd ed., 20 degC), solute by solute: the largest
# deviation in percent, density and viscosity. Where they differ by more than 0.3 or 5 %, this is the list.
APART = {
    ("density", "potassium-hydroxide-water"): 0.66,
    ("dynamic_viscosity", "sodium-hydroxide-water"): 9.2,
    ("dynamic_viscosity", "potassium-hydroxide-water"): 8.2,
    ("dynamic_viscosity", "lithium-chloride-water"): 6.9,
    ("dynamic_viscosity", "phosphoric-acid-water"): 6.5,
    ("dynamic_viscosity", "magnesium-sulphate-water"): 5.5,
}


def laliberte(records: Records) -> set[str]:
    """Grids of the correlation."""
    return {i for i, body in records.items() if body["kind"] == "grid" and body["source"] == "laliberte-2009"}


def test_laliberte_and_the_crc_handbook_agree_but_for_a_list(records: Records, policy: SolutionPolicy) -> None:
    apart, compared, of_laliberte = {}, 0, laliberte(records)
    for subject, (name, limit) in itertools.product(
        policy.molar_masses, (("density", 0.3), ("dynamic_viscosity", 5.0))
    ):
        row = records.get(f"{subject}.{name}")
        if row is None or not any(entry["id"] in of_laliberte for entry in row["inputs"] if entry.get("weight") == "1"):
            continue
        solution, axes = row_of(records, row["id"]), row["form"]["axes"]
        inside = [
            p
            for p in points_in(records, policy, row["id"], "crc-handbook-concentrative-properties")
            if p.strength <= float(axes[1]["high"]) and float(axes[0]["low"]) <= 20.0 <= float(axes[0]["high"])
        ]
        if inside:
            compared += 1
            largest = max(abs(100.0 * (solution(20.0, p.strength) / p.value - 1.0)) for p in inside)
            if largest > limit:
                apart[name, subject] = largest
    assert compared > 25
    assert apart == pytest.approx(APART, rel=0.1)
