"""Many states at once: the same answers as one by one, and no state spoils another."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.problems import BadParameter, BadQuantity, MissingState, NotAvailable, Problem, UnknownName, WrongDimension
from refdb.units import units
from refdb.values.options import Options
from tests.rows import each


def celsius(*magnitudes: float) -> dict[str, Any]:
    return {"unit": "degC", "magnitudes": list(magnitudes)}


def test_every_state_is_answered_as_it_is_alone(pending: Database) -> None:
    temperatures, pressures = [5.0, 60.0, 140.0], [0.2, 1.0, 6.0]
    state = {"temperature": celsius(*temperatures), "pressure": {"unit": "MPa", "magnitudes": pressures}}
    found = pending.batch("water", ["sound_speed", "density"], state=state)
    for part in found.parts:
        for index, (temperature, pressure) in enumerate(zip(temperatures, pressures, strict=True)):
            alone = pending.value(
                "water", part.property_id, temperature=f"{temperature} degC", pressure=f"{pressure} MPa"
            )
            assert part.value[index] == pytest.approx(alone.magnitude, rel=1e-12)
            assert part.standard_uncertainty[index] == pytest.approx(alone.standard_uncertainty.magnitude, rel=1e-9)
            assert (part.row, part.digest) == (alone.row, alone.digest)


def test_a_state_that_cannot_be_answered_spoils_no_other(pending: Database) -> None:
    found = pending.batch("water", ["sound_speed"], state={"temperature": celsius(20.0, 120.0, -5.0, 21.0, 300.0)})
    document = found.document()
    assert document["columns"]["status"] == ["ok", "missing-state", "outside-range", "ok", "outside-range"]
    assert [value is None for value in document["columns"]["value"]] == [False, True, True, False, True]
    (part,) = document["properties"]
    refused = {entry["status"]: entry for entry in part["refused"]}
    assert (refused["outside-range"]["count"], refused["outside-range"]["first"]) == (2, 2)
    assert "freezes" in refused["outside-range"]["problem"]["detail"]
    assert "198.7 kPa" in refused["missing-state"]["problem"]["detail"]


def test_one_magnitude_serves_all_states_and_an_assumption_is_told_once(pending: Database) -> None:
    state = {"temperature": celsius(100.0, 120.0), "pressure": "5 bar(g)"}
    found = pending.batch("water", ["density"], state=state)
    assert list(found.parts[0].statuses) == ["ok"]
    assert found.parts[0].each.assumptions == ("gauge pressure is counted from 1 atm",)


def test_frozen_and_fresh_sea_water_are_told_apart(pending: Database) -> None:
    state = {"temperature": "-1 degC", "salinity": {"unit": "psu", "magnitudes": [35.0, 2.0, 40.0]}}
    found = pending.batch("seawater", ["density"], state=state)
    assert found.document()["columns"]["status"] == ["ok", "outside-range", "ok"]


def test_columns_of_several_properties_begin_with_the_property(pending: Database) -> None:
    document = pending.batch("water", ["density", "sound_speed"], state={"temperature": "20 degC"}).document()
    assert set(document["columns"]) == {
        f"{property_id}.{column}"
        for property_id in ("density", "sound_speed")
        for column in ("value", "standard_uncertainty", "status", "row")
    }


def test_without_properties_all_that_are_advised_are_answered(pending: Database) -> None:
    found = pending.batch("seawater", state={"temperature": "20 degC", "salinity": "35 psu"})
    assert {"sound_speed", "density", "freezing_point"} <= {part.property_id for part in found.parts}


def test_units_are_chosen_as_for_one_answer(pending: Database) -> None:
    state = {"temperature": {"unit": "degF", "magnitudes": [68.0]}}
    us = pending.batch("water", ["sound_speed"], state=state, options=Options(system="us"))
    alone = pending.value("water", "sound_speed", temperature="68 degF", unit="ft/s")
    assert us.parts[0].value[0] == pytest.approx(alone.magnitude, rel=1e-12)
    assert us.document()["properties"][0]["unit"] == "ft/s"


def test_a_quantity_may_hold_an_array(pending: Database) -> None:
    temperatures = Quantity(np.linspace(1.0, 95.0, 1000), units().find("degC", "temperature"))
    assert len(pending.batch("water", ["sound_speed"], state={"temperature": temperatures})) == 1000


def test_a_material_is_answered_at_its_temperatures(pending: Database) -> None:
    found = pending.batch("carbon-steel", ["shear_speed"], state={"temperature": celsius(18.0, 20.0)})
    assert found.document()["columns"]["status"] == ["ok", "ok"]


def test_the_arrow_table_carries_units_release_digests_and_nulls(pending: Database) -> None:
    found = pending.batch("water", ["sound_speed"], state={"temperature": celsius(20.0, -5.0)})
    table = found.arrow()
    assert table.column_names == ["value", "standard_uncertainty", "status", "row"]
    assert table.schema.field("value").metadata[b"unit"] == b"m/s"
    assert table.schema.metadata[b"release"] == found.release.encode()
    assert table.schema.metadata[b"digest:water.sound_speed"] == found.parts[0].digest.encode()
    assert table["value"].null_count == table["standard_uncertainty"].null_count == 1
    assert table["status"].to_pylist() == ["ok", "outside-range"]
    assert pa.types.is_dictionary(table.schema.field("row").type)


@each(
    ("subject", "properties", "state", "problem", "words"),
    [
        ("water", ["sound_speed"], {}, BadParameter, "no state is given"),
        ("water", ["sound_speed"], {"temperature": {"unit": "degC"}}, BadParameter, "is not a quantity"),
        ("water", ["sound_speed"], {"temperature": [20.0]}, BadParameter, "is not a quantity"),
        ("water", ["sound_speed"], {"temperature": celsius()}, BadParameter, "list of 1 to"),
        ("water", ["sound_speed"], {"temperature": {"unit": 3, "magnitudes": [1.0]}}, BadParameter, "must be a text"),
        ("water", ["sound_speed"], {"temperature": {"unit": "kg", "magnitudes": [1.0]}}, WrongDimension, "mass"),
        ("water", ["sound_speed"], {"temperature": "20"}, BadQuantity, "no unit"),
        ("water", ["sound_speed"], {"temperature": celsius(1.0, float("nan"))}, BadQuantity, "magnitude 1 is not"),
        ("water", ["sound_speed"], {"temperature": celsius(1.0, 1e400)}, BadQuantity, "magnitude 1 is not"),
        (
            "water",
            ["sound_speed"],
            {"temperature": {"unit": "degC", "magnitudes": [1.0, "2"]}},
            BadQuantity,
            "magnitude 1 is not",
        ),
        (
            "water",
            ["sound_speed"],
            {"temperature": {"unit": "degC", "magnitudes": [True]}},
            BadQuantity,
            "magnitude 0 is not",
        ),
        (
            "water",
            ["density"],
            {"temperature": celsius(1.0, 2.0), "pressure": {"unit": "bar(a)", "magnitudes": [1.0, 2.0, 3.0]}},
            BadParameter,
            "holds 2 magnitudes",
        ),
        ("seawater", ["density"], {"temperature": celsius(5.0, 6.0)}, MissingState, "35 psu"),
        ("water", ["density"], {"temperature": "5 degC", "salinity": "35 psu"}, BadParameter, "leave it out"),
        ("water", ["beauty"], {"temperature": "5 degC"}, UnknownName, "no property"),
        ("wine-dark", ["density"], {"temperature": "5 degC"}, UnknownName, "wine-dark"),
        ("graphite", ["shear_speed"], {"temperature": "5 degC"}, NotAvailable, "advises no value"),
    ],
)
def test_a_question_that_is_wrong_as_a_whole_is_refused_in_a_sentence(
    pending: Database, subject: str, properties: list[str], state: dict[str, Any], problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words):
        pending.batch(subject, properties, state=state)
