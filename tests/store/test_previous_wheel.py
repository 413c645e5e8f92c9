"""A house store that the wheel of release 2026r1 made and filled, upgraded by the code of today."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from refdb.store.backup import opened
from refdb.store.maintain import restore_house, upgrade_house
from tests.conftest import PROJECT
from tests.store.conftest import FurtherRevision, NewHouse
from tests.store.invented import COLUMNS, FURTHER, NEWEST, invented_rows, rows_in, rows_of

FIRST_RELEASE = "sources/releases/2026r1"

MAKE_AND_FILL = """
import json, sys
from sqlalchemy import insert, text
import refdb
from refdb.store import HouseValue, HouseValueVersion
from refdb.store.house import house_engine, upgrade_house

url, rows = sys.argv[1], json.load(sys.stdin)
upgrade_house(url)
engine = house_engine(url)
with engine.begin() as connection:
    connection.execute(insert(HouseValue), rows["house_value"])
    connection.execute(insert(HouseValueVersion), rows["house_value_version"])
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
print(json.dumps([revision, refdb.__file__]))
"""


def _run(*command: str | Path, text: str | None = None) -> str:
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "REFDB"))}
    done = subprocess.run(command, input=text, capture_output=True, encoding="utf-8", check=False, env=environment)
    assert done.returncode == 0, f"{command[:4]} failed:\n{done.stdout}\n{done.stderr}"
    return done.stdout


def _commit_of_the_first_release() -> str:
    asked = ["git", "-C", str(PROJECT), "log", "--diff-filter=A", "--format=%H", "--", FIRST_RELEASE]
    try:
        commits = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split()
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("this is no checkout with git's history, so the earlier code is not here")
    if not commits:
        pytest.skip(f"git's history here does not reach back to the commit that added {FIRST_RELEASE}")
    return commits[-1]


@pytest.fixture
def earlier_python(tmp_path: Path) -> Path:
    """A Python with the wheel of 2026r1, and beside it only the libraries that are installed here."""
    archive, text, wheels = tmp_path / "earlier.tar", tmp_path / "text", tmp_path / "wheels"
    commit = _commit_of_the_first_release()
    _run("git", "-C", PROJECT, "archive", f"--output={archive}", commit)
    text.mkdir()
    _run("tar", "-xf", archive, "-C", text)
    _run(sys.executable, "-m", "venv", tmp_path / "venv")
    python = tmp_path / "venv" / "bin" / "python"
    _see_installed_libraries(python)
    _find_the_builder(python)
    _run(python, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", wheels, text)
    (wheel,) = wheels.glob("refdb-*.whl")
    # The refdb that is installed here can be seen too; it must be neither taken for the earlier one nor replaced.
    _run(python, "-m", "pip", "install", "--no-deps", "--no-index", "--ignore-installed", wheel)
    return python


def _see_installed_libraries(python: Path) -> None:
    own = _run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip()
    installed = dict.fromkeys(sysconfig.get_path(name) for name in ("purelib", "platlib"))
    (Path(own) / "installed.pth").write_text("\n".join(installed), encoding="utf-8")


def _find_the_builder(python: Path) -> None:
    for attempt in (["-c", "import hatchling.build"], ["-m", "pip", "install", "hatchling>=1.25"]):
        if subprocess.run([python, *attempt], capture_output=True, check=False).returncode == 0:
            return
    pytest.skip("hatchling, which builds the wheel, is neither installed nor to be had from a package index")


@pytest.mark.long
@pytest.mark.skipif(os.name != "posix", reason="the folders of a virtual environment have other names elsewhere")
def test_what_the_earlier_wheel_kept_is_still_there_after_an_upgrade_by_the_code_of_today(
    earlier_python: Path, new_house: NewHouse, further_revision: FurtherRevision, tmp_path: Path
) -> None:
    rows = invented_rows()
    named = {table: [dict(zip(COLUMNS[table], row, strict=True)) for row in lines] for table, lines in rows.items()}
    stores = [new_house(engine) for engine in ("sqlite", "postgresql")]
    for url in stores:
        told = _run(earlier_python, "-I", "-c", MAKE_AND_FILL, url, text=json.dumps(named))
        revision, used = json.loads(told)
        assert revision == "0001"
        assert Path(used).is_relative_to(tmp_path / "venv")
        done = upgrade_house(url)
        assert (done.before, done.after) == ("0001", NEWEST)
        assert (done.backup is None) == (NEWEST == "0001")
        assert rows_in(url) == rows
    # A revision yet to come, whether or not one has been written since 2026r1.
    further_revision("passes")
    for number, url in enumerate(stores):
        done = upgrade_house(url, backup_to=tmp_path / f"backup {number}")
        assert (done.after, rows_in(url)) == (FURTHER, rows)
        assert done.backup is not None
        with opened(done.backup.path) as (connection, _):
            assert rows_of(connection) == rows
        restored = new_house("sqlite")
        restore_house(done.backup.path, restored)
        assert rows_in(restored) == rows
