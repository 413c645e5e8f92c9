"""Compiling the store: the same bytes from the same text, safe to repeat, all or nothing even when killed."""

from __future__ import annotations

import datetime
import os
import random
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from refdb.answer import Database
from refdb.build import build, cut_release, verify
from refdb.data import POINTER, current
from refdb.lookup import ReleaseStore
from refdb.problems import IntegrityError
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
    code = "import sys, pathlib, refdb.build; refdb.build.build(*map(pathlib.Path, sys.argv[1:]))"
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


def test_a_new_build_leaves_only_its_own_files(two_texts: tuple[Path, Path], tmp_path: Path) -> None:
    target = tmp_path / "target"
    build(two_texts[0], target)
    build(two_texts[1], target)
    assert {file.name for file in target.iterdir()} == {POINTER, *current(target).digests}
    assert [release.label for release in Database(ReleaseStore(current(target).store)).releases()] == [
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
