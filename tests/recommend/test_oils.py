"""An oil's density and speed from one density, its viscosity from two readings; the policy must name what there is."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.problems import LedgerError
from refdb.recommend.oils.lines import PrintedPoint
from refdb.recommend.oils.oils import base_density, recommend_oils, recommend_viscosity
from refdb.recommend.policy import Oil, OilPolicy, ProductExpansion, ViscosityLine
from refdb.records.models import AnyRecord, Range, RecommendedValue, Scalar, Surface
from refdb.release.vocabulary import compile_vocabulary
from refdb.units import UnitTable
from tests.conftest import PROJECT

PRODUCT = ProductExpansion(k0="600", k1="0", source="invented", reason="Invented.")
MODEL = OilPolicy(speed_equation="any-oil.sound_speed.01", expansion={"oil": PRODUCT})
INTERVAL = {"low": "0", "high": "100", "unit": "degC"}


@pytest.fixture(scope="module")
def table() -> UnitTable:
    """The real units."""
    return UnitTable.from_documents(compile_vocabulary(PROJECT)["units"])


def oil(**changes: Any) -> Oil:
    fields: dict[str, Any] = {
        "subject": "some-oil",
        "properties": ["density", "sound_speed"],
        "product": "oil",
        "density": ["some-oil.density.01"],
        "spread": "0",
        "difference": "0.02",
        "rung": "analogue",
        "temperature": INTERVAL,
        "reason": "Invented.",
    }
    return Oil.model_validate(fields | changes)


def records(**changes: Any) -> dict[str, AnyRecord]:
    common = {"source": "invented", "locator": "p. 1", "basis": "measured", "seen": "original"}
    density: dict[str, Any] = {
        **common,
        "id": "some-oil.density.01",
        "subject": "some-oil",
        "property": "density",
        "unit": "kg/m3",
        "state": {"temperature": {"number": "15", "unit": "degC"}},
    }
    printed = density | {"low": "840", "high": "860"} | changes
    equation = Surface.model_validate(
        {
            **common,
            "id": "any-oil.sound_speed.01",
            "subject": "any-oil",
            "property": "sound_speed",
            "unit": "m/s",
            "state": {},
            "axes": [
                {"name": "temperature", "unit": "degC", "low": "0", "high": "100"},
                {"name": "pressure", "unit": "MPa", "low": "0", "high": "10"},
            ],
            "terms": [["1400", "0", "0"], ["-3.7", "1", "0"]],
            "equation_printed": "V",
        }
    )
    return {"some-oil.density.01": Range.model_validate(printed), equation.id: equation}


def rows(table: UnitTable, entry: Oil, known: dict[str, AnyRecord]) -> dict[str, RecommendedValue]:
    return recommend_oils([entry], MODEL, known, table)


def test_density_is_derived_and_the_speed_of_another_product_is_an_analogue(table: UnitTable) -> None:
    found = rows(table, oil(), records())
    density, speed = found["some-oil.density"], found["some-oil.sound_speed"]
    assert (density.rung, speed.rung, density.rule, speed.rule) == ("derived", "analogue", "dead-oil/1", "dead-oil/1")
    assert density.form["coefficients"] == {"c0": "850", "a0": "0.00083045", "t0": "15"}
    assert [entry.id for entry in speed.inputs] == ["some-oil.density.01", "any-oil.sound_speed.01"]


def test_half_the_range_of_a_standard_goes_into_the_uncertainty(table: UnitTable) -> None:
    wide, narrow = rows(table, oil(), records()), rows(table, oil(), records(low="849", high="851"))
    assert float(wide["some-oil.density"].uncertainty.number) > 10.0 / math.sqrt(3.0)
    assert float(wide["some-oil.sound_speed"].uncertainty.number) > float(
        narrow["some-oil.sound_speed"].uncertainty.number
    )


def test_what_the_model_gives_too_much_is_taken_off_the_whole_speed(table: UnitTable) -> None:
    plain = rows(table, oil(), records())["some-oil.sound_speed"].form["terms"]
    less = rows(table, oil(excess="0.1"), records())["some-oil.sound_speed"].form["terms"]
    assert [float(one[0]) / float(other[0]) for one, other in zip(plain, less, strict=True)] == pytest.approx(
        [1.1] * 4, rel=1e-4
    )


def test_a_remembered_density_makes_a_remembered_row(table: UnitTable) -> None:
    found = rows(table, oil(rung="derived"), records(seen="memory"))
    assert {row.rung for row in found.values()} == {"memory"}


@pytest.mark.parametrize(
    ("entry", "known"),
    [
        (oil(product="soup"), records()),
        (oil(density=["some-oil.density.02"]), records()),
        (oil(), records(flags=[{"code": "suspect", "text": "Invented."}])),
        (oil(), {"some-oil.density.01": records()["some-oil.density.01"]}),
    ],
    ids=["no such product", "no such reading", "a doubted reading", "no equation"],
)
def test_a_policy_that_leads_nowhere_stops_the_build(table: UnitTable, entry: Oil, known: dict[str, AnyRecord]) -> None:
    with pytest.raises(LedgerError, match="oil"):
        rows(table, entry, known)


def test_a_density_at_another_temperature_is_brought_to_15_degrees() -> None:
    warm = base_density([PrintedPoint(40.0, 830.0, 0.5)], PRODUCT, 0.0)
    assert warm.at(40.0) == pytest.approx(830.0, abs=0.005)
    assert warm.value > 845.0


def viscosity(number: str, value: str, celsius: str) -> Scalar:
    return Scalar.model_validate(
        {
            "id": f"some-oil.kinematic_viscosity.{number}",
            "source": "invented",
            "locator": "p. 1",
            "basis": "standard",
            "seen": "original",
            "subject": "some-oil",
            "property": "kinematic_viscosity",
            "unit": "cSt",
            "state": {"temperature": {"number": celsius, "unit": "degC"}},
            "number": value,
        }
    )


def line(first: str = "01", second: str = "02") -> ViscosityLine:
    return ViscosityLine.model_validate(
        {
            "row": "some-oil.kinematic_viscosity",
            "readings": [f"some-oil.kinematic_viscosity.{number}" for number in (first, second)],
            "temperature": INTERVAL,
            "percent": "10",
            "reason": "Invented.",
        }
    )


def test_other_viscosities_are_compared_and_not_followed(table: UnitTable) -> None:
    readings = [viscosity("01", "46", "40"), viscosity("02", "6.8", "100"), viscosity("03", "30", "50")]
    row = recommend_viscosity(line(), readings, table)
    assert [entry.weight for entry in row.inputs] == ["1", "1", "0"]
    assert row.unit == "m2/s"
    assert row.uncertainty.unit == "%"


def test_two_viscosities_at_one_temperature_give_no_line(table: UnitTable) -> None:
    with pytest.raises(LedgerError, match="two temperatures"):
        recommend_viscosity(line(), [viscosity("01", "46", "40"), viscosity("02", "48", "40")], table)
