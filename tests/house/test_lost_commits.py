"""Whether anything was written when a store fails: nothing for certain, something for certain, or not known."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Any

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.engine.default import DefaultDialect

from refdb.database import Database
from refdb.house import House
from refdb.problems import BadParameter, HouseUnavailable, IntegrityError
from refdb.store.house import house_engine
from refdb.store.keys import keys, make_key, revoke_key
from refdb.store.maintain import status, upgrade_house
from refdb.store.values import log
from tests.house.conftest import ANN, BOB, ENTRY, KEEPER
from tests.service import TestClient, create_app

LOST: dict[str, Callable[[], Exception]] = {
    "sqlite": lambda: sqlite3.OperationalError("disk I/O error"),
    "postgresql": lambda: psycopg.OperationalError("server closed the connection unexpectedly"),
}
UNDONE: dict[str, Callable[[], Exception]] = {
    "sqlite": lambda: _busy(),
    "postgresql": lambda: psycopg.errors.SerializationFailure("could not serialize access"),
}


def _busy() -> Exception:
    error = sqlite3.OperationalError("database is locked")
    error.sqlite_errorcode = sqlite3.SQLITE_BUSY
    return error


@pytest.fixture
def at_commit(house: House, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Lets the next commit of a writer fail, after it was made or instead of it."""

    def fail(error: Exception, *, made: bool, lost: bool = False) -> None:
        engine = house.store._engines[True]

        def commit(connection: Any) -> None:
            if made:
                connection.commit()
            if lost:
                monkeypatch.setitem(house.store._engines, False, house_engine("sqlite:////nowhere/house.sqlite"))
            raise error

        monkeypatch.setattr(engine.dialect, "do_commit", commit)

    return fail


def _of(house: House, errors: dict[str, Callable[[], Exception]]) -> Exception:
    return errors[house.store._engines[True].dialect.name]()


def _restored(house: House, monkeypatch: pytest.MonkeyPatch) -> House:
    """The same store, with nothing wrong."""
    monkeypatch.undo()
    return House(house.store.url)


def test_a_commit_that_is_refused_wrote_nothing_and_says_so(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None]
) -> None:
    made = house.add(ENTRY, ANN, database)
    at_commit(_of(house, UNDONE), made=False)
    with pytest.raises(HouseUnavailable, match="nothing was written") as told:
        house.review(made.id, 1, BOB)
    assert told.value.outcome == told.value.extensions["outcome"] == "nothing written"
    assert _restored(house, monkeypatch).store.current(made.id).version == 1


def test_a_store_that_is_lost_before_the_commit_wrote_nothing(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = house.add(ENTRY, ANN, database)
    engine = house.store._engines[True]
    real, error = engine.dialect.do_execute, _of(house, LOST)

    def execute(cursor: Any, statement: str, *rest: Any) -> None:
        if statement.startswith("INSERT INTO house_write"):
            raise error
        real(cursor, statement, *rest)

    monkeypatch.setattr(engine.dialect, "do_execute", execute)
    with pytest.raises(HouseUnavailable, match="nothing was written") as told:
        house.review(made.id, 1, BOB)
    assert told.value.outcome == "nothing written"
    assert _restored(house, monkeypatch).store.current(made.id).version == 1


def test_a_commit_that_was_made_and_then_lost_is_found_to_be_written(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None]
) -> None:
    made = house.add(ENTRY, ANN, database)
    at_commit(_of(house, LOST), made=True)
    with pytest.raises(HouseUnavailable) as told:
        house.review(made.id, 1, BOB)
    assert told.value.outcome == "written"
    assert f"{made.id}, version 2" in told.value.detail
    assert "nothing was written" not in told.value.detail
    assert _restored(house, monkeypatch).store.current(made.id).status == "reviewed"


@pytest.mark.parametrize("really", [True, False], ids=["was made", "was not made"])
def test_a_commit_whose_end_nobody_saw_says_where_to_look(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None], really: bool
) -> None:
    made = house.add(ENTRY, ANN, database)
    at_commit(_of(house, LOST), made=really, lost=really)
    with pytest.raises(HouseUnavailable) as told:
        house.withdraw(made.id, 1, BOB, "because")
    assert told.value.outcome == told.value.extensions["outcome"] == "not known"
    assert told.value.extensions["writes"] == [{"id": made.id, "version": 2}]
    assert f"look at {made.id}, version 2" in told.value.detail
    assert "written" not in told.value.detail
    assert _restored(house, monkeypatch).store.current(made.id).version == (2 if really else 1)


def test_of_a_value_that_was_being_added_the_id_is_told(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None]
) -> None:
    at_commit(_of(house, LOST), made=True)
    with pytest.raises(HouseUnavailable) as told:
        house.add(ENTRY, ANN, database)
    (write,) = told.value.extensions["writes"]
    assert told.value.outcome == "written"
    assert _restored(house, monkeypatch).store.current(write["id"]).version == write["version"] == 1


def test_a_key_whose_end_is_not_known_to_be_written_is_told_by_its_id(
    house: House, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None]
) -> None:
    key, _ = make_key(house.store, "Ann", "editor", None, KEEPER)
    at_commit(_of(house, LOST), made=False)
    with pytest.raises(HouseUnavailable, match=f"look at {key.id}") as told:
        revoke_key(house.store, key.id, KEEPER)
    assert told.value.outcome == "not known"
    assert keys(_restored(house, monkeypatch).store)[0].state == "valid"


def test_over_http_the_three_ends_of_a_write_are_told_apart(
    house: House, database: Database, monkeypatch: pytest.MonkeyPatch, at_commit: Callable[..., None]
) -> None:
    _, secret = make_key(house.store, "Ann", "editor", None, KEEPER)
    headers = {"authorization": f"Bearer {secret}"}
    with TestClient(create_app(database, house)) as client:
        for errors, made, outcome in (
            (UNDONE, False, "nothing written"),
            (LOST, True, "written"),
            (LOST, False, "not known"),
        ):
            at_commit(_of(house, errors), made=made)
            response = client.post("/v1/house/values", json=ENTRY, headers=headers)
            assert (response.status_code, response.json()["outcome"]) == (503, outcome)


def test_an_upgrade_whose_commit_was_lost_does_not_say_that_the_store_is_as_it_was(
    house_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def commit(_: Any, connection: Any) -> None:
        connection.commit()
        raise LOST["postgresql" if "postgresql" in house_url else "sqlite"]()

    monkeypatch.setattr(DefaultDialect, "do_commit", commit)
    with pytest.raises(IntegrityError, match="may be changed: look with `refdb db status`") as told:
        upgrade_house(house_url)
    assert "as it was" not in told.value.detail
    monkeypatch.undo()
    assert status(house_url).state == "newest"


def test_a_connection_that_the_server_ended_before_the_commit_is_not_known_to_have_written(
    house: House, database: Database
) -> None:
    if house.store._engines[True].dialect.name != "postgresql":
        pytest.skip("SQLite has no server")
    made = house.add(ENTRY, ANN, database)
    with pytest.raises(HouseUnavailable) as told:
        _ended_by_the_server(house, made.id)
    assert told.value.outcome == "not known"
    assert f"look at {made.id}, version 7" in told.value.detail
    assert [line["action"] for line in house.store.writes(made.id)] == ["add"]


def _ended_by_the_server(house: House, value: str) -> None:
    """Write a line to the log on a connection that the server ends before the commit."""
    with house.store.opened(writing=True) as connection:
        log(connection, ANN, "invented", value, 7)
        process = connection.scalar(text("SELECT pg_backend_pid()"))
        with house.store.opened(writing=False) as other:
            other.execute(text("SELECT pg_terminate_backend(:process, 5000)"), {"process": process})


def test_a_commit_that_readers_of_the_file_kept_out_wrote_nothing(
    sqlite_house: House, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("refdb.store.house.PATIENCE_SECONDS", 0.05)
    house = House(sqlite_house.store.url)
    reader = sqlite3.connect(house.store.url.removeprefix("sqlite:///"), isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM house_value").fetchone()
    with pytest.raises(HouseUnavailable, match="nothing was written") as told:
        house.add(ENTRY, ANN, database)
    reader.close()
    assert "locked" in told.value.inside
    assert told.value.outcome == "nothing written"
    assert house.store.values() == []


def test_a_text_that_the_engine_cannot_hold_is_refused_as_a_text(house: House, database: Database) -> None:
    made = house.add(ENTRY, ANN, database)
    if house.store._engines[True].dialect.name == "postgresql":
        with pytest.raises(BadParameter, match="cannot hold"):
            house.withdraw(made.id, 1, BOB, "because \x00")
    assert house.store.current(made.id).status in {"draft", "withdrawn"}
