"""Cutting releases: deltas, digests that chain, labels in order, nothing half-written."""

from __future__ import annotations

import datetime
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from refdb.data import current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.problems import BadParameter
from refdb.records import digest, release_digest
from refdb.release import build, cut_release, derive_records
from refdb.release.text import read_releases
from refdb.values.reader import Reader
from tests.invented import FIRST_READINGS, READINGS_HEADER, SECOND_READINGS, write_document

DAY = datetime.date(2026, 1, 2)
LATER = datetime.date(2026, 3, 4)


def _records_of(text: Path, label: str) -> dict[str, Any]:
    lines = (text / "sources" / "releases" / label / "records.jsonl").read_text().splitlines()
    return {record["id"]: record for record in map(json.loads, lines)}


def test_a_release_holds_only_what_is_new_or_changed(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    changes = cut_release(invented_text, "2026r2", "The second.", LATER)
    assert set(changes.added) == {"second-article", "invented-metal.longitudinal_speed.02"}
    assert set(changes.changed) == {"invented-metal.longitudinal_speed"}
    assert set(_records_of(invented_text, "2026r2")) == set(changes.added) | set(changes.changed)


def test_the_digest_of_a_release_is_over_its_full_list(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r2", "The second.", LATER)
    full = derive_records(invented_text)
    second = read_releases(invented_text)[1]
    assert second.digest == release_digest((row, digest(record)) for row, record in full.items())
    assert second.rows == len(full)


def test_withdrawn_rows_leave_the_new_release_and_stay_in_the_old(invented_text: Path, tmp_path: Path) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r1", "The first.", DAY)
    shutil.rmtree(invented_text / "sources" / "documents" / "read" / "second-article")
    changes = cut_release(invented_text, "2026r2", "One document withdrawn.", LATER)
    assert changes.withdrawn == ["invented-metal.longitudinal_speed.02", "second-article"]
    build(invented_text, tmp_path / "target")
    database = Database(Reader(ReleaseStore(current(tmp_path / "target").store)))
    old = database.value("invented-metal", "longitudinal_speed", release="2026r1")
    new = database.value("invented-metal", "longitudinal_speed")
    assert (old.magnitude, new.magnitude) == (5050.0, 5000.0)
    assert (old.release, new.release) == ("2026r1", "2026r2")


def test_a_past_day_answers_from_the_release_of_that_day(invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(invented_text, "2026r2", "The second.", LATER)
    build(invented_text, tmp_path / "target")
    store = ReleaseStore(current(tmp_path / "target").store)
    assert Database(Reader(store)).value("toy metal", "density", as_of="2026-03-03").release == "2026r1"
    assert Database(Reader(store, as_of="2026-03-04")).value("toy metal", "density").release == "2026r2"


def test_a_row_that_comes_back_as_it_was_is_the_same_version(invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    document = invented_text / "sources" / "documents" / "read" / "first-article" / "readings.csv"
    document.write_text(READINGS_HEADER + FIRST_READINGS.replace("5000", "5010"))
    cut_release(invented_text, "2026r2", "Changed.", LATER)
    document.write_text(READINGS_HEADER + FIRST_READINGS)
    cut_release(invented_text, "2026r3", "Changed back.", LATER)
    build(invented_text, tmp_path / "target")
    versions = Database(Reader(ReleaseStore(current(tmp_path / "target").store))).history(
        "invented-metal.longitudinal_speed.01"
    )
    spans = [(version["since"], version["until"]) for version in versions["versions"]]
    assert spans == [("2026r1", "2026r2"), ("2026r2", "2026r3"), ("2026r3", None)]
    assert versions["versions"][0]["digest"] == versions["versions"][2]["digest"]


def test_nothing_changed_means_nothing_to_cut(invented_text: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    with pytest.raises(BadParameter, match="nothing has changed since 2026r1"):
        cut_release(invented_text, "2026r2", "Again.", LATER)


@pytest.mark.parametrize("label", ["r1", "2026", "2026r0", "2026r1", "2025r9", "2026r2/../x"])
def test_a_label_must_follow_the_newest(invented_text: Path, label: str) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    with pytest.raises(BadParameter, match=r"^label: "):
        cut_release(invented_text, label, "Wrong.", LATER)
    assert [folder.name for folder in (invented_text / "sources" / "releases").iterdir()] == ["2026r1"]
