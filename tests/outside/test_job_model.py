"""The job's physics against what is printed outside the project.

- Sound path: the worked figures of the specification of this work, invented and computed apart from this code.
- Correlated budget: JCGM 100:2008, annex H.2, table H.2 to H.4 (resistance, reactance, impedance).
- Draws: JCGM 101:2008, 9.2.2 and 9.2.3 (sum of four inputs).
- Profile: 3/4 of the parabola of Hagen and Poiseuille; 14/15 of the power 1/7.
- Snell's law and critical angles: elementary; common practice, no source.
"""

from __future__ import annotations

import math

import pytest

from refdb.job import spacing, waves
from refdb.job.profile import LAMINAR_FACTOR, log_law, power_law, profile
from refdb.job.uncertainty import Variable, propagate, simulate

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


def test_the_total_time_is_the_sum_along_the_ray() -> None:
    at = spacing.spacing(2, BORE, WATER, WALL, ALONG)
    along_the_ray = spacing.time_in_liquid(2, BORE, WATER, ALONG) + spacing.time_in_layers(WALL, ALONG)
    assert spacing.total_time(2, BORE, WATER, WALL, ALONG, at) == pytest.approx(along_the_ray, rel=1e-12)


def test_beyond_the_critical_angle_a_wave_does_not_travel() -> None:
    critical = math.asin(2450.0 / 5900.0)
    assert waves.travels(5900.0, math.sin(critical - 1e-6) / 2450.0)
    assert not waves.travels(5900.0, math.sin(critical + 1e-6) / 2450.0)


def test_an_interface_neither_makes_nor_loses_energy() -> None:
    steel, water = waves.Medium(5900.0, 3230.0, 7850.0), waves.Medium(1480.0, None, 998.0)
    found = waves.scatter(steel, water, "shear", ALONG)
    assert sum(found.reflected.values()) + sum(found.transmitted.values()) == pytest.approx(1.0, abs=1e-9)


def test_laminar_and_power_law_factors() -> None:
    assert LAMINAR_FACTOR == 3 / 4
    assert power_law(7.0) == pytest.approx(14 / 15, rel=1e-12)


def test_the_two_laws_of_turbulent_flow_agree_within_a_few_thousandths() -> None:
    for reynolds in (1e4, 1e5, 1e6, 1e7):
        found = profile(reynolds, 0.0)
        assert found.factor is not None
        assert found.power == pytest.approx(found.factor, abs=0.01)


def test_between_2300_and_4000_there_is_an_interval_and_no_figure() -> None:
    found = profile(3000.0, 1e-4)
    assert found.factor is None
    assert found.interval[0] == 0.75 < found.interval[1]


def test_the_logarithmic_law_grows_towards_one_as_friction_falls() -> None:
    assert log_law(0.04) < log_law(0.02) < log_law(0.005) < 1.0


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
