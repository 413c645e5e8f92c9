"""Unit factors, compared with NIST Special Publication 811, Appendix B.8 (factors for units listed alphabetically).

Read as carried by the R package NISTunits 1.0.1 (R/NISTfactors.R), which names the appendix for every factor, and by
the SysML 2 domain library USCustomaryUnits of the Object Management Group, which is generated from the same appendix.

What the appendix does not hold is compared with the standard that defines it, named beside each check.
"""

from __future__ import annotations

import pytest

from refdb.units import Unit, parse_quantity, units
from tests.peers import Peer
from tests.rows import each, failing

CP = Peer("CoolProp.CoolProp")
chemicals_viscosity = Peer("chemicals.viscosity")

# Symbol, dimension, factor to the SI unit. NIST SP 811, Appendix B.8; these factors are exact there.
EXACT = [
    ("ft", "length", 0.3048),
    ("in", "length", 2.54e-2),
    ("mil", "length", 2.54e-5),
    ("ft/s", "speed", 0.3048),
    ("in/s", "speed", 2.54e-2),
    ("g/cm3", "density", 1e3),
    ("cP", "dynamic_viscosity", 1e-3),
    ("cSt", "kinematic_viscosity", 1e-6),
    ("Btu/(lb.degF)", "specific_heat", 4.1868e3),
    ("bar", "pressure", 1e5),
    ("atm", "pressure", 1.01325e5),
    ("yd", "length", 9.144e-1),
    ("mi", "length", 1.609344e3),
    ("uin", "length", 2.54e-8),
    ("ft/min", "speed", 5.08e-3),
    ("imp gal", "volume", 4.54609e-3),
    ("imp gal/min", "volume_flow", 4.54609e-3 / 60.0),
    ("P", "dynamic_viscosity", 1e-1),
    ("St", "kinematic_viscosity", 1e-4),
]

# NIST SP 811, Appendix B.8; printed to seven digits.
ROUNDED = [
    ("psi", "pressure", 6.894757e3),
    ("ksi", "pressure", 6.894757e6),
    ("lb/ft3", "density", 1.601846e1),
    ("lb/in3", "density", 2.767990e4),
    ("lb/US gal", "density", 1.198264e2),
    ("lb/(ft.s)", "dynamic_viscosity", 1.488164),
    ("knot", "speed", 5.144444e-1),
    ("inHg", "pressure", 3.386389e3),
    ("lb", "mass", 4.535924e-1),
    ("short ton", "mass", 9.071847e2),
    ("long ton", "mass", 1.016047e3),
    ("US gal", "volume", 3.785412e-3),
    ("bbl", "volume", 1.589873e-1),
    ("US gal/min", "volume_flow", 6.309020e-5),
    ("US gal/d", "volume_flow", 4.381264e-8),
    ("US MGD", "volume_flow", 4.381264e-2),
    ("MGD", "volume_flow", 4.381264e-2),
    ("bbl/d", "volume_flow", 1.589873e-1 / 86400.0),
    ("Btu_IT", "energy", 1.055056e3),
    ("Btu", "energy", 1.055056e3),
    ("Btu_th", "energy", 1.054350e3),
    ("Btu_IT/h", "power", 1.055056e3 / 3600.0),
    ("Btu/h", "power", 1.055056e3 / 3600.0),
    ("ton of refrigeration", "power", 3.516853e3),
]
HALF_THE_SEVENTH_DIGIT = 5e-7


def in_si(symbol: str, dimension: str) -> tuple[Unit, float]:
    """The unit, and one of it in the SI unit of its dimension."""
    unit = units().find(symbol, dimension)
    return unit, float(unit.to(1.0, units().si(dimension)))


@each(("symbol", "dimension", "factor"), EXACT)
def test_factors_that_are_exact_are_exact(symbol: str, dimension: str, factor: float) -> None:
    assert in_si(symbol, dimension)[1] == pytest.approx(factor, rel=1e-14)


@each(("symbol", "dimension", "factor"), ROUNDED)
def test_factors_that_are_rounded_agree_to_the_last_printed_digit(symbol: str, dimension: str, factor: float) -> None:
    assert in_si(symbol, dimension)[1] == pytest.approx(factor, rel=HALF_THE_SEVENTH_DIGIT)


# NIST SP 811, Appendix B.8: degC = (degF - 32) / 1.8, K = (degF + 459.67) / 1.8, K = degC + 273.15, K = degR / 1.8.
@pytest.mark.parametrize(
    ("given", "unit", "magnitude"),
    [
        ("68 degF", "degC", (68.0 - 32.0) / 1.8),
        ("-40 degF", "degC", -40.0),
        ("68 degF", "K", (68.0 + 459.67) / 1.8),
        ("20 degC", "K", 293.15),
        ("527.67 degR", "K", 527.67 / 1.8),
    ],
)
def test_temperatures_are_converted_with_their_zero(given: str, unit: str, magnitude: float) -> None:
    assert parse_quantity(given, "temperature", "temperature").to(unit).magnitude == pytest.approx(magnitude, abs=1e-9)


# NIST SP 811, Appendix B.8: an interval of one degree Fahrenheit is 0.5555556 K.
@pytest.mark.parametrize(("symbol", "dimension"), [("degF", "temperature"), ("delta_degF", "temperature_difference")])
def test_an_interval_of_fahrenheit_is_converted_without_its_zero(symbol: str, dimension: str) -> None:
    unit = units().find(symbol, dimension)

    assert unit.difference_to(1.0, units().si(dimension)) == pytest.approx(0.5555556, rel=1e-7)


# NIST SP 811, Appendix B.8: 0.0254 m per inch, so 4 1/2 in is 114.3 mm.
def test_a_mixed_fraction_of_inches_is_converted_like_any_number() -> None:
    assert parse_quantity("4 1/2 in", "length", "diameter").to("mm").magnitude == pytest.approx(114.3, abs=1e-9)


# UCUM, ucum-essence.xml of ucum-org/ucum: [Btu_IT] is 1.05505585262 kJ, [gal_us] 231 [cin_i], [bbl_us] 42 [gal_us].
def test_factors_are_those_of_ucum_where_it_has_them_in_full() -> None:
    cubic_inch = 2.54e-2**3
    assert in_si("Btu_IT", "energy")[1] == pytest.approx(1055.05585262, rel=1e-14)
    assert in_si("US gal", "volume")[1] == pytest.approx(231.0 * cubic_inch, rel=1e-14)
    assert in_si("bbl", "volume")[1] == pytest.approx(42.0 * 231.0 * cubic_inch, rel=1e-14)


# NIST SP 811, appendix B.8, footnote on mercury: 13 595.1 kg/m3 and 9.806 65 m/s2 by convention.
def test_mercury_is_the_conventional_one() -> None:
    assert in_si("mmHg", "pressure")[1] == pytest.approx(13.5951 * 9.80665, rel=1e-14)
    assert in_si("inHg", "pressure")[1] == pytest.approx(25.4 * 13.5951 * 9.80665, rel=1e-14)


# Hydraulic Institute, Engineering Data Book, 2nd edition 1990, viscosity conversion table, as carried by chemicals
# 1.5.2 (viscosity_scales): an approximate comparison, printed to three digits, down to 31 seconds.
def test_saybolt_seconds_agree_with_the_engineers_table() -> None:
    def check(line: tuple[float, float]) -> None:
        seconds, viscosity = line
        quantity = parse_quantity(f"{seconds} SSU", "kinematic_viscosity", "viscosity").to("mm2/s")
        assert quantity.magnitude == pytest.approx(viscosity, rel=0.06 if seconds < 40.0 else 0.025)

    table = zip(*chemicals_viscosity.viscosity_scales["saybolt universal"], strict=True)
    assert failing(check, list(table)[1:], str) == []


# ASTM D2161, 5.2 (read at dgaequipment.com, "ASTM D2161 Practice for Conversion of Kinematic Viscosity"): above table
# 1, which runs from 1.81 to 500 mm2/s at 100 degF, the seconds are 4.632 times the viscosity.
@pytest.mark.parametrize("viscosity", [500.0, 1000.0, 5000.0])
def test_thick_liquids_follow_the_factor_of_the_practice(viscosity: float) -> None:
    quantity = parse_quantity(f"{viscosity} mm2/s", "kinematic_viscosity", "viscosity").to("SSU")
    assert quantity.magnitude == pytest.approx(4.632 * viscosity, rel=1.2e-4)


# IAPWS-95, as coded in CoolProp: liquid water at 60 degF and 1 atm. The scale's 999.016 kg/m3 is an older water.
def test_the_water_of_specific_gravity_is_water_at_60_degf() -> None:
    water = CP.PropsSI("D", "T", (60.0 + 459.67) / 1.8, "P", 101325.0, "Water")
    assert in_si("SG 60/60 degF", "density")[1] == pytest.approx(water, rel=2e-6)


# wiki.aapg.org, "API gravity": fresh water has 10 degAPI; the scale is 141.5 / SG - 131.5.
@pytest.mark.parametrize(("api", "gravity"), [(10.0, 1.0), (35.0, 141.5 / 166.5), (45.0, 141.5 / 176.5)])
def test_api_gravity_is_a_scale_of_specific_gravity(api: float, gravity: float) -> None:
    quantity = parse_quantity(f"{api} degAPI", "density", "density")
    assert quantity.to("SG 60/60 degF").magnitude == pytest.approx(gravity, rel=1e-14)


# TEOS-10, as computed by GSW: the check values printed in the documentation of GSW-R, gsw_SR_from_SP.
@pytest.mark.parametrize(
    ("practical", "reference"),
    [
        (34.5487, 34.711611927085727),
        (34.7275, 34.891255045714303),
        (34.8605, 35.024882197714305),
        (34.6810, 34.844535778285724),
        (34.5680, 34.731002934857159),
        (34.5600, 34.722965211428587),
    ],
)
def test_practical_salinity_becomes_reference_salinity(practical: float, reference: float) -> None:
    quantity = parse_quantity(f"{practical} psu", "salinity", "salinity").to("g/kg")
    assert quantity.magnitude == pytest.approx(reference, rel=1e-14)
