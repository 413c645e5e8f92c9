"""Sound speed in water at 1 atm: three printed equations and the recommended row, compared with

- IAPWS-95 (IAPWS R6-95(2018)), evaluated live by two libraries that implement it independently, iapws and CoolProp;
- values and equations that other documents print for the same water.

The measurements themselves are in test_water_sound_speed_measured.
"""

from __future__ import annotations

import pytest
from numpy.polynomial import Polynomial

from refdb.database import Database
from tests.outside.evidence import (
    ATMOSPHERE_MPA,
    KELVIN,
    Curve,
    Records,
    as_printed,
    farthest,
    interval,
    on_its90,
    steps,
)
from tests.peers import Peer

CP = Peer("CoolProp.CoolProp")
iapws = Peer("iapws")

DEL_GROSSO_MADER = "water.sound_speed.01"
BILANIUK_WONG = "water.sound_speed.02"
MARCZAK = "water.sound_speed.03"
EQUATIONS = [DEL_GROSSO_MADER, BILANIUK_WONG, MARCZAK]

# Measured: 0.0618 m/s (Del Grosso and Mader) and 0.0616 m/s (Bilaniuk and Wong) at 76 degC, 0.0574 m/s (Marczak) at
# 78 degC. The equations agree with one another within 0.025 m/s and with the measurements they were fitted to within
# 0.03 m/s, so this is a property of IAPWS-95, and any larger difference is a slip in a coefficient.
AGAINST_IAPWS95 = 0.065

# Water boils at 99.97 degC under 1 atm, and freezes at 0.0 degC: the libraries are asked from here to there.
COLDEST, HOTTEST = 0.01, 99.0


def speed_of_iapws(celsius: float) -> float:
    return float(iapws.IAPWS95(T=celsius + KELVIN, P=ATMOSPHERE_MPA).w)


def speed_of_coolprop(celsius: float) -> float:
    return float(CP.PropsSI("A", "T", celsius + KELVIN, "P", ATMOSPHERE_MPA * 1e6, "Water"))


@pytest.mark.parametrize("library", [speed_of_iapws, speed_of_coolprop])
@pytest.mark.parametrize("equation", EQUATIONS)
def test_each_equation_lies_within_65_mm_per_s_of_iapws95_over_its_whole_interval(
    records: Records, equation: str, library: Curve
) -> None:
    low, high = interval(records[equation])

    difference, celsius = farthest(
        on_its90(records[equation]), library, steps(max(low, COLDEST), min(high, HOTTEST), step=1.0)
    )

    assert abs(difference) < AGAINST_IAPWS95, f"{difference:+.4f} m/s at {celsius:.2f} degC"


def test_the_two_libraries_implement_the_same_iapws95() -> None:
    difference, celsius = farthest(speed_of_iapws, speed_of_coolprop, steps(COLDEST, HOTTEST, step=1.0))

    assert abs(difference) < 1e-4, f"{difference:+.6f} m/s at {celsius:.2f} degC"


# Misprint met in public: k-Wave, waterSoundSpeed.m (repository ucl-bug/k-wave), prints -5.779136e-2 for Marczak's
# coefficient of T^2, which is -5.799136e-2.
@pytest.mark.parametrize("celsius", [20.0, 50.0, 90.0])
def test_the_known_misprint_of_marczak_would_be_caught(records: Records, celsius: float) -> None:
    misprinted = on_its90(records[MARCZAK], c2="-5.779136e-2")

    assert abs(misprinted(celsius) - speed_of_iapws(celsius)) > AGAINST_IAPWS95


# Misprint met in public: mschiffn/comp_ui_toolbox, +auxiliary/speed_of_sound_water.m, prints the combined fit of Del
# Grosso and Mader, Table III, with 0.334198834e-8 for the coefficient of t^3, which is 0.334198834e-3.
def test_the_known_misprint_of_del_grosso_and_mader_would_be_caught(records: Records) -> None:
    misprinted = on_its90(records[DEL_GROSSO_MADER], c3="0.334198834e-8")

    assert abs(misprinted(20.0) - speed_of_iapws(20.0)) > AGAINST_IAPWS95


# Abstract of Bilaniuk and Wong, J. Acoust. Soc. Am. 93, 1609 (1993), also at
# auditory.org/asamtgs/asa93ott/2pEA/2pEA13.html: at 100 degC the change of scale is worth 0.022 m/s.
def test_at_100_degc_the_change_of_scale_is_worth_22_mm_per_s(records: Records) -> None:
    on_the_old_scale = as_printed(records[DEL_GROSSO_MADER])(100.0)
    on_the_new_scale = as_printed(records[BILANIUK_WONG])(100.0)

    assert on_the_old_scale - on_the_new_scale == pytest.approx(0.022, abs=0.0005)


# Values printed for the equations, at the temperature on the scale of the equation.
#
# - 1482.343 m/s at 20 degC: given for Del Grosso and Mader (1972) in a public Rust file of physical constants whose
#   repository is not known. It is the value at 20 degC on IPTS-68; at 20 degC on ITS-90 the equation gives 1482.358.
# - 1496.688 m/s at 25 degC: example output of SpeedOfSoundFreshWaterGrossoMader(25), R package sonar 1.0.2, at
#   rdrr.io/cran/sonar; its coefficients carry fewer digits, hence the 0.001. Again IPTS-68: ITS-90 gives 1496.703.
# - 1482.38 m/s at 20 degC: example output of SpeedOfSoundPureWaterMarczak(20), the same package and place.
PRINTED = [
    (DEL_GROSSO_MADER, 20.0, 1482.343, 0.0005),
    (DEL_GROSSO_MADER, 25.0, 1496.688, 0.001),
    (MARCZAK, 20.0, 1482.38, 0.005),
]


@pytest.mark.parametrize(("equation", "degrees", "metres_per_second", "tolerance"), PRINTED)
def test_equations_give_the_values_printed_for_them(
    records: Records, equation: str, degrees: float, metres_per_second: float, tolerance: float
) -> None:
    assert as_printed(records[equation])(degrees) == pytest.approx(metres_per_second, abs=tolerance)


def test_the_value_printed_for_del_grosso_and_mader_at_20_degc_is_on_ipts68_and_not_on_its90(records: Records) -> None:
    assert abs(on_its90(records[DEL_GROSSO_MADER])(20.0) - 1482.343) > 0.01


# Greenspan, M., and Tschiegg, C. E. (1957, 1959): whole metres per second computed from their equation, printed at
# expydoc.com/doc/8005551. Their equation stands 0.25 to 0.38 m/s above the later measurements, and the print rounds.
@pytest.mark.parametrize(
    ("celsius", "metres_per_second"), [(1, 1408), (10, 1448), (20, 1483), (30, 1509), (40, 1529), (50, 1543)]
)
def test_the_equations_fit_the_older_measurements_of_the_national_bureau_of_standards(
    records: Records, celsius: float, metres_per_second: float
) -> None:
    for equation in EQUATIONS:
        assert on_its90(records[equation])(celsius) == pytest.approx(metres_per_second, abs=0.9)


# Wong, G. S. K., and Zhu, S., J. Acoust. Soc. Am. 97, 1732-1736 (1995): the pure-water term of Chen and Millero's
# equation (UNESCO Technical Paper 44, eq. 34) at 1 atm, put on ITS-90 by them; 0 to 40 degC. Coefficients as carried,
# digit for digit, by three public programs that cite the paper. Chen and Millero took Del Grosso and Mader's equation
# over, so that the two conversions to ITS-90 meet here. Measured: 0.0014 m/s (Del Grosso and Mader, converted by this
# project) and 0.0008 m/s (Bilaniuk and Wong).
WONG_ZHU = Polynomial([1402.388, 5.03830, -5.81090e-2, 3.3432e-4, -1.47797e-6, 3.1419e-9])


@pytest.mark.parametrize("equation", [DEL_GROSSO_MADER, BILANIUK_WONG])
def test_the_equations_agree_with_the_pure_water_term_of_the_seawater_standard(records: Records, equation: str) -> None:
    difference, celsius = farthest(on_its90(records[equation]), WONG_ZHU, steps(0.0, 40.0, step=0.5))

    assert abs(difference) < 0.002, f"{difference:+.4f} m/s at {celsius:.2f} degC"


# IAPWS R6-95(2018), evaluated live. The recommended row states 0.035 m/s as its standard uncertainty; twice that, and
# what the pressure allowance adds, must hold the reference formulation.
@pytest.mark.parametrize("celsius", [0.01, 5.0, 20.0, 40.0, 60.0, 78.0, 95.0])
def test_the_recommended_speed_holds_iapws95_within_twice_its_own_uncertainty(
    database: Database, celsius: float
) -> None:
    answer = database.value("water", "sound_speed", temperature=f"{celsius} degC", unit="m/s")

    assert abs(answer.magnitude - speed_of_iapws(celsius)) < 2.0 * answer.standard_uncertainty.magnitude


# IAPWS-95 gives 1482.35 m/s; 1482.3 is also what tables of physical constants print for distilled water (the National
# Physical Laboratory's among them, as quoted in public code).
def test_the_recommended_speed_at_20_degc_is_1482_3_m_per_s(database: Database) -> None:
    answer = database.value("water", "sound_speed", temperature="20 degC", unit="m/s")

    assert answer.magnitude == pytest.approx(1482.3, abs=0.1)
