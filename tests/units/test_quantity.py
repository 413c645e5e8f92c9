"""What may be written as a quantity, and what is refused, each with a sentence that names the field."""

from __future__ import annotations

import pytest

from refdb.problems import BadQuantity, Problem, UnknownUnit, WrongDimension
from refdb.units import Quantity, parse_quantity, significant, units, with_uncertainty
from tests.rows import each


@each(
    ("text", "dimension", "magnitude", "symbol"),
    [
        ("20 degC", "temperature", 20.0, "degC"),
        ("20 °C", "temperature", 20.0, "degC"),
        ("68°F", "temperature", 68.0, "degF"),
        ("293.15 K", "temperature", 293.15, "K"),
        ("-5.5 degC", "temperature", -5.5, "degC"),
        ("−5 degC", "temperature", -5.0, "degC"),
        ("3 bar(g)", "pressure", 3.0, "bar(g)"),
        ("45 psig", "pressure", 45.0, "psig"),
        ("4 1/2 in", "length", 4.5, "in"),
        ("4-1/2 in", "length", 4.5, "in"),
        ("1/2 in", "length", 0.5, "in"),
        ('8"', "length", 8.0, "in"),
        ("1.5e2 mm", "length", 150.0, "mm"),
        (".5 m", "length", 0.5, "m"),
        ("  250   mm ", "length", 250.0, "mm"),
        ("5.92 mm/us", "speed", 5.92, "mm/us"),
        ("5.92 mm/µs", "speed", 5.92, "mm/us"),
        ("1 Cel", "temperature", 1.0, "degC"),
        ("20\u00a0°C", "temperature", 20.0, "degC"),
        ("20\u202fdeg\u00a0C", "temperature", 20.0, "degC"),
        ("12 1/K", "per_temperature", 12.0, "1/K"),
        ("12 10^3 psi", "pressure", 12.0, "ksi"),
        ("3 7/8 in", "length", 3.875, "in"),
        ("1200 US gpm", "volume_flow", 1200.0, "US gal/min"),
        ("0.85 SG 60/60 degF", "density", 0.85, "SG 60/60 degF"),
        ("35 °API", "density", 35.0, "degAPI"),
        ("100 SUS", "kinematic_viscosity", 100.0, "SSU"),
        ("12 °Bx", "mass_fraction", 12.0, "degBrix"),
        ("35 psu", "salinity", 35.0, "psu"),
    ],
)
def test_a_number_with_a_unit_of_the_table_is_read(text: str, dimension: str, magnitude: float, symbol: str) -> None:
    quantity = parse_quantity(text, dimension, "field")
    assert quantity.magnitude == magnitude
    assert quantity.unit.symbol == symbol


@each(
    ("text", "problem", "words"),
    [
        ("20", BadQuantity, "has no unit"),
        ("", BadQuantity, "not a number"),
        ("warm", BadQuantity, "not a number"),
        ("nan degC", BadQuantity, "not a number"),
        ("inf degC", BadQuantity, "not a number"),
        ("1e400 degC", BadQuantity, "too large"),
        ("20,5 degC", BadQuantity, "comma"),
        ("1,000 degC", BadQuantity, "comma"),
        ("1.482,3 degC", BadQuantity, "comma"),
        ("1 000 degC", BadQuantity, "thousands separator"),
        ("1 000 000 degC", BadQuantity, "thousands separator"),
        ("1\u202f000 degC", BadQuantity, "thousands separator"),
        ("1'000 degC", BadQuantity, "thousands separator"),
        ("1’000 degC", BadQuantity, "thousands separator"),
        ("1_000 degC", BadQuantity, "thousands separator"),
        ("1.000.000 degC", BadQuantity, "thousands separator"),
        ("20\ndegC", UnknownUnit, "U+000A"),
        ("1/0 degC", BadQuantity, "zero"),
        ("9**9**9 degC", UnknownUnit, "unit table"),
        ("__import__('os')", BadQuantity, "not a number"),
        ("9" * 10_000, BadQuantity, "at most"),
        ("20 kg", WrongDimension, "measures mass, but temperature is needed"),
        ("20 m", WrongDimension, "temperature is needed"),
        ("20 DegC", UnknownUnit, "Did you mean degC"),
        ("２０ degC", BadQuantity, "not a number"),
        ("20 ԁegC", UnknownUnit, "unit table"),
    ],
)
def test_anything_else_is_refused_by_name(text: str, problem: type[Problem], words: str) -> None:
    with pytest.raises(problem) as caught:
        parse_quantity(text, "temperature", "inlet temperature")
    assert words in caught.value.detail
    assert caught.value.detail.startswith("inlet temperature: ")
    assert caught.value.extensions["parameter"] == "inlet temperature"


def test_a_quantity_converts_and_prints_its_unit() -> None:
    quantity = parse_quantity("5920 m/s", "speed", "speed").to("mm/us")
    assert quantity.magnitude == pytest.approx(5.92, rel=1e-15)
    assert str(quantity) == "5.92 mm/us"
    assert quantity.document() == {"magnitude": 5.92, "unit": "mm/us", "ucum": "mm/us"}


def test_a_quantity_refuses_a_unit_of_another_dimension() -> None:
    with pytest.raises(WrongDimension):
        Quantity(1.0, units().find("m/s")).to("kg/m3")


def test_answers_are_rounded_to_twelve_significant_digits() -> None:
    assert significant(1482.37954675123456) == 1482.37954675
    assert significant([0.1 + 0.2, 1e20 / 3]) == [0.3, 3.33333333333e19]


@pytest.mark.parametrize(
    ("value", "uncertainty", "words"),
    [
        (1482.34627, 0.0444704, "1482.346 ± 0.044 m/s"),
        (5900.0, 88.0, "5900 ± 88 m/s"),
        (5900.0, 0.0, "5900 m/s"),
        (0.0, 0.005, "0.0000 ± 0.0050 m/s"),
        (0.0, 4e-7, "(0.0 ± 4.0)e-7 m/s"),
        (2.1e11, 3e9, "(2.100 ± 0.030)e11 m/s"),
        (0.00012, 0.000003, "(1.200 ± 0.030)e-4 m/s"),
    ],
)
def test_a_value_is_written_to_the_place_of_its_uncertainty(value: float, uncertainty: float, words: str) -> None:
    metre_per_second = units().find("m/s", "speed")
    assert with_uncertainty(Quantity(value, metre_per_second), Quantity(uncertainty, metre_per_second)) == words
