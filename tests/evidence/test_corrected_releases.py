"""A release that was found wrong: it stays, a successor says what was wrong, and whoever asks is told."""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from refdb.cli import ask, check
from refdb.data import current
from refdb.database import Database
from refdb.evidence.check import check_answers
from refdb.lookup import ReleaseStore
from refdb.lookup.documents import ReleaseDocument
from refdb.problems import BadParameter
from refdb.release import build, cut_release, verify
from refdb.release.text import read_releases
from refdb.values.reader import Reader
from refdb_api.documents import CheckedAnswers, ReleaseList
from tests.conftest import CommandLine
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document, write_invented_text
from tests.service import TestClient, create_app
from tests.shapes import require_shape

DAY = datetime.date(2026, 1, 2)
WRONG = "the speed of the invented metal: rested on one article alone"
SPEED, DENSITY = "longitudinal_speed", "density"


def _correct(text: Path) -> None:
    """Cut two releases, of which the second corrects the first."""
    cut_release(text, "2026r1", "The first.", DAY)
    write_document(text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(text, "2026r2", "The second.", DAY, corrects=[f"2026r1: {WRONG}"])


@pytest.fixture
def corrected(invented_text: Path) -> Path:
    """An invented text whose second release corrects its first."""
    _correct(invented_text)
    return invented_text


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Database:
    """The database of such a text."""
    root = tmp_path_factory.mktemp("corrected")
    write_invented_text(root / "text")
    _correct(root / "text")
    build(root / "text", root / "target")
    assert verify(root / "target").sound
    return Database(Reader(ReleaseStore(current(root / "target").store)))


@pytest.fixture(scope="module")
def service(opened: Database) -> Iterator[TestClient]:
    """The service over that database."""
    with TestClient(create_app(opened)) as client:
        yield client


def _header(text: Path, label: str) -> dict[str, Any]:
    return tomllib.loads((text / "sources" / "releases" / label / "release.toml").read_text())


def test_a_release_says_in_its_text_what_it_corrects_and_others_say_nothing(corrected: Path) -> None:
    assert _header(corrected, "2026r2")["corrects"] == [f"2026r1: {WRONG}"]
    assert "corrects" not in _header(corrected, "2026r1")
    assert [release.corrects for release in read_releases(corrected)] == [(), (f"2026r1: {WRONG}",)]


def test_both_releases_tell_it(opened: Database) -> None:
    wrong, right = (release.document() for release in opened.releases())
    assert wrong["corrected_by"] == [{"release": "2026r2", "what": WRONG}]
    assert right["corrects"] == [{"release": "2026r1", "what": WRONG}]
    assert (wrong["corrects"], right["corrected_by"]) == ([], [])


def test_several_things_may_be_corrected_in_several_releases(corrected: Path, tmp_path: Path) -> None:
    write_document(corrected, "third-article", READINGS_HEADER + SECOND_READINGS.replace("speed.02", "speed.03"))
    cut_release(corrected, "2026r3", "The third.", DAY, corrects=["2026r2: this", "2026r1: that", "2026r2: and more"])
    build(corrected, tmp_path / "target")
    first, second, third = ReleaseStore(current(tmp_path / "target").store).releases
    assert [(one.release, one.what) for one in third.corrects] == [
        ("2026r2", "this"),
        ("2026r1", "that"),
        ("2026r2", "and more"),
    ]
    assert [one.what for one in second.corrected_by] == ["this", "and more"]
    assert [(one.release, one.what) for one in first.corrected_by] == [("2026r2", WRONG), ("2026r3", "that")]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ("2026r9: wrong", "'2026r9' is no release before this one; there are 2026r1"),
        ("2026r2: wrong", "'2026r2' is no release before this one"),
        ("wrong", "'wrong' is no release before this one"),
        ("", "'' is no release before this one"),
        ("2026r1", "say in one line what was wrong with 2026r1"),
        ("2026r1:  ", "say in one line what was wrong with 2026r1"),
        ("2026r1: two\nlines", "say in one line what was wrong with 2026r1"),
    ],
)
def test_what_corrects_nothing_is_refused_and_nothing_is_cut(invented_text: Path, told: str, words: str) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    with pytest.raises(BadParameter, match=r"^corrects: ") as problem:
        cut_release(invented_text, "2026r2", "The second.", DAY, corrects=[told])
    assert words in problem.value.detail
    assert [folder.name for folder in (invented_text / "sources" / "releases").iterdir()] == ["2026r1"]


def test_the_command_cuts_a_release_that_corrects(command: CommandLine, invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    where = ("--text", str(invented_text), "--to", str(tmp_path / "target"))
    refused = command("release", "cut", "2026r2", "--note", "x", "--corrects", "2026r7: wrong", *where)
    assert (refused.code, "refdb: corrects: '2026r7' is no release" in refused.err) == (2, True)
    told = ("--corrects", f"2026r1: {WRONG}", "--corrects", "2026r1: and its density")
    assert command("release", "cut", "2026r2", "--note", "x", *told, *where).code == 0
    assert _header(invented_text, "2026r2")["corrects"] == [f"2026r1: {WRONG}", "2026r1: and its density"]


def test_a_correction_alone_makes_another_store(corrected: Path, tmp_path: Path) -> None:
    build(corrected, tmp_path / "with")
    release = corrected / "sources" / "releases" / "2026r2"
    other = tmp_path / "other"
    release.rename(other)
    cut_release(corrected, "2026r2", "The second.", DAY)
    assert read_releases(corrected)[-1].digest == tomllib.loads((other / "release.toml").read_text())["digest"]
    build(corrected, tmp_path / "without")
    assert current(tmp_path / "with").store.name != current(tmp_path / "without").store.name


def test_the_routes_tell_it_and_are_asked_again(service: TestClient) -> None:
    items = service.get("/v1/releases").json()
    assert require_shape(ReleaseList, items)
    wrong = service.get("/v1/releases/2026r1")
    assert require_shape(ReleaseDocument, wrong.json())
    assert wrong.json() == items["items"][0]
    assert wrong.json()["corrected_by"] == [{"release": "2026r2", "what": WRONG}]
    assert service.get("/v1/releases/2026r2").json()["corrects"] == [{"release": "2026r1", "what": WRONG}]
    # A cache that kept it for ever would never hear of a later correction.
    assert wrong.headers["cache-control"] == "no-cache"


def test_the_list_of_releases_is_printed_with_it(
    command: CommandLine, opened: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ask, "open_database", lambda: opened)
    flowing = " ".join(command("releases").out.split())
    assert f"2026r1: corrected by 2026r2: {WRONG}" in flowing
    assert f"2026r2: corrects 2026r1: {WRONG}" in flowing
    document = json.loads(command("releases", "--json").out)
    assert document["items"] == [release.document() for release in opened.releases()]


def test_a_corrected_release_answers_as_it_did(opened: Database) -> None:
    assert opened.value("invented-metal", SPEED, release="2026r1").magnitude == 5000.0
    assert opened.value("invented-metal", SPEED).magnitude == 5050.0


@pytest.mark.parametrize(("asked", "verdict"), [(SPEED, "superseded"), (DENSITY, "current")])
def test_an_answer_of_a_corrected_release_is_checked_as_ever_and_mentions_the_correction(
    opened: Database, service: TestClient, asked: str, verdict: str
) -> None:
    saved = opened.value("invented-metal", asked, release="2026r1").document()
    (item,) = check_answers(opened.reader, saved)
    assert item["verdict"] == verdict
    assert item["corrections"] == [{"release": "2026r2", "what": WRONG}]
    response = service.post("/v1/answers/check", json=saved).json()
    assert require_shape(CheckedAnswers, response)
    assert response["items"] == [item]


def test_what_is_of_the_correcting_release_or_not_ours_mentions_none(opened: Database) -> None:
    right = opened.value("invented-metal", SPEED).document()
    forged = opened.value("invented-metal", SPEED, release="2026r1").document()
    assert forged["value"] is not None
    forged["value"]["magnitude"] = 4999.0
    items = check_answers(opened.reader, [right, forged])
    assert [(item["verdict"], item["corrections"]) for item in items] == [("current", []), ("not ours", [])]


def test_the_command_that_checks_answers_prints_each_correction_once(
    command: CommandLine, opened: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(check, "open_database", lambda: opened)
    file = tmp_path / "saved.json"
    file.write_text(
        json.dumps([opened.value("invented-metal", asked, release="2026r1").document() for asked in (SPEED, DENSITY)])
    )
    flowing = " ".join(command("check-answers", str(file)).out.split())
    assert flowing.count(f"Release 2026r1 is corrected by 2026r2: {WRONG}") == 1
