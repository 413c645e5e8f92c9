"""Compiling the store: the same bytes from the same text, safe to repeat, all or nothing even when killed."""

from __future__ import annotations

import datetime
import hashlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
import tomllib
import traceback
from collections.abc import Callable
from contextlib import closing
from functools import partial
from importlib.metadata import packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import refdb.release.compile as compile_module
from refdb.data import POINTER, current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.problems import IntegrityError
from refdb.release import build, cut_release, verify
from refdb.release.text import read_releases
from refdb.values.reader import Reader
from tests.conftest import PROJECT
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document, write_invented_text

TODAY = datetime.date(2026, 1, 2)


@pytest.fixture
def two_texts(tmp_path: Path) -> tuple[Path, Path]:
    """A text with one release, and the same with a second release."""
    for name in ("one", "two"):
        write_invented_text(tmp_path / name)
        cut_release(tmp_path / name, "2026r1", "The first.", TODAY)
    write_document(tmp_path / "two", "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(tmp_path / "two", "2026r2", "The second.", TODAY)
    return tmp_path / "one", tmp_path / "two"


def test_the_same_text_gives_the_same_bytes(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    for target in ("a", "b"):
        assert build(two_texts[1], tmp_path / target)
    assert current(tmp_path / "a").digests == current(tmp_path / "b").digests


def test_the_order_of_hashes_plays_no_part(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    code = "import sys, pathlib, refdb.release; refdb.release.build(*map(pathlib.Path, sys.argv[1:]))"
    for seed in ("1", "2"):
        command = [sys.executable, "-c", code, str(two_texts[1]), str(tmp_path / seed)]
        subprocess.run(command, check=True, env={**os.environ, "PYTHONHASHSEED": seed})
    assert current(tmp_path / "1").digests == current(tmp_path / "2").digests


def test_building_again_changes_nothing(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    target = tmp_path / "target"
    assert build(two_texts[0], target)
    before = {file.name: file.stat().st_mtime_ns for file in target.iterdir()}
    assert not build(two_texts[0], target)
    assert {file.name: file.stat().st_mtime_ns for file in target.iterdir()} == before


@pytest.mark.parametrize(
    "changed", ["shared/vocabulary/units.toml", "shared/vocabulary/properties.toml", "sources/signatures/2026r1.toml"]
)
def test_whatever_the_compiled_files_are_made_from_is_compiled_again_once_it_has_changed(
    two_texts: tuple[Path, Path], tmp_path: Path, changed: str
) -> None:
    build(two_texts[0], tmp_path / "target")
    file = two_texts[0] / changed
    file.parent.mkdir(exist_ok=True)
    with file.open("a") as stream:
        stream.write("\n# A remark.\n")
    assert build(two_texts[0], tmp_path / "target")


def test_what_the_next_release_is_derived_from_is_not_compiled(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    build(two_texts[0], tmp_path / "target")
    write_document(two_texts[0], "second-article", READINGS_HEADER + SECOND_READINGS)
    (two_texts[0] / "sources" / "rules" / "invented.toml").write_text("# Nothing.\n")
    assert not build(two_texts[0], tmp_path / "target")


def test_the_code_that_compiles_is_part_of_what_is_compiled(
    two_texts: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build(two_texts[0], tmp_path / "target")
    (tmp_path / "code").mkdir()
    (tmp_path / "code" / "names.py").write_text("# Names are normalised in another way now.\n")
    monkeypatch.setattr(compile_module, "COMPILING_CODE", (*compile_module.COMPILING_CODE, tmp_path / "code"))
    assert build(two_texts[0], tmp_path / "target")


def test_releases_that_are_read_already_are_not_read_again(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    read = read_releases(two_texts[1])
    for file in (two_texts[1] / "sources" / "releases").glob("*/records.jsonl"):
        file.write_bytes(b"")
    assert build(two_texts[1], tmp_path / "target", read=lambda: read)
    assert verify(tmp_path / "target").sound


def test_a_line_that_is_not_canonical_is_found_by_the_digest_of_its_release(two_texts: tuple[Path, Path]) -> None:
    folder = two_texts[0] / "sources" / "releases" / "2026r1"
    records = (folder / "records.jsonl").read_bytes().replace(b'":"', b'": "', 1)
    (folder / "records.jsonl").write_bytes(records)
    sums = [line.partition("  ") for line in (folder / "SHA256SUMS").read_text().splitlines()]
    files = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for _, _, name in sums}
    (folder / "SHA256SUMS").write_text("".join(f"{sha}  {name}\n" for name, sha in files.items()))
    with pytest.raises(IntegrityError, match="release 2026r1: its rows do not fit its digest"):
        read_releases(two_texts[0])


@pytest.mark.parametrize("name", ["records.jsonl", "release.toml", "withdrawn.csv"])
def test_a_file_that_is_missing_from_a_release_or_from_its_list_stops_the_build(
    two_texts: tuple[Path, Path], name: str
) -> None:
    folder = two_texts[0] / "sources" / "releases" / "2026r1"
    sums = folder / "SHA256SUMS"
    listed = sums.read_text()
    sums.write_text("".join(line for line in listed.splitlines(keepends=True) if not line.endswith(f"{name}\n")))
    with pytest.raises(IntegrityError, match=name):
        read_releases(two_texts[0])
    sums.write_text(listed)
    (folder / name).unlink()
    with pytest.raises(IntegrityError, match=name):
        read_releases(two_texts[0])


def test_reading_the_newest_release_unpacks_nothing_that_only_older_ones_hold(
    two_texts: tuple[Path, Path], tmp_path: Path
) -> None:
    build(two_texts[1], tmp_path / "target")
    with closing(sqlite3.connect(current(tmp_path / "target").store)) as connection:
        blocks = connection.execute("SELECT block, until IS NULL FROM row_version GROUP BY 1, 2").fetchall()
    assert {newest for _, newest in blocks} == {0, 1}
    assert len({block for block, _ in blocks}) == len(blocks)


def test_compiling_needs_no_more_than_the_build_hook_asks_for(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text())
    asked = project["tool"]["hatch"]["build"]["hooks"]["custom"]["dependencies"]
    assert set(asked) <= set(project["project"]["dependencies"])
    there = _with_what_they_need({Requirement(text).name for text in asked})
    absent = [
        module
        for module, distributions in packages_distributions().items()
        if "." not in module and not there & {canonicalize_name(name) for name in distributions}
    ]
    assert {"numpy", "scipy", "pyarrow", "fastapi", "click", "rich"} <= set(absent)
    code = (
        "import sys, pathlib; sys.modules.update(dict.fromkeys(sys.argv[3:])); "
        "import refdb.release; assert refdb.release.build(*map(pathlib.Path, sys.argv[1:3]))"
    )
    needed = {"refdb", "refdb_migrations"}
    command = [sys.executable, "-c", code, str(two_texts[1]), str(tmp_path / "target"), *sorted(set(absent) - needed)]
    subprocess.run(command, check=True)


def _with_what_they_need(names: set[str]) -> set[str]:
    """These distributions and those that they need here, however far down."""
    found: set[str] = set()
    waiting = {canonicalize_name(name) for name in names}
    while waiting:
        name = waiting.pop()
        found.add(name)
        wanted = (Requirement(text) for text in requires(name) or [])
        waiting |= {
            canonicalize_name(one.name) for one in wanted if one.marker is None or one.marker.evaluate({"extra": ""})
        } - found
    return found


def test_a_new_build_leaves_only_its_own_files(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    target = tmp_path / "target"
    build(two_texts[0], target)
    build(two_texts[1], target)
    assert {file.name for file in target.iterdir()} == {POINTER, *current(target).digests}
    assert [release.label for release in Database(Reader(ReleaseStore(current(target).store))).releases()] == [
        "2026r1",
        "2026r2",
    ]


def test_a_damaged_compiled_file_is_made_again(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    target = tmp_path / "target"
    build(two_texts[0], target)
    store = current(target).store
    store.write_bytes(store.read_bytes()[:-1] + b"\x01")
    assert not verify(target).sound
    assert build(two_texts[0], target)
    assert verify(target).sound


def test_a_damaged_release_folder_stops_the_build_and_leaves_the_old_store(
    two_texts: tuple[Path, Path], tmp_path: Path
) -> None:
    target = tmp_path / "target"
    build(two_texts[0], target)
    before = current(target)
    file = two_texts[1] / "sources" / "releases" / "2026r1" / "records.jsonl"
    file.write_bytes(file.read_bytes().replace(b"5000", b"5001"))
    with pytest.raises(IntegrityError, match=r"records\.jsonl does not fit its SHA-256"):
        build(two_texts[1], target)
    assert current(target) == before
    assert verify(target).sound


def test_progress_is_told_to_the_end(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    build(two_texts[1], tmp_path / "target", lambda *step: told.append(step))
    assert told[-1][1] == told[-1][2] > 0


@pytest.mark.parametrize("kills", [25, pytest.param(500, marks=pytest.mark.long)])
def test_a_build_killed_at_any_moment_leaves_the_old_store_or_the_new_one(
    two_texts: tuple[Path, Path], tmp_path: Path, kills: int
) -> None:
    target = tmp_path / "target"
    build(two_texts[0], target)
    chance = random.Random(20260102)  # noqa: S311 - a seeded choice of moments, no secret
    span, changes, before = 1.0, 0, current(target).store.name
    for _ in range(kills):
        following = two_texts[(changes + 1) % 2]
        _kill_within(partial(build, following, target), chance.uniform(0.0, span))
        assert verify(target).sound
        after = current(target).store.name
        changes += after != before
        # Kills should fall before, during and after a change of store alike, however fast the machine is today.
        span *= 0.85 if after != before else 1.15
        before = after
    assert kills // 10 < changes < kills - kills // 10, "the kills fell on one side of the changes only"


def _kill_within(work: Callable[[], object], seconds: float) -> None:
    """Run `work` in a child process and kill it without warning after some time, whether it is done or not."""
    child = os.fork()
    if child == 0:
        try:
            work()
            signal.pause()
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(1)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the build failed by itself before it was killed"
