"""Readings held against a ThermoML file.

The file is an invented article, written after the published schema (Pure Appl. Chem. 78 (2006) 541, and ThermoML.xsd
of trc.nist.gov, against which it was validated): no compound and no number of it exists elsewhere.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from refdb.problems import BadParameter
from refdb.records.models import Equation, Range, Reading, Scalar, Table
from refdb.records.numbers import numbers_of
from refdb.transcription.thermoml import compare
from tests.rows import each

ARTICLE = (Path(__file__).parent / "invented_article.xml").read_bytes()

COMMON = {
    "id": "invented.reading.01",
    "source": "invented-1999",
    "locator": "invented",
    "basis": "measured",
    "seen": "archive",
}


def scalar(number: str, temperature: str = "298.15", **fields: Any) -> Scalar:
    """The density of 2-zorbanol, unless the fields say something else."""
    state = {"temperature": {"number": temperature, "unit": "K"}, **fields.pop("state", {})}
    told = {"subject": "2-zorbanol", "property": "density", "unit": "kg/m3", "number": number, "state": state}
    return Scalar.model_validate(COMMON | told | fields)


def table(points: list[tuple[str, str]], **fields: Any) -> Table:
    """The density of 2-zorbanol against temperature, unless the fields say something else."""
    told = {
        "subject": "2-zorbanol",
        "property": "density",
        "unit": "kg/m3",
        "points": points,
        "state": {},
        "variable": {"name": "temperature", "unit": "K"},
    }
    return Table.model_validate(COMMON | told | fields)


def told(reading: Reading, *names: str) -> dict[str, tuple[str | None, bool]]:
    """What the article says for each number of a reading, by its place, and whether it is the same number."""
    return {row.number.place: (row.found, row.equal) for row in compare(reading, ARTICLE, names)}


def test_every_number_of_a_table_is_found_in_order() -> None:
    reading = table(
        [("293.15", "912.4"), ("298.15", "908.3")],
        stated_uncertainty={"number": "0.3", "unit": "kg/m3", "kind": "standard"},
    )
    compared = compare(reading, ARTICLE)
    assert [row.number for row in compared] == numbers_of(reading)
    assert [row.found for row in compared] == ["293.15", "912.4", "298.15", "908.3", ".3"]
    assert all(row.equal and row.how == "parsed" for row in compared)


def test_a_wrong_digit_is_told_with_what_stands_there() -> None:
    assert told(scalar("908.8")) == {"number": ("908.3", False)}


@each(
    ("number", "unit", "temperature", "equal"),
    [
        ("0.9083", "g/cm3", {"number": "298.15", "unit": "K"}, True),
        ("0.90830", "g/cm3", {"number": "25", "unit": "degC"}, True),
        ("0.9084", "g/cm3", {"number": "25", "unit": "degC"}, False),
    ],
)
def test_other_units_are_the_same_number_exactly(number: str, unit: str, temperature: Any, equal: bool) -> None:
    reading = scalar(number, unit=unit, state={"temperature": temperature})
    assert told(reading) == {"number": ("908.3", equal)}


@each(
    ("state", "found"),
    [
        ({}, "908.3"),
        ({"pressure": {"number": "0.101", "unit": "MPa"}}, "908.3"),
        ({"pressure": {"number": "200", "unit": "kPa"}}, None),
        ({"temperature": {"number": "303.15", "unit": "K"}}, None),
        ({"frequency": {"number": "2", "unit": "MHz"}}, None),
    ],
)
def test_a_value_of_another_state_is_none(state: dict[str, Any], found: str | None) -> None:
    """What the reading does not state may be anything; what it states must stand in the file."""
    assert told(scalar("908.3", state=state)) == {"number": (found, found is not None)}


@each("number", ["1339.8", "1340.6"])
def test_either_of_two_values_for_one_state_will_do(number: str) -> None:
    assert told(scalar(number, property="sound_speed", unit="m/s")) == {"number": (number, True)}


@each("number", ["1.7", "-4.1"])
def test_a_gas_and_a_difference_are_no_value_of_the_liquid(number: str) -> None:
    """Both stand in the file at 293.15 K, the one for the gas and the other as X-X(REF)."""
    assert told(scalar(number, "293.15")) == {"number": ("912.4", False)}


def test_an_uncertainty_must_be_that_of_every_value() -> None:
    reading = table(
        [("293.15", "1357.2"), ("298.15", "1339.8")],
        property="sound_speed",
        unit="m/s",
        stated_uncertainty={"number": "0.5", "unit": "m/s", "kind": "standard"},
    )
    assert told(reading)["stated_uncertainty.number"] == (".8", False)


def test_an_uncertainty_that_the_file_lacks_is_not_found() -> None:
    uncertainty = {"number": "0.5", "unit": "m/s", "kind": "standard"}
    reading = scalar("1340.6", property="sound_speed", unit="m/s", stated_uncertainty=uncertainty)
    assert told(reading) == {"number": ("1340.6", True), "stated_uncertainty.number": (None, False)}


@each(
    ("subject", "name_printed", "names"),
    [
        ("2-zorbanol", None, ()),
        ("sec-zorbyl-alcohol", "2-Zorbanol", ()),
        ("sec-zorbyl-alcohol", None, ("zorbitol", "2 zorbanol")),
        ("sec-zorbyl-alcohol", None, ("999990-01-9",)),
        ("sec-zorbyl-alcohol", None, ("NOC7H15",)),
    ],
)
def test_the_subject_is_told_by_name_number_or_formula(
    subject: str, name_printed: str | None, names: tuple[str, ...]
) -> None:
    reading = scalar("908.3", subject=subject, name_printed=name_printed)
    (row,) = compare(reading, ARTICLE, names)
    assert (row.equal, row.how) == (True, "parsed")


@each("names", [(), ("C9H20",)])
def test_a_subject_that_cannot_be_told_is_only_found_in_the_file(names: tuple[str, ...]) -> None:
    """Two compounds of the article have the formula C9H20, so that it does not tell which of them is meant."""
    reading = scalar(".00184", subject="gamma-quibane", property="dynamic_viscosity", unit="Pa.s")
    (row,) = compare(reading, ARTICLE, names)
    assert (row.found, row.equal, row.how) == (".00184", True, "in the file")


@each("subject", ["alpha-quibane", "3-methylquiboctane"])
def test_the_value_of_another_compound_is_not_taken(subject: str) -> None:
    reading = scalar("0.00184", subject=subject, property="dynamic_viscosity", unit="Pa.s")
    assert told(reading) == {"number": (".00171", False)}


@each(
    ("strength", "unit", "number", "found"),
    [
        ("0.3", "mol/mol", "951.6", "951.6"),
        ("0.7", "mol/mol", "951.6", None),
        ("0.3", "kg/kg", "951.6", None),
        ("0", "mol/mol", "997.1", "997.1"),
        ("1", "mol/mol", "908.5", "908.5"),
    ],
)
def test_a_fraction_of_water_is_the_rest_of_the_strength(
    strength: str, unit: str, number: str, found: str | None
) -> None:
    reading = scalar(number, subject="2-zorbanol-water", state={"strength": {"number": strength, "unit": unit}})
    assert told(reading) == {"number": (found, found is not None)}


@each(
    ("subject", "strength", "temperature", "number"),
    [
        ("dipotassium-zorbanesulphonate-water", {"number": "0", "unit": "mol/kg"}, "298.15", "997.1"),
        ("2-zorbanol-water", {"number": "1", "unit": "kg/kg"}, "293.15", "912.4"),
    ],
)
def test_the_ends_of_the_strength_are_the_pure_liquids(
    subject: str, strength: dict[str, str], temperature: str, number: str
) -> None:
    """Whatever the unit, and wherever in the file the pure liquid stands."""
    assert told(scalar(number, temperature, subject=subject, state={"strength": strength})) == {
        "number": (number, True)
    }


def test_water_is_not_taken_for_what_is_dissolved_in_it() -> None:
    """No compound goes by the name; pure water has 997.1 kg/m3 in the file."""
    strength = {"number": "1", "unit": "mol/mol"}
    (row,) = compare(scalar("997.1", subject="xylozorb-water", state={"strength": strength}), ARTICLE)
    assert (row.equal, row.how) == (False, "in the file")


def test_a_table_against_strength_shows_what_the_file_says_of_it() -> None:
    reading = table(
        [("0", "997.1"), ("0.3", "951.6"), ("1", "908.5")],
        subject="2-zorbanol-water",
        state={"temperature": {"number": "298.15", "unit": "K"}},
        variable={"name": "strength", "unit": "mol/mol"},
    )
    rows = told(reading)
    assert all(equal for _, equal in rows.values())
    assert rows["points.1.0"] == (".7", True)


def test_a_mixture_is_not_its_pure_component() -> None:
    """At a mole fraction of water of 0 the file gives 908.5 for the pure liquid once more, at 0.7 and 1 it does not."""
    assert told(scalar("908.5")) == {"number": ("908.5", True)}
    assert told(scalar("951.6")) == {"number": ("908.3", False)}


@each(
    ("strength", "found"),
    [
        ({"number": "0.5", "unit": "mol/kg"}, "1523.4"),
        ({"number": "1.5", "unit": "mol/kg"}, None),
        ({"number": "0.0005", "unit": "mol/L"}, None),
    ],
)
def test_a_solution_of_two_things_is_not_one_of_one(strength: dict[str, str], found: str | None) -> None:
    """At 1.5 mol/kg of the salt the file has 2-zorbanol in it as well; at 0.5 mol/kg none.

    A molality is no concentration, though 0.0005 mol/L is 0.5 in SI units, as 0.5 mol/kg is.
    """
    reading = scalar(
        "1523.4",
        subject="dipotassium-zorbanesulphonate-water",
        property="sound_speed",
        unit="m/s",
        state={"strength": strength},
    )
    (row,) = compare(reading, ARTICLE)
    assert (row.found, row.equal, row.how) == (found, found is not None, "parsed")


def test_a_file_of_values_holds_neither_equations_nor_ranges() -> None:
    about = {"subject": "2-zorbanol", "property": "density", "unit": "kg/m3"}
    equation = Equation.model_validate(
        COMMON
        | about
        | {
            "state": {},
            "form": "polynomial/1",
            "variable": {"name": "temperature", "unit": "K"},
            "coefficients": {"c0": "908.3", "c1": "-0.8"},
            "interval": {"low": "293.15", "high": "298.15", "unit": "K"},
            "equation_printed": "rho = c0 + c1 T",
        }
    )
    interval = Range.model_validate(
        COMMON | about | {"low": "908.3", "high": "912.4", "state": {"temperature": "not stated"}}
    )
    for reading in (equation, interval):
        rows = told(reading)
        assert len(rows) == 2
        assert set(rows.values()) == {(None, False)}


def test_a_property_that_the_file_lacks_is_not_found() -> None:
    assert told(scalar("2.1", property="specific_heat", unit="kJ/(kg.K)")) == {"number": (None, False)}


def test_a_unit_that_is_not_proportional_is_not_compared() -> None:
    assert told(scalar("24", unit="degAPI")) == {"number": (None, False)}


@each(
    ("content", "words"),
    [
        (b"id,value\n1,2\n", "not well-formed XML"),
        (b"<DataReport/>", "not a DataReport of http://www.iupac.org/namespaces/ThermoML"),
        (ARTICLE.replace(b"<nPropValue>908.3<", b"<nPropValue>about 908<"), "about 908"),
        (ARTICLE.replace(b"<nVarNumber>1</nVarNumber>", b"", 1), "a number or what it refers to is missing"),
    ],
)
def test_what_is_no_thermoml_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(BadParameter) as refused:
        compare(scalar("908.3"), content)
    assert words in refused.value.detail
    assert refused.value.extensions["parameter"] == "carrier"
