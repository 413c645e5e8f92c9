"""Speeds from moduli of an isotropic solid, compared with the formulas of ASTM E494 and with printed examples."""

from __future__ import annotations

import math

import pytest

from refdb.forms.elasticity import (
    bulk_speed_of_speeds,
    poisson_ratio_of_speeds,
    speeds_from_moduli,
    youngs_modulus_of_speeds,
)
from refdb.recommend.solids.from_rows import WAYS

# ASTM E494, Table X3.1: density in kg/m3, longitudinal and shear speed in m/s.
METALS_AND_GLASSES = [
    pytest.param(2700.0, 6300.0, 3130.0, id="aluminium"),
    pytest.param(1850.0, 12400.0, 8650.0, id="beryllium, lowest Poisson's ratio"),
    pytest.param(8900.0, 4700.0, 2260.0, id="copper"),
    pytest.param(11400.0, 2160.0, 700.0, id="lead, highest Poisson's ratio"),
    pytest.param(2200.0, 5930.0, 3750.0, id="fused quartz"),
    pytest.param(7700.0, 5900.0, 3230.0, id="steel"),
]


def moduli_of_e494(density: float, longitudinal: float, shear: float) -> tuple[float, float]:
    """Young's modulus and Poisson's ratio from the speeds.

    ASTM E494, section on calculation: E = rho cS^2 (3 cL^2 - 4 cS^2) / (cL^2 - cS^2), and
    nu = (1 - 2 (cS/cL)^2) / (2 (1 - (cS/cL)^2)). Formulas as quoted in public code that names ASTM practices for
    ultrasonic moduli; the page of the standard was not seen.
    """
    fast, slow = longitudinal**2, shear**2
    return density * slow * (3.0 * fast - 4.0 * slow) / (fast - slow), (1.0 - 2.0 * slow / fast) / (
        2.0 * (1.0 - slow / fast)
    )


@pytest.mark.parametrize(("density", "longitudinal", "shear"), METALS_AND_GLASSES)
def test_speeds_from_the_moduli_that_e494_computes_are_the_speeds_it_started_from(
    density: float, longitudinal: float, shear: float
) -> None:
    young, poisson = moduli_of_e494(density, longitudinal, shear)

    assert speeds_from_moduli(young, poisson, density) == pytest.approx((longitudinal, shear), rel=1e-9)


@pytest.mark.parametrize(("density", "longitudinal", "shear"), METALS_AND_GLASSES)
def test_poissons_ratio_of_the_speeds_is_that_of_e494(density: float, longitudinal: float, shear: float) -> None:
    assert poisson_ratio_of_speeds(longitudinal, shear) == pytest.approx(
        moduli_of_e494(density, longitudinal, shear)[1], rel=1e-12
    )


# R package pongaR, documentation of young2vel and lame2vel (rdrr.io/github/gmxavier/pongaR): 4460 kg/m3,
# E = 121 127 478 933 Pa, nu = 0.3015857 belong to 6060 and 3230 m/s; mu = 46 530 734 000 Pa.
def test_a_printed_example_for_titanium_is_met() -> None:
    longitudinal, shear = speeds_from_moduli(121_127_478_933.0, 0.3015857, 4460.0)

    assert longitudinal == pytest.approx(6060.0, abs=0.01)
    assert shear == pytest.approx(3230.0, abs=0.01)
    assert 4460.0 * shear**2 == pytest.approx(46_530_734_000.0, rel=1e-6)


# "Ultrasonic evaluation of polyether ether ketone and carbon fiber-reinforced PEEK", Journal of Materials Science,
# abstract: E = 4.21 GPa, G = 1.52 GPa, K = 6.25 GPa, nu = 0.388, all from ultrasonic speeds. Speeds squared times
# density are G and K + 4 G / 3, whatever the density. The printed digits are good to 0.4 %.
def test_moduli_measured_by_ultrasound_on_peek_fit_together() -> None:
    density = 1300.0  # cancels
    longitudinal, shear = speeds_from_moduli(4.21e9, 0.388, density)

    assert density * shear**2 == pytest.approx(1.52e9, rel=0.004)
    assert density * longitudinal**2 == pytest.approx(6.25e9 + 4.0 / 3.0 * 1.52e9, rel=0.004)


# Poisson's solid: at nu = 1/4 longitudinal waves are the square root of three times as fast as shear waves (value from
# memory; any textbook of elastic waves or seismology).
def test_in_poissons_solid_longitudinal_waves_are_root_three_times_as_fast() -> None:
    longitudinal, shear = speeds_from_moduli(70e9, 0.25, 2700.0)

    assert longitudinal / shear == pytest.approx(math.sqrt(3.0), rel=1e-12)


# The modulus by ASTM E494 (above); the bulk modulus that belongs to it by K = E / (3 (1 - 2 nu)), any textbook of
# elasticity (from memory).
@pytest.mark.parametrize(("density", "longitudinal", "shear"), METALS_AND_GLASSES)
def test_modulus_and_bulk_speed_of_the_speeds_are_those_of_e494(
    density: float, longitudinal: float, shear: float
) -> None:
    young, poisson = moduli_of_e494(density, longitudinal, shear)

    assert youngs_modulus_of_speeds(longitudinal, shear, density) == pytest.approx(young, rel=1e-12)
    bulk = math.sqrt(young / (3.0 * (1.0 - 2.0 * poisson)) / density)
    assert bulk_speed_of_speeds(longitudinal, shear) == pytest.approx(bulk, rel=1e-12)


@pytest.mark.parametrize(("density", "longitudinal", "shear"), METALS_AND_GLASSES)
def test_each_way_to_a_speed_gives_the_speed_that_the_moduli_of_e494_came_from(
    density: float, longitudinal: float, shear: float
) -> None:
    young, poisson = moduli_of_e494(density, longitudinal, shear)
    known = {
        "youngs_modulus": young,
        "poisson_ratio": poisson,
        "density": density,
        "shear_modulus": young / (2.0 * (1.0 + poisson)),
        "longitudinal_speed": longitudinal,
        "shear_speed": shear,
    }
    for property_id, ways in WAYS.items():
        for way in ways:
            assert way.speed(*(known[name] for name in way.needed)) == pytest.approx(known[property_id], rel=1e-9)
