"""Absorption and dispersion of plastics against measurements on polyethylene.

Measured: Mažeika, Šliteris and Vladišauskas, Measurement of velocity and attenuation for ultrasonic longitudinal waves
in the polyethylene samples, Ultragarsas (2010): PE80 has 2030 m/s and 0.3 dB/mm at 1.0 MHz, and 2060 m/s and 1.5 dB/mm
at 3.5 MHz, as its abstract prints them.
"""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from refdb.recommend.solids.dispersion import LN_10, PI_SQUARED

SPEEDS = {1.0: 2030.0, 3.5: 2060.0}
"""m/s by MHz."""
ABSORBED = {1.0: 300.0, 3.5: 1500.0}
"""dB/m by MHz."""
NEPER = 20.0 / math.log(10.0)


def _per_wavelength(megahertz: float) -> float:
    """Np per wavelength."""
    return ABSORBED[megahertz] / NEPER * SPEEDS[megahertz] / (megahertz * 1e6)


def test_the_speed_of_polyethylene_rises_by_what_its_absorption_lets_expect_within_a_factor_of_two() -> None:
    measured = (SPEEDS[3.5] / SPEEDS[1.0] - 1.0) / math.log10(3.5)
    expected = [_per_wavelength(megahertz) * LN_10 / PI_SQUARED for megahertz in ABSORBED]
    assert measured == pytest.approx(0.0272, abs=0.0002)
    assert 0.5 * measured < min(expected) < max(expected) < measured


def test_polyethylene_of_the_release_absorbs_what_was_measured_within_its_factor(pending: Database) -> None:
    found = pending.value("hdpe", "longitudinal_attenuation")
    factor = math.exp(2.0 * found.standard_uncertainty.magnitude / found.magnitude)
    assert found.magnitude / factor < _per_wavelength(1.0) < found.magnitude * factor


def test_the_rise_a_decade_of_polyethylene_is_near_what_was_measured(pending: Database) -> None:
    told = pending.value("hdpe", "longitudinal_speed").document()["frequency"]
    assert float(told["per_decade"]) / 100.0 == pytest.approx(0.0272, rel=0.5)
