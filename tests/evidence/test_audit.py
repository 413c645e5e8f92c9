"""What is suspicious in the evidence: on invented documents, and on water against the equations worked out again."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from refdb.data import current
from refdb.database import Database
from refdb.evidence.audit import SCOPES
from refdb.evidence.documents import AuditDocument, PipeAuditDocument
from refdb.lookup import ReleaseStore
from refdb.problems import UnknownName
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import EQUATION, READINGS_HEADER, write_document
from tests.service import TestClient, create_app
from tests.shapes import require_shape, untyped

DAY = datetime.date(2026, 1, 2)
METAL = "invented-metal.longitudinal_speed"
LIQUID = "invented-liquid.sound_speed"

SPEEDS = ("5000", "5010", "5020", "4990", "6300")
"""Invented; the last is the wrong one. The first stands in the document that all invented texts begin with."""

TABLE = """
[[table]]
id = "invented-liquid.sound_speed.02"
subject = "invented-liquid"
property = "sound_speed"
unit = "m/s"
locator = "table 4"
points = [["278.15", "1285.5"], ["328.15", "1411"]]

[table.state]
pressure = { number = "1", unit = "atm" }

[table.variable]
name = "temperature"
unit = "K"
"""

Released = Callable[[], Database]


@pytest.fixture
def released(invented_text: Path, tmp_path: Path) -> Released:
    """Cuts a release of the invented text as it is by then, and opens it."""

    def release() -> Database:
        cut_release(invented_text, "2026r1", "A trial.", DAY)
        build(invented_text, tmp_path / "compiled")
        return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))

    return release


def _metal(number: int, speed: str, flag: str = "", text: str = "") -> str:
    return f"{METAL}.0{number},invented-metal,longitudinal_speed,{speed},,,m/s,20 degC,page {number},{flag},{text}\n"


def _liquid(number: int, speed: str, unit: str, temperature: str) -> str:
    return f"{LIQUID}.0{number},invented-liquid,sound_speed,{speed},,,{unit},{temperature},page {number},,\n"


def _write_speeds(text: Path) -> None:
    for number, speed in enumerate(SPEEDS[1:], start=2):
        write_document(text, f"article-{number}", READINGS_HEADER + _metal(number, speed))


def _second_equation(text: Path, c0: str, c1: str, more: str = "") -> None:
    write_document(text, "second-article", READINGS_HEADER, more)
    equation = EQUATION.replace(".01", ".02").replace('"1300"', f'"{c0}"').replace('"-3.5"', f'"{c1}"')
    (text / "sources" / "documents" / "read" / "second-article" / "equations.toml").write_text(equation)


def _by_reading(entries: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    return {entry["reading"]["id"]: entry for entry in entries}


def test_a_wrong_reading_is_on_top_of_the_list(invented_text: Path, released: Released) -> None:
    _write_speeds(invented_text)
    document = released().audit("solids")
    wrong = document["deviations"][0]
    assert wrong["reading"]["id"] == f"{METAL}.05"
    mean = sum(map(float, SPEEDS)) / 5.0
    assert wrong["recommended"]["value"] == pytest.approx(mean)
    assert wrong["deviation"] == pytest.approx(6300.0 - mean)
    assert wrong["relative"] == pytest.approx(6300.0 / mean - 1.0, rel=1e-3)
    assert (wrong["role"], wrong["weight"], wrong["independent"]) == ("averaged", 0.2, True)
    sizes = [abs(entry["in_uncertainties"] or 0.0) for entry in document["deviations"]]
    assert sizes == sorted(sizes, reverse=True)


def test_a_wrong_reading_of_a_liquid_is_on_top_of_the_list(invented_text: Path, released: Released) -> None:
    _second_equation(invented_text, "1301", "-3.5")
    right, wrong = _liquid(3, "1230.2", "m/s", "20 degC"), _liquid(4, "1280", "m/s", "20 degC")
    write_document(invented_text, "third-article", READINGS_HEADER + right + wrong)
    deviations = released().audit("liquids")["deviations"]
    assert [entry["reading"]["id"] for entry in deviations] == [f"{LIQUID}.04", f"{LIQUID}.02", f"{LIQUID}.03"]
    assert deviations[0]["deviation"] == pytest.approx(1280.0 - 1230.0)


def test_a_deviation_is_measured_by_both_uncertainties(invented_text: Path, released: Released) -> None:
    _write_speeds(invented_text)
    database = released()
    wrong = database.audit("solids")["deviations"][0]
    row = database.row(METAL)["record"]
    (used,) = [entry for entry in row["inputs"] if entry["id"] == f"{METAL}.05"]
    assert wrong["uncertainty_from"] == "rule"
    combined = math.hypot(float(row["uncertainty"]["number"]), float(used["standard_uncertainty"]))
    assert wrong["in_uncertainties"] == pytest.approx(wrong["deviation"] / combined, rel=1e-3)


def test_the_printed_digits_are_the_doubt_of_a_reading_that_no_rule_weighed(
    invented_text: Path, released: Released
) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + _liquid(2, "4050", "ft/s", "68 degF"))
    (found,) = released().audit("liquids")["deviations"]
    assert (found["role"], found["uncertainty_from"]) == ("left out", "printing")
    assert found["state"]["temperature"]["magnitude"] == pytest.approx(20.0)
    assert found["read"]["value"] == pytest.approx(4050.0 * 0.3048)
    assert found["read"]["standard_uncertainty"] == pytest.approx(0.5 * 0.3048 / math.sqrt(3.0))
    assert found["deviation"] == pytest.approx(4050.0 * 0.3048 - (1300.0 - 3.5 * 20.0))


def test_a_stated_uncertainty_is_believed(invented_text: Path, released: Released) -> None:
    _second_equation(invented_text, "1304", "-3.5")
    equations = invented_text / "sources" / "documents" / "read" / "second-article" / "equations.toml"
    stated = '\n[equation.stated_uncertainty]\nnumber = "0.4"\nunit = "%"\nkind = "expanded"\n'
    equations.write_text(equations.read_text() + stated)
    (found,) = released().audit("liquids")["deviations"]
    assert found["uncertainty_from"] == "stated"
    assert found["read"]["standard_uncertainty"] == pytest.approx(0.002 * found["read"]["value"])


def test_an_equation_is_told_where_it_lies_farthest_from_the_followed_one(
    invented_text: Path, released: Released
) -> None:
    _second_equation(invented_text, "1302", "-3.7")
    (found,) = released().audit("liquids")["deviations"]
    # 2 - 0.2 t between 5 and 60 degC: +1 m/s at 5 degC, -10 m/s at 60 degC.
    assert found["state"]["temperature"] == {"magnitude": 60.0, "unit": "degC", "ucum": "Cel"}
    assert found["deviation"] == pytest.approx(-10.0)
    assert (found["kind"], found["role"], found["independent"]) == ("equation", "compared", True)
    assert found["source"]["locator"] == "equation 3"


def test_a_table_is_held_against_a_row_at_its_own_points_only(invented_text: Path, released: Released) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER)
    documents = invented_text / "sources" / "documents" / "read"
    (documents / "second-article" / "tables.toml").write_text(TABLE)
    (documents / "first-article" / "equations.toml").write_text(EQUATION + 'c2 = "0.1"\n')
    (found,) = released().audit("liquids")["deviations"]
    # 1300 - 3.5 t + 0.1 t² is 1285 and 1410 m/s there; half way between, a straight line would be 63 m/s off.
    assert found["deviation"] == pytest.approx(1411.0 - 1410.0)
    assert found["state"]["temperature"]["magnitude"] == pytest.approx(55.0)
    assert found["read"]["standard_uncertainty"] == pytest.approx(0.5 / math.sqrt(3.0))


def test_the_equation_that_a_row_follows_is_not_compared_with_itself(released: Released) -> None:
    assert released().audit("liquids")["deviations"] == []


def test_a_copy_is_not_called_independent(invented_text: Path, released: Released) -> None:
    first = invented_text / "sources" / "documents" / "read" / "first-article" / "source.toml"
    shared = 'lineage = "invented-data"\n'
    first.write_text(first.read_text().replace("\n[defaults]", shared + "\n[defaults]"))
    _second_equation(invented_text, "1302", "-3.5", shared)
    document = released().audit("liquids")
    (found,) = document["deviations"]
    assert (found["lineage"], found["independent"]) == ("invented-data", False)
    (alone,) = document["single_lineage"]
    assert (alone["row"]["id"], alone["lineage"]) == (LIQUID, "invented-data")
    assert (alone["sources"], alone["readings"]) == (["first-article", "second-article"], 2)


def test_a_second_lineage_that_was_compared_supports_a_value(invented_text: Path, released: Released) -> None:
    _second_equation(invented_text, "1302", "-3.5")
    assert released().audit("liquids")["single_lineage"] == []


def test_a_reading_with_a_doubt_is_told_with_its_flag_and_how_far_it_lies(
    invented_text: Path, released: Released
) -> None:
    doubted = _metal(2, "3000", "suspect", "Far too low.") + _metal(3, "4900", "misprint", "Two digits changed places.")
    noted = _metal(4, "5010", "note", "Read from a worn page.")
    write_document(invented_text, "second-article", READINGS_HEADER + doubted + noted)
    document = released().audit("solids")
    assert [entry["reading"]["id"] for entry in document["flagged"]] == [f"{METAL}.02", f"{METAL}.03"]
    worst = untyped(document["flagged"][0])
    assert worst["flags"] == [{"code": "suspect", "text": "Far too low."}]
    assert (worst["source"]["key"], worst["source"]["locator"]) == ("second-article", "page 2")
    assert worst["deviation"]["deviation"] == pytest.approx(3000.0 - 5005.0)
    left_out = _by_reading(document["left_out"])
    assert left_out[f"{METAL}.02"]["reason"] == "suspect: Far too low."
    assert f"{METAL}.02" not in _by_reading(document["deviations"])
    assert f"{METAL}.04" in _by_reading(document["deviations"])


def test_a_reading_left_out_of_its_row_is_told_with_the_reason(invented_text: Path, released: Released) -> None:
    hot = _metal(2, "4700", "", "").replace("20 degC", "400 degC")
    write_document(invented_text, "second-article", READINGS_HEADER + hot)
    document = released().audit("solids")
    (entry,) = document["left_out"]
    assert entry["reading"]["id"] == f"{METAL}.02"
    assert entry["reason"] == "at 400 degC, which is not room temperature"
    assert entry["deviation"] is None
    assert document["not_compared"] == []


def test_values_that_a_lone_document_supports_come_with_what_spoke_against_them_first(
    invented_text: Path, released: Released
) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + _metal(2, "3000", "suspect", "Far too low."))
    alone = released().audit("solids")["single_lineage"]
    assert [(entry["row"]["id"], entry["left_out"]) for entry in alone] == [(METAL, 1), ("invented-metal.density", 0)]


def test_a_reading_that_no_row_answers_is_told_as_not_compared(invented_text: Path, released: Released) -> None:
    density = "invented-liquid.density.01,invented-liquid,density,870,,,kg/m3,20 degC,page 1,,\n"
    write_document(invented_text, "second-article", READINGS_HEADER + density)
    (entry,) = released().audit("liquids")["not_compared"]
    assert (entry["reading"]["id"], entry["row"]) == ("invented-liquid.density.01", None)
    assert entry["reason"] == "the release advises no value of this property"


@pytest.mark.parametrize("temperature", ["not stated", "after the pump"])
def test_a_liquid_without_a_temperature_is_held_against_nothing(
    invented_text: Path, released: Released, temperature: str
) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + _liquid(2, "1400", "m/s", temperature))
    document = released().audit("liquids")
    assert document["deviations"] == []
    assert [entry["deviation"] for entry in document["left_out"]] == [None]


def test_the_document_is_the_one_that_the_service_promises(invented_text: Path, released: Released) -> None:
    _write_speeds(invented_text)
    database = released()
    with TestClient(create_app(database)) as client:
        for scope in SCOPES:
            answer = client.get(f"/v1/audit/{scope}")
            assert answer.json() == database.audit(scope)
            require_shape(PipeAuditDocument if scope == "pipes" else AuditDocument, answer.json())


def test_an_unknown_scope_is_refused_with_those_there_are(database: Database) -> None:
    with pytest.raises(UnknownName) as refusal:
        database.audit("gases")
    assert refusal.value.extensions["parameter"] == "scope"
    assert refusal.value.extensions["candidates"] == list(SCOPES)


@pytest.mark.parametrize("scope", ["liquids", "solids"])
def test_every_reading_is_told_or_followed(database: Database, scope: str) -> None:
    release = database.release("2026r1")
    document = untyped(database.audit(scope, release))
    told = {
        entry["reading"]["id"]
        for part in ("deviations", "flagged", "left_out", "not_compared")
        for entry in document[part]
    }
    followed = {
        entry["id"]
        for row in database.store.of_kind("recommended", release)
        for entry in row.body["inputs"]
        if entry.get("weight") == "1"
    }
    kind = {"liquids": "liquid", "solids": "material"}[scope]
    subjects = {s.id for s in database.store.of_kind("subject", release) if s.body["subject_kind"] == kind}
    readings = {
        reading.id
        for kind in ("scalar", "range", "table", "equation")
        for reading in database.store.of_kind(kind, release)
        if reading.body["subject"] in subjects
    }
    assert told <= readings <= told | followed


IPTS_68 = 1.00024
"""t68 = 1.00024 t90: Saunders, P. M., The International Temperature Scale of 1990, WOCE Newsletter 10 (1990)."""


def _polynomial(database: Database, reading: str, celsius: Any) -> Any:
    """A published equation, summed by numpy from its printed coefficients."""
    record = database.row(reading, database.release("2026r1"))["record"]
    coefficients = [float(record["coefficients"][f"c{power}"]) for power in range(len(record["coefficients"]))]
    scale = IPTS_68 if record["variable"]["scale"] == "IPTS-68" else 1.0
    return np.polynomial.polynomial.polyval(celsius * scale, coefficients)


@pytest.mark.parametrize("reading", ["water.sound_speed.01", "water.sound_speed.02"])
def test_the_equations_for_water_are_reported_with_their_deviation_from_the_followed_one(
    database: Database, reading: str
) -> None:
    found = _by_reading(database.audit("liquids", database.release("2026r1"))["deviations"])[reading]
    celsius = np.linspace(0.0, 95.0, 9501)
    deviations = _polynomial(database, reading, celsius) - _polynomial(database, "water.sound_speed.03", celsius)
    place = int(np.argmax(np.abs(deviations)))
    assert found["deviation"] == pytest.approx(deviations[place], abs=2e-5)
    assert found["state"]["temperature"]["magnitude"] == pytest.approx(celsius[place], abs=1.0)
    assert found["state"]["pressure"]["magnitude"] == 101325.0
    assert found["in_uncertainties"] == pytest.approx(deviations[place] / 0.035, rel=2e-3)


def test_the_table_of_iapws_is_reported_at_the_point_that_lies_farthest(database: Database) -> None:
    release = database.release("2026r1")
    found = _by_reading(database.audit("liquids", release)["deviations"])["water.sound_speed.04"]
    points = np.array(database.row("water.sound_speed.04", release)["record"]["points"], dtype=float)
    celsius, speeds = points[points[:, 0] <= 95.0].T
    deviations = speeds - _polynomial(database, "water.sound_speed.03", celsius)
    place = int(np.argmax(np.abs(deviations)))
    assert found["deviation"] == pytest.approx(deviations[place], abs=1e-9)
    assert found["state"]["temperature"]["magnitude"] == celsius[place]


def test_the_third_equation_for_water_is_the_one_that_is_followed(database: Database) -> None:
    document = database.audit("liquids", database.release("2026r1"))
    assert {"water.sound_speed.03", "water.density.02"}.isdisjoint(_by_reading(document["deviations"]))
    assert document["counts"]["deviations"] == 4
