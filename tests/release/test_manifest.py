"""The manifest of a release: what it covers, that it is written when a release is cut, and that it is held to."""

from __future__ import annotations

import datetime
import hashlib
import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from refdb.data import current, file_digest
from refdb.problems import BadParameter, IntegrityError
from refdb.release import build, cut_release
from refdb.release.manifest import manifests_of
from refdb.release.text import read_releases
from tests.conftest import CommandLine
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document, write_invented_text

DAY = datetime.date(2026, 1, 2)
LATER = datetime.date(2026, 3, 4)
BEFORE_MANIFESTS = ["2026r1", "2026r2", "2026r3", "2026r4", "2026r5", "2026r6"]
SIXTH = "sha256:f5f3fdfd4be397cd4ad06fe0cfb6cbd853f6d0d99a102989ddaeac951a3fefa1"


@pytest.fixture(scope="module")
def cut_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An invented text with two releases."""
    root = tmp_path_factory.mktemp("two-releases")
    write_invented_text(root)
    cut_release(root, "2026r1", "The first.", DAY)
    write_document(root, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(root, "2026r2", "The second.", LATER)
    return root


@pytest.fixture
def two_releases(cut_once: Path, tmp_path: Path) -> Path:
    """An invented text with two releases, to be changed."""
    shutil.copytree(cut_once, tmp_path / "text")
    return tmp_path / "text"


def _folder(text: Path, label: str) -> Path:
    return text / "sources" / "releases" / label


def _manifest(text: Path, label: str) -> dict[str, Any]:
    manifest: dict[str, Any] = json.loads((_folder(text, label) / "manifest.json").read_bytes())
    return manifest


def _rewrite(folder: Path, name: str, content: bytes) -> None:
    """Change a file of a release folder, and its digest in SHA256SUMS with it."""
    sums = folder / "SHA256SUMS"
    before = file_digest(folder / name)
    (folder / name).write_bytes(content)
    sums.write_text(sums.read_text().replace(before, file_digest(folder / name)))


def _accept_one_more_spelling(text: Path) -> None:
    """Change the vocabulary of a text."""
    units = text / "shared" / "vocabulary" / "units.toml"
    old = 'symbol = "ft/s"\n'
    block = units.read_text().partition(old)
    assert block[1], "the text of the unit has changed its shape"
    units.write_text(block[0] + old + block[2].replace("spellings = [", 'spellings = ["invented ft/s", ', 1))


def test_a_release_is_cut_with_its_manifest_in_canonical_json(two_releases: Path) -> None:
    folder = _folder(two_releases, "2026r2")
    written = (folder / "manifest.json").read_bytes()
    # RFC 8785, by a writer that is not ours.
    assert written == rfc8785.dumps(json.loads(written))
    assert f"{file_digest(folder / 'manifest.json')}  manifest.json\n" in (folder / "SHA256SUMS").read_text()


def test_a_manifest_tells_label_date_note_and_the_files_of_the_folder(two_releases: Path) -> None:
    manifest = _manifest(two_releases, "2026r2")
    assert manifest["format"] == "refdb-manifest/1"
    assert (manifest["label"], manifest["cut_on"], manifest["note"]) == ("2026r2", "2026-03-04", "The second.")
    folder = _folder(two_releases, "2026r2")
    assert manifest["files"] == {
        name: file_digest(folder / name)
        for name in ("derivation.jsonl", "records.jsonl", "release.toml", "withdrawn.csv")
    }


def test_a_manifest_names_the_digest_of_the_one_before(two_releases: Path) -> None:
    first = hashlib.sha256((_folder(two_releases, "2026r1") / "manifest.json").read_bytes()).hexdigest()
    assert _manifest(two_releases, "2026r1")["previous"] is None
    assert _manifest(two_releases, "2026r2")["previous"] == {"label": "2026r1", "digest": f"sha256:{first}"}


def test_the_digests_of_names_and_links_are_those_of_the_sorted_lines_that_the_store_serves(
    two_releases: Path, tmp_path: Path
) -> None:
    """The lines are told in `refdb.release.manifest`; here they are made from the compiled tables, without its code."""
    build(two_releases, tmp_path / "compiled")
    with sqlite3.connect(current(tmp_path / "compiled").store) as connection:
        words = "JOIN word AS {0} ON {0}.number = {1}".format
        kinds = " ".join(words(f"w{n}", part) for n, part in enumerate(("designation_kind", "target_kind", "target")))
        ends = " ".join(words(f"w{n}", part) for n, part in enumerate(("rests_on", "role")))
        for ordinal, label in ((1, "2026r1"), (2, "2026r2")):
            valid = f"since <= {ordinal} AND (until IS NULL OR until > {ordinal})"
            told = {
                "names": f"SELECT normal, name.text, w0.text, w1.text, w2.text FROM name {kinds} WHERE {valid}",
                "links": "SELECT 'sha256:' || lower(hex(digest)), w0.text, w1.text FROM link "
                f"JOIN row_version AS v ON v.number = version {ends} WHERE {valid}",
            }
            for part, select in told.items():
                rows = connection.execute(select).fetchall()
                lines = sorted(json.dumps(row, separators=(",", ":"), ensure_ascii=False) + "\n" for row in rows)
                digest = hashlib.sha256("".join(lines).encode()).hexdigest()
                assert _manifest(two_releases, label)[part] == {"count": len(lines), "digest": f"sha256:{digest}"}


def test_the_vocabulary_is_named_by_the_digest_of_the_compiled_file(two_releases: Path, tmp_path: Path) -> None:
    build(two_releases, tmp_path / "compiled")
    compiled = file_digest(current(tmp_path / "compiled").vocabulary)
    assert _manifest(two_releases, "2026r2")["vocabulary"] == f"sha256:{compiled}"


def test_releases_from_before_manifests_have_theirs_made_the_same_everywhere(project: Path) -> None:
    made = {manifest["label"]: manifest for manifest in manifests_of(read_releases(project))}
    assert list(made)[:6] == BEFORE_MANIFESTS
    assert {made[label]["vocabulary"] for label in BEFORE_MANIFESTS} == {None}, "theirs was not kept"
    # Pinned, and with it every release before: what a signature covers must never come out otherwise.
    assert "sha256:" + hashlib.sha256(rfc8785.dumps(made["2026r6"])).hexdigest() == SIXTH


def test_the_compiled_store_carries_every_manifest_and_the_newest_lies_beside_it(
    two_releases: Path, tmp_path: Path
) -> None:
    build(two_releases, tmp_path / "compiled")
    files = current(tmp_path / "compiled")
    with sqlite3.connect(files.store) as connection:
        stored = dict(connection.execute("SELECT label, manifest FROM release"))
    for label in ("2026r1", "2026r2"):
        assert stored[label].encode() == (_folder(two_releases, label) / "manifest.json").read_bytes()
    assert files.path("manifest").read_bytes() == stored["2026r2"].encode()


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"note": "Another."}, "note"),
        ({"cut_on": "2026-01-03"}, "cut_on"),
        ({"names": {"count": 1, "digest": "sha256:0"}}, "names"),
        ({"links": {"count": 1, "digest": "sha256:0"}}, "links"),
        ({"previous": None}, "previous"),
        ({"files": {}}, "files"),
    ],
)
def test_a_folder_that_is_not_what_its_manifest_tells_stops_the_build(
    two_releases: Path, tmp_path: Path, change: dict[str, Any], part: str
) -> None:
    altered = rfc8785.dumps(_manifest(two_releases, "2026r2") | change)
    _rewrite(_folder(two_releases, "2026r2"), "manifest.json", altered)
    with pytest.raises(IntegrityError, match=rf"2026r2/manifest\.json: its {part} do not fit"):
        build(two_releases, tmp_path / "compiled")


@pytest.mark.parametrize("content", [b"no JSON", b"[]", b'{"format": "refdb-manifest/1"}'])
def test_a_manifest_that_is_none_stops_the_build(two_releases: Path, tmp_path: Path, content: bytes) -> None:
    _rewrite(_folder(two_releases, "2026r2"), "manifest.json", content)
    with pytest.raises(IntegrityError, match=r"2026r2/manifest\.json: "):
        build(two_releases, tmp_path / "compiled")


def test_a_note_changed_in_an_older_folder_stops_the_build(two_releases: Path, tmp_path: Path) -> None:
    folder = _folder(two_releases, "2026r1")
    changed = (folder / "release.toml").read_bytes().replace(b"The first.", b"The best.")
    _rewrite(folder, "release.toml", changed)
    with pytest.raises(IntegrityError, match=r"2026r1/manifest\.json: its note and files do not fit"):
        build(two_releases, tmp_path / "compiled")


def test_a_note_changed_in_a_folder_without_manifest_is_compiled_again(two_releases: Path, tmp_path: Path) -> None:
    """As the first six are: their folders are pinned by the tests instead."""
    for label in ("2026r1", "2026r2"):
        folder = _folder(two_releases, label)
        sums = (folder / "SHA256SUMS").read_text().splitlines(keepends=True)
        (folder / "SHA256SUMS").write_text("".join(line for line in sums if "manifest.json" not in line))
        (folder / "manifest.json").unlink()
    assert build(two_releases, tmp_path / "compiled")
    folder = _folder(two_releases, "2026r2")
    _rewrite(folder, "release.toml", (folder / "release.toml").read_bytes().replace(b"The second.", b"Another."))
    assert build(two_releases, tmp_path / "compiled")


def test_a_change_of_the_vocabulary_alone_is_told_by_the_build_and_can_be_cut(
    two_releases: Path, tmp_path: Path, command: CommandLine
) -> None:
    with pytest.raises(BadParameter, match="nothing has changed since 2026r2"):
        cut_release(two_releases, "2026r3", "Nothing.", LATER)
    building = ("build", "--text", str(two_releases), "--to", str(tmp_path / "compiled"))
    assert "vocabulary" not in command(*building).out
    _accept_one_more_spelling(two_releases)
    assert "The vocabulary differs from 2026r2's." in command(*building).out
    changes = cut_release(two_releases, "2026r3", "One more spelling.", LATER)
    assert not changes
    assert "vocabulary" not in command(*building).out
    assert _manifest(two_releases, "2026r3")["vocabulary"] != _manifest(two_releases, "2026r2")["vocabulary"]
    assert _manifest(two_releases, "2026r3")["rows"] == _manifest(two_releases, "2026r2")["rows"]
