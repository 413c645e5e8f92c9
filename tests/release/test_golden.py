"""What a release answered once it answers for ever, digit for digit."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

import refdb
from refdb.database import Database
from tests.conftest import PROJECT
from tests.tools.golden_answers import FOLDER, rows, value_answer

GOLDEN = sorted(FOLDER.glob("*.json"))


def test_every_release_has_golden_answers(database: Database) -> None:
    assert {file.stem for file in GOLDEN} == {release.label for release in database.releases()}


@pytest.mark.parametrize("file", GOLDEN, ids=lambda file: file.stem)
def test_every_golden_answer_is_given_again(file: Path) -> None:
    golden = json.loads(file.read_text(encoding="utf-8"))
    database = refdb.open(golden["release"])
    assert len(golden["answers"]) > 50
    for entry in golden["answers"]:
        assert value_answer(database, entry["question"]) == entry["answer"], entry["question"]


@pytest.mark.parametrize("file", GOLDEN, ids=lambda file: file.stem)
def test_no_released_row_has_moved(file: Path) -> None:
    golden = json.loads(file.read_text(encoding="utf-8"))
    assert rows(refdb.open(golden["release"])) == golden["rows"]


def test_release_folders_are_what_they_were_when_they_were_cut() -> None:
    pinned = json.loads((FOLDER / "releases" / "digests.json").read_text(encoding="utf-8"))
    folders = {folder.name for folder in (PROJECT / "sources" / "releases").iterdir()}
    assert set(pinned) == folders
    for label, digest in pinned.items():
        sums = (PROJECT / "sources" / "releases" / label / "SHA256SUMS").read_bytes()
        assert hashlib.sha256(sums).hexdigest() == digest
