"""Rules grid/5, quotient/1, expansion/1 and classical-absorption/1, on an invented liquid."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from refdb.forms import make_form
from refdb.problems import LedgerError
from refdb.recommend.liquids.from_rows import bound_absorption
from refdb.records.models import RecommendedValue
from refdb.release import derive_records
from refdb.units import UnitTable
from refdb.vocabulary import vocabulary
from tests.invented import READINGS_HEADER, write_document

TABLE = UnitTable.from_documents(vocabulary()["units"])

POLICY = """
[[grid_kind]]
property = "density"
sources = ["equations"]
reason = "Invented, and good."
uncertainty = { number = "0.1", unit = "%", text = "invented" }

[[grid_kind]]
property = "density"
reason = "Invented."
uncertainty = { number = "0.5", unit = "%", text = "invented" }

[[grid_kind]]
property = "dynamic_viscosity"
reason = "Invented."
uncertainty = { number = "3", unit = "%", text = "invented" }

[[grid_kind]]
property = "saturation_pressure"
reason = "Invented."
uncertainty = { number = "1", unit = "%", text = "invented" }

[expansion]
span = "50"
reason = "invented"
"""

GRID = """
[[grid]]
id = "invented-liquid.{property}.01"
subject = "invented-liquid"
property = "{property}"
unit = "{unit}"
locator = "equation 1"
of = "{of}"
{saturation}
values = {values}
fit_error = {{ number = "0.001", unit = "%" }}
{more}

[grid.state]

[[grid.axes]]
name = "temperature"
unit = "degC"
low = "0"
high = "100"
nodes = 2
"""

PRESSURE = """
[[grid.axes]]
name = "pressure"
unit = "MPa"
low = "saturation"
high = "10"
nodes = 2
"""


def _grid(property_id: str, unit: str, values: list[str], of: str = "value", more: str = "") -> str:
    pressure = property_id != "saturation_pressure"
    told = 'saturation = "invented-liquid.saturation_pressure.01"' if pressure else ""
    quoted = "[" + ", ".join(f'"{value}"' for value in values) + "]"
    text = GRID.format(property=property_id, unit=unit, of=of, saturation=told, values=quoted, more=more)
    return text + (PRESSURE if pressure else "")


SATURATION = _grid("saturation_pressure", "Pa", ["50000", "2000000"], of="logarithm")
DENSITY = _grid("density", "kg/m3", ["1000", "1005", "900", "905"])
VISCOSITY = _grid("dynamic_viscosity", "Pa.s", ["0.001", "0.0011", "0.0005", "0.0006"])

MEASURED = """
[[curve_fit]]
property = "absorption_over_frequency_squared"
logarithm = true
repeatability = "5"
spread = "7"
freedom = 4
compiled = "20"
slope = "-1"
slope_uncertainty = "2"
reach = "2"
handbook_uncertainty = "3"
disagreement = "10"
per_megapascal = "0.5"
reason = "invented"
"""


@pytest.fixture
def liquid(invented_text: Path) -> Path:
    """The invented text with a policy for kinds of grids."""
    rules = invented_text / "sources" / "rules"
    (rules / "liquids.toml").write_text(POLICY)
    return invented_text


def _records(text: Path, grids: str, readings: str = "") -> dict[str, dict[str, Any]]:
    write_document(text, "equations", READINGS_HEADER)
    (text / "sources" / "documents" / "read" / "equations" / "grids.toml").write_text(grids)
    if readings:
        write_document(text, "points", READINGS_HEADER + readings)
    return derive_records(text)


def test_values_that_have_no_logarithm_are_told_before_they_are_joined(liquid: Path) -> None:
    wrong = _grid("saturation_pressure", "Pa", ["0", "2000000"], of="logarithm")
    with pytest.raises(LedgerError, match=r"grids\.toml.*: values: only numbers above 0 have a logarithm"):
        _records(liquid, wrong)


def test_a_grid_of_a_kind_is_followed_without_an_entry_of_its_own(liquid: Path) -> None:
    row = _records(liquid, SATURATION + DENSITY)["invented-liquid.density"]
    assert (row["rule"], row["uncertainty"]["number"], row["working"]["reason"]) == (
        "grid/5",
        "0.1",
        "Invented, and good.",
    )
    assert row["domain"]["pressure"]["not_given"] == "saturation"


def test_a_reading_that_disagrees_by_more_sets_the_uncertainty(liquid: Path) -> None:
    at_1_atm = float(
        make_form(_records(liquid, SATURATION + DENSITY)["invented-liquid.density"]["form"]).value(10.0, 0.101325)
    )
    line = f"invented-liquid.density.02,invented-liquid,density,{at_1_atm * 1.02:.6f},,,kg/m3,10 degC,p. 1,,\n"
    row = _records(liquid, SATURATION + DENSITY, line)["invented-liquid.density"]
    assert float(row["uncertainty"]["number"]) == pytest.approx(2.0 / math.sqrt(3.0), rel=0.05)
    assert row["uncertainty"]["code"] == "between-sources"
    compared = row["inputs"][-1]
    assert (compared["id"], compared["weight"]) == ("invented-liquid.density.02", "0")
    assert compared["note"] == "compared: +2 % at most, at 10 degC"


def test_a_reading_outside_the_range_or_in_doubt_says_nothing(liquid: Path) -> None:
    lines = (
        "invented-liquid.density.02,invented-liquid,density,2000,,,kg/m3,150 degC,p. 1,,\n"
        "invented-liquid.density.03,invented-liquid,density,2000,,,kg/m3,10 degC,p. 1,suspect,twice too dense\n"
    )
    row = _records(liquid, SATURATION + DENSITY, lines)["invented-liquid.density"]
    assert row["uncertainty"]["number"] == "0.1"
    assert {entry["id"] for entry in row["inputs"]}.isdisjoint({"invented-liquid.density.02"})


def test_a_grid_in_doubt_gives_no_row(liquid: Path) -> None:
    doubted = _grid(
        "density", "kg/m3", ["1000", "1005", "900", "905"], more='flags = [{ code = "suspect", text = "invented" }]'
    )
    assert "invented-liquid.density" not in _records(liquid, SATURATION + doubted)


def test_what_a_grid_notes_stands_in_its_row(liquid: Path) -> None:
    noted = _grid("density", "kg/m3", ["1000", "1005", "900", "905"], more='flags = [{ code = "note", text = "mind" }]')
    assert _records(liquid, SATURATION + noted)["invented-liquid.density"]["notes"] == ["mind"]


def test_kinematic_viscosity_is_the_quotient_of_two_rows(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY + VISCOSITY)
    row = records["invented-liquid.kinematic_viscosity"]
    assert (row["rule"], row["rung"], row["basis"]) == ("quotient/1", "derived", "derived")
    dynamic, density, kinematic = (
        make_form(records[f"invented-liquid.{name}"]["form"])
        for name in ("dynamic_viscosity", "density", "kinematic_viscosity")
    )
    assert kinematic.value(30.0, 5.0) == dynamic.value(30.0, 5.0) / density.value(30.0, 5.0)
    assert float(row["uncertainty"]["number"]) == pytest.approx(math.hypot(3.0, 0.1), rel=0.02)
    assert row["domain"] == records["invented-liquid.density"]["domain"]


def test_thermal_expansion_is_the_slope_of_the_density(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY)
    row = records["invented-liquid.thermal_expansion"]
    density, expansion = (
        make_form(records[f"invented-liquid.{name}"]["form"]) for name in ("density", "thermal_expansion")
    )
    warmer, colder = density.value(30.01, 5.0), density.value(29.99, 5.0)
    assert expansion.value(30.0, 5.0) == pytest.approx(-(warmer - colder) / 0.02 / density.value(30.0, 5.0), rel=1e-6)
    assert float(row["uncertainty"]["number"]) == pytest.approx(0.001 / 50.0, rel=0.02)


def test_a_row_of_another_range_bounds_the_quotient(liquid: Path) -> None:
    equation = """
[[equation]]
id = "invented-liquid.dynamic_viscosity.02"
subject = "invented-liquid"
property = "dynamic_viscosity"
unit = "Pa.s"
locator = "equation 3"
equation_printed = "mu = a + b t"
form = "polynomial/1"

[equation.state]

[equation.variable]
name = "temperature"
unit = "degC"

[equation.interval]
low = "20"
high = "60"
unit = "degC"

[equation.coefficients]
c0 = "0.002"
c1 = "-0.00001"
"""
    write_document(liquid, "viscosity", READINGS_HEADER)
    (liquid / "sources" / "documents" / "read" / "viscosity" / "equations.toml").write_text(equation)
    rules = liquid / "sources" / "rules" / "liquids.toml"
    chosen = '[[reference]]\nrow = "invented-liquid.dynamic_viscosity"\n'
    rules.write_text(chosen + 'reading = "invented-liquid.dynamic_viscosity.02"\nreason = "invented"\n' + POLICY)
    row = _records(liquid, SATURATION + DENSITY)["invented-liquid.kinematic_viscosity"]
    assert row["domain"]["temperature"] == {"low": "20", "high": "60", "unit": "degC"}
    assert row["domain"]["pressure"]["low"] == "saturation"


BOUND = "invented-liquid.absorption_over_frequency_squared"


def test_a_liquid_absorbs_at_least_what_its_shear_viscosity_does(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY + VISCOSITY)
    row = records[BOUND]
    assert (row["rule"], row["rung"], row["basis"]) == ("classical-absorption/1", "derived", "derived")
    assert (row["bound"], row["unit"]) == ("lower", "s2/m")
    assert "lower bound, not a value" in row["notes"][0]
    viscosity, density = (
        make_form(records[f"invented-liquid.{name}"]["form"]).value(30.0, 5.0)
        for name in ("dynamic_viscosity", "density")
    )
    speed = make_form(records["invented-liquid.sound_speed"]["form"]).value(30.0)
    classical = 8.0 * math.pi**2 * viscosity / (3.0 * density * speed**3)
    assert make_form(row["form"]).value(30.0, 5.0) == pytest.approx(classical, rel=1e-12)
    assert row["domain"]["temperature"] == records["invented-liquid.sound_speed"]["domain"]["temperature"]
    assert row["domain"]["pressure"] == records["invented-liquid.density"]["domain"]["pressure"]
    assert [item["id"] for item in row["inputs"]] == [
        f"invented-liquid.{name}" for name in ("dynamic_viscosity", "density", "sound_speed")
    ]


def test_the_speed_counts_three_times_in_the_uncertainty_of_the_bound(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY + VISCOSITY)
    speed = {"uncertainty": {"number": "2", "unit": "%", "code": "stated", "text": "invented"}}
    row = bound_absorption("invented-liquid", _rows(records, sound_speed=speed), TABLE)
    assert row is not None
    assert float(row.uncertainty.number) == pytest.approx(math.hypot(3.0, 0.1, 3 * 2.0), rel=0.02)


def test_there_is_no_bound_without_a_viscosity(liquid: Path) -> None:
    assert BOUND not in _records(liquid, SATURATION + DENSITY)


def _rows(records: dict[str, dict[str, Any]], **changes: dict[str, Any]) -> dict[str, RecommendedValue]:
    names = ("dynamic_viscosity", "density", "sound_speed")
    return {
        f"invented-liquid.{name}": RecommendedValue.model_validate(
            records[f"invented-liquid.{name}"] | changes.get(name, {})
        )
        for name in names
    }


def test_a_bound_stands_no_higher_than_what_it_rests_on(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY + VISCOSITY)
    for rung in ("analogue", "memory"):
        row = bound_absorption("invented-liquid", _rows(records, sound_speed={"rung": rung}), TABLE)
        assert row is not None
        assert row.rung == rung


def test_a_kinematic_viscosity_gives_a_bound_where_no_dynamic_one_is_recommended(liquid: Path) -> None:
    records = _records(liquid, SATURATION + DENSITY + VISCOSITY)
    rows = _rows(records)
    kinematic = rows.pop("invented-liquid.dynamic_viscosity").model_copy(
        update={"id": "invented-liquid.kinematic_viscosity", "property": "kinematic_viscosity", "unit": "m2/s"}
    )
    row = bound_absorption("invented-liquid", rows | {kinematic.id: kinematic}, TABLE)
    assert row is not None
    assert "density" not in row.form
    assert [item.id for item in row.inputs] == [kinematic.id, "invented-liquid.sound_speed"]


def test_a_published_absorption_stands_before_the_bound(liquid: Path) -> None:
    (liquid / "sources" / "rules" / "liquids.toml").write_text(POLICY + MEASURED)
    reading = f"{BOUND}.01,invented-liquid,absorption_over_frequency_squared,60,,,1e-15 s2/m,20 degC,table 1,,\n"
    row = _records(liquid, SATURATION + DENSITY + VISCOSITY, reading)[BOUND]
    assert (row["rule"], row["rung"]) == ("curve-fit/2", "published")
    assert "bound" not in row
    assert make_form(row["form"]).value(20.0, 1.0) == pytest.approx(60e-15, rel=1e-6, abs=0.0)
