"""Release folders as text: reading, checking and writing them.

`sources/releases/<label>/` holds what one release added to the one before: `release.toml` (label, date, digest over
the full list), `records.jsonl` (new and changed records, one canonical JSON a line, sorted by id), `withdrawn.csv`
(ids that left, with the reason), `derivation.jsonl` (how the rows were derived: `refdb.release.derivation`),
`manifest.json` (what is signed: `refdb.release.manifest`) and `SHA256SUMS`; the first six hold neither derivation nor
manifest. A release that corrects others says so in `release.toml` (`corrects`: `refdb.release.corrections`).
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import shutil
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

from refdb.data import file_digest
from refdb.problems import IntegrityError
from refdb.records import body_digest, canonical, release_digest
from refdb.release.progress import Progress, stepper

FILES = ("records.jsonl", "release.toml", "withdrawn.csv")
LABEL = re.compile(r"^(?P<year>\d{4})r(?P<number>[1-9]\d*)$")
MANIFEST = "manifest.json"


@dataclass(frozen=True)
class ReleaseText:
    """One release folder, read and checked.

    `records`, `lines` and `digests` are those of the release's own folder by id: each record, its canonical JSON as it
    stands there, and the digest of that.
    `header` is the text of `release.toml`, from which most of the others are.
    `files` are the names in its `SHA256SUMS` with their SHA-256; `manifest` is the content of `manifest.json`, if it is
    there.
    """

    ordinal: int
    header: str
    label: str
    cut_on: str
    digest: str
    note: str
    records: dict[str, dict[str, Any]]
    lines: dict[str, bytes]
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


def read_releases(text_root: Path, progress: Progress | None = None) -> list[ReleaseText]:
    """Every release, oldest first, each checked against its files' digests and its own.

    A line of `records.jsonl` is taken for canonical JSON, as it was written: were it not, its digest would be another,
    and the release's with it.

    Raises:
        IntegrityError: a file or a record does not fit its digest.
    """
    folders = release_folders(text_root)
    state: dict[str, str] = {}
    step = stepper(progress, "reading releases", len(folders))
    releases = []
    for ordinal, release_folder in enumerate(folders, start=1):
        release, state = _read_release(release_folder, ordinal, state)
        releases.append(release)
        step(release.label)
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
    names = ("derivation.jsonl", *FILES)
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


def _read_release(folder: Path, ordinal: int, state: Mapping[str, str]) -> tuple[ReleaseText, dict[str, str]]:
    """A release, and the full list of ids and digests after it; `state` is that before it."""
    sums, files = _checked_files(folder)
    text = files["release.toml"].decode("utf-8")
    header = tomllib.loads(text)
    lines = files["records.jsonl"].splitlines()
    records = {record["id"]: record for record in map(orjson.loads, lines)}
    by_id = dict(zip(records, lines, strict=True))
    withdrawn = csv.DictReader(io.StringIO(files["withdrawn.csv"].decode("utf-8"), newline=""))
    release = ReleaseText(
        ordinal=ordinal,
        header=text,
        label=header["label"],
        cut_on=header["cut_on"],
        digest=header["digest"],
        note=header["note"],
        records=records,
        lines=by_id,
        digests={row: body_digest(line) for row, line in by_id.items()},
        withdrawn={row["id"]: row["reason"] for row in withdrawn},
        rows=header["rows"],
        files=sums,
        manifest=files.get(MANIFEST),
        corrects=tuple(header.get("corrects", ())),
    )
    full = apply(state, release)
    if release_digest(full.items()) != release.digest or len(full) != release.rows:
        raise IntegrityError(f"release {release.label}: its rows do not fit its digest {release.digest}")
    return release, full


def _checked_files(folder: Path) -> tuple[dict[str, str], dict[str, bytes]]:
    """What `SHA256SUMS` of a release folder says, and the files, each read once and held against it."""
    lines = [line.partition("  ") for line in (folder / "SHA256SUMS").read_text(encoding="ascii").splitlines()]
    sums = {name: sha for sha, _, name in lines}
    files: dict[str, bytes] = {}
    for name in sorted({*sums, *FILES}):
        files[name] = (folder / name).read_bytes() if (folder / name).is_file() else b""
        if hashlib.sha256(files[name]).hexdigest() != sums.get(name):
            raise IntegrityError(f"sources/releases/{folder.name}/{name} does not fit its SHA-256 in SHA256SUMS")
    return sums, files
