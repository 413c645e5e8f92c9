"""The release store: read-only, and asked once for what is asked again."""

from __future__ import annotations

import datetime
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from refdb.answer import Database
from refdb.build import build, cut_release
from refdb.data import current
from refdb.lookup import ReleaseStore
from refdb.problems import IntegrityError


def test_a_second_answer_costs_no_query() -> None:
    store = ReleaseStore(current().store)
    database = Database(store)
    queries: list[str] = []
    store._connection.set_trace_callback(queries.append)
    database.value("water", "sound_speed", temperature="20 degC")
    first = len(queries)
    assert 0 < first <= 25
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


def test_a_record_whose_block_is_damaged_is_told_so_in_one_sentence(invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", datetime.date(2026, 1, 2))
    build(invented_text, tmp_path / "target")
    path = current(tmp_path / "target").store
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE block SET packed = substr(packed, 2)")
    with pytest.raises(IntegrityError, match=r"is damaged .* `refdb verify` tells what is"):
        Database(ReleaseStore(path)).value("invented-metal", "density")
