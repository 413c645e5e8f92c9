"""Verifying: everything that a manifest tells is computed again, from the bytes up."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from refdb.data import FOLDER, CompiledFiles, current, file_digest
from refdb.records import canonical, digest, release_digest
from refdb.records.links import links_of
from refdb.records.manifests import ReleaseLine, chain_faults, read_manifest, text_digest
from refdb.records.names import names_of
from refdb.release.earlier_cuts import earlier_cut_findings
from refdb.release.manifest import counted, entry_line
from refdb.release.progress import Progress, stepper
from refdb.release.sign import fits
from refdb.release.stored import LinkEntry, NameEntry, Row, StoredTables, typed_columns


@dataclass
class Verification:
    """What was checked, everything that does not fit (`findings`), and what is worth knowing (`remarks`).

    `manifests` and `signed_by` tell for each release the digest of its manifest and the keys whose signatures fit it.
    """

    files: int = 0
    releases: int = 0
    rows: int = 0
    findings: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    manifests: dict[str, str] = field(default_factory=dict)
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
            "manifests": self.manifests,
            "signed_by": self.signed_by,
            "findings": self.findings,
            "remarks": self.remarks,
        }


def verify(folder: Path = FOLDER, progress: Progress | None = None, public_key: str | None = None) -> Verification:
    """Check the compiled files against their digests, and all that they hold against the manifests of the releases.

    Each row is held against its digest and its columns, the index of names and the links against the rows, and the
    rows, names, links, dates, notes, corrections and order of the releases against the manifests, the rows of earlier
    cuts against their digests; then every signature is tried.
    What a manifest says of the files of its release folder is checked by `refdb build`, where the folders are.

    A release that was taken away from the end cannot be told from one that was not cut yet: compare the digest of the
    newest manifest with the one that was published.

    Args:
        folder: the compiled files.
        progress: told what is being done.
        public_key: in hexadecimal; a release without a signature of this key is a finding then, and so is a vocabulary
            other than the one that the newest release names. Otherwise they are told in `signed_by` and `remarks`.

    Raises:
        IntegrityError: there is nothing to verify.
    """
    files = current(folder)
    result = Verification(files=len(files.digests))
    found = _verify_files(files, result)
    try:
        tables = _tables(files.store, result)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        result.findings.append(f"file {files.store.name}: cannot be read to the end ({error})")
        return result
    _verify_rows(tables, result, progress)
    _verify_releases(tables, found.get("manifest"), result)
    _verify_vocabulary(tables, found.get("vocabulary"), result, public_key)
    _verify_signatures(tables, result, public_key)
    result.findings += earlier_cut_findings(tables.earlier_cuts, tables.earlier_cut_rows)
    return result


def _verify_files(files: CompiledFiles, result: Verification) -> dict[str, str]:
    """Each file against the pointer; the digests found, by the word that the file's name begins with."""
    found: dict[str, str] = {}
    for name, expected in files.digests.items():
        path = files.folder / name
        if not path.is_file():
            result.findings.append(f"file {name}: is missing")
            continue
        sha = file_digest(path)
        found[name.partition("-")[0]] = f"sha256:{sha}"
        if sha != expected:
            result.findings.append(f"file {name}: does not fit its SHA-256")
    return found


def _tables(store: Path, result: Verification) -> StoredTables:
    connection = sqlite3.connect(f"{store.as_uri()}?mode=ro&immutable=1", uri=True)
    connection.text_factory = bytes
    try:
        broken = connection.execute("PRAGMA integrity_check(5)").fetchall()
        result.findings += [f"store: {line[0].decode(errors='replace')}" for line in broken if line[0] != b"ok"]
        return StoredTables(connection)
    finally:
        connection.close()


def _verify_rows(tables: StoredTables, result: Verification, progress: Progress | None) -> None:
    """Each row against its digest; the names and the links against what the rows give."""
    step = stepper(progress, "recomputing digests", len(tables.rows))
    names: list[NameEntry] = []
    links: set[LinkEntry] = set()
    for row in tables.rows:
        try:
            record = _record(row)
            result.findings += _column_findings(row, record)
            names += [NameEntry(*name, row.since, row.until) for name in names_of(record)]
            links |= {LinkEntry(row.digest, on, role) for on, role in links_of(record)}
        except (ValueError, TypeError, LookupError) as error:
            # What is no JSON, no record, or not the record that was released.
            result.findings.append(f"row {row.row}: {error}")
        step(row.row)
    result.findings += _index_findings(tables, names, links)
    result.rows = len(tables.rows)


def _record(row: Row) -> dict[str, Any]:
    """The record of a row.

    Raises:
        ValueError: it does not fit its digest.
    """
    if row.body is None:
        raise ValueError("the block that holds its record is damaged")
    try:
        record: Any = json.loads(row.body)
    except ValueError as error:
        raise ValueError("its record is not JSON any more") from error
    if not isinstance(record, dict) or canonical(record).decode("utf-8") != row.body or digest(record) != row.digest:
        raise ValueError(f"its record does not fit its digest {row.digest}")
    return record


def _column_findings(row: Row, record: dict[str, Any]) -> Iterator[str]:
    if record["id"] != row.row:
        yield f"row {record['id']}: is filed under the id {row.row}"
    for key, expected in typed_columns(record).items():
        if getattr(row, key) != expected:
            yield f"row {row.row}: its column {key} says {getattr(row, key)!r}, its record {expected!r}"


def _index_findings(tables: StoredTables, names: list[NameEntry], links: set[LinkEntry]) -> Iterator[str]:
    """Where the index of names and the links are not what the rows give."""
    given, held = set(names), set(tables.names)
    for name in sorted(given - held, key=str):
        yield f"name {name.text!r} of {name.target}: is missing from the index"
    for name in sorted(held - given, key=str):
        yield f"name {name.text!r} of {name.target}: stands in the index, and no row gives it"
    if given == held and names != tables.names:
        yield "names: some stand twice, or in another order than their rows give them"
    rows = {row.digest: row.row for row in tables.rows}
    for link in sorted(links - set(tables.links)):
        yield f"row {rows[link.digest]}: its link to {link.rests_on} ({link.role}) is missing"
    for link in sorted(set(tables.links) - links):
        yield f"row {rows.get(link.digest, link.digest)}: its record has no link to {link.rests_on} ({link.role})"


def _verify_releases(tables: StoredTables, beside: str | None, result: Verification) -> None:
    """The releases against their manifests, and these against one another and the one that lies beside the store."""
    result.releases = len(tables.releases)
    result.manifests = {line.label: text_digest(line.manifest or "") for line in tables.releases}
    result.findings += chain_faults(tables.releases)
    entries: list[Row | NameEntry] = [*tables.rows, *tables.names]
    named = {number for entry in entries for number in (entry.since, entry.until) if number is not None}
    for absent in sorted(named - set(tables.ordinals)):
        result.findings.append(f"release number {absent}: is missing, and there are rows or names that name it")
    for ordinal, line, header in zip(tables.ordinals, tables.releases, tables.headers, strict=True):
        result.findings += _part_findings(ordinal, line, tables)
        result.findings += _header_findings(line, header)
    if next(reversed(result.manifests.values()), None) != beside:
        result.findings.append("manifest: that of the newest release is not the one beside the store")


def _part_findings(ordinal: int, line: ReleaseLine, tables: StoredTables) -> Iterator[str]:
    """What of a release's rows, names and links does not fit its digest and its manifest."""

    def holds(entry: Row | NameEntry) -> bool:
        return entry.since <= ordinal and (entry.until is None or entry.until > ordinal)

    members = {row.row: row.digest for row in tables.rows if holds(row)}
    if release_digest(members.items()) != line.digest or len(members) != line.rows:
        yield f"release {line.label}: its {len(members)} rows do not fit its digest {line.digest}"
    versions = set(members.values())
    parts = {
        "names": counted(entry_line(*name[:5]) for name in tables.names if holds(name)),
        "links": counted(entry_line(*link) for link in tables.links if link.digest in versions),
    }
    manifest = read_manifest(line.manifest)
    labels = dict(zip(tables.ordinals, (release.label for release in tables.releases), strict=True))
    corrects = [f"{labels.get(one.corrected)}: {one.what}" for one in tables.corrections if one.release == ordinal]
    if corrects != manifest.get("corrects", []):
        yield f"release {line.label}: what it corrects does not fit its manifest"
    for part, found in parts.items():
        if manifest.get(part) != found:
            yield f"release {line.label}: its {found['count']} {part} do not fit its manifest"


def _header_findings(line: ReleaseLine, header: str | None) -> Iterator[str]:
    """What a release says it was made with stands in its header alone, which its manifest names as a file."""
    expected = read_manifest(line.manifest).get("files", {}).get("release.toml")
    if expected is not None and hashlib.sha256((header or "").encode("utf-8")).hexdigest() != expected:
        yield f"release {line.label}: its header does not fit its manifest"


def _verify_vocabulary(tables: StoredTables, found: str | None, result: Verification, public_key: str | None) -> None:
    """The digest of the compiled vocabulary against the one that the newest release names, of those that name one."""
    named = [(line.label, read_manifest(line.manifest).get("vocabulary")) for line in tables.releases]
    label, expected = next((both for both in reversed(named) if both[1] is not None), (None, None))
    if label is None:
        result.remarks.append("vocabulary: no release here names the one it was cut with, so no signature covers it")
    elif found != expected:
        told = result.remarks if public_key is None else result.findings
        told.append(f"vocabulary: is not the one that {label} was cut with")


def _verify_signatures(tables: StoredTables, result: Verification, public_key: str | None) -> None:
    for ordinal, line in zip(tables.ordinals, tables.releases, strict=True):
        manifest = result.manifests[line.label]
        own = [signed for signed in tables.signatures if signed.release == ordinal]
        good = [one.public_key for one in own if fits(line.label, manifest, one.public_key, one.signature)]
        result.signed_by[line.label] = good
        result.findings += [
            f"release {line.label}: the signature of key {one.public_key} does not fit"
            for one in own
            if one.public_key not in good
        ]
        if public_key is not None and public_key not in good:
            result.findings.append(f"release {line.label}: is not signed with the public key given")
