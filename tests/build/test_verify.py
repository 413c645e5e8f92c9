"""Verification: a flip inside a record is named by its row; any other flip is found by the digest of its file."""

from __future__ import annotations

import datetime
import json
import random
import sqlite3
from pathlib import Path

import pytest

from refdb.build import build, cut_release, verify
from refdb.data import POINTER, current, file_digest
from refdb.problems import IntegrityError


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


def test_a_flip_inside_any_record_is_named_by_its_row(compiled: Path) -> None:
    store = current(compiled).store
    original = store.read_bytes()
    connection = sqlite3.connect(store)
    bodies = dict(connection.execute("SELECT row, body FROM row_version"))
    connection.close()
    chance = random.Random(7)  # noqa: S311 - a seeded choice of bytes, no secret
    for row, body in bodies.items():
        start = original.index(body.encode())
        position = start + chance.randrange(len(body.encode()))
        _flip(store, original, position, 1 << chance.randrange(7))
        findings = verify(compiled).findings
        assert any(finding.startswith(f"row {row}: ") for finding in findings), (row, findings)
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
        ("UPDATE row_version SET subject = 'other' WHERE row = 'invented-metal.density'", "its column subject"),
        ("UPDATE row_version SET digest = replace(digest, '1', '2')", "does not fit its digest"),
        ("DELETE FROM name WHERE target = 'invented-metal'", "is missing from the index"),
        ("DELETE FROM link", "its link to"),
        ("DELETE FROM row_version WHERE row = 'invented-metal.density.01'", "release 2026r1: its"),
        ("UPDATE \"release\" SET digest = 'sha256:0'", "release 2026r1: its"),
        ("UPDATE row_version SET since = 'x' WHERE row = 'invented-metal.density'", "the column since of the table"),
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
    connection = sqlite3.connect(current(compiled).store)
    with connection:
        (body,) = connection.execute("SELECT body FROM row_version WHERE row = 'invented-metal.density.01'").fetchone()
        altered = json.loads(body) | {"number": "7.6"}
        text = json.dumps(altered, separators=(",", ":"), sort_keys=True)
        connection.execute("UPDATE row_version SET body = ? WHERE row = 'invented-metal.density.01'", (text,))
    connection.close()
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
