"""Upgrading a house store that people rely on: backed up first, all or nothing, one at a time."""

from __future__ import annotations

import re
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, create_engine, inspect, text
from sqlalchemy.exc import DBAPIError

from refdb.problems import BadParameter, IntegrityError, Problem
from refdb.store import house as house_module
from refdb.store.backup import contents_of, opened, tables_at
from refdb.store.house import held, revision
from refdb.store.maintain import back_up_house, restore_house, status, upgrade_house
from tests.conftest import PROJECT
from tests.store.conftest import FurtherRevision, NewHouse
from tests.store.invented import FURTHER, NEWEST, Rows, filled, rows_in, rows_of


@pytest.fixture
def rows(house_url: str) -> Rows:
    """The invented values that the store holds, at the newest revision that ships."""
    return filled(house_url)


def _files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*backup*"))


def _tables(url: str) -> set[str]:
    engine = create_engine(url)
    try:
        return set(inspect(engine).get_table_names())
    finally:
        engine.dispose()


def test_a_store_that_holds_values_is_backed_up_before_it_is_upgraded(
    house_url: str, rows: Rows, further_revision: FurtherRevision
) -> None:
    further_revision("passes")
    done = upgrade_house(house_url)
    assert (done.before, done.after) == (NEWEST, FURTHER)
    assert rows_in(house_url) == rows
    assert done.backup is not None
    with opened(done.backup.path) as (connection, held_in_it):
        assert held_in_it == done.backup
        assert rows_of(connection) == rows
        assert revision(connection) == NEWEST
    assert {name: held.rows for name, held in done.backup.contents.items() if held.rows} == {
        name: len(lines) for name, lines in rows.items()
    }


def test_the_back_up_of_a_file_lies_beside_it_and_names_revision_and_moment(
    new_house: NewHouse, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    url = new_house("sqlite")
    filled(url)
    further_revision("passes")
    done = upgrade_house(url)
    assert done.backup is not None
    store = Path(url.removeprefix("sqlite:///"))
    assert done.backup.path.parent == store.parent
    assert re.fullmatch(rf"{store.stem}\.{NEWEST}-\d{{8}}T\d{{6}}Z\.backup\.sqlite", done.backup.path.name)
    assert _files(tmp_path) == [done.backup.path.name]


def test_the_back_up_of_a_postgresql_store_lies_in_the_data_folder_under_the_name_of_the_database(
    new_house: NewHouse, data_folder: Path, further_revision: FurtherRevision
) -> None:
    url = new_house("postgresql")
    filled(url)
    further_revision("passes")
    done = upgrade_house(url)
    assert done.backup is not None
    assert done.backup.path.parent == data_folder
    assert done.backup.path.name.startswith(f"{url.rpartition('/')[2].partition('?')[0]}.{NEWEST}-")


def test_no_back_up_is_made_of_a_store_without_values(
    house_url: str, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    assert upgrade_house(house_url).backup is None
    further_revision("passes")
    done = upgrade_house(house_url)
    assert (done.before, done.after, done.backup) == (NEWEST, FURTHER, None)
    assert _files(tmp_path) == []


def test_no_back_up_is_made_when_there_is_nothing_to_upgrade(house_url: str, rows: Rows, tmp_path: Path) -> None:
    done = upgrade_house(house_url)
    assert (done.before, done.after, done.backup) == (NEWEST, NEWEST, None)
    assert rows_in(house_url) == rows
    assert _files(tmp_path) == []


def test_no_back_up_is_made_when_asked_not_to(
    house_url: str, rows: Rows, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    further_revision("passes")
    done = upgrade_house(house_url, back_up=False)
    assert (done.after, done.backup) == (FURTHER, None)
    assert rows_in(house_url) == rows
    assert _files(tmp_path) == []


def test_a_back_up_goes_where_it_is_asked_to_and_never_over_another_file(
    house_url: str, rows: Rows, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    further_revision("passes")
    taken = tmp_path / "taken"
    taken.write_text("something else", encoding="utf-8")
    for impossible, words in ((taken, "is there already"), (tmp_path / "no folder" / "file", "nothing can be written")):
        with pytest.raises(BadParameter, match=words):
            upgrade_house(house_url, backup_to=impossible)
        assert status(house_url).revision == NEWEST
    assert taken.read_text(encoding="utf-8") == "something else"
    chosen = tmp_path / "Sicherung №1 #?&%20.file"
    done = upgrade_house(house_url, backup_to=chosen)
    assert done.backup is not None
    assert done.backup.path == chosen
    with opened(chosen) as (connection, _):
        assert rows_of(connection) == rows


@pytest.mark.parametrize("ending", ["raises", "asks for a column that is not there"])
def test_a_revision_that_fails_half_way_leaves_everything_and_names_the_back_up(
    house_url: str, rows: Rows, tmp_path: Path, further_revision: FurtherRevision, ending: str
) -> None:
    tables = _tables(house_url)
    further_revision(ending)
    with pytest.raises(IntegrityError, match=r"could not be upgraded and is as it was: .*\. The back-up is ") as told:
        upgrade_house(house_url)
    assert "\n" not in told.value.detail
    path = Path(told.value.detail.partition("The back-up is ")[2].removesuffix("."))
    assert rows_in(house_url) == rows
    assert _tables(house_url) == tables
    assert status(house_url).revision == NEWEST
    with opened(path) as (connection, _):
        assert rows_of(connection) == rows
    path.unlink()
    further_revision("passes")
    assert upgrade_house(house_url).after == FURTHER
    assert rows_in(house_url) == rows


def test_a_process_that_dies_half_way_leaves_everything_and_the_next_one_finishes(
    house_url: str, rows: Rows, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    tables = _tables(house_url)
    folder = further_revision("dies")
    with _process(house_url, folder) as died:
        died.communicate(timeout=120)
    assert died.returncode == 9
    assert rows_in(house_url) == rows
    assert _tables(house_url) == tables
    further_revision("passes")
    assert upgrade_house(house_url, backup_to=tmp_path / "second").after == FURTHER
    assert rows_in(house_url) == rows


def test_of_two_upgrades_at_once_one_waits_and_finds_the_work_done(
    house_url: str, rows: Rows, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    folder = further_revision("waits")
    with _process(house_url, folder) as first:
        _wait_for(folder / "begun")
        with _process(house_url, folder) as second:
            assert second.stdout is not None
            assert second.stdout.readline() == "asking\n"
            time.sleep(0.5)  # lets it reach the lock; should it come later, it has nothing to wait for
            (folder / "go on").touch()
            told = [process.communicate(timeout=120) for process in (first, second)]
    assert [first.returncode, second.returncode] == [0, 0], told
    assert f"{NEWEST} -> {FURTHER}" in told[0][0]
    assert "already newest" in told[1][0]
    assert rows_in(house_url) == rows
    assert len(_files(tmp_path)) == 1


def test_two_first_upgrades_at_once_make_one_store(house_url: str, further_revision: FurtherRevision) -> None:
    folder = further_revision("passes")
    with _process(house_url, folder) as first, _process(house_url, folder) as second:
        told = [process.communicate(timeout=120) for process in (first, second)]
    assert [first.returncode, second.returncode] == [0, 0], told
    assert sorted("already newest" in out for out, _ in told) == [False, True]
    assert status(house_url).revision == FURTHER


def test_whoever_waits_too_long_is_told_that_another_process_has_the_store(
    house_url: str, rows: Rows, further_revision: FurtherRevision, monkeypatch: pytest.MonkeyPatch
) -> None:
    further_revision("passes")
    monkeypatch.setattr(house_module, "PATIENCE_SECONDS", 0.1)
    with held(house_url), pytest.raises(BadParameter, match="another process is using it, so try again"):
        upgrade_house(house_url)
    assert upgrade_house(house_url).after == FURTHER


@pytest.mark.parametrize("keeper", [upgrade_house, back_up_house], ids=["upgrading", "backing up"])
def test_nobody_writes_while_a_store_is_backed_up(
    house_url: str,
    rows: Rows,
    further_revision: FurtherRevision,
    monkeypatch: pytest.MonkeyPatch,
    keeper: Callable[[str], object],
) -> None:
    refusals = _let_a_writer_try_at("refdb.store.backup.write", house_url, monkeypatch)
    further_revision("passes")
    keeper(house_url)
    assert [re.search(r"database is locked|lock timeout", told) is not None for told in refusals] == [True]
    assert rows_in(house_url) == rows


def test_nobody_writes_into_an_empty_store_while_it_is_restored_into(
    house_url: str, new_house: NewHouse, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = new_house("sqlite")
    rows = filled(other)
    upgrade_house(house_url)
    refusals = _let_a_writer_try_at("refdb.store.maintain.take_down", house_url, monkeypatch)
    restore_house(back_up_house(other, tmp_path / "file").path, house_url)
    assert [re.search(r"database is locked|lock timeout", told) is not None for told in refusals] == [True]
    assert rows_in(house_url) == rows


def test_values_that_a_store_has_only_logged_so_far_are_in_its_back_up_which_is_one_file(
    new_house: NewHouse, tmp_path: Path, further_revision: FurtherRevision
) -> None:
    url = new_house("sqlite")
    store = Path(url.removeprefix("sqlite:///"))
    with closing(sqlite3.connect(store)) as keeps_the_log:
        keeps_the_log.execute("PRAGMA journal_mode = WAL")
        keeps_the_log.execute("SELECT count(*) FROM sqlite_master").fetchall()
        rows = filled(url)
        assert store.with_name(f"{store.name}-wal").stat().st_size > 0
        further_revision("passes")
        done = upgrade_house(url)
    assert done.backup is not None
    moved = tmp_path / "elsewhere" / "alone.sqlite"
    moved.parent.mkdir()
    done.backup.path.rename(moved)
    with opened(moved) as (connection, _):
        assert rows_of(connection) == rows
    assert [path.name for path in moved.parent.iterdir()] == ["alone.sqlite"]


def test_a_store_from_a_newer_refdb_is_left_alone(
    house_url: str, rows: Rows, further_revision: FurtherRevision, monkeypatch: pytest.MonkeyPatch
) -> None:
    further_revision("passes")
    upgrade_house(house_url)
    monkeypatch.undo()
    with pytest.raises(BadParameter, match=f"stands at revision {FURTHER}, and this refdb knows none after {NEWEST}"):
        upgrade_house(house_url)
    seen = status(house_url)
    assert (seen.state, seen.revision, seen.head) == ("unknown", FURTHER, NEWEST)
    assert seen.values == len(rows["house_value"])


def test_a_file_of_something_else_is_told_and_left_alone(new_house: NewHouse) -> None:
    url = new_house("sqlite")
    store = Path(url.removeprefix("sqlite:///"))
    store.write_text("no database, " * 200, encoding="utf-8")
    for wrong in (upgrade_house, status):
        with pytest.raises(Problem, match="not a database"):
            wrong(url)
    assert store.read_text(encoding="utf-8").startswith("no database")


def test_status_counts_and_makes_nothing(house_url: str, house: Engine, further_revision: FurtherRevision) -> None:
    before = status(house_url)
    assert (before.state, before.revision, before.values, before.versions) == ("empty", None, 0, 0)
    if house.dialect.name == "sqlite":
        assert not Path(house_url.removeprefix("sqlite:///")).exists()
    rows = filled(house_url)
    after = status(house_url)
    assert (after.engine, after.state, after.revision) == (house.dialect.name, "newest", NEWEST)
    assert (after.values, after.versions) == (len(rows["house_value"]), len(rows["house_value_version"]))
    further_revision("passes")
    assert (status(house_url).state, status(house_url).head) == ("older", FURTHER)


def test_the_digest_of_a_table_tells_any_change_of_a_value(house: Engine, rows: Rows) -> None:
    tables = tables_at(NEWEST)
    with house.connect() as connection:
        before = contents_of(connection, tables)
        connection.execute(text("UPDATE house_value_version SET body = body || ' ' WHERE number = 300"))
        after = contents_of(connection, tables)
    assert [name for name in before if before[name] != after[name]] == ["house_value_version"]


def _let_a_writer_try_at(step: str, url: str, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Lets another connection add a value just before a step; what it was told is given back, once it has tried."""
    module, _, name = step.rpartition(".")
    through: Callable[..., object] = getattr(sys.modules[module], name)
    told: list[str] = []

    def try_first(*arguments: object) -> object:
        told.append(_told_to_a_writer(url))
        return through(*arguments)

    monkeypatch.setattr(step, try_first)
    return told


def _told_to_a_writer(url: str) -> str:
    writer = create_engine(url)
    patience = "PRAGMA busy_timeout = 100" if writer.dialect.name == "sqlite" else "SET lock_timeout = 100"
    try:
        with writer.begin() as connection:
            connection.execute(text(patience))
            connection.execute(
                text("INSERT INTO house_value (id, subject, property, created_at) VALUES ('new', 'x', 'y', '2026')")
            )
    except DBAPIError as error:
        return str(error)
    finally:
        writer.dispose()
    return "written"


def _process(url: str, folder: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.store.upgrade_in_a_process", url, str(folder), str(folder)],
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _wait_for(path: Path) -> None:
    deadline = time.monotonic() + 120
    while not path.exists():
        assert time.monotonic() < deadline, f"{path.name} never came"
        time.sleep(0.02)
