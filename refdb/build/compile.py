"""Compiling the release store: all or nothing, the same bytes from the same text, safe to repeat.

What is made is a store of all releases, the vocabulary, and the manifest of the newest release, which covers the store.
The new files are written under names of their own beside the old ones; replacing the pointer file is the one step by
which they take over. A build that is killed at any moment leaves the old files in force or the new ones.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, event, insert, text
from sqlalchemy.engine import Engine
from sqlalchemy.pool import NullPool

from refdb.build.corrections import insert_corrections
from refdb.build.earlier_cuts import EarlierCutText, insert_earlier_cuts, read_earlier_cuts
from refdb.build.manifest import FORMAT, Manifest, manifests_of
from refdb.build.progress import Progress, stepper
from refdb.build.sign import SignatureText, read_signatures, require_fitting
from refdb.build.text import ReleaseText, read_releases
from refdb.build.vocabulary import compile_vocabulary, vocabulary_bytes
from refdb.data import PACKAGE_FOLDER, POINTER, file_digest
from refdb.problems import IntegrityError
from refdb.records import canonical, digest
from refdb.records.links import links_of
from refdb.records.names import names_of
from refdb.store import Link, Name, Release, RowVersion, Signature, head_revision, upgrade

STALE_AFTER = 3600.0
"""Seconds after which a half-written file of a build that was killed is cleared away."""

INSERT_AT_ONCE = 500


def build(text_root: Path, target: Path = PACKAGE_FOLDER, progress: Progress | None = None) -> bool:
    """Compile `shared/vocabulary/` and `sources/releases/` into `target`.

    Args:
        text_root: the folder that holds `shared/` and `sources/`.
        target: the folder of the compiled files.
        progress: told what is being done.

    Returns:
        True when new files were made, False when the compiled files already belong to the text.

    Raises:
        LedgerError: the vocabulary is wrong.
        IntegrityError: a release folder or an earlier cut does not fit its digests or its manifest, or a signature does
            not fit.
        BadParameter: a release corrects what is no release before it.
    """
    if not (text_root / "shared" / "vocabulary").is_dir():
        return False
    vocabulary = vocabulary_bytes(compile_vocabulary(text_root))
    releases = read_releases(text_root)
    signatures = read_signatures(text_root, [release.label for release in releases])
    earlier_cuts = read_earlier_cuts(text_root, [release.label for release in releases])
    mark = _mark(vocabulary, releases, signatures, earlier_cuts)
    names = (f"releases-{mark}.sqlite", f"vocabulary-{mark}.json", *([f"manifest-{mark}.json"] if releases else []))
    if _is_current(target, names):
        return False
    manifests = manifests_of(releases)
    require_fitting(signatures, {manifest["label"]: digest(manifest) for manifest in manifests})
    target.mkdir(parents=True, exist_ok=True)
    store = target / f".building-{os.getpid()}.sqlite"
    store.unlink(missing_ok=True)
    _write_store(store, releases, manifests, signatures, earlier_cuts, progress)
    _put(store, target / names[0])
    _put_bytes(vocabulary, target / names[1])
    if manifests:
        _put_bytes(canonical(manifests[-1]), target / names[2])
    _point_to(target, names)
    _clear_away(target, names)
    return True


def _mark(
    vocabulary: bytes,
    releases: list[ReleaseText],
    signatures: list[SignatureText],
    earlier_cuts: list[EarlierCutText],
) -> str:
    """A short digest of everything that the compiled files are made from."""
    parts = [
        head_revision(),
        FORMAT,
        vocabulary.decode("utf-8"),
        *(f"{name} {sha}" for release in releases for name, sha in release.files.items()),
        *(one.signature for one in signatures),
        *(json.dumps(asdict(cut)) for cut in earlier_cuts),
    ]
    return hashlib.sha256("\n".join(parts).encode("utf-8")).hexdigest()[:16]


def _is_current(target: Path, names: tuple[str, ...]) -> bool:
    pointer = target / POINTER
    if not pointer.is_file():
        return False
    named: dict[str, str] = {}
    for line in pointer.read_text(encoding="ascii").splitlines():
        digest, _, name = line.partition("  ")
        named[name] = digest
    return set(named) == set(names) and all(
        (target / name).is_file() and file_digest(target / name) == named[name] for name in names
    )


def _put(building: Path, final: Path) -> None:
    with building.open("rb+") as stream:
        os.fsync(stream.fileno())
    building.replace(final)


def _put_bytes(content: bytes, final: Path) -> None:
    building = final.with_name(f".building-{os.getpid()}.json")
    building.write_bytes(content)
    _put(building, final)


def _point_to(target: Path, names: tuple[str, ...]) -> None:
    building = target / f".building-{os.getpid()}.sums"
    building.write_text("".join(f"{file_digest(target / name)}  {name}\n" for name in names), encoding="ascii")
    _put(building, target / POINTER)


def _clear_away(target: Path, names: tuple[str, ...]) -> None:
    for file in target.iterdir():
        superseded = file.name.startswith(("releases-", "vocabulary-", "manifest-")) and file.name not in names
        abandoned = file.name.startswith(".building-") and time.time() - file.stat().st_mtime > STALE_AFTER
        if superseded or abandoned:
            file.unlink(missing_ok=True)


def sqlite_engine(path: Path) -> Engine:
    """An engine on a SQLite file for building: foreign keys off, as migrations need them."""
    engine = create_engine(f"sqlite:///{path}", poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _pragmas(connection: Any, _record: Any) -> None:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("PRAGMA journal_mode = DELETE")

    return engine


def _write_store(
    store: Path,
    releases: list[ReleaseText],
    manifests: list[Manifest],
    signatures: list[SignatureText],
    earlier_cuts: list[EarlierCutText],
    progress: Progress | None,
) -> None:
    versions = list(_versions(releases))
    step = stepper(progress, "compiling the release store", len(versions))
    engine = sqlite_engine(store)
    with engine.begin() as connection:
        upgrade(connection)
        if releases:
            connection.execute(insert(Release), [_release_row(*both) for both in zip(releases, manifests, strict=True)])
        insert_corrections(connection, releases)
        insert_earlier_cuts(connection, earlier_cuts, releases)
        if signatures:
            ordinals = {release.label: release.ordinal for release in releases}
            connection.execute(
                insert(Signature),
                [
                    {"release": ordinals[one.release], "public_key": one.public_key, "signature": one.signature}
                    for one in signatures
                ],
            )
        for start in range(0, len(versions), INSERT_AT_ONCE):
            batch = versions[start : start + INSERT_AT_ONCE]
            connection.execute(insert(RowVersion), [version for version, _ in batch])
            for version, _ in batch:
                step(version["row"])
        names = [name for version, record in versions for name in name_rows(version, record)]
        if names:
            connection.execute(insert(Name), [{"number": n, **row} for n, row in enumerate(names, start=1)])
        links = sorted({(v["digest"], on, role) for v, record in versions for on, role in links_of(record)})
        if links:
            connection.execute(insert(Link), [{"digest": d, "rests_on": on, "role": role} for d, on, role in links])
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        dangling = connection.execute(text("PRAGMA foreign_key_check")).fetchall()
        if dangling:
            raise IntegrityError(f"the compiled store refers to rows that are not there: {dangling[:3]}")
        connection.execute(text("VACUUM"))
    engine.dispose()


def _release_row(release: ReleaseText, manifest: Manifest) -> dict[str, Any]:
    return {
        "ordinal": release.ordinal,
        "label": release.label,
        "cut_on": release.cut_on,
        "digest": release.digest,
        "rows": release.rows,
        "note": release.note,
        "manifest": canonical(manifest).decode("utf-8"),
    }


def _versions(releases: list[ReleaseText]) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """Every version of every record with the releases it spans, in order of its beginning and its id."""
    ends: dict[tuple[str, int], int] = {}
    started: dict[str, int] = {}
    for release in releases:
        for row in [*release.records, *release.withdrawn]:
            if row in started:
                ends[row, started.pop(row)] = release.ordinal
            if row in release.records:
                started[row] = release.ordinal
    for release in releases:
        for row, record in sorted(release.records.items()):
            yield (
                {
                    "digest": release.digests[row],
                    "since": release.ordinal,
                    "until": ends.get((row, release.ordinal)),
                    "row": row,
                    **typed_columns(record),
                    "body": canonical(record).decode("utf-8"),
                },
                record,
            )


def typed_columns(record: dict[str, Any]) -> dict[str, Any]:
    """The columns that repeat a part of the record for searching."""
    return {key: record.get(key) for key in ("kind", "subject", "property", "source")}


def name_rows(version: Mapping[str, Any], record: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """What a version of a record gives to the index of names, but for the number."""
    for normal, words, designation_kind, target_kind, target in names_of(record):
        yield {
            "normal": normal,
            "text": words,
            "designation_kind": designation_kind,
            "target_kind": target_kind,
            "target": target,
            "since": version["since"],
            "until": version["until"],
        }
