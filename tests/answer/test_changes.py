"""What changed between two releases, and by how much: on invented documents, with the arithmetic done by hand."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from refdb.answer import Database
from refdb.build import build, cut_release
from refdb.cli.printing import show_changes
from refdb.data import current
from refdb.lookup import ReleaseStore
from refdb.problems import BadParameter, UnknownName
from refdb_api.app import create_app
from refdb_api.schemas import ChangesDocument
from tests.invented import FIRST_READINGS, READINGS_HEADER, SECOND_READINGS, write_document

DAY = datetime.date(2026, 1, 2)
SPEED = "invented-metal.longitudinal_speed"


@pytest.fixture
def three_releases(invented_text: Path, tmp_path: Path) -> Database:
    """A second document in 2026r2; in 2026r3 it is gone again and a density is corrected."""
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r2", "The second.", DAY)
    shutil.rmtree(invented_text / "sources" / "documents" / "second-article")
    first = invented_text / "sources" / "documents" / "first-article" / "readings.csv"
    first.write_text(READINGS_HEADER + FIRST_READINGS.replace("7.5", "7.6"))
    cut_release(invented_text, "2026r3", "The third.", DAY)
    build(invented_text, tmp_path / "compiled")
    return Database(ReleaseStore(current(tmp_path / "compiled").store))


def test_new_rows_and_moved_values_are_told_with_the_move_in_uncertainties(three_releases: Database) -> None:
    document = three_releases.changes("2026r2", "2026r1")
    assert {entry["row"] for entry in document["added"]} == {"second-article", f"{SPEED}.02"}
    (moved,) = document["moved"]
    # One reading of 5000 m/s, then the mean of 5000 and 5100 m/s.
    assert (moved["row"], moved["old"]["value"], moved["new"]["value"], moved["move"]) == (SPEED, 5000.0, 5050.0, 50.0)
    old = three_releases.value("toy metal", "longitudinal_speed", release="2026r1")
    assert moved["move_in_uncertainties"] == pytest.approx(50.0 / old.standard_uncertainty.magnitude, rel=1e-3)
    assert f"{SPEED}.02 went in newly" in moved["why"]
    assert document["counts"] == {"added": 2, "withdrawn": 0, "corrected": 0, "moved": 1}


def test_withdrawn_rows_and_corrected_readings_are_told_field_by_field(three_releases: Database) -> None:
    document = three_releases.changes("2026r3")
    assert document["from"] == "2026r2"
    assert {entry["row"] for entry in document["withdrawn"]} == {"second-article", f"{SPEED}.02"}
    (corrected,) = document["corrected"]
    assert corrected["row"] == "invented-metal.density.01"
    assert corrected["fields"] == [{"field": "number", "old": "7.5", "new": "7.6"}]
    moves = {entry["row"]: entry["move"] for entry in document["moved"]}
    assert moves == {SPEED: -50.0, "invented-metal.density": 100.0}


def test_releases_in_the_wrong_order_are_refused(three_releases: Database) -> None:
    for label, since, problem in (
        ("2026r1", "2026r2", BadParameter),
        ("2026r2", "2026r2", BadParameter),
        ("2026r1", None, BadParameter),
        ("2026r9", None, UnknownName),
    ):
        with pytest.raises(problem):
            three_releases.changes(label, since)


def test_the_route_gives_the_same_document(three_releases: Database) -> None:
    with TestClient(create_app(three_releases)) as client:
        answer = client.get("/v1/releases/2026r3/changes?since=2026r1")
        assert answer.json() == three_releases.changes("2026r3", "2026r1")
        ChangesDocument.model_validate(answer.json())
        assert client.get("/v1/releases/2026r1/changes").status_code == 422


def test_people_see_the_counts_first(three_releases: Database, capsys: pytest.CaptureFixture[str]) -> None:
    show_changes(three_releases.changes("2026r2", "2026r1"))
    printed = capsys.readouterr().out
    assert printed.startswith("From 2026r1 to 2026r2: 2 added, 0 withdrawn, 0 corrected, 1 moved")
    assert "5050 m/s" in printed
