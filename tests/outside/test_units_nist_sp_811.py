"""Unit factors, compared with NIST Special Publication 811, Appendix B.8 (factors for units listed alphabetically).

Read as carried by the R package NISTunits 1.0.1 (R/NISTfactors.R), which names the appendix for every factor.
"""

from __future__ import annotations

import pytest

from refdb.units import Unit, parse_quantity, units

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
]

# NIST SP 811, Appendix B.8; printed to seven digits.
ROUNDED = [
    ("psi", "pressure", 6.894757e3),
    ("ksi", "pressure", 6.894757e6),
    ("lb/ft3", "density", 1.601846e1),
    ("lb/in3", "density", 2.767990e4),
    ("lb/US gal", "density", 1.198264e2),
    ("lb/(ft.s)", "dynamic_viscosity", 1.488164),
]
HALF_THE_SEVENTH_DIGIT = 5e-7


def in_si(symbol: str, dimension: str) -> tuple[Unit, float]:
    """The unit, and one of it in the SI unit of its dimension."""
    unit = units().find(symbol, dimension)
    return unit, float(unit.to(1.0, units().si(dimension)))


@pytest.mark.parametrize(("symbol", "dimension", "factor"), EXACT)
def test_factors_that_are_exact_are_exact(symbol: str, dimension: str, factor: float) -> None:
    assert in_si(symbol, dimension)[1] == pytest.approx(factor, rel=1e-14)


@pytest.mark.parametrize(("symbol", "dimension", "factor"), ROUNDED)
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
