"""Verifying: every digest computed again, from the bytes up."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from refdb.build.progress import Progress, stepper
from refdb.build.sign import fits
from refdb.build.stored import Link, Row, StoredTables, typed_columns
from refdb.data import FOLDER, current, file_digest
from refdb.records import canonical, digest, release_digest
from refdb.records.links import links_of
from refdb.records.names import names_of


@dataclass
class Verification:
    """What was checked, and everything that does not fit."""

    files: int = 0
    releases: int = 0
    rows: int = 0
    findings: list[str] = field(default_factory=list)
    signed_by: dict[str, list[str]] = field(default_factory=dict)

    @property
    def sound(self) -> bool:
        """Whether everything fits."""
        return not self.findings

    def document(self) -> dict[str, Any]:
        """The result as plain JSON values."""
        return {
            "sound": self.sound,
            "files": self.files,
            "releases": self.releases,
            "rows": self.rows,
            "signed_by": self.signed_by,
            "findings": self.findings,
        }


def verify(folder: Path = FOLDER, progress: Progress | None = None, public_key: str | None = None) -> Verification:
    """Check the compiled files: the digest of each file, row and release, the columns of each row, the signatures.

    Args:
        folder: the compiled files.
        progress: told what is being done.
        public_key: in hexadecimal; a release without a signature of this key is a finding then. Unsigned releases are
            no finding otherwise, and are told in `signed_by`.

    Raises:
        IntegrityError: there is nothing to verify.
    """
    files = current(folder)
    result = Verification(files=len(files.digests))
    for name, expected in files.digests.items():
        path = folder / name
        if not path.is_file():
            result.findings.append(f"file {name}: is missing")
        elif file_digest(path) != expected:
            result.findings.append(f"file {name}: does not fit its SHA-256")
    try:
        _verify_store(files.store, result, progress, public_key)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        result.findings.append(f"file {files.store.name}: cannot be read to the end ({error})")
    return result


def _verify_store(store: Path, result: Verification, progress: Progress | None, public_key: str | None) -> None:
    connection = sqlite3.connect(f"{store.as_uri()}?mode=ro&immutable=1", uri=True)
    connection.text_factory = bytes
    try:
        broken = connection.execute("PRAGMA integrity_check(5)").fetchall()
        result.findings += [f"store: {line[0].decode(errors='replace')}" for line in broken if line[0] != b"ok"]
        tables = StoredTables(connection)
        releases = connection.execute("SELECT ordinal, label, digest, rows FROM release ORDER BY ordinal").fetchall()
        signatures = connection.execute("SELECT release, public_key, signature FROM signature ORDER BY 1, 2").fetchall()
    finally:
        connection.close()
    names = {(name.normal, name.target) for name in tables.names}
    links = set(tables.links)
    step = stepper(progress, "recomputing digests", len(tables.rows))
    for row in tables.rows:
        result.findings += _row_findings(row, names, links)
        step(row.row)
    for release in releases:
        result.findings += _release_findings([_text(cell) for cell in release], tables.rows)
        own = [[_text(cell) for cell in signature[1:]] for signature in signatures if signature[0] == release[0]]
        _verify_signatures(_text(release[1]), _text(release[2]), own, result, public_key)
    result.rows, result.releases = len(tables.rows), len(releases)


def _verify_signatures(
    label: str, stored: str, signatures: list[list[str]], result: Verification, public_key: str | None
) -> None:
    good = [key for key, signature in signatures if fits(label, stored, key, signature)]
    result.signed_by[label] = good
    result.findings += [
        f"release {label}: the signature of key {key} does not fit" for key, _ in signatures if key not in good
    ]
    if public_key is not None and public_key not in good:
        result.findings.append(f"release {label}: is not signed with the public key given")


def _text(cell: Any) -> Any:
    return cell.decode("utf-8", errors="replace") if isinstance(cell, bytes) else cell


def _row_findings(row: Row, names: set[tuple[str, str]], links: set[Link]) -> Iterator[str]:
    try:
        record = _record(row)
    except ValueError as error:
        yield f"row {row.row}: {error}"
        return
    if record["id"] != row.row:
        yield f"row {record['id']}: is filed under the id {row.row}"
    for key, expected in typed_columns(record).items():
        if getattr(row, key) != expected:
            yield f"row {row.row}: its column {key} says {getattr(row, key)!r}, its record {expected!r}"
    for normal, _words, _what, _target_kind, target in names_of(record):
        if (normal, target) not in names:
            yield f"row {row.row}: its name {normal!r} is missing from the index"
    for on, role in links_of(record):
        if Link(row.digest, on, role) not in links:
            yield f"row {row.row}: its link to {on} is missing"


def _record(row: Row) -> dict[str, Any]:
    """The record of a row.

    Raises:
        ValueError: it does not fit its digest.
    """
    if row.body is None:
        raise ValueError("the block that holds its record is damaged")
    try:
        record = json.loads(row.body)
    except ValueError as error:
        raise ValueError("its record is not JSON any more") from error
    if not isinstance(record, dict) or canonical(record).decode("utf-8") != row.body or digest(record) != row.digest:
        raise ValueError(f"its record does not fit its digest {row.digest}")
    return record


def _release_findings(cells: list[Any], rows: list[Row]) -> Iterator[str]:
    ordinal, label, stored, count = cells
    spanning = [row for row in rows if row.since <= ordinal and (row.until is None or row.until > ordinal)]
    members = [(row.row, row.digest) for row in spanning]
    if release_digest(members) != stored or len(members) != count:
        yield f"release {label}: its {len(members)} rows do not fit its digest {stored}"
