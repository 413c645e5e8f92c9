"""Walls away from 20 degC, held against published moduli, expansions and growth that no slope here rests on.

A modulus that a load found differs from that of sound, but how it falls with the temperature is much the same: the
ratio of two of them gives that of two shear speeds within a few tenths of a percent, at a constant Poisson's ratio and
with the density falling by three times the expansion.
"""

from __future__ import annotations

import math

import pytest

from refdb.database import Database

# ASME B31.1, table C-6 (1995): 10^6 psi at 70, 200 and 300 degF.
ASME_B31_1 = {
    "carbon-steel": (29.5, 28.8, 28.3),
    "stainless-316": (28.3, 27.6, 27.0),
    "chromium-molybdenum-p22": (30.6, 29.8, 29.4),
}
FAHRENHEIT = (70.0, 200.0, 300.0)


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def _shear(database: Database, metal: str, celsius: float) -> tuple[float, float]:
    found = database.value(metal, "shear_speed", temperature=f"{celsius:.6f} degC", accept="estimates")
    return float(found.magnitude), float(found.standard_uncertainty.magnitude)


@pytest.mark.parametrize("metal", ASME_B31_1)
def test_shear_speeds_fall_as_the_moduli_of_a_code_do(database: Database, metal: str) -> None:
    """ASME B31.1-1995, table C-6: within what the temperature is said to add, twice, and the half last digit."""
    (first, *others), (cold, *warmer) = ASME_B31_1[metal], FAHRENHEIT
    at_20, own = _shear(database, metal, _celsius(cold))
    expansion = float(database.value(metal, "thermal_expansion", temperature="100 degC", accept="estimates").magnitude)
    for modulus, fahrenheit in zip(others, warmer, strict=True):
        celsius = _celsius(fahrenheit)
        speed, size = _shear(database, metal, celsius)
        expected = math.sqrt(modulus / first * (1.0 + 3.0 * expansion * (celsius - 20.0)))
        adds = math.sqrt(max(0.0, size * size - own * own)) / at_20
        rounding = 0.05 / first / math.sqrt(3.0)
        assert abs(speed / at_20 - expected) < 2.0 * math.hypot(adds, rounding) + 0.001, celsius


# EN 1993-1-2:2005, 3.4.1.1: growth of carbon steel from 20 degC, 1.2e-5 T + 0.4e-8 T² - 2.416e-4; annex C.3.1: of
# stainless steel, (16 + 4.79e-3 T - 1.243e-6 T²)(T - 20) 1e-6 (both by memory; neither is in the ledger).
GROWTH = {
    "carbon-steel": lambda t: 1.2e-5 * t + 0.4e-8 * t * t - 2.416e-4,
    "stainless-304": lambda t: (16.0 + 4.79e-3 * t - 1.243e-6 * t * t) * (t - 20.0) * 1e-6,
    "stainless-316": lambda t: (16.0 + 4.79e-3 * t - 1.243e-6 * t * t) * (t - 20.0) * 1e-6,
}


@pytest.mark.parametrize("metal", GROWTH)
@pytest.mark.parametrize("celsius", [75.0, 120.0, 200.0])
def test_steels_grow_as_the_eurocode_says(database: Database, metal: str, celsius: float) -> None:
    found = database.value(metal, "thermal_expansion", temperature=f"{celsius} degC")
    mean = GROWTH[metal](celsius) / (celsius - 20.0)
    assert abs(float(found.magnitude) - mean) < 2.0 * float(found.standard_uncertainty.magnitude)


# CRC Handbook of Chemistry and Physics, section 12, thermal and physical properties of pure metals: the linear
# coefficient at 25 degC in 1e-6/K (by memory).
LINEAR = {"aluminium": 23.1, "copper": 16.5, "nickel-200": 13.4, "titanium": 8.6, "zirconium": 5.7, "lead": 28.9}


@pytest.mark.parametrize("metal", [name for name in LINEAR if name != "lead"])
def test_pure_metals_expand_at_room_temperature_as_the_handbook_says(database: Database, metal: str) -> None:
    found = database.value(metal, "instantaneous_expansion", temperature="25 degC", accept="estimates")
    apart = float(found.magnitude) - LINEAR[metal] * 1e-6
    assert abs(apart) < 2.0 * float(found.standard_uncertainty.magnitude)


def test_a_mean_from_20_degc_is_the_growth_over_the_rise_of_the_instantaneous_coefficient(database: Database) -> None:
    """Simpson's rule over the instantaneous one, which is a straight line here: exact."""
    at = [
        float(database.value("copper", "instantaneous_expansion", temperature=f"{celsius} degC").magnitude)
        for celsius in (20.0, 85.0, 150.0)
    ]
    mean = float(database.value("copper", "thermal_expansion", temperature="150 degC").magnitude)
    assert (at[0] + 4.0 * at[1] + at[2]) / 6.0 == pytest.approx(mean, rel=2e-3)


def test_polyethylene_40_kelvin_warmer_has_about_1_percent_more_area(database: Database) -> None:
    """Common practice, no source: 0.13 to 0.2 mm/(m.K), so 1.0 to 1.6 % of the area."""
    found = float(database.value("hdpe", "thermal_expansion", temperature="60 degC").magnitude)
    assert 0.010 < (1.0 + 40.0 * found) ** 2 - 1.0 < 0.017


@pytest.mark.parametrize("plastic", ["hdpe", "pvc-rigid", "ptfe", "polypropylene"])
def test_a_plastic_is_not_answered_where_it_softens_or_changes(database: Database, plastic: str) -> None:
    """Common practice, no source: PE melts from 105, rigid PVC turns at 80, PTFE changes at 19 and 30, PP near 0."""
    ends = {"hdpe": (-40.0, 105.0), "pvc-rigid": (-40.0, 80.0), "ptfe": (18.0, 31.0), "polypropylene": (0.0, 110.0)}
    for celsius in ends[plastic]:
        with pytest.raises(Exception, match="outside"):
            database.value(plastic, "longitudinal_speed", temperature=f"{celsius} degC", accept="estimates")
