"""The house store: its address, opening it, and locking it while it changes."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Table, create_engine, event, text
from sqlalchemy.engine import Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from refdb.problems import BadParameter
from refdb.store.migrate import head_revision, known_revisions

ADVISORY_LOCK = 7_263_001
"""Key of the PostgreSQL lock that keeps two upgrades apart."""

PATIENCE_SECONDS = 30.0
"""How long to wait for another process that holds the store, in seconds."""

PRIMARY_CODE = 0xFF
"""Mask that gives the primary part of SQLite's extended result codes."""

ENGINES = ("sqlite", "postgresql")


def data_folder() -> Path:
    """The user's data folder; made if it does not exist.

    Raises:
        BadParameter: it cannot be made.
    """
    import platformdirs

    folder = Path(platformdirs.user_data_dir("refdb"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadParameter(
            f"url: the data folder {folder} cannot be made ({error.strerror}); set REFDB_HOUSE_URL to another store.",
            parameter="url",
        ) from error
    return folder


def default_url() -> str:
    """The URL of the SQLite file in the user's data folder."""
    return f"sqlite:///{data_folder() / 'house.sqlite'}"


def shown(url: str) -> str:
    """The URL without its passwords, in all places, even if the URL is not valid."""
    try:
        text = make_url(url).render_as_string(hide_password=True)
    # A port that is not a number raises a ValueError.
    except (ArgumentError, ValueError):
        text = url
    return _PASSWORD_GIVEN.sub(r"\1***", _PASSWORD_OF_USER.sub(r"\1:***@", text))


_PASSWORD_OF_USER = re.compile(r"(//[^:@/?]*):.*@")
"""A password up to the last @: it may contain an @ that was not written as %40."""
_PASSWORD_GIVEN = re.compile(r"([?&][^=&]*passw[^=&]*=)[^&]*", re.IGNORECASE)


def house_engine(url: str, *, writing: bool = True) -> Engine:
    """An engine on a house store.

    Args:
        url: the address of the store, as SQLAlchemy writes it.
        writing: on SQLite, whether a transaction locks the file as soon as it begins.

    Raises:
        BadParameter: the URL is not valid, or names no supported database.
    """
    try:
        address = make_url(url)
        if address.get_backend_name() not in ENGINES:
            raise ArgumentError("neither SQLite nor PostgreSQL")
        if address.get_backend_name() == "postgresql" and "+" not in address.drivername:
            address = address.set(drivername="postgresql+psycopg")
        engine = create_engine(address, poolclass=NullPool)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError, ValueError) as error:
        raise BadParameter(
            f"url: '{shown(url)}' is not a database refdb can use ({error.__class__.__name__}); write sqlite:///FILE "
            "or postgresql://USER@HOST/NAME (PostgreSQL needs `pip install refdb[postgresql]`).",
            parameter="url",
        ) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _sqlite_settings)
        event.listen(engine, "begin", _begin_for_writing if writing else _begin_for_reading)
    return engine


@contextmanager
def reading(url: str) -> Iterator[Connection]:
    """A connection for reading a house store, without locking it.

    Raises:
        BadParameter: the store cannot be used.
    """
    with _connected(url, writing=False) as connection:
        yield connection


@contextmanager
def held(url: str) -> Iterator[Connection]:
    """A connection that excludes other upgrades, back-ups and restorations; what is not committed is undone.

    On SQLite it excludes every other writer. On PostgreSQL `hold_still` does so for the tables that it is given.

    Raises:
        BadParameter: the store cannot be used, or another process held it longer than `PATIENCE_SECONDS`.
    """
    with _connected(url, writing=True) as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text(f"SET LOCAL lock_timeout = {int(PATIENCE_SECONDS * 1000)}"))
            connection.execute(text(f"SELECT pg_advisory_xact_lock({ADVISORY_LOCK})"))
        yield connection


def hold_still(connection: Connection, tables: list[Table], *, readers: bool) -> None:
    """Keep writers, and with `readers` readers too, out of these tables until the transaction ends.

    A revision needs exclusive locks in the end. Taking weaker locks first and stronger ones later could deadlock with a
    program that reads and then writes.
    """
    if connection.dialect.name == "postgresql" and tables:
        names = ", ".join(connection.dialect.identifier_preparer.format_table(table) for table in tables)
        mode = "ACCESS EXCLUSIVE" if readers else "SHARE"
        connection.execute(text(f"LOCK TABLE {names} IN {mode} MODE"))


def revision(connection: Connection) -> str | None:
    """The revision of a store; None if it is empty."""
    return MigrationContext.configure(connection).get_current_revision()


def known_revision(connection: Connection, url: str) -> str | None:
    """The revision of a store; None if the store is empty.

    Raises:
        BadParameter: this version of refdb does not know the revision.
    """
    stands = revision(connection)
    if stands is not None and stands not in known_revisions():
        raise BadParameter(
            f"url: {shown(url)} stands at revision {stands}, and this refdb knows none after {head_revision()}; "
            "install the refdb that upgraded the store, or the newest.",
            parameter="url",
        )
    return stands


def is_surely_undone(error: Exception) -> bool:
    """Whether a commit that failed with this error certainly wrote nothing.

    SQLite wrote nothing if it is busy: only the writer can then end the transaction. PostgreSQL wrote nothing if the
    error is of class 23 or 40, except 40003, which means that the outcome is unknown (PostgreSQL's documentation,
    appendix A, from memory). Other errors, such as a lost connection, do not tell what the database did.
    """
    told = error.orig if isinstance(error, DBAPIError) and not error.connection_invalidated else None
    if (getattr(told, "sqlite_errorcode", None) or 0) & PRIMARY_CODE in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return True
    state = str(getattr(told, "sqlstate", None) or "")
    return state[:2] in {"23", "40"} and state != "40003"


def reason(error: Exception) -> str:
    """The first line of the message of a database or a revision."""
    told = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    lines = str(told).strip().splitlines()
    return lines[0].rstrip(".") if lines else type(told).__name__


@contextmanager
def _connected(url: str, *, writing: bool) -> Iterator[Connection]:
    engine = house_engine(url, writing=writing)
    try:
        with engine.connect() as connection:
            connection.begin()
            yield connection
    except SQLAlchemyError as error:
        told = reason(error)
        way_out = "; another process is using it, so try again when that is done" if "lock" in told else ""
        raise BadParameter(f"url: {shown(url)} cannot be used: {told}{way_out}.", parameter="url") from error
    finally:
        engine.dispose()


def _sqlite_settings(connection: Any, _record: Any) -> None:
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute(f"PRAGMA busy_timeout = {int(PATIENCE_SECONDS * 1000)}")


# By default Python's driver begins a transaction at the first INSERT only, so tables made or rebuilt before it would
# stay when a revision fails.
def _begin_for_writing(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _begin_for_reading(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN")
