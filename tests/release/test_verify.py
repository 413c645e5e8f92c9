"""Verification: a flip inside a block is named by its rows; any other flip is found by the digest of its file."""

from __future__ import annotations

import datetime
import random
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path

import pytest

from refdb.data import POINTER, current, file_digest
from refdb.problems import IntegrityError
from refdb.release import build, cut_release, verify

ROWS = "SELECT text FROM row_version JOIN word ON word.number = row"
METAL, PLASTIC, DENSITY = (
    f"(SELECT number FROM word WHERE text = '{word}')"
    for word in ("invented-metal", "invented-plastic", "invented-metal.density.01")
)


@pytest.fixture
def compiled(invented_text: Path, tmp_path: Path) -> Path:
    """A compiled folder of the invented text."""
    cut_release(invented_text, "2026r1", "The first.", datetime.date(2026, 1, 2))
    target = tmp_path / "target"
    build(invented_text, target)
    return target


def test_an_untouched_store_is_sound(compiled: Path) -> None:
    result = verify(compiled)
    assert result.sound
    assert (result.files, result.releases) == (3, 1)
    assert (list(result.manifests), result.remarks) == (["2026r1"], [])
    assert result.rows > 5


def test_a_flip_inside_a_block_is_named_by_every_row_that_lies_in_it(compiled: Path) -> None:
    store = current(compiled).store
    original = store.read_bytes()
    with closing(sqlite3.connect(store)) as connection:
        blocks = connection.execute("SELECT number, packed FROM block").fetchall()
        rows_in = {
            number: [row for (row,) in connection.execute(f"{ROWS} WHERE block = ?", (number,))] for number, _ in blocks
        }
    chance = random.Random(7)  # noqa: S311 - a seeded choice of bytes, no secret
    for number, packed in blocks:
        for _ in range(40):
            position = original.index(packed) + chance.randrange(len(packed))
            _flip(store, original, position, 1 << chance.randrange(8))
            findings = verify(compiled).findings
            for row in rows_in[number]:
                assert any(finding.startswith(f"row {row}: ") for finding in findings), (row, findings)
    assert sum(map(len, rows_in.values())) > 5
    store.write_bytes(original)
    assert verify(compiled).sound


@pytest.mark.parametrize("stem", ["releases", "vocabulary", "manifest"])
def test_any_other_flip_is_found_by_the_digest_of_the_file(compiled: Path, stem: str) -> None:
    file = current(compiled).path(stem)
    original = file.read_bytes()
    chance = random.Random(11)  # noqa: S311 - a seeded choice of bytes, no secret
    for _ in range(60):
        _flip(file, original, chance.randrange(len(original)), 1 << chance.randrange(8))
        assert f"file {file.name}: does not fit its SHA-256" in verify(compiled).findings


@pytest.mark.parametrize(
    ("change", "finding"),
    [
        (f"UPDATE row_version SET subject = {PLASTIC} WHERE row = {DENSITY}", "its column subject"),
        ("UPDATE row_version SET digest = zeroblob(32)", "does not fit its digest"),
        (f"UPDATE row_version SET row = {PLASTIC} WHERE row = {DENSITY}", "is filed under the id invented-plastic"),
        ("UPDATE row_version SET start = start + 1", "its record"),
        ("DELETE FROM block", "the block that holds its record is damaged"),
        (f"DELETE FROM name WHERE target = {METAL}", "is missing from the index"),
        ("DELETE FROM link", "its link to"),
        (f"DELETE FROM row_version WHERE row = {DENSITY}", "release 2026r1: its"),
        ("DELETE FROM word", "release 2026r1: its"),
        ("UPDATE \"release\" SET digest = 'sha256:0'", "release 2026r1: its"),
        ("UPDATE row_version SET since = 'r1'", "the column since of the table"),
        (
            "UPDATE name SET number = 1000 - number",
            "names: some stand twice, or in another order than their rows give them",
        ),
    ],
)
def test_a_change_by_sql_is_named(compiled: Path, change: str, finding: str) -> None:
    connection = sqlite3.connect(current(compiled).store)
    with connection:
        connection.execute(change)
    connection.close()
    assert any(finding in line for line in verify(compiled).findings)


def test_a_record_that_is_well_formed_but_altered_is_named(compiled: Path) -> None:
    with closing(sqlite3.connect(current(compiled).store)) as connection, connection:
        lying = f"SELECT block, start, length FROM row_version WHERE row = {DENSITY}"
        number, start, length = connection.execute(lying).fetchone()
        (packed,) = connection.execute("SELECT packed FROM block WHERE number = ?", (number,)).fetchone()
        bodies = zlib.decompress(packed)
        altered = bodies[start : start + length].replace(b'"7.5"', b'"7.6"')
        assert altered != bodies[start : start + length]
        bodies = bodies[:start] + altered + bodies[start + length :]
        connection.execute("UPDATE block SET packed = ? WHERE number = ?", (zlib.compress(bodies), number))
    assert any(line.startswith("row invented-metal.density.01: ") for line in verify(compiled).findings)


def test_a_manifest_beside_the_store_that_is_not_the_newest_releases_is_told(compiled: Path) -> None:
    files = current(compiled)
    beside = files.path("manifest")
    beside.write_bytes(beside.read_bytes().replace(b"The first.", b"The best."))
    pointer = compiled / POINTER
    pointer.write_text(pointer.read_text().replace(files.digests[beside.name], file_digest(beside)))
    assert verify(compiled).findings == ["manifest: that of the newest release is not the one beside the store"]


def test_a_vocabulary_that_no_release_names_is_remarked(compiled: Path) -> None:
    with sqlite3.connect(current(compiled).store) as connection:
        connection.execute("UPDATE release SET manifest = replace(manifest, 'vocabulary', 'vocabularx')")
    told = "vocabulary: no release here names the one it was cut with, so no signature covers it"
    assert verify(compiled).remarks == [told]


def test_a_missing_file_or_pointer_is_told(compiled: Path) -> None:
    vocabulary = current(compiled).vocabulary
    vocabulary.unlink()
    assert f"file {vocabulary.name}: is missing" in verify(compiled).findings
    (compiled / POINTER).unlink()
    with pytest.raises(IntegrityError, match="no compiled store"):
        verify(compiled)


def _flip(file: Path, original: bytes, position: int, mask: int) -> None:
    damaged = bytearray(original)
    damaged[position] ^= mask
    file.write_bytes(bytes(damaged))
