"""What changed between two releases, and by how much: on invented documents, with the arithmetic done by hand."""

from __future__ import annotations

import datetime
import math
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar, cast

import pytest

from refdb.cli.audit import show_changes
from refdb.data import current
from refdb.database import Database
from refdb.evidence.changes import changes
from refdb.evidence.documents import ChangesDocument
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.problems import BadParameter, UnknownName
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import FIRST_READINGS, READINGS_HEADER, SECOND_READINGS, write_document
from tests.service import TestClient, create_app
from tests.shapes import require_shape, untyped

DAY = datetime.date(2026, 1, 2)
SPEED = "invented-metal.longitudinal_speed"


@pytest.fixture
def three_releases(invented_text: Path, tmp_path: Path) -> Database:
    """A second document in 2026r2; in 2026r3 it is gone again and a density is corrected."""
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r2", "The second.", DAY)
    shutil.rmtree(invented_text / "sources" / "documents" / "read" / "second-article")
    first = invented_text / "sources" / "documents" / "read" / "first-article" / "readings.csv"
    first.write_text(READINGS_HEADER + FIRST_READINGS.replace("7.5", "7.6"))
    cut_release(invented_text, "2026r3", "The third.", DAY)
    build(invented_text, tmp_path / "compiled")
    return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))


def test_new_rows_and_moved_values_are_told_with_the_move_in_uncertainties(three_releases: Database) -> None:
    document = three_releases.changes("2026r2", "2026r1")
    assert {entry["row"] for entry in document["added"]} == {"second-article", f"{SPEED}.02"}
    (moved,) = map(untyped, document["moved"])
    # One reading of 5000 m/s, then the mean of 5000 and 5100 m/s.
    assert (moved["row"], moved["old"]["value"], moved["new"]["value"], moved["move"]) == (SPEED, 5000.0, 5050.0, 50.0)
    old = three_releases.value("toy metal", "longitudinal_speed", release="2026r1")
    assert moved["move_in_uncertainties"] == pytest.approx(50.0 / old.standard_uncertainty.magnitude, rel=1e-3)
    assert f"{SPEED}.02 went in newly" in moved["why"]
    assert document["counts"] == {
        "added": 2, "withdrawn": 0, "corrected": 0, "moved": 1, "moved_pipes": 0, "moved_roughness": 0,
    }  # fmt: skip


def test_withdrawn_rows_and_corrected_readings_are_told_field_by_field(three_releases: Database) -> None:
    document = three_releases.changes("2026r3")
    assert document["from"] == "2026r2"
    assert {entry["row"] for entry in document["withdrawn"]} == {"second-article", f"{SPEED}.02"}
    (corrected,) = document["corrected"]
    assert corrected["row"] == "invented-metal.density.01"
    assert corrected["fields"] == [{"field": "number", "old": "7.5", "new": "7.6"}]
    moves = {entry["row"]: entry["move"] for entry in document["moved"]}
    assert moves == {SPEED: -50.0, "invented-metal.density": 100.0}


def test_an_older_release_that_cannot_be_one_is_refused_under_its_own_name(three_releases: Database) -> None:
    for label, since, problem, parameter in (
        ("2026r1", "2026r2", BadParameter, "since"),
        ("2026r2", "2026r2", BadParameter, "since"),
        ("2026r1", None, BadParameter, "since"),
        ("2026r2", "1999r1", UnknownName, "since"),
        ("2026r9", None, UnknownName, "release"),
    ):
        with pytest.raises(problem) as refusal:
            three_releases.changes(label, since)
        assert refusal.value.extensions["parameter"] == parameter
        assert refusal.value.detail.startswith(f"{parameter}: ")
    with pytest.raises(UnknownName) as unknown:
        three_releases.changes("2026r2", "1999r1")
    assert unknown.value.extensions["candidates"] == ["2026r1", "2026r2", "2026r3"]


def test_the_route_gives_the_same_document(three_releases: Database) -> None:
    with TestClient(create_app(three_releases)) as client:
        answer = client.get("/v1/releases/2026r3/changes?since=2026r1")
        assert answer.json() == three_releases.changes("2026r3", "2026r1")
        require_shape(ChangesDocument, answer.json())
        assert client.get("/v1/releases/2026r1/changes").status_code == 422


def test_people_see_a_summary_then_the_largest_move_first(
    three_releases: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    show_changes(three_releases.changes("2026r3", "2026r2"))
    printed = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert printed.startswith(
        "From 2026r2 to 2026r3: 0 added, 2 withdrawn, 1 corrected, 2 value(s) moved, 0 pipe(s) moved, 0 roughness "
        "row(s) moved; at most by 1.2 of its uncertainties (invented-metal.density)"
    )
    assert printed.index("7600 kg/m3") < printed.index("5000 m/s")
    assert f"Withdrawn: {SPEED}.02, second-article" in printed


PIPES = "id,pipe,system,nps,designations,outside_diameter,wall,unit,locator\n"
PIPE = "b36.10-nps-98-sch-40"


def _pipe(number: int, outside_diameter: str, wall: str, unit: str) -> str:
    return f"{PIPE}.0{number},{PIPE},b36.10,98,40,{outside_diameter},{wall},{unit},table 9\n"


def _two_releases(text: Path, tmp_path: Path, files: dict[str, tuple[str, str]]) -> Database:
    """Two releases of a text in which some files change."""
    for place, label in enumerate(("2026r1", "2026r2")):
        for name, versions in files.items():
            (text / name).write_text(versions[place])
        cut_release(text, label, "A trial.", DAY)
    build(text, tmp_path / "compiled")
    return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))


def test_a_corrected_pipe_is_told_in_the_units_it_is_printed_in(invented_text: Path, tmp_path: Path) -> None:
    old = PIPES + _pipe(1, "98.4", "8.18", "mm")
    new = PIPES + _pipe(1, "98.4", "8.20", "mm") + _pipe(2, "3.875", "0.322", "in")
    pipes = "sources/documents/read/first-article/pipes.csv"
    document = _two_releases(invented_text, tmp_path, {pipes: (old, new)}).changes("2026r2")
    (moved,) = document["moved_pipes"]
    assert (moved["row"], moved["system"], moved["size"]) == (PIPE, "b36.10", {"NPS": "98"})
    assert moved["dimensions"] == [
        {"dimension": "outside_diameter", "unit": "in", "old": None, "new": "3.875", "move": None},
        {"dimension": "wall", "unit": "in", "old": None, "new": "0.322", "move": None},
        {"dimension": "outside_diameter", "unit": "mm", "old": "98.4", "new": "98.4", "move": 0.0},
        {"dimension": "wall", "unit": "mm", "old": "8.18", "new": "8.20", "move": 0.02},
    ]
    assert f"{PIPE}.01 was itself corrected" in moved["why"]
    assert [entry["row"] for entry in document["corrected"]] == [f"{PIPE}.01"]
    require_shape(ChangesDocument, document)


def test_the_pipe_that_changed_most_comes_first(
    invented_text: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = _pipe(1, "98.4", "4.00", "mm").replace("sch-40", "sch-20").replace(",40,", ",20,")
    old = PIPES + _pipe(1, "98.4", "8.18", "mm") + other
    new = old.replace("8.18", "8.20").replace("4.00", "4.40")
    pipes = "sources/documents/read/first-article/pipes.csv"
    document = _two_releases(invented_text, tmp_path, {pipes: (old, new)}).changes("2026r2")
    assert [entry["row"] for entry in document["moved_pipes"]] == ["b36.10-nps-98-sch-20", PIPE]
    show_changes(document)
    printed = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert "wall 4.00 mm 4.40 mm +0.4" in printed
    assert "outside diameter" not in printed


def test_a_corrected_roughness_is_told_with_its_ratio(
    invented_text: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    header = "id,surface,name_printed,condition_printed,value,low,high,unit,locator\n"
    row = "roughness.cast-iron-new.01,cast-iron-new,Cast iron,new,{},mm,table 2\n"
    versions = (header + row.format("0.2,,"), header + row.format("0.3,0.1,0.5"))
    roughness = "sources/documents/read/first-article/roughness.csv"
    document = _two_releases(invented_text, tmp_path, {roughness: versions}).changes("2026r2")
    (moved,) = document["moved_roughness"]
    assert (moved["row"], moved["surface"], moved["unit"]) == ("roughness.cast-iron-new", "cast-iron-new", "mm")
    assert moved["old"] == {"value": 0.2, "range": None}
    assert moved["new"] == {"value": 0.3, "range": [0.1, 0.5]}
    assert (moved["move"], moved["ratio"]) == (0.1, 1.5)
    require_shape(ChangesDocument, document)
    show_changes(document)
    assert "(× 1.5)" in capsys.readouterr().out


def test_a_value_in_another_unit_is_converted_before_it_is_compared(invented_text: Path, tmp_path: Path) -> None:
    properties = "shared/vocabulary/properties.toml"
    readings = "sources/documents/read/first-article/readings.csv"
    kilograms = (invented_text / properties).read_text()
    start = kilograms.index("[density]")
    grams = kilograms[:start] + kilograms[start:].replace('si = "kg/m3"', 'si = "g/cm3"', 1)
    printed = READINGS_HEADER + FIRST_READINGS
    files = {properties: (kilograms, grams), readings: (printed, printed.replace("7.5", "7.6"))}
    (moved,) = map(untyped, _two_releases(invented_text, tmp_path, files).changes("2026r2")["moved"])
    assert (moved["unit"], moved["old"]["value"], moved["new"]["value"], moved["move"]) == ("g/cm3", 7.5, 7.6, 0.1)
    # The family's 1 % and the rounding of one decimal, frozen to two digits.
    assert moved["old"]["standard_uncertainty"] == pytest.approx(math.hypot(0.075, 0.05 / math.sqrt(3.0)), rel=0.01)
    assert moved["move_in_uncertainties"] == pytest.approx(0.1 / moved["old"]["standard_uncertainty"], rel=1e-3)
    assert "unit kg/m3 became g/cm3" in moved["why"]


class _Trial:
    """Two releases of one recommended row that no rule of today would give."""

    releases: ClassVar[list[ReleaseInfo]] = [
        ReleaseInfo(number, f"2026r{number}", "2026-01-02", "sha256:", 1, "A trial.") for number in (1, 2)
    ]

    def __init__(self, old: dict[str, Any], new: dict[str, Any]) -> None:
        self._bodies = (old, new)

    def all(self, release: ReleaseInfo) -> Iterator[StoredRecord]:
        body = self._bodies[release.ordinal - 1]
        yield StoredRecord("invented-liquid.density", f"sha256:{release.ordinal}", release.ordinal, None, body)

    def moved(self) -> dict[str, Any]:
        document = changes(cast(ReleaseStore, self), self.releases[1], None)
        require_shape(ChangesDocument, document)
        (entry,) = document["moved"]
        return dict(entry)


def _between(low: str, high: str) -> dict[str, Any]:
    return {"temperature": {"low": low, "high": high, "unit": "degC"}}


def _body(form: dict[str, Any] | str, domain: dict[str, Any], uncertainty: str = "2") -> dict[str, Any]:
    spec = {"name": "constant/1", "coefficients": {"c0": form}} if isinstance(form, str) else form
    return {
        "kind": "recommended", "subject": "invented-liquid", "property": "density", "unit": "kg/m3",
        "rule": "reference/1", "rung": "published", "basis": "measured", "seen": "original", "inputs": [],
        "form": spec, "domain": domain, "uncertainty": {"number": uncertainty, "unit": "kg/m3"},
    }  # fmt: skip


def test_values_that_hold_at_one_temperature_are_compared_there() -> None:
    moved = _Trial(_body("1000", _between("20", "20")), _body("1003", _between("20", "20"))).moved()
    assert moved["state"] == {"temperature": {"magnitude": 20.0, "unit": "degC", "ucum": "Cel"}}
    assert (moved["move"], moved["move_in_uncertainties"]) == (3.0, 1.5)


def test_values_that_do_not_depend_on_the_temperature_are_compared_without_one() -> None:
    moved = _Trial(_body("1000", {}), _body("999", {})).moved()
    assert (moved["state"], moved["move"], moved["move_in_uncertainties"]) == ({}, -1.0, -0.5)


def test_a_value_with_and_one_without_a_temperature_are_compared_where_one_is_given() -> None:
    line = {
        "name": "polynomial/1",
        "variable": {"name": "temperature", "unit": "degC"},
        "coefficients": {"c0": "1000", "c1": "-1"},
    }
    moved = _Trial(_body("1000", {}), _body(line, _between("5", "9"))).moved()
    assert (moved["state"]["temperature"]["magnitude"], moved["move"]) == (9.0, -9.0)


def test_a_value_that_claimed_to_be_exact_has_no_measure_of_its_move() -> None:
    moved = _Trial(_body("1000", {}, "0"), _body("1001", {})).moved()
    assert (moved["move"], moved["move_in_uncertainties"]) == (1.0, None)
    assert "the old value has no uncertainty to measure the move by" in moved["why"]


def test_versions_without_a_state_in_common_are_told_apart_with_the_reason() -> None:
    cold, warm = _between("0", "5"), _between("6", "9")
    salty = {"salinity": {"low": "0", "high": "40", "unit": "g/kg"}}
    for one, other, words in (
        (cold, warm, "not comparable: no temperature in common"),
        (cold, cold | salty, "not comparable: only one of the two depends on the salinity"),
    ):
        moved = _Trial(_body("1000", one), _body("1001", other)).moved()
        assert (moved["state"], moved["old"], moved["new"], moved["move"]) == (None, None, None, None)
        assert words in moved["why"]


def _under_pressure(slope: str) -> dict[str, Any]:
    """A density that changes by `slope` from 100 to 200 degC; the liquid boils at 1 atm times e² there."""
    temperature = {"name": "temperature", "unit": "degC", "low": "0", "high": "200"}
    saturation = {
        "name": "scaled-polynomial/1",
        "of": "logarithm",
        "axes": [temperature],
        "coefficients": [repr(math.log(0.101325)), "2"],
    }
    return {
        "name": "scaled-polynomial/1",
        "of": "value",
        "axes": [temperature, {"name": "pressure", "unit": "MPa", "low": saturation, "high": "10"}],
        "coefficients": [["900"], [slope]],
    }


@pytest.mark.parametrize(
    ("low", "high", "at", "move", "pascals"),
    [("0", "40", 0.0, 10.0, 101325.0), ("150", "200", 200.0, -10.0, 101325.0 * math.e**2)],
)
def test_a_liquid_is_compared_at_1_atm_and_at_saturation_where_that_boils(
    low: str, high: str, at: float, move: float, pascals: float
) -> None:
    liquid = {"pressure": {"low": "saturation", "high": "10", "unit": "MPa", "saturation": "invented"}}
    old, new = (_body(_under_pressure(slope), _between(low, high) | liquid) for slope in ("-100", "-110"))
    moved = _Trial(old, new).moved()
    assert (moved["state"]["temperature"]["magnitude"], moved["move"]) == (at, pytest.approx(move))
    assert moved["state"]["pressure"]["magnitude"] == pytest.approx(pascals)
