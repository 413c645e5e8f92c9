"""The house store: where it lies and how it is brought up to date."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, create_engine, event, text
from sqlalchemy.engine import Engine, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from refdb.problems import BadParameter
from refdb.store.migrate import upgrade

ADVISORY_LOCK = 7_263_001
"""Key of the PostgreSQL lock that keeps two upgrades apart."""


def default_url() -> str:
    """The SQLite file in the user's data folder."""
    import platformdirs

    folder = Path(platformdirs.user_data_dir("refdb"))
    folder.mkdir(parents=True, exist_ok=True)
    return f"sqlite:///{folder / 'house.sqlite'}"


def shown(url: str) -> str:
    """The URL without its password."""
    return make_url(url).render_as_string(hide_password=True)


def house_engine(url: str) -> Engine:
    """An engine on a house store for upgrading it.

    Raises:
        BadParameter: the URL is not one, or names no supported database.
    """
    try:
        address = make_url(url)
        if address.get_backend_name() == "postgresql" and "+" not in address.drivername:
            address = address.set(drivername="postgresql+psycopg")
        engine = create_engine(address, poolclass=NullPool)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise BadParameter(
            f"url: '{url}' is not a database refdb can use ({error}); write sqlite:///FILE or "
            "postgresql://USER@HOST/NAME (PostgreSQL needs `pip install refdb[postgresql]`).",
            parameter="url",
        ) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _sqlite_pragmas)
    return engine


def upgrade_house(url: str) -> tuple[str | None, str | None]:
    """Bring a house store to the newest revision.

    Returns:
        The revision before and after; None before means that the store was empty.

    Raises:
        BadParameter: the store cannot be reached.
    """
    engine = house_engine(url)
    try:
        with engine.begin() as connection:
            _lock(connection)
            before = revision(connection)
            upgrade(connection)
            return before, revision(connection)
    except SQLAlchemyError as error:
        raise BadParameter(f"url: {shown(url)} cannot be upgraded: {error.__class__.__name__}: {error}") from error
    finally:
        engine.dispose()


def revision(connection: Connection) -> str | None:
    """The revision a store stands at."""
    return MigrationContext.configure(connection).get_current_revision()


def _lock(connection: Connection) -> None:
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET LOCAL lock_timeout = '30s'"))
        connection.execute(text(f"SELECT pg_advisory_xact_lock({ADVISORY_LOCK})"))


def _sqlite_pragmas(connection: Any, _record: Any) -> None:
    connection.execute("PRAGMA foreign_keys = OFF")
    connection.execute("PRAGMA busy_timeout = 30000")
