"""Back-up files of a house store: one SQLite file, whatever the engine of the store.

A back-up holds the tables of the store at its revision, with the number of rows of each table and a digest of them. A
new file counts as a back-up only after all of it has been read again and found to fit.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Integer, MetaData, Table, create_engine, func, insert, inspect, select, text
from sqlalchemy.engine import Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from refdb.problems import BadParameter, IntegrityError
from refdb.store.house import data_folder, reason, revision
from refdb.store.migrate import head_revision, known_revisions, upgrade

CONTENTS = "backup_contents"
"""The table that marks a file as a back-up: name, number of rows and digest of every table in it."""

ROWS_AT_ONCE = 500


@dataclass(frozen=True)
class TableContent:
    """The number of rows of a table, and a digest of them that does not depend on their order or the engine."""

    rows: int
    digest: str


@dataclass(frozen=True)
class Backup:
    """A back-up that was read and found to fit."""

    path: Path
    revision: str
    contents: dict[str, TableContent]


def tables_at(stands: str) -> list[Table]:
    """The tables of the chain of migrations at a revision, parents before children."""
    engine = create_engine("sqlite://")
    metadata = MetaData()
    with engine.begin() as connection:
        upgrade(connection, stands)
        metadata.reflect(connection, only=lambda name, _: name != "alembic_version")
    engine.dispose()
    return metadata.sorted_tables


def holds_rows(connection: Connection, tables: list[Table]) -> bool:
    """Whether any of these tables has a row."""
    return any(connection.execute(select(table).limit(1)).first() is not None for table in tables)


def contents_of(connection: Connection, tables: list[Table]) -> dict[str, TableContent]:
    """The number of rows and the digest of each of these tables, by name."""
    return {table.name: _content(connection, table) for table in tables}


def copy_rows(source: Connection, target: Connection, tables: list[Table]) -> None:
    """Copy every row of these tables into the same, empty tables of another store."""
    for table in tables:
        for rows in source.execute(select(table)).mappings().partitions(ROWS_AT_ONCE):
            target.execute(insert(table), [dict(row) for row in rows])
        if target.dialect.name == "postgresql":
            _count_on(target, table)


def write(connection: Connection, stands: str, to: Path | None) -> Backup:
    """Back a store up into a new file.

    Args:
        connection: to the store, with writers kept out.
        stands: the revision of the store.
        to: the file or its folder; by default beside a SQLite store, and in the user's data folder for a PostgreSQL
            store.

    Raises:
        BadParameter: the file exists already, or cannot be written.
        IntegrityError: the written file does not hold what the store holds.
    """
    path = _path(connection, stands, to)
    if path.exists():
        raise BadParameter(
            f"back-up: {path} is there already, and a back-up is never written over; name another file.",
            parameter="backup_to",
        )
    try:
        return _write(connection, stands, path)
    except (OSError, sqlite3.Error, DBAPIError) as error:
        raise BadParameter(
            f"back-up: nothing can be written to {path} ({reason(error)}), and the store is as it was; see that "
            "the folder is there, has room and may be written to, or name another.",
            parameter="backup_to",
        ) from error


@contextmanager
def opened(path: Path) -> Iterator[tuple[Connection, Backup]]:
    """Open a back-up file for reading, after all of it has been read and found to fit.

    Raises:
        BadParameter: the file is not a back-up, or was written by a newer refdb.
        IntegrityError: the file is damaged.
    """
    if not path.is_file():
        raise BadParameter(f"file: {path} is not there, or is no file; name a back-up.", parameter="file")
    engine = _file_engine(path, "ro")
    try:
        with engine.connect() as connection:
            yield connection, _checked(connection, path)
    finally:
        engine.dispose()


def _write(connection: Connection, stands: str, path: Path) -> Backup:
    # mkstemp makes the file readable by its owner only, which suits the contents of a store.
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f"{path.name}.", suffix=".part")
    os.close(descriptor)
    part = Path(name)
    try:
        tables = tables_at(stands)
        contents = contents_of(connection, tables)
        if connection.dialect.name == "sqlite":
            _copy_file(connection, part)
        else:
            _copy_into_new_file(connection, part, stands, tables)
        _write_contents(part, contents)
        with opened(part):
            pass
        part.rename(path)
    finally:
        part.unlink(missing_ok=True)
    return Backup(path, stands, contents)


def _path(connection: Connection, stands: str, to: Path | None) -> Path:
    now = datetime.datetime.now(datetime.UTC).strftime("%Y%m%dT%H%M%SZ")
    if connection.dialect.name == "sqlite":
        store = _store_file(connection)
        folder, stem = store.parent, store.stem
    else:
        folder, stem = data_folder(), re.sub(r"[^\w-]", "_", connection.scalar(text("SELECT current_database()")))
    name = f"{stem}.{stands}-{now}.backup.sqlite"
    if to is None:
        return folder / name
    return to / name if to.is_dir() else to


def _store_file(connection: Connection) -> Path:
    return Path(connection.execute(text("SELECT file FROM pragma_database_list WHERE name = 'main'")).scalar_one())


def _copy_file(connection: Connection, part: Path) -> None:
    # A second connection reads what was committed last, while the first one keeps writers out.
    with closing(sqlite3.connect(_store_file(connection))) as source, closing(sqlite3.connect(part)) as target:
        source.backup(target)
        # The back-up would inherit the write-ahead log of the store, and could not be read without writing.
        target.execute("PRAGMA journal_mode = DELETE")


def _copy_into_new_file(connection: Connection, part: Path, stands: str, tables: list[Table]) -> None:
    engine = _file_engine(part, "rw")
    with engine.begin() as target:
        upgrade(target, stands)
        copy_rows(connection, target, tables)
    engine.dispose()


def _write_contents(part: Path, contents: dict[str, TableContent]) -> None:
    with closing(sqlite3.connect(part)) as target, target:
        target.execute(f"DROP TABLE IF EXISTS {CONTENTS}")
        target.execute(f"CREATE TABLE {CONTENTS} (name TEXT PRIMARY KEY, rows INTEGER NOT NULL, digest TEXT NOT NULL)")
        target.executemany(
            f"INSERT INTO {CONTENTS} VALUES (?, ?, ?)",  # noqa: S608 - a constant
            [(name, content.rows, content.digest) for name, content in contents.items()],
        )


def _file_engine(path: Path, mode: str) -> Engine:
    address = f"{path.resolve().as_uri()}?mode={mode}"
    return create_engine("sqlite://", creator=lambda: sqlite3.connect(address, uri=True), poolclass=NullPool)


def _checked(connection: Connection, path: Path) -> Backup:
    try:
        if not inspect(connection).has_table(CONTENTS):
            raise _no_backup(path)
        stands = _known_revision(connection, path)
        told = connection.execute(text("PRAGMA integrity_check")).scalar_one()
        rows = connection.execute(text(f"SELECT name, rows, digest FROM {CONTENTS}"))  # noqa: S608 - a constant
        promised = {name: TableContent(count, digest) for name, count, digest in rows}
        found = contents_of(connection, tables_at(stands))
    except DBAPIError as error:
        if getattr(error.orig, "sqlite_errorcode", None) == sqlite3.SQLITE_NOTADB:
            raise _no_backup(path) from error
        raise IntegrityError(f"file: {path} is damaged: {reason(error)}; use another back-up.") from error
    wrong = sorted(name for name in promised | found if promised.get(name) != found.get(name))
    if told != "ok" or wrong:
        findings = [] if told == "ok" else [told.splitlines()[0]]
        findings += [f"the rows of {name} are not those it was written with" for name in wrong]
        raise IntegrityError(f"file: {path} is damaged: {'; '.join(findings)}; use another back-up.")
    return Backup(path, stands, found)


def _no_backup(path: Path) -> BadParameter:
    return BadParameter(
        f"file: {path} is not a back-up of a house store; give a file that `refdb db backup` or `refdb db upgrade` "
        "wrote.",
        parameter="file",
    )


def _known_revision(connection: Connection, path: Path) -> str:
    stands = revision(connection)
    if stands not in known_revisions():
        raise BadParameter(
            f"file: {path} is at revision {stands}, and this refdb knows none after {head_revision()}; install the "
            "refdb that wrote it, or the newest.",
            parameter="file",
        )
    return stands


def _content(connection: Connection, table: Table) -> TableContent:
    rows = connection.execute(select(table), execution_options={"yield_per": ROWS_AT_ONCE})
    # Engines sort text differently, so the digests of the rows are sorted, not the rows.
    digests = sorted(hashlib.sha256(json.dumps(list(row)).encode()).digest() for row in rows)
    return TableContent(len(digests), f"sha256:{hashlib.sha256(b''.join(digests)).hexdigest()}")


def _count_on(connection: Connection, table: Table) -> None:
    """Set PostgreSQL's sequence to continue after the copied rows, whose numbers did not come from it."""
    name = connection.dialect.identifier_preparer.format_table(table)
    for column in table.primary_key.columns:
        if isinstance(column.type, Integer):
            sequence = connection.scalar(select(func.pg_get_serial_sequence(name, column.name)))
            last = connection.scalar(select(func.max(column)))
            if sequence is not None and last is not None:
                connection.execute(select(func.setval(sequence, last)))
