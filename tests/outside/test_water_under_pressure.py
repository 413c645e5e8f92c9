"""Sound speed in water from 1 atm to 10 MPa: the recommended row against equations fitted to other measurements.

Near the freezing point all three stand below the row, by more the higher the pressure: the row follows IAPWS-95, and
its stated uncertainty grows with the pressure for this reason.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from numpy.polynomial import Polynomial

from tests.outside.evidence import ATMOSPHERE_MPA, KELVIN, Records, steps
from tests.outside.water import rows_of_water, stated_uncertainty
from tests.peers import Peer

iapws_water = Peer("iapws._iapws")

SpeedAt = Callable[[float, float], float]
"""m/s at a temperature in degC on ITS-90 and an absolute pressure in MPa."""

MEGAPASCALS = (ATMOSPHERE_MPA, 1.0, 2.0, 5.0, 10.0)


# Wong, G. S. K., and Zhu, S., J. Acoust. Soc. Am. 97, 1732-1736 (1995): the pure-water part of Chen and Millero (1977;
# UNESCO Technical Paper 44, eq. 34) on ITS-90; pressure in bar above 1 atm, 0 to 40 degC. Coefficients as carried,
# digit for digit, by two public programs that name the paper; a third prints 3.8513e-1 for 3.8513e-10.
PURE_WATER_OF_SEAWATER = (
    Polynomial([1402.388, 5.03830, -5.81090e-2, 3.3432e-4, -1.47797e-6, 3.1419e-9]),
    Polynomial([0.153563, 6.8999e-4, -8.1829e-6, 1.3632e-7, -6.1260e-10]),
    Polynomial([3.1260e-5, -1.7111e-6, 2.5986e-8, -2.5353e-10, 1.0415e-12]),
    Polynomial([-9.7729e-9, 3.8513e-10, -2.3654e-12]),
)


def chen_millero(celsius: float, megapascals: float) -> float:
    bars = 10.0 * (megapascals - ATMOSPHERE_MPA)
    return sum(float(term(celsius)) * bars**power for power, term in enumerate(PURE_WATER_OF_SEAWATER))


# Belogol'skii, V. A., and others, Measurement Techniques 42, 406-413 (1999): distilled water, 0 to 40 degC, 0.1 to 60
# MPa, their own measurements. Coefficients as carried, digit for digit, by five public programs, gorbatschow.github.io/
# SonarDocs and the R package sonar 1.0.2 among them.
BELOGOLSKII = (
    Polynomial([1402.38744, 5.03836171, -5.81172916e-2, 3.34638117e-4, -1.48259672e-6, 3.16585020e-9]),
    Polynomial([1.49043589, 1.077850609e-2, -2.232794656e-4, 2.718246452e-6]),
    Polynomial([4.31532833e-3, -2.938590293e-4, 6.822485943e-6, -6.674551162e-8]),
    Polynomial([-1.852993525e-5, 1.481844713e-6, -3.940994021e-8, 3.939902307e-10]),
)


def belogolskii(celsius: float, megapascals: float) -> float:
    above = megapascals - ATMOSPHERE_MPA
    return sum(float(term(celsius)) * above**power for power, term in enumerate(BELOGOLSKII))


# IAPWS G12-15, Guideline on Thermodynamic Properties of Supercooled Water (Holten, Sengers and Anisimov 2014): an
# equation of state of its own, to 26.85 degC (300 K), computed with the package iapws.
def supercooled_guideline(celsius: float, megapascals: float) -> float:
    return float(iapws_water._Supercooled(celsius + KELVIN, megapascals)["w"])


# Measured, the row subtracted, the largest: Chen and Millero -0.456 m/s, Belogol'skii -0.796, G12-15 -0.797 m/s, each
# at 0.01 degC and 10 MPa; at 20 degC and 10 MPa 0.02, -0.10 and -0.16. Twice the stated uncertainty is 0.93 there.
OTHERS = [(chen_millero, 40.0), (belogolskii, 40.0), (supercooled_guideline, 26.8)]


@pytest.mark.parametrize("megapascals", MEGAPASCALS)
@pytest.mark.parametrize(("other", "hottest"), OTHERS)
def test_the_row_holds_equations_of_other_measurements_within_twice_its_uncertainty(
    records: Records, other: SpeedAt, hottest: float, megapascals: float
) -> None:
    speed = rows_of_water(records)["sound_speed"]
    stated = stated_uncertainty(records["water.sound_speed"], megapascals)

    for celsius in steps(0.01, hottest, step=1.0):
        ours = float(speed.value(celsius, megapascals))
        assert abs(other(celsius, megapascals) - ours) < 2.0 * stated * ours, f"{celsius:.2f} degC"


# What `sources/rules` gives as the reason of the uncertainty under pressure.
def test_the_difference_that_the_stated_uncertainty_is_made_from_is_the_one_there_is(records: Records) -> None:
    ours = float(rows_of_water(records)["sound_speed"].value(0.01, 10.0))

    assert ours - belogolskii(0.01, 10.0) == pytest.approx(0.8, abs=0.05)


# G12-15, table 5 (0.101325 MPa, 273.15 K: 1402.3886 m/s), as carried by github.com/jjgomera/iapws, test.py (commit
# 00d5b3a). The slope there is 4.97 m/s per kelvin; the row begins 0.01 K above.
def test_at_the_ice_point_the_row_agrees_with_the_check_value_of_the_supercooled_guideline(records: Records) -> None:
    ours = float(rows_of_water(records)["sound_speed"].value(0.01, ATMOSPHERE_MPA))

    assert ours == pytest.approx(1402.3886 + 0.01 * 4.97, abs=0.02)
