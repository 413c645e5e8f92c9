"""Opening the compiled files: one pair for a process, and nothing opened that is cut short, mixed or exchanged."""

from __future__ import annotations

import datetime
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

import refdb
from refdb.data import POINTER, current, file_digest, pinned_whole
from refdb.problems import IntegrityError
from refdb.release import build, cut_release
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document, write_invented_text
from tests.service import TestClient, create_app

DAY = datetime.date(2026, 1, 2)
REFDB = str(Path(sys.executable).parent / "refdb")


@pytest.fixture(scope="module")
def texts(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A text with one release, and the same with a second one and one more spelling of a unit."""
    one, two = tmp_path_factory.mktemp("one"), tmp_path_factory.mktemp("two") / "text"
    write_invented_text(one)
    cut_release(one, "2026r1", "The first.", DAY)
    build(one, one / "compiled")
    shutil.copytree(one, two)
    write_document(two, "second-article", READINGS_HEADER + SECOND_READINGS)
    units = two / "shared" / "vocabulary" / "units.toml"
    units.write_text(units.read_text().replace('"foot/second"', '"foot/second", "feet a second"'))
    cut_release(two, "2026r2", "The second.", DAY)
    return one, two


@pytest.fixture
def compiled(texts: tuple[Path, Path], tmp_path: Path) -> Path:
    """The compiled folder of the first text, to be damaged."""
    shutil.copytree(texts[0] / "compiled", tmp_path / "compiled")
    return tmp_path / "compiled"


def _reading(folder: Path, *command: str) -> subprocess.CompletedProcess[str]:
    """What a process says that reads a folder of compiled files."""
    environment = {**os.environ, "REFDB_DATA": str(folder)}
    return subprocess.run(command, capture_output=True, text=True, env=environment, check=False, timeout=300)


LATER_BUILD = """
import sys
from pathlib import Path
import refdb
from refdb.release import build

database = refdb.open()
assert build(Path(sys.argv[1]), Path(sys.argv[2]))
print([release.label for release in database.releases()])
print(database.value("invented-metal", "longitudinal_speed", unit="ft/s").unit)
for ask in (lambda: database.value("invented-metal", "density", unit="feet a second"), refdb.open):
    try:
        print(ask())
    except refdb.Problem as problem:
        print(type(problem).__name__, problem.detail)
"""


def test_a_later_build_neither_mixes_into_an_open_database_nor_is_opened_beside_its_vocabulary(
    texts: tuple[Path, Path], compiled: Path
) -> None:
    printed = _reading(compiled, sys.executable, "-c", LATER_BUILD, str(texts[1]), str(compiled))
    labels, unit, spelling, again = printed.stdout.splitlines()
    assert (labels, unit) == ("['2026r1']", "ft/s")
    assert spelling.startswith("UnknownUnit"), "the spelling belongs to the later vocabulary"
    assert again.startswith("IntegrityError The compiled file releases-")
    assert again.endswith("belongs to the earlier one, so start the program again.")


def test_a_pinned_vocabulary_that_a_later_build_cleared_away_is_told(texts: tuple[Path, Path], compiled: Path) -> None:
    earlier = current(compiled)
    assert build(texts[1], compiled)
    with pytest.raises(IntegrityError, match=r"vocabulary-.* has been cleared away by a later build in"):
        earlier.vocabulary_bytes()


def test_a_vocabulary_with_one_changed_bit_is_not_answered_from(compiled: Path) -> None:
    vocabulary = current(compiled).vocabulary
    content = bytearray(vocabulary.read_bytes())
    content[content.index(b"0.3048")] ^= 1
    vocabulary.write_bytes(content)
    printed = _reading(compiled, REFDB, "value", "invented-metal", "density")
    assert (printed.returncode, printed.stdout) == (1, "")
    assert printed.stderr.startswith(f"refdb: The compiled file {vocabulary} does not fit its SHA-256 in SHA256SUMS; ")
    assert printed.stderr.count("\n") == 1


def _sql(statement: str) -> Callable[[Path], None]:
    def damage(store: Path) -> None:
        with sqlite3.connect(store) as connection:
            connection.execute(statement)
        connection.close()

    return damage


@pytest.mark.parametrize(
    ("damage", "sentence"),
    [
        (lambda store: os.truncate(store, store.stat().st_size - 4096), "bytes, where its header says"),
        (lambda store: store.write_bytes(store.read_bytes() + b"\0"), "bytes, where its header says"),
        (lambda store: store.write_bytes(b""), "has 0 bytes"),
        (lambda store: store.write_bytes(b"no store"), "has 8 bytes"),
        (lambda store: store.write_bytes(b"N" + store.read_bytes()[1:]), "cannot be read: file is not a database"),
        (_sql('ALTER TABLE "release" DROP COLUMN manifest'), "cannot be read: no such column: manifest"),
        (_sql("UPDATE \"release\" SET note = 'The best.'"), "release 2026r1: its note does not fit its manifest"),
        (_sql("UPDATE \"release\" SET cut_on = '2020-01-01'"), "release 2026r1: its date does not fit its manifest"),
        (_sql('UPDATE "release" SET rows = 1'), "release 2026r1: its digest over its rows does not fit its manifest"),
        (_sql('UPDATE "release" SET manifest = NULL'), "release 2026r1: has no manifest that can be read"),
        (_sql("UPDATE \"release\" SET manifest = x'7b7d'"), "release 2026r1: has no manifest that can be read"),
        (_sql('DELETE FROM "release"'), "is not the one that the manifest beside it tells"),
    ],
)
def test_a_store_that_is_cut_short_or_does_not_fit_its_manifest_is_not_opened(
    compiled: Path, damage: Callable[[Path], None], sentence: str
) -> None:
    store = current(compiled).store
    assert refdb.open(store=store).release().label == "2026r1"
    damage(store)
    with pytest.raises(IntegrityError, match=sentence):
        refdb.open(store=store)


def test_the_store_of_another_build_under_the_name_of_this_one_is_not_opened(
    texts: tuple[Path, Path], compiled: Path, tmp_path: Path
) -> None:
    build(texts[1], tmp_path / "other")
    shutil.copy(current(tmp_path / "other").store, current(compiled).store)
    printed = _reading(compiled, REFDB, "releases")
    assert printed.returncode == 1
    assert "is not the one that the manifest beside it tells" in printed.stderr


def test_a_store_is_not_opened_beside_a_vocabulary_of_another_build(
    texts: tuple[Path, Path], compiled: Path, tmp_path: Path
) -> None:
    build(texts[1], tmp_path / "other")
    store = current(tmp_path / "other").store
    with pytest.raises(IntegrityError, match=rf"another vocabulary .* the setting REFDB_DATA={tmp_path / 'other'}"):
        refdb.open(store=store)
    foreign = Path(shutil.copy(store, compiled / store.name))
    with pytest.raises(IntegrityError, match=rf"{store.name} is not releases-.*, which SHA256SUMS names there"):
        refdb.open(store=foreign)


def test_the_service_hashes_every_byte_and_does_not_start_on_what_does_not_fit(compiled: Path) -> None:
    store = current(compiled).store
    with closing(sqlite3.connect(store)) as connection, connection:
        connection.execute("UPDATE block SET packed = zeroblob(length(packed))")
    assert _reading(compiled, REFDB, "releases").returncode == 0, "opening does not read rows"
    served = _reading(compiled, REFDB, "serve", "--port", "1")
    assert (served.returncode, served.stdout) == (1, "")
    assert served.stderr.startswith(f"refdb: The compiled file {store} does not fit its SHA-256 in SHA256SUMS; ")
    start = "from fastapi.testclient import TestClient; from refdb_api.app import app; TestClient(app).__enter__()"
    started = _reading(compiled, sys.executable, "-c", start)
    assert started.returncode != 0
    assert f"IntegrityError: The compiled file {store} does not fit" in started.stderr


def test_a_sound_service_starts_and_has_hashed_what_it_serves() -> None:
    pinned_whole.cache_clear()
    with TestClient(create_app()) as client:
        assert client.get("/ready").status_code == 200
    assert pinned_whole.cache_info().currsize == 1


def test_what_the_pointer_says_of_a_whole_pair_is_held_against_every_file(compiled: Path) -> None:
    files = current(compiled)
    files.require_whole()
    for stem in ("releases", "vocabulary", "manifest"):
        path = files.path(stem)
        content = path.read_bytes()
        path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))
        with pytest.raises(IntegrityError, match=rf"{path.name} does not fit its SHA-256 in {POINTER}"):
            files.require_whole()
        path.write_bytes(content)
        assert file_digest(path) == files.digests[path.name]
