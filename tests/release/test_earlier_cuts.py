"""Earlier cuts under a label: told as git's history holds them, compiled, and part of what is verified."""

from __future__ import annotations

import datetime
import json
import shutil
import sqlite3
import tomllib
from pathlib import Path

import pytest

from refdb.data import current
from refdb.lookup import ReleaseStore
from refdb.problems import IntegrityError
from refdb.records import digest, release_digest
from refdb.release import build, cut_release, verify
from refdb.release.earlier_cuts import EarlierCutText, read_earlier_cuts
from refdb.release.text import apply, read_releases
from tests.conftest import PROJECT
from tests.invented import write_earlier_cut, write_invented_text
from tests.release.test_history import LAST_CUTS, history_of
from tests.tools.history import GOLDEN, RELEASES, git

LABELS = [release.parent.name for release in sorted((PROJECT / RELEASES).glob("*/release.toml"))]
CUTS = read_earlier_cuts(PROJECT, LABELS)
ANSWERS = PROJECT / "tests" / "evidence" / "answers_of_earlier_cuts.json"
ROWS = (("invented-metal.density", "sha256:" + "a" * 64), ("invented-metal.shear_speed", "sha256:" + "b" * 64))


def _shown(cut: EarlierCutText, path: str) -> str:
    return git(PROJECT, "show", f"{cut.commit}:{path}").decode()


def test_the_labels_that_were_used_more_than_once_have_earlier_cuts() -> None:
    assert [cut.label for cut in CUTS] == ["2026r5", "2026r6", "2026r6"]
    assert {cut.label for cut in CUTS} == set(LAST_CUTS)


@pytest.mark.parametrize("cut", CUTS, ids=lambda cut: f"{cut.label}-{cut.digest[7:15]}")
def test_an_earlier_cut_is_told_as_the_commit_holds_it(cut: EarlierCutText) -> None:
    assert cut.commit in history_of(PROJECT).main
    header = tomllib.loads(_shown(cut, f"{RELEASES}/{cut.label}/release.toml"))
    assert (header["label"], header["digest"], header["cut_on"]) == (cut.label, cut.digest, cut.cut_on)
    records = [json.loads(line) for line in _shown(cut, f"{RELEASES}/{cut.label}/records.jsonl").splitlines()]
    state: dict[str, str] = {}
    for release in read_releases(PROJECT):
        if release.label == header["previous"]:
            before = apply(state, release)
        state = apply(state, release)
        if release.label == cut.label:
            now = state
    full = before | {record["id"]: digest(record) for record in records}
    assert release_digest(full.items()) == cut.digest
    assert set(cut.rows) == {(row, version) for row, version in full.items() if now.get(row) != version}


@pytest.mark.parametrize("cut", CUTS, ids=lambda cut: f"{cut.label}-{cut.digest[7:15]}")
def test_the_saved_answers_of_the_tests_are_those_that_the_cut_gave(cut: EarlierCutText) -> None:
    # The golden answers that were committed with the cut say what it answered on the day.
    history_of(PROJECT)
    golden = json.loads(_shown(cut, f"{GOLDEN}/{cut.label}.json"))["answers"]
    given = {(one["answer"]["row"]["id"], one["answer"]["row"]["digest"]): one["answer"] for one in golden}
    saved = [one["answer"] for one in json.loads(ANSWERS.read_text()) if cut.digest.startswith(f"sha256:{one['cut']}")]
    assert len(saved) >= 2
    for answer in saved:
        then = given[answer["row"]["id"], answer["row"]["digest"]]
        assert answer["value"]["magnitude"] == then["value"]
        assert answer["value"]["unit"] == then["unit"]
        assert answer["standard_uncertainty"]["magnitude"] == then["standard_uncertainty"]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """An invented text with one release, whose label an earlier cut bore; and what is compiled from it."""
    root = tmp_path_factory.mktemp("earlier")
    write_invented_text(root / "text")
    cut_release(root / "text", "2026r1", "The first.", datetime.date(2026, 1, 2))
    write_earlier_cut(root / "text", "2026r1", ROWS)
    build(root / "text", root / "target")
    return root / "text", root / "target"


@pytest.fixture
def text(made: tuple[Path, Path], tmp_path: Path) -> Path:
    """The text, for one test to change."""
    return Path(shutil.copytree(made[0], tmp_path / "text"))


@pytest.fixture
def compiled(made: tuple[Path, Path], tmp_path: Path) -> Path:
    """The same, compiled, for one test to spoil."""
    return Path(shutil.copytree(made[1], tmp_path / "target"))


def test_an_earlier_cut_is_compiled_with_the_release_that_bears_its_label(text: Path, compiled: Path) -> None:
    store = ReleaseStore(current(compiled).store)
    (release,) = store.releases
    (cut,) = release.earlier_cuts
    assert cut.document() == {
        "digest": "sha256:" + "c" * 64,
        "cut_on": "2026-01-01",
        "superseded_on": "2026-01-02",
        "why": "invented: its numbers were placeholders",
    }
    assert store.earlier_cuts(*ROWS[0], release) == [cut]
    assert store.earlier_cuts(ROWS[0][0], ROWS[1][1], release) == []
    assert not build(text, compiled), "the compiled files belong to the text"


def test_a_text_with_another_earlier_cut_is_compiled_anew(text: Path, compiled: Path) -> None:
    write_earlier_cut(text, "2026r1", ROWS[:1])
    assert build(text, compiled)


def test_a_store_with_earlier_cuts_is_sound(compiled: Path) -> None:
    assert verify(compiled).sound


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE earlier_cut_row SET digest = replace(digest, 'a', 'd')",
        "UPDATE earlier_cut_row SET row = 'invented-metal.other' WHERE row = 'invented-metal.density'",
        "DELETE FROM earlier_cut_row WHERE row = 'invented-metal.density'",
        "INSERT INTO earlier_cut_row SELECT cut, 'invented-metal.other', digest FROM earlier_cut_row LIMIT 1",
        "UPDATE earlier_cut SET rows_digest = 'sha256:0'",
        "DELETE FROM earlier_cut",
    ],
)
def test_a_change_by_sql_is_named(compiled: Path, change: str) -> None:
    connection = sqlite3.connect(current(compiled).store)
    with connection:
        connection.execute(change)
    connection.close()
    findings = verify(compiled).findings
    assert any(finding.startswith("earlier cut sha256:cccc") for finding in findings), findings


def _edit(file: Path, old: str, new: str) -> None:
    content = file.read_text()
    assert old in content
    file.write_text(content.replace(old, new))


@pytest.mark.parametrize(
    ("suffix", "old", "new", "words"),
    [
        ("csv", "sha256:aaaa", "sha256:aaab", "rows beside it do not fit their digest"),
        ("toml", "2026r1", "2031r1", "there is no release 2031r1"),
        ("toml", "superseded_on", "replaced_on", "an earlier cut has"),
    ],
)
def test_a_file_that_is_wrong_stops_the_build(
    text: Path, tmp_path: Path, suffix: str, old: str, new: str, words: str
) -> None:
    (file,) = (text / "sources" / "earlier-cuts").glob(f"*.{suffix}")
    _edit(file, old, new)
    with pytest.raises(IntegrityError, match=words):
        build(text, tmp_path / "target")


def test_a_store_of_another_version_is_refused_in_one_sentence(compiled: Path) -> None:
    store = current(compiled).store
    with sqlite3.connect(store) as connection:
        connection.execute("DROP TABLE earlier_cut_row")
        connection.execute("DROP TABLE earlier_cut")
    connection.close()
    with pytest.raises(IntegrityError, match="cannot be read: no such table"):
        ReleaseStore(store)
