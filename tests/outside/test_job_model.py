"""The job's physics against what is printed outside the project.

- Sound path: the worked figures of the specification of this work, invented and computed apart from this code.
- Snell's law and critical angles: notes of a course of ultrasonic testing, "Calculation of the critical angles for a
  perspex to steel interface" (public document 570543168 at scribd.com), with its sines and its refracted angle.
- Correlated budget: JCGM 100:2008, annex H.2, tables H.2 to H.4 (resistance, reactance, impedance), as the public
  examples of the library GTC (inputs, correlations) and the public tests of Suncal (results of table H.4) repeat them.
- Draws: JCGM 101:2008, 9.2.2 and 9.2.3, tables 2 and 3 (sum of four inputs), as the public tests of Suncal repeat them.
- Friction: Colebrook's equation as White, Fluid Mechanics, prints it (6.64), with the 15 % that he gives Moody's chart;
  a value read from Moody's chart in a public solution of a textbook's problem (coursepaper.com, chapter 8).
- Friction of smooth pipes: f = 0.0032 + 0.221 Re^-0.237 from Re 1e5 on, as public programs repeat it (Nikuradse's, by
  memory).
- Heat coefficient: IAPWS-IF97 through the library `iapws`, at the 1.6 MPa of EN 1434-1; the figures are those of the
  specification of this work.
"""

from __future__ import annotations

import math
import tomllib

import pytest

from refdb.database import Database
from refdb.job import work_step
from refdb.job.acoustics import spacing, waves
from refdb.job.flow.profile import friction_factor
from refdb.job.uncertainty import Variable, propagate, simulate
from tests.conftest import PROJECT
from tests.peers import Peer

iapws = Peer("iapws")

ALONG = float(waves.slowness(math.radians(38.0), 2450.0))
BORE, WATER = 0.2191 - 2 * 0.0071, 1536.98
WALL = [spacing.Layer(0.0071, 3230.0)]


def test_the_worked_sound_path() -> None:
    in_liquid = spacing.time_in_liquid(2, BORE, WATER, ALONG)
    assert math.degrees(waves.angle_in(WATER, ALONG)) == pytest.approx(22.72, abs=0.005)
    assert math.degrees(waves.angle_in(3230.0, ALONG)) == pytest.approx(54.26, abs=0.005)
    assert 1e3 * spacing.spacing(2, BORE, WATER, WALL, ALONG) == pytest.approx(191.3, abs=0.05)
    assert 1e6 * in_liquid == pytest.approx(289.06, abs=0.005)
    assert 1e9 * spacing.time_difference(1.0, ALONG, in_liquid) == pytest.approx(145.27, abs=0.005)


def test_a_wall_five_per_cent_faster_moves_the_sensors_apart() -> None:
    faster = [spacing.Layer(0.0071, 1.05 * 3230.0)]
    moved = spacing.spacing(2, BORE, WATER, faster, ALONG) - spacing.spacing(2, BORE, WATER, WALL, ALONG)
    assert 1e3 * moved == pytest.approx(3.4, abs=0.05)


def test_critical_angles_of_perspex_on_steel() -> None:
    """Perspex 2740 m/s, steel 5960 and 3240 m/s; the sines are printed, and 29 degrees refract to 35 degrees."""
    for speed, sine in ((5960.0, 0.459731543), (3240.0, 0.845679012)):
        assert waves.travels(speed, (sine - 1e-8) / 2740.0)
        assert not waves.travels(speed, (sine + 1e-8) / 2740.0)
    along = float(waves.slowness(math.radians(29.0), 2740.0))
    assert not waves.travels(5960.0, along)
    assert math.degrees(waves.angle_in(3240.0, along)) == pytest.approx(35.0, abs=0.05)


@pytest.mark.parametrize("reynolds", [5e3, 1e5, 1e7])
@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2])
def test_the_friction_factor_solves_colebrooks_equation(reynolds: float, roughness: float) -> None:
    root = math.sqrt(friction_factor(reynolds, roughness))
    assert 1 / root == pytest.approx(-2.0 * math.log10(roughness / 3.7 + 2.51 / (reynolds * root)), rel=1e-12)


@pytest.mark.parametrize("reynolds", [1e5, 3e5, 1e6, 3e6])
def test_smooth_friction_is_that_of_an_explicit_relation(reynolds: float) -> None:
    """The relation fits Nikuradse's readings, Colebrook's smooth limit Prandtl's law: they part by 2 % at most."""
    assert friction_factor(reynolds, 0.0) == pytest.approx(0.0032 + 0.221 * reynolds**-0.237, rel=0.021)


def test_the_friction_factor_read_from_moodys_chart() -> None:
    """Re = 1.32e5 and relative roughness 4.0e-3: 0.0290 is read in print."""
    assert friction_factor(1.32e5, 4.0e-3) == pytest.approx(0.0290, abs=0.0003)


@pytest.mark.parametrize(("meter_in", "printed"), [("return", 4.162), ("supply", 4.087)])
def test_the_heat_coefficient_of_en_1434(database: Database, meter_in: str, printed: float) -> None:
    """70 degC and 30 degC at 1.6 MPa: from the enthalpies of `iapws`, and as a job tells it."""
    warm, cold = iapws.IAPWS97(T=343.15, P=1.6), iapws.IAPWS97(T=303.15, P=1.6)
    at_meter = cold if meter_in == "return" else warm
    outside = (warm.h - cold.h) / 40.0 * at_meter.rho / 1000.0
    assert outside == pytest.approx(printed, abs=0.0005)
    job = tomllib.loads((PROJECT / "tests/job/data/heating-water.toml").read_text(encoding="utf-8"))
    job["liquid"] |= {"pressure": "1.6 MPa", "temperature": "30 degC" if meter_in == "return" else "70 degC"}
    job["heat"] = {"supply": "70 degC", "return": "30 degC", "meter_in": meter_in}
    told = work_step("heat", job, database)["heat"]
    assert told["heat_coefficient"]["magnitude"] == pytest.approx(outside, rel=5e-4)
    assert "IAPWS-IF97 at 1.6 MPa" in told["standard"]


_H2 = {
    "V": Variable(4.9990, 0.0032),
    "I": Variable(19.661e-3, 0.0095e-3),
    "phi": Variable(1.04446, 0.00075),
}
_H2_CORRELATIONS = {("V", "I"): -0.36, ("V", "phi"): 0.86, ("I", "phi"): -0.65}


@pytest.mark.parametrize(
    ("part", "value", "uncertainty"), [("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)]
)
def test_the_correlated_example_of_the_gum(part: str, value: float, uncertainty: float) -> None:
    def model(x):  # type: ignore[no-untyped-def]
        return {"R": math.cos(x["phi"]), "X": math.sin(x["phi"]), "Z": 1.0}[part] * x["V"] / x["I"]

    found = propagate(model, _H2, _H2_CORRELATIONS)
    # The GUM computed with more digits of the means than it prints: half a unit of the last digit of V is 0.0025 ohm.
    assert found.value == pytest.approx(value, abs=0.007)
    assert found.uncertainty == pytest.approx(uncertainty, abs=0.002)


@pytest.mark.parametrize(("distribution", "half_width"), [("normal", 3.92), ("rectangular", 3.88)])
def test_the_additive_example_of_jcgm_101(distribution: str, half_width: float) -> None:
    four = {name: Variable(0.0, 1.0, distribution) for name in "abcd"}  # type: ignore[arg-type]
    found = simulate(lambda x: x["a"] + x["b"] + x["c"] + x["d"], four, draws=1_000_000)
    assert found.uncertainty == pytest.approx(2.0, abs=0.005)
    assert (found.high - found.low) / 2 == pytest.approx(half_width, abs=0.02)
