"""Printable tables: every cell is the answer to the question at its state, and every line names its row."""

from __future__ import annotations

import csv
import io

import pytest

from refdb.database import Database
from refdb.problems import BadParameter, BadQuantity, Problem, UnknownUnit
from refdb.values.documents import TableDocument
from refdb.values.table import MATERIAL_PROPERTIES, MOST_CELLS, materials_table, read_range, table_of
from refdb_api.documents import MaterialList
from tests.conftest import CommandLine
from tests.rows import each
from tests.service import TestClient
from tests.shapes import require_shape, untyped


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0..20 step 5 degC", [0, 5, 10, 15, 20]),
        ("0..19 step 5 degC", [0, 5, 10, 15]),
        ("-10 .. 10 step 10 degC", [-10, 0, 10]),
        ("0..1 step 0.1 degC", [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]),
        ("32..212 step 90 degF", [32, 122, 212]),
        ("1.5..2.5 step .5 K", [1.5, 2.0, 2.5]),
        ("20 degC", [20]),
    ],
)
def test_a_range_is_its_steps_and_holds_its_end_where_a_step_meets_it(text: str, expected: list[float]) -> None:
    assert read_range(text, "temperature").magnitude.tolist() == expected


@each(
    ("text", "problem"),
    [
        ("100..0 step 5 degC", BadParameter),
        ("0..100 step 0 degC", BadParameter),
        ("0..100 step -5 degC", BadParameter),
        ("0..1e9 step 1 degC", BadParameter),
        ("0..100 degC", BadQuantity),
        ("0..100 step 5", BadQuantity),
        ("..100 step 5 degC", BadQuantity),
        ("a..b step c degC", BadQuantity),
        ("0..100 step 5 parsec", UnknownUnit),
    ],
)
def test_what_is_no_range_is_refused_in_one_sentence_naming_the_field(text: str, problem: type[Problem]) -> None:
    with pytest.raises(problem) as refusal:
        read_range(text, "temperature")
    assert refusal.value.detail.startswith("temperature: ")
    assert "\n" not in refusal.value.detail


def test_each_cell_is_the_answer_at_its_state(database: Database) -> None:
    state = {"temperature": "10..30 step 10 degC", "salinity": "10..30 step 20 g/kg"}
    document = untyped(table_of(database.reader, "seawater", ["sound_speed"], state).document())
    (part,) = document["tables"]
    assert (document["down"]["name"], document["across"]["name"]) == ("temperature", "salinity")
    for line, celsius in zip(part["values"], document["down"]["magnitudes"], strict=True):
        for value, salinity in zip(line, document["across"]["magnitudes"], strict=True):
            alone = database.value(
                "seawater", "sound_speed", temperature=f"{celsius} degC", salinity=f"{salinity} g/kg"
            )
            assert value == pytest.approx(alone.magnitude, rel=1e-11)
    assert part["row"] == {"id": "seawater.sound_speed", "digest": alone.digest}


def test_a_state_that_cannot_be_answered_is_told_and_spoils_no_other(database: Database) -> None:
    document = table_of(database.reader, "water", ["sound_speed"], {"temperature": "-10..10 step 10 degC"}).document()
    (part,) = document["tables"]
    assert [line[0] is None for line in part["values"]] == [True, True, False]
    assert [line[0] for line in part["status"]] == ["outside-range", "outside-range", "ok"]


@pytest.mark.parametrize("state", [{}, {"temperature": "20 degC"}])
def test_a_table_needs_a_range(database: Database, state: dict[str, str]) -> None:
    with pytest.raises(BadParameter, match="one or two ranges"):
        table_of(database.reader, "water", [], state)


def test_a_table_that_nobody_would_print_is_refused(database: Database) -> None:
    state = {"temperature": "0..30 step 0.01 degC", "salinity": "0..40 step 1 g/kg"}
    with pytest.raises(BadParameter, match=f"take larger steps, for {MOST_CELLS} at most"):
        table_of(database.reader, "seawater", ["density"], state)


def test_the_service_and_the_command_give_the_same_table(client: TestClient, command: CommandLine) -> None:
    asked = {"subject": "water", "property": "density", "temperature": "10..30 step 10 degC", "units": "us"}
    answer = client.get("/v1/table", params=asked).json()
    require_shape(TableDocument, answer)
    printed = command("table", "water", "density", "--temperature", "10..30 step 10 degC", "--units", "us")
    assert printed.code == 0
    assert "density, lb/ft3; row water.density" in printed.out
    lines = command("table", "water", "density", "--temperature", "10..30 step 10 degC", "--units", "us", "--csv")
    cells = list(csv.DictReader(io.StringIO(lines.out)))
    assert [float(cell["value"]) for cell in cells] == [line[0] for line in answer["tables"][0]["values"]]
    assert {cell["row"] for cell in cells} == {"water.density"}


def test_the_list_of_materials_holds_every_material_with_a_value_and_what_is_answered_for_it(
    database: Database,
) -> None:
    lines = {line["id"]: line for line in materials_table(database.reader)}
    for subject in database.subjects("material"):
        advised = set(MATERIAL_PROPERTIES) & set(subject["properties"])
        assert (subject["id"] in lines) is bool(advised), subject["id"]
        for name in MATERIAL_PROPERTIES:
            assert (subject["id"] in lines and lines[subject["id"]][name] is not None) is (name in advised)
    answer = database.value("carbon-steel", "shear_speed")
    cell = untyped(lines["carbon-steel"])["shear_speed"]
    assert cell["value"] == pytest.approx(answer.magnitude, rel=1e-12)
    assert (cell["row"]["id"], cell["rung"]) == (answer.row, "published")
    assert {source["key"] for source in answer.sources} <= set(lines["carbon-steel"]["sources"])


def test_the_list_of_materials_is_served_in_pages_and_printed(client: TestClient, command: CommandLine) -> None:
    page = client.get("/v1/table/materials", params={"limit": "3"}).json()
    require_shape(MaterialList, page)
    assert len(page["items"]) == 3
    assert page["next"]
    printed = command("materials", "--csv")
    rows = list(csv.DictReader(io.StringIO(printed.out)))
    assert [row["id"] for row in rows[:3]] == [item["id"] for item in page["items"]]
    shown = command("materials").out
    assert all(f"({row['id']})" in shown for row in rows if len(row["id"]) < 12)
