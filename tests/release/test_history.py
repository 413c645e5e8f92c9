"""A label is used once: what a release is, history says, and the files of today are still that.

Digests that are pinned beside the files would follow whoever cuts a release again and pins the new digest; commits on
main do not.
"""

from __future__ import annotations

import json
import os
import shutil
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import PROJECT
from tests.tools.history import DIGESTS, GOLDEN, RELEASES, History, LastCut, NoHistory, PinnedAgain, git

LAST_CUTS = {
    "2026r5": LastCut(
        folder="68034361f461f194b40f1acfc19e79b206d0c27a",
        golden="68034361f461f194b40f1acfc19e79b206d0c27a",
        reason="Cut first by ea61d6a and taken back by abb651d, which carries points that begin near room temperature "
        "on to it and takes the slope that measured series show; this commit cut it again.",
    ),
    "2026r6": LastCut(
        folder="f02f74f0532196aead9fe5b8f4925494f022c5e8",
        golden="fd227e5529572af52624e7998d3cd4c5834cb18a",
        reason="Cut first by 56eec32; again by abc4dff, with estimates of eight pure liquids; and again by this "
        "commit, since rows named versions that no release holds, with absorption, heat-transfer liquids and glycols "
        "from 0 to 60 degC. Its golden answers were written by the next commit.",
    ),
}
"""The labels that were used more than once, before this test was there. None may be added."""

PINNED_AGAIN = (
    PinnedAgain(
        commit="bb59188d4fb33f55822e1ae25148cf967be56a74",
        fields=frozenset({"slope"}),
        reason="A row that tells one value for a range was answered with the slope 0.0, which nobody knew.",
    ),
)
"""Mistakes of answering that were mended for all releases; what stands in a release has not moved."""

LABELS = sorted(
    {folder.name for folder in (PROJECT / RELEASES).iterdir()}
    | {file.stem for file in (PROJECT / GOLDEN).glob("*.json")}
)


def history_of(root: Path) -> History:
    """The history of a folder. Where there is none, the test fails in CI and is skipped, loudly, elsewhere."""
    try:
        return History(root, LAST_CUTS, PINNED_AGAIN)
    except NoHistory as why:
        said = f"releases were NOT held against history: {why}"
        if os.environ.get("CI"):
            pytest.fail(said)
        warnings.warn(said, stacklevel=2)
        pytest.skip(said)


@pytest.mark.parametrize("label", LABELS)
def test_a_release_is_what_was_first_brought_to_main_under_its_label(label: str) -> None:
    history = history_of(PROJECT)
    if history.is_new(label):
        pytest.skip(f"{label} is in no commit yet")
    assert history.findings(label) == []


def test_no_label_that_was_on_main_has_gone() -> None:
    assert set(history_of(PROJECT).labels()) <= set(LABELS)


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clone of this project's history, with the releases alone in its working tree."""
    history_of(PROJECT)
    folder = tmp_path_factory.mktemp("history") / "clone"
    git(PROJECT, "clone", "--quiet", "--shared", "--no-checkout", str(PROJECT), str(folder))
    git(folder, "sparse-checkout", "set", RELEASES, GOLDEN)
    git(folder, "checkout", "--quiet")
    return folder


AS_TESTS = ("-c", "user.name=tests", "-c", "user.email=tests", "-c", "commit.gpgsign=false")


def _commit(root: Path, subject: str) -> None:
    git(root, "add", "--all")
    git(root, *AS_TESTS, "commit", "--quiet", "--no-verify", "-m", subject)


def _edited(file: Path) -> None:
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)


@pytest.mark.parametrize("label", ["2026r1", "2026r6"])
@pytest.mark.parametrize("name", ["records.jsonl", "release.toml", "golden answers"])
def test_one_edited_byte_is_reported_with_its_file_and_label(clone: Path, label: str, name: str) -> None:
    path = f"{GOLDEN}/{label}.json" if name == "golden answers" else f"{RELEASES}/{label}/{name}"
    assert History(clone, LAST_CUTS, PINNED_AGAIN).findings(label) == []
    head = git(clone, "rev-parse", "HEAD").decode().strip()
    _edited(clone / path)
    _commit(clone, "Edit a release")
    found = History(clone, LAST_CUTS, PINNED_AGAIN).findings(label)
    git(clone, "reset", "--quiet", "--hard", head)
    assert len(found) == 1
    assert found[0].startswith(f"{label}: {path} is not what commit ")


# --- The rules, on an invented history.


@pytest.fixture
def invented(tmp_path: Path) -> Path:
    """A repository of one commit, in which 2030r1 was cut."""
    root = tmp_path / "invented"
    root.mkdir()
    git(root, "init", "--quiet", "--initial-branch", "main")
    _cut(root, "2030r1", "one")
    _commit(root, "Release 2030r1")
    return root


def _cut(root: Path, label: str, content: str) -> None:
    folder, pins = root / RELEASES / label, root / DIGESTS
    folder.mkdir(parents=True, exist_ok=True)
    pins.parent.mkdir(parents=True, exist_ok=True)
    (folder / "records.jsonl").write_text(content)
    (root / GOLDEN / f"{label}.json").write_text(content)
    pinned = json.loads(pins.read_text()) if pins.is_file() else {}
    pins.write_text(json.dumps(pinned | {label: f"digest of {content}"}))


def _all_findings(root: Path, last_cuts: dict[str, LastCut] | None = None) -> list[str]:
    history = History(root, last_cuts)
    return [finding for label in history.labels() for finding in history.findings(label)]


def test_a_release_that_was_cut_again_under_its_label_is_reported_whole(invented: Path) -> None:
    first = git(invented, "rev-parse", "HEAD").decode()[:7]
    _cut(invented, "2030r1", "two")
    _commit(invented, "Cut 2030r1 anew")
    assert _all_findings(invented) == [
        f"2030r1: {RELEASES}/2030r1/records.jsonl is not what commit {first} brought",
        f"2030r1: {GOLDEN}/2030r1.json is not what commit {first} brought",
        f"2030r1: its digest in {DIGESTS} is not what commit {first} pinned",
    ]


def test_taking_a_release_back_first_does_not_free_its_label(invented: Path) -> None:
    shutil.rmtree(invented / "sources")
    _commit(invented, "Take 2030r1 back")
    assert f"2030r1: {RELEASES}/2030r1/records.jsonl is gone" in _all_findings(invented)[0]
    _cut(invented, "2030r1", "two")
    _commit(invented, "Release 2030r1")
    assert len(_all_findings(invented)) == 3


def test_a_file_added_to_a_release_is_reported(invented: Path) -> None:
    (invented / RELEASES / "2030r1" / "more.csv").write_text("id\n")
    assert [finding.split(" was added")[0] for finding in _all_findings(invented)] == [
        f"2030r1: {RELEASES}/2030r1/more.csv"
    ]


def test_a_label_in_no_commit_is_new_and_has_no_findings(invented: Path) -> None:
    _cut(invented, "2030r2", "new")
    history = History(invented)
    assert (history.is_new("2030r1"), history.is_new("2030r2")) == (False, True)
    assert history.findings("2030r2") == []
    assert history.labels() == ["2030r1"]


def test_golden_answers_may_come_with_a_later_commit_than_their_release(invented: Path) -> None:
    _cut(invented, "2030r2", "new")
    (invented / GOLDEN / "2030r2.json").unlink()
    _commit(invented, "Release 2030r2")
    (invented / GOLDEN / "2030r2.json").write_text("answers")
    _commit(invented, "Write the golden answers of 2030r2")
    assert _all_findings(invented) == []


def test_what_a_branch_tried_before_it_was_merged_is_nobodys_release(invented: Path) -> None:
    git(invented, "checkout", "--quiet", "-b", "trial")
    _cut(invented, "2030r2", "tried")
    _commit(invented, "Try 2030r2")
    _cut(invented, "2030r2", "cut")
    _commit(invented, "Release 2030r2")
    assert _all_findings(invented), "along the branch's own first parents the label was used twice"
    git(invented, "checkout", "--quiet", "main")
    git(invented, *AS_TESTS, "merge", "--quiet", "--no-ff", "trial")
    assert _all_findings(invented) == []
    _cut(invented, "2030r2", "again")
    assert f"is not what commit {git(invented, 'rev-parse', 'HEAD').decode()[:7]} brought" in _all_findings(invented)[0]


def test_a_last_cut_takes_the_place_of_the_first_and_must_be_on_main(invented: Path) -> None:
    _cut(invented, "2030r1", "two")
    _commit(invented, "Cut 2030r1 anew")
    last = git(invented, "rev-parse", "HEAD").decode().strip()
    named = {"2030r1": LastCut(folder=last, golden=last, reason="Invented.")}
    assert _all_findings(invented, named) == []
    _edited(invented / RELEASES / "2030r1" / "records.jsonl")
    assert len(_all_findings(invented, named)) == 1
    elsewhere = {"2030r1": LastCut(folder="0" * 40, golden=last, reason="Invented.")}
    assert _all_findings(invented, elsewhere) == [
        "2030r1: the commits named for its last cut are not on main's first-parent line"
    ]


# --- Answers that are pinned again.


def _pinned(root: Path, value: float, slope: float | None) -> str:
    """Pins an answer and commits it; the commit."""
    file = root / GOLDEN / "2030r1.json"
    file.write_text(json.dumps({"answers": [{"question": {}, "answer": {"value": value, "slope": slope}}], "rows": []}))
    _commit(root, "Pin answers")
    return git(root, "rev-parse", "HEAD").decode().strip()


@pytest.fixture
def answered(tmp_path: Path) -> Path:
    """A repository in which 2030r1 was answered with the slope 0.0."""
    root = tmp_path / "answered"
    (root / GOLDEN).mkdir(parents=True)
    git(root, "init", "--quiet", "--initial-branch", "main")
    _pinned(root, 1.0, 0.0)
    return root


def test_answers_pinned_again_for_a_named_field_take_the_place_of_the_first(answered: Path) -> None:
    again = _pinned(answered, 1.0, None)
    assert len(History(answered).findings("2030r1")) == 1
    named = [PinnedAgain(again, frozenset({"slope"}), "Invented.")]
    assert History(answered, pinned_again=named).findings("2030r1") == []
    _pinned(answered, 1.0, 2.0)
    assert len(History(answered, pinned_again=named).findings("2030r1")) == 1


def test_pinning_again_moves_nothing_else_and_is_on_main(answered: Path) -> None:
    again = _pinned(answered, 1.1, None)
    named = [PinnedAgain(again, frozenset({"slope"}), "Invented.")]
    assert History(answered, pinned_again=named).findings("2030r1") == [
        f"2030r1: commit {again[:7]} pinned again more than slope"
    ]
    elsewhere = [PinnedAgain("0" * 40, frozenset({"slope"}), "Invented.")]
    assert "is not on main's first-parent line" in History(answered, pinned_again=elsewhere).findings("2030r1")[0]


# --- Without history.


@pytest.fixture(
    params=["a source archive", "an archive inside another repository", "a shallow clone", "no git program"]
)
def without_history(
    request: pytest.FixtureRequest, invented: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Path, str]]:
    """A folder without history, and what is said of it."""
    archive, inside, shallow = tmp_path / "archive", invented / "archive", tmp_path / "shallow"
    if request.param == "a source archive":
        archive.mkdir()
        monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
        yield archive, "not a git repository"
    elif request.param == "an archive inside another repository":
        inside.mkdir()
        yield inside, "lies in another one"
    elif request.param == "a shallow clone":
        _cut(invented, "2030r2", "two")
        _commit(invented, "Release 2030r2")
        git(tmp_path, "clone", "--quiet", "--depth", "1", invented.as_uri(), str(shallow))
        yield shallow, "cut short"
    else:
        monkeypatch.setenv("PATH", str(tmp_path))
        yield invented, "no git program"


def test_without_history_the_test_fails_in_ci(
    without_history: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match=without_history[1]):
        history_of(without_history[0])


@pytest.mark.parametrize("setting", [None, ""])
def test_without_history_the_test_is_skipped_loudly_elsewhere(
    without_history: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, setting: str | None
) -> None:
    monkeypatch.delenv("CI", raising=False)
    if setting is not None:
        monkeypatch.setenv("CI", setting)
    with (
        pytest.warns(UserWarning, match="NOT held against history"),
        pytest.raises(pytest.skip.Exception, match=without_history[1]),
    ):
        history_of(without_history[0])
