"""The release store: read-only, and asked once for what is asked again."""

from __future__ import annotations

import datetime
import sqlite3
from contextlib import closing
from itertools import islice, product
from pathlib import Path

import pytest

from refdb.data import current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.pipes.words import MOST_SIZES, size_number
from refdb.problems import IntegrityError, UnknownName
from refdb.release import build, cut_release
from refdb.values.reader import MOST_SUBJECTS, Reader


def test_a_second_answer_costs_no_query() -> None:
    store = ReleaseStore(current().store)
    database = Database(Reader(store))
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


def test_names_that_lead_nowhere_do_not_pile_up_in_memory() -> None:
    store = ReleaseStore(current().store)
    release = store.release()
    for number in range(10_000):
        assert store.record(f"no-such-row-{number}", release) is None
    assert len(store._records) == 0


def test_however_a_subject_is_written_so_many_spellings_are_remembered_and_no_more() -> None:
    database = Database(Reader(ReleaseStore(current().store)))
    # Blanks, hyphens and strokes mean nothing in a name.
    for gaps in islice(product(" -_/,", repeat=6), MOST_SUBJECTS + 500):
        spelled = "".join(letter + gap for letter, gap in zip("water ", gaps, strict=True))
        assert database.subject(spelled).id == "water"
    assert 0 < database.reader._subject_named.cache_info().currsize <= MOST_SUBJECTS


def test_asking_about_one_subject_does_not_load_every_name() -> None:
    store = ReleaseStore(current().store)
    queries: list[str] = []
    store._connection.set_trace_callback(queries.append)
    database = Database(Reader(store))
    assert database.subject("S31603").id == "stainless-316l"
    database.value("water", "sound_speed", temperature="20 degC")
    asked_of_names = [query for query in queries if "FROM name" in query]
    assert asked_of_names
    assert all("normal IN" in query for query in asked_of_names)
    assert store._names == {}


def test_sizes_nobody_makes_do_not_pile_up_in_memory(database: Database) -> None:
    with pytest.raises(UnknownName):
        database.pipes("b36.10", "DN 100001")
    for number in range(MOST_SIZES + 500):
        size_number(str(100_000 + number))
    assert size_number.cache_info().currsize <= MOST_SIZES


def test_a_record_whose_block_is_damaged_is_told_so_in_one_sentence(invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", datetime.date(2026, 1, 2))
    build(invented_text, tmp_path / "target")
    path = current(tmp_path / "target").store
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE block SET packed = substr(packed, 2)")
    with pytest.raises(IntegrityError, match=r"is damaged .* `refdb verify` tells what is"):
        Database(Reader(ReleaseStore(path))).value("invented-metal", "density")
