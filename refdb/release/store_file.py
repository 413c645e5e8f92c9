"""Writing the release store: one SQLite file of all releases, the same bytes from the same text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, event, insert, text
from sqlalchemy.engine import Engine
from sqlalchemy.pool import NullPool

from refdb.problems import IntegrityError
from refdb.records import canonical
from refdb.records.blocks import pack
from refdb.records.links import links_of
from refdb.records.names import names_of
from refdb.release.corrections import insert_corrections
from refdb.release.earlier_cuts import EarlierCutText, insert_earlier_cuts
from refdb.release.manifest import Manifest
from refdb.release.progress import Progress, stepper
from refdb.release.sign import SignatureText
from refdb.release.stored import COLUMNS
from refdb.release.text import ReleaseText
from refdb.store import Base, Block, Link, Name, Release, RowVersion, Signature, Word, upgrade

Words = dict[str | None, int | None]
"""The number of each word; None, where a record has no such part, has none."""


@dataclass(frozen=True, slots=True)
class CompiledVersion:
    """One version of one record and the releases it spans; `body` is its canonical JSON."""

    row: str
    digest: str
    since: int
    until: int | None
    record: dict[str, Any]
    body: bytes


def sqlite_engine(path: Path) -> Engine:
    """An engine on a SQLite file for building: foreign keys off, as migrations need them."""
    engine = create_engine(f"sqlite:///{path}", poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _pragmas(connection: Any, _record: Any) -> None:
        connection.execute("PRAGMA foreign_keys = OFF")
        # A build that is killed leaves a file of its own that nobody reads, so nothing need be rolled back.
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA synchronous = OFF")

    return engine


def write_store(
    store: Path,
    releases: list[ReleaseText],
    manifests: list[Manifest],
    signatures: list[SignatureText],
    earlier_cuts: list[EarlierCutText],
    progress: Progress | None,
) -> None:
    """Write a new store.

    Args:
        manifests: of the releases, one each.

    Raises:
        IntegrityError: it refers to what is not in it.
        BadParameter: a release corrects what is no release before it.
    """
    versions = list(_versions(releases))
    step = stepper(progress, "packing records", len(versions))
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
        _insert_records(connection, versions, step)
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
        "header": release.header,
    }


def _versions(releases: list[ReleaseText]) -> Iterator[CompiledVersion]:
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
            yield CompiledVersion(
                row=row,
                digest=release.digests[row],
                since=release.ordinal,
                until=ends.get((row, release.ordinal)),
                record=record,
                body=release.lines[row],
            )


def _insert_records(connection: Connection, versions: Sequence[CompiledVersion], step: Callable[[str], None]) -> None:
    """Versions, names and links, by the driver alone: there are too many of them for the ORM."""
    names = [(*name, version.since, version.until) for version in versions for name in names_of(version.record)]
    packed = sorted(versions, key=_neighbourhood)
    links = [
        (on, number, role)
        for number, version in enumerate(packed, start=1)
        for on, role in set(links_of(version.record))
    ]
    words = _numbered(
        chain(
            (version.row for version in versions),
            (version.record.get(column) for version in versions for column in COLUMNS),
            (word for name in names for word in name[2:5]),
            (word for on, _, role in links for word in (on, role)),
        )
    )
    _insert(connection, Word, [(number, word) for word, number in words.items() if word is not None])
    _insert_packed(connection, packed, words, step)
    _insert(
        connection,
        Name,
        [
            (normal, number, written, *(words[word] for word in kinds_and_target), since, until)
            for number, (normal, written, *kinds_and_target, since, until) in enumerate(names, start=1)
        ],
    )
    _insert(connection, Link, sorted((words[on], number, words[role]) for on, number, role in links))


def _neighbourhood(version: CompiledVersion) -> tuple[str, str, int]:
    """What lies beside what: records of a kind by id, and all readings of properties together."""
    kind = version.record["kind"]
    asked_together = "property" in version.record and kind != "recommended"
    return "reading" if asked_together else kind, version.row, version.since


def _insert_packed(
    connection: Connection, versions: Sequence[CompiledVersion], words: Words, step: Callable[[str], None]
) -> None:
    """The versions in blocks; what comes back as it was is packed once.

    Versions that the newest release does not hold lie by themselves, so that reading it never unpacks them; those of
    one row are neighbours there, and differ little.
    """
    newest = {version.digest: version.body for version in versions if version.until is None}
    older = {version.digest: version.body for version in versions if version.digest not in newest}
    blocks, places = pack(newest.values(), older.values())
    place_of = dict(zip([*newest, *older], places, strict=True))
    _insert(connection, Block, list(enumerate(blocks)))
    rows = []
    for number, version in enumerate(versions, start=1):
        columns = [words[version.record.get(column)] for column in COLUMNS]
        digest = bytes.fromhex(version.digest.removeprefix("sha256:"))
        span = (version.since, version.until)
        rows.append((number, words[version.row], *span, *columns, digest, *place_of[version.digest]))
        step(version.row)
    _insert(connection, RowVersion, rows)


def _numbered(words: Iterable[str | None]) -> Words:
    """Number words in their own order."""
    ordered = sorted(set(words) - {None}, key=str)
    return {None: None, **{word: number for number, word in enumerate(ordered, start=1)}}


def _insert(connection: Connection, model: type[Base], rows: list[tuple[Any, ...]]) -> None:
    """Insert rows whose cells stand in the order of the table's columns."""
    if rows:
        table = Base.metadata.tables[model.__tablename__]
        columns = ", ".join(f'"{column.name}"' for column in table.columns)
        marks = ", ".join("?" for _ in table.columns)
        connection.exec_driver_sql(f'INSERT INTO "{table.name}" ({columns}) VALUES ({marks})', rows)  # noqa: S608 - constants only
