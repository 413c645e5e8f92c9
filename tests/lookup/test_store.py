"""The release store: read-only, and asked once for what is asked again."""

from __future__ import annotations

import sqlite3

import pytest

from refdb.answer import Database
from refdb.data import current
from refdb.lookup import ReleaseStore


def test_a_second_answer_costs_no_query() -> None:
    store = ReleaseStore(current().store)
    database = Database(store)
    queries: list[str] = []
    store._connection.set_trace_callback(queries.append)
    database.value("water", "sound_speed", temperature="20 degC")
    first = len(queries)
    assert 0 < first <= 20
    for celsius in range(1, 90):
        database.value("water", "sound_speed", temperature=f"{celsius} degC")
    assert len(queries) == first


def test_the_store_cannot_be_written_through(database: Database) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        database.store._connection.execute("DELETE FROM row_version")


def test_a_subject_is_remembered_whatever_people_ask_for(database: Database) -> None:
    """Names that lead nowhere must not pile up in memory."""
    before = len(database._subjects)
    for number in range(50):
        with pytest.raises(Exception, match="no subject is called"):
            database.value(f"no such thing {number}", "density")
    assert len(database._subjects) == before
