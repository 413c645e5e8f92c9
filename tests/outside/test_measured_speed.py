"""Speeds from echoes, against what is printed elsewhere.

- ASTM E494, table X3.1: echoes in a block that carries its printed speeds; and the note to its scope, that one set-up
  holds 1 %, which ordinary tools must meet.
- JCGM 101:2008: the spread of speeds from inputs drawn at random.
"""

from __future__ import annotations

import numpy as np
import pytest

from refdb.onsite.echo import measured_speed

# ASTM E494, table X3.1: longitudinal and shear speed in m/s.
PRINTED = {"aluminium": (6300.0, 3130.0), "steel": (5900.0, 3230.0), "lead": (2160.0, 700.0)}


@pytest.mark.parametrize("speed", [speed for pair in PRINTED.values() for speed in pair])
@pytest.mark.parametrize("echoes", [1, 3])
def test_an_echo_of_a_printed_speed_gives_that_speed_back(speed: float, echoes: int) -> None:
    millimetres = 12.7
    microseconds = 2.0 * echoes * millimetres * 1e-3 / speed * 1e6
    found = measured_speed(f"{millimetres} mm", "0.02 mm", f"{microseconds:.6f} us", "0.01 us", echoes)
    assert found.speed.magnitude == pytest.approx(speed, rel=1e-5)
    # E494, note to its scope: 1 % for one set-up; a calliper and a clock of 10 ns do it on half an inch.
    assert 2.0 * found.standard_uncertainty.magnitude < 0.01 * speed


def test_the_uncertainty_is_the_spread_of_speeds_from_inputs_at_random() -> None:
    random = np.random.default_rng(494)
    thickness, time = random.normal(10.0, 0.05, 200_000), random.normal(3.39, 0.015, 200_000)
    speeds = 2.0 * thickness * 1e-3 / (time * 1e-6)
    found = measured_speed("10.0 mm", "0.05 mm", "3.39 us", "0.015 us")
    assert found.standard_uncertainty.magnitude == pytest.approx(float(speeds.std()), rel=0.01)
