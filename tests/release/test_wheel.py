"""The wheel: the same bytes from the same text, whenever and wherever it is built."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

from tests.conftest import PROJECT

FILES = ("pyproject.toml", "hatch_build.py", "README.md", "LICENSE", "LICENSE-DATA", "THIRD-PARTY-NOTICES")
FOLDERS = ("refdb", "api", "migrations", "shared", "sources")
NOT_COMMITTED = shutil.ignore_patterns("__pycache__", "*.sqlite", "vocabulary-*.json")


def _copy(folder: Path, written_at: float) -> Path:
    """The project as it is committed, its files written at some moment (seconds since 1970)."""
    folder.mkdir()
    for name in FILES:
        shutil.copyfile(PROJECT / name, folder / name)
    for name in FOLDERS:
        shutil.copytree(PROJECT / name, folder / name, ignore=NOT_COMMITTED, copy_function=shutil.copyfile)
    (folder / "refdb" / "data" / "SHA256SUMS").unlink(missing_ok=True)
    for path in folder.rglob("*"):
        os.utime(path, (written_at, written_at))
    return folder


def _start(project: Path, seed: str) -> subprocess.Popen[str]:
    environment = {name: value for name, value in os.environ.items() if name != "SOURCE_DATE_EPOCH"}
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(project / "dist")]
    return subprocess.Popen(
        command, cwd=project, env={**environment, "PYTHONHASHSEED": seed}, stderr=subprocess.PIPE, text=True
    )


def test_two_builds_of_the_wheel_from_one_commit_are_the_same_bytes(tmp_path: Path) -> None:
    projects = [_copy(tmp_path / "one", 1.5e9), _copy(tmp_path / "another place", 1.6e9)]
    builds = [_start(project, seed) for project, seed in zip(projects, ("1", "2"), strict=True)]
    for building in builds:
        told = building.communicate()[1]
        assert building.returncode == 0, told
        assert "refdb: packing records" in told
    wheels = [next((project / "dist").glob("*.whl")) for project in projects]
    assert wheels[0].name == wheels[1].name
    with zipfile.ZipFile(wheels[0]) as one, zipfile.ZipFile(wheels[1]) as other:
        assert [entry.filename for entry in one.infolist() if one.read(entry) != other.read(entry.filename)] == []
        examples = {f"refdb/job/shipped/examples/{path.name}" for path in (PROJECT / "shared/examples/jobs").iterdir()}
        assert {"refdb/job/shipped/jobs.md", *examples} <= set(one.namelist())
    digests = {hashlib.sha256(wheel.read_bytes()).hexdigest() for wheel in wheels}
    assert len(digests) == 1
