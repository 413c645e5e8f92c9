"""Release folders as text: reading, checking and writing them.

`sources/releases/<label>/` holds what one release added to the one before: `release.toml` (label, date, digest over
the full list), `records.jsonl` (new and changed records, one canonical JSON a line, sorted by id), `withdrawn.csv`
(ids that left, with the reason), `derivation.jsonl` (how the rows were derived: `refdb.build.derivation`),
`manifest.json` (what is signed: `refdb.build.manifest`) and `SHA256SUMS`; the first six hold neither derivation nor
manifest. A release that corrects others says so in `release.toml` (`corrects`: `refdb.build.corrections`).
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from refdb.data import file_digest
from refdb.problems import IntegrityError
from refdb.records import canonical, digest, release_digest

LABEL = re.compile(r"^(?P<year>\d{4})r(?P<number>[1-9]\d*)$")
MANIFEST = "manifest.json"


@dataclass(frozen=True)
class ReleaseText:
    """One release folder, read and checked.

    `files` are the names in its `SHA256SUMS` with their SHA-256; `manifest` is the content of `manifest.json`, if it is
    there.
    """

    ordinal: int
    label: str
    cut_on: str
    digest: str
    note: str
    records: dict[str, dict[str, Any]]
    digests: dict[str, str]
    withdrawn: dict[str, str]
    rows: int
    files: dict[str, str]
    manifest: bytes | None
    corrects: tuple[str, ...] = ()


def releases_folder(text_root: Path) -> Path:
    """Where the release folders lie."""
    return text_root / "sources" / "releases"


def release_folders(text_root: Path) -> list[Path]:
    """The folder of every release, oldest first."""
    folder = releases_folder(text_root)
    return sorted((f for f in folder.iterdir() if LABEL.match(f.name)), key=_order) if folder.is_dir() else []


def read_releases(text_root: Path) -> list[ReleaseText]:
    """Every release, oldest first, each checked against its files' digests and its own.

    Raises:
        IntegrityError: a file or a record does not fit its digest.
    """
    state: dict[str, str] = {}
    releases = []
    for ordinal, release_folder in enumerate(release_folders(text_root), start=1):
        release = _read_release(release_folder, ordinal, state)
        state = apply(state, release)
        releases.append(release)
    return releases


def apply(state: Mapping[str, str], release: ReleaseText) -> dict[str, str]:
    """The full list of ids and digests after a release."""
    kept = {row: version for row, version in state.items() if row not in release.withdrawn}
    return kept | release.digests


def full_records(releases: list[ReleaseText]) -> dict[str, dict[str, Any]]:
    """Every record of the newest release, by id."""
    records: dict[str, dict[str, Any]] = {}
    for release in releases:
        records = {row: record for row, record in records.items() if row not in release.withdrawn}
        records |= release.records
    return records


def write_release(
    folder: Path,
    header: Mapping[str, Any],
    records: Iterator[Mapping[str, Any]],
    withdrawn: Mapping[str, str],
    derivation: Iterable[bytes],
    contents: Mapping[str, Any],
) -> None:
    """Write a release folder whole: into a neighbour folder first, then renamed into place.

    Args:
        header: of `release.toml`; what is itself a mapping becomes a table at its end.
        derivation: the lines of `derivation.jsonl`.
        contents: the manifest but for its files.
    """
    building = folder.with_name(f".{folder.name}.building")
    shutil.rmtree(building, ignore_errors=True)
    building.mkdir(parents=True)
    tables = {key: value for key, value in header.items() if isinstance(value, Mapping)}
    text = _toml({key: value for key, value in header.items() if key not in tables})
    text += "".join(f"\n[{key}]\n{_toml(table)}" for key, table in tables.items())
    (building / "release.toml").write_text(text, encoding="utf-8")
    (building / "derivation.jsonl").write_bytes(b"".join(line + b"\n" for line in derivation))
    with (building / "records.jsonl").open("wb") as stream:
        for record in records:
            stream.write(canonical(record) + b"\n")
    lines = io.StringIO()
    writer = csv.writer(lines, lineterminator="\n")
    writer.writerow(["id", "reason"])
    writer.writerows(sorted(withdrawn.items()))
    (building / "withdrawn.csv").write_text(lines.getvalue(), encoding="utf-8")
    names = ("derivation.jsonl", "records.jsonl", "release.toml", "withdrawn.csv")
    files = {name: file_digest(building / name) for name in names}
    (building / MANIFEST).write_bytes(canonical({**contents, "files": files}))
    files[MANIFEST] = file_digest(building / MANIFEST)
    (building / "SHA256SUMS").write_text(
        "".join(f"{sha}  {name}\n" for name, sha in sorted(files.items())), encoding="ascii"
    )
    building.rename(folder)


def _toml(entries: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in entries.items())


def _order(folder: Path) -> tuple[int, int]:
    found = LABEL.match(folder.name)
    assert found is not None  # noqa: S101 - read_releases keeps only folders whose names match
    return int(found["year"]), int(found["number"])


def _read_release(folder: Path, ordinal: int, state: Mapping[str, str]) -> ReleaseText:
    files = _checked_files(folder)
    header = tomllib.loads((folder / "release.toml").read_text(encoding="utf-8"))
    records: dict[str, dict[str, Any]] = {}
    for line in (folder / "records.jsonl").read_bytes().splitlines():
        record = json.loads(line)
        records[record["id"]] = record
    with (folder / "withdrawn.csv").open(encoding="utf-8", newline="") as stream:
        withdrawn = {row["id"]: row["reason"] for row in csv.DictReader(stream)}
    release = ReleaseText(
        ordinal=ordinal,
        label=header["label"],
        cut_on=header["cut_on"],
        digest=header["digest"],
        note=header["note"],
        records=records,
        digests={row: digest(record) for row, record in records.items()},
        withdrawn=withdrawn,
        rows=header["rows"],
        files=files,
        manifest=(folder / MANIFEST).read_bytes() if MANIFEST in files else None,
        corrects=tuple(header.get("corrects", ())),
    )
    full = apply(state, release)
    if release_digest(full.items()) != release.digest or len(full) != release.rows:
        raise IntegrityError(f"release {release.label}: its rows do not fit its digest {release.digest}")
    return release


def _checked_files(folder: Path) -> dict[str, str]:
    files: dict[str, str] = {}
    for line in (folder / "SHA256SUMS").read_text(encoding="ascii").splitlines():
        expected, _, name = line.partition("  ")
        if file_digest(folder / name) != expected:
            raise IntegrityError(f"sources/releases/{folder.name}/{name} does not fit its SHA-256 in SHA256SUMS")
        files[name] = expected
    return files
