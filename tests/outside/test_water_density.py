"""Density of water at 1 atm: the recommended row and equation 14 of UNESCO Technical Paper 44, compared with

- IAPWS-95 evaluated live by CoolProp (the row's nodes were computed with another library);
- the formula of the International Committee for Weights and Measures (Tanaka and others 2001);
- check values that the UNESCO paper prints, and absolute measurements.
"""

from __future__ import annotations

import pytest

from refdb.database import Database
from tests.outside.evidence import ATMOSPHERE_MPA, KELVIN, Records, as_printed, farthest, on_its90, steps
from tests.peers import Peer

CP = Peer("CoolProp.CoolProp")

UNESCO_EQUATION_14 = "water.density.01"


def density_of_coolprop(celsius: float) -> float:
    return float(CP.PropsSI("D", "T", celsius + KELVIN, "P", ATMOSPHERE_MPA * 1e6, "Water"))


def slope_of_coolprop(celsius: float) -> float:
    """Central difference over 20 mK; its own error is below 1e-6 kg/m3 per kelvin."""
    return (density_of_coolprop(celsius + 0.01) - density_of_coolprop(celsius - 0.01)) / 0.02


# Tanaka, M., and others, Metrologia 38, 301-309 (2001), 0 to 40 degC, air-free water; coefficients as carried by
# metgen.pagesperso-orange.fr/metrologieen19.htm and many public programs.
def density_of_cipm(celsius: float) -> float:
    return 999.974950 * (1.0 - (celsius - 3.983035) ** 2 * (celsius + 301.797) / (522528.9 * (celsius + 69.34881)))


def recommended(database: Database, celsius: float) -> float:
    return float(database.value("water", "density", temperature=f"{celsius!r} degC", unit="kg/m3").magnitude)


# Measured: 0.0007 kg/m3, at 3.3 degC between two nodes; 5e-7 kg/m3 at the nodes.
def test_the_recommended_density_lies_within_2_g_per_m3_of_iapws95_at_and_between_its_nodes(database: Database) -> None:
    difference, celsius = farthest(
        lambda t: recommended(database, t), density_of_coolprop, steps(0.01, 99.0, step=0.13)
    )

    assert abs(difference) < 0.002, f"{difference:+.5f} kg/m3 at {celsius:.2f} degC"


# Measured: 0.0040 kg/m3 per kelvin, at 3.0 degC: joining the nodes without overshoot flattens the maximum at 4 degC.
def test_the_slope_of_the_recommended_density_is_that_of_iapws95_within_5_g_per_m3_and_kelvin(
    database: Database,
) -> None:
    difference, celsius = farthest(
        lambda t: float(
            database.value("water", "density", temperature=f"{t!r} degC", unit="kg/m3").slopes["temperature"]
        ),
        slope_of_coolprop,
        steps(0.1, 98.9, step=0.13),
    )

    assert abs(difference) < 0.005, f"{difference:+.5f} kg/m3 per kelvin at {celsius:.2f} degC"


# Measured: 0.0011 kg/m3. Stated for the formula: U = 8.394e-4 - 1.28e-6 t + 1.10e-7 t^2 - 6.09e-9 t^3 + 1.16e-10 t^4
# kg/m3, nowhere above 0.00088; formula (3) of that page, as pages that copied it repeat it.
def test_the_recommended_density_agrees_with_the_cipm_formula_from_0_to_40_degc(database: Database) -> None:
    difference, celsius = farthest(lambda t: recommended(database, t), density_of_cipm, steps(0.01, 40.0, step=0.5))

    assert abs(difference) < 0.002, f"{difference:+.5f} kg/m3 at {celsius:.2f} degC"


# Absolute density of pure water of ocean composition at 16 degC (ITS-90) and 0.101325 MPa: 998.9468 kg/m3 with a
# standard uncertainty of 0.0006; abstract of "Determination of the absolute density of water at 16 degC and
# 0.101325 MPa" (Metrologia), at discovery.researcher.life. Measured difference: 0.0007.
def test_the_recommended_density_at_16_degc_is_the_one_that_was_weighed(database: Database) -> None:
    assert recommended(database, 16.0) == pytest.approx(998.9468, abs=0.002)


# Tanaka and others (2001): the maximum is 999.974950 kg/m3 at 3.983035 degC, two of the constants of their formula.
# The node of the recommended table at 4 degC takes the place of the maximum.
def test_water_is_densest_near_3_98_degc(database: Database) -> None:
    temperatures = [3.0 + index * 0.01 for index in range(201)]
    densities = [recommended(database, celsius) for celsius in temperatures]

    assert max(densities) == pytest.approx(999.97495, abs=0.001)
    assert temperatures[densities.index(max(densities))] == pytest.approx(3.983, abs=0.03)


# Fofonoff, N. P., and Millard, R. C., UNESCO Technical Papers in Marine Science 44 (1983), salinity 0, pressure 0,
# temperatures on IPTS-68. Page 19: 5 and 25 degC, as carried by the tests of the R package oce. Page 22: 0 and 30
# degC, as carried by the documentation of the Python package seawater (dens0), with more digits.
@pytest.mark.parametrize(
    ("degrees68", "kilograms_per_m3", "tolerance"),
    [(5.0, 999.96675, 5e-6), (25.0, 997.04796, 5e-6), (0.0, 999.842594, 5e-7), (30.0, 995.65113374, 5e-9)],
)
def test_unesco_equation_14_gives_the_check_values_that_the_paper_prints(
    records: Records, degrees68: float, kilograms_per_m3: float, tolerance: float
) -> None:
    assert as_printed(records[UNESCO_EQUATION_14])(degrees68) == pytest.approx(kilograms_per_m3, abs=tolerance)


# Misprint met in public: several programs carry 6.536336e-9 for the last coefficient, which is 6.536332e-9.
def test_the_known_misprint_of_unesco_equation_14_would_be_caught(records: Records) -> None:
    misprinted = as_printed(records[UNESCO_EQUATION_14], c5="6.536336e-9")

    assert abs(misprinted(30.0) - 995.65113374) > 5e-9


# Stated for the international one-atmosphere equation of state: standard error 0.0036 kg/m3 (Millero and Poisson 1981,
# as quoted in public code). Measured: 0.0019 kg/m3, at 18.5 degC.
def test_unesco_equation_14_lies_within_its_stated_error_of_iapws95(records: Records) -> None:
    difference, celsius = farthest(
        on_its90(records[UNESCO_EQUATION_14]), density_of_coolprop, steps(0.01, 40.0, step=0.5)
    )

    assert abs(difference) < 0.0036, f"{difference:+.5f} kg/m3 at {celsius:.2f} degC"
