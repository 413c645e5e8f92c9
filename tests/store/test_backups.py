"""Back-up files of a house store: whole, checked, and good for either engine."""

from __future__ import annotations

import itertools
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Connection, Table, create_engine, text

from refdb.problems import BadParameter, IntegrityError
from refdb.store import backup
from refdb.store.maintain import back_up_house, restore_house, status, upgrade_house
from tests.conftest import CommandLine
from tests.store.conftest import FurtherRevision, NewHouse
from tests.store.invented import DONE, FURTHER, NEWEST, filled, rows_in

ENGINES = ("sqlite", "postgresql")


def _execute(url: str, *statements: str) -> None:
    engine = create_engine(url)
    with engine.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


@pytest.fixture
def written(new_house: NewHouse, tmp_path: Path) -> Path:
    """A back-up of invented values."""
    url = new_house("sqlite")
    filled(url)
    return back_up_house(url, tmp_path / "written.sqlite").path


@pytest.mark.parametrize(("source", "target"), list(itertools.product(ENGINES, repeat=2)))
def test_what_is_restored_is_what_was_backed_up(
    new_house: NewHouse, tmp_path: Path, further_revision: FurtherRevision, source: str, target: str
) -> None:
    first, second, third = new_house(source), new_house(target), new_house(target)
    rows = filled(first)
    # PostgreSQL gives this row last from now on, and the back-up keeps its rows in an order of its own.
    _execute(first, "UPDATE house_value_version SET version = version WHERE number = 1")
    file = back_up_house(first, tmp_path / "one").path
    restored = restore_house(file, second)
    assert rows_in(second) == rows_in(first) == rows
    assert back_up_house(second, tmp_path / "two").contents == restored.contents
    further_revision("passes")
    restore_house(file, third)
    assert status(third).revision == FURTHER
    assert rows_in(third) == rows


@pytest.mark.parametrize("engine", ENGINES)
def test_the_next_version_after_restoring_gets_a_number_of_its_own(
    new_house: NewHouse, written: Path, engine: str
) -> None:
    url = new_house(engine)
    restore_house(written, url)
    before = {line[0] for line in rows_in(url)["house_value_version"]}
    _execute(
        url,
        "INSERT INTO house_value_version (house_value, version, status, entered_by, entered_at, body) "
        "SELECT id, 1000, 'draft', 'invented', '2026-01-02T03:04:05Z', '{}' FROM house_value",
    )
    after = {line[0] for line in rows_in(url)["house_value_version"]}
    assert len(after - before) == 40
    assert min(after - before) == max(before) + 1


@pytest.mark.parametrize("engine", ENGINES)
def test_a_store_that_was_made_and_never_used_can_be_restored_into(
    new_house: NewHouse, written: Path, further_revision: FurtherRevision, engine: str
) -> None:
    further_revision("passes")
    url = new_house(engine)
    upgrade_house(url)
    restore_house(written, url)
    assert status(url).revision == FURTHER
    restored = create_engine(url)
    with restored.connect() as connection:
        assert list(connection.execute(text("SELECT invented FROM house_value")).scalars()) == [DONE] * 40
    restored.dispose()


@pytest.mark.parametrize("engine", ENGINES)
def test_nothing_is_restored_over_values(new_house: NewHouse, written: Path, engine: str) -> None:
    url = new_house(engine)
    rows = filled(url)
    _execute(url, "DELETE FROM house_value_version WHERE number > 1")
    with pytest.raises(BadParameter, match="holds values already, and nothing is restored over them"):
        restore_house(written, url)
    assert rows_in(url)["house_value_version"] == rows["house_value_version"][:1]


def test_other_files_are_told_from_back_ups(new_house: NewHouse, tmp_path: Path) -> None:
    url, target = new_house("sqlite"), new_house("sqlite")
    filled(url)
    (tmp_path / "text").write_text("text, " * 500, encoding="utf-8")
    (tmp_path / "empty").touch()
    others = {
        tmp_path / "text": "is not a back-up",
        tmp_path / "empty": "is not a back-up",
        Path(url.removeprefix("sqlite:///")): "is not a back-up of a house store",
        tmp_path / "not there": "is not there",
        tmp_path: "is no file",
    }
    for file, words in others.items():
        with pytest.raises(BadParameter, match=rf"^file: .*{words}"):
            restore_house(file, target)
    assert not Path(target.removeprefix("sqlite:///")).exists()


def test_a_back_up_by_a_newer_refdb_is_refused(
    new_house: NewHouse, tmp_path: Path, further_revision: FurtherRevision, monkeypatch: pytest.MonkeyPatch
) -> None:
    further_revision("passes")
    url = new_house("sqlite")
    filled(url)
    upgrade_house(url, back_up=False)
    file = back_up_house(url, tmp_path / "newer").path
    monkeypatch.undo()
    with pytest.raises(BadParameter, match=f"is at revision {FURTHER}, and this refdb knows none after {NEWEST}"):
        restore_house(file, new_house("sqlite"))


def _flip_a_letter(file: Path) -> None:
    content = file.read_bytes()
    place = content.index(b"carbon-steel-17")
    file.write_bytes(content[:place] + b"X" + content[place + 1 :])


def _cut_off(file: Path) -> None:
    os.truncate(file, file.stat().st_size // 2)


def _lose_a_row(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("DELETE FROM house_value_version WHERE number = 7")


def _lose_a_table(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("DROP TABLE house_value_version")


def _forget_a_table(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute(f"DELETE FROM {backup.CONTENTS} WHERE name = 'house_value_version'")


@pytest.mark.parametrize("damage", [_flip_a_letter, _cut_off, _lose_a_row, _lose_a_table, _forget_a_table])
def test_a_damaged_back_up_is_found_out_and_not_restored(
    new_house: NewHouse, written: Path, damage: Callable[[Path], None]
) -> None:
    damage(written)
    url = new_house("sqlite")
    with pytest.raises(IntegrityError, match="is damaged") as told:
        restore_house(written, url)
    assert "\n" not in told.value.detail
    assert status(url).revision is None


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE house_value SET subject = 'a' || char(0) || 'b' WHERE property = 'longitudinal_speed'",
        f"UPDATE house_value SET subject = '{'a' * 121}'",
    ],
    ids=["a zero character", "a text too long"],
)
def test_what_postgresql_cannot_hold_is_refused_whole(new_house: NewHouse, tmp_path: Path, statement: str) -> None:
    source, target = new_house("sqlite"), new_house("postgresql")
    filled(source)
    _execute(source, statement)
    file = back_up_house(source, tmp_path / "odd").path
    with pytest.raises(IntegrityError, match=r"could not be restored into .* is as it was") as told:
        restore_house(file, target)
    assert "\n" not in told.value.detail
    assert status(target).revision is None


def test_restoring_reads_the_rows_again_and_gives_up_when_one_is_missing(
    new_house: NewHouse, written: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = backup.copy_rows

    def forgetful(source: Connection, target: Connection, tables: list[Table]) -> None:
        copy(source, target, tables)
        target.execute(text("DELETE FROM house_value_version WHERE number = 7"))

    monkeypatch.setattr(backup, "copy_rows", forgetful)
    url = new_house("sqlite")
    with pytest.raises(IntegrityError, match="gives other rows back than it was given"):
        restore_house(written, url)
    assert status(url).revision is None


@pytest.mark.parametrize("engine", ENGINES)
def test_a_back_up_that_does_not_hold_everything_never_gets_its_name(
    new_house: NewHouse, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, engine: str
) -> None:
    url = new_house(engine)
    filled(url)
    write = backup._write_contents

    def forgetful(part: Path, contents: dict[str, backup.TableContent]) -> None:
        _lose_a_row(part)
        write(part, contents)

    monkeypatch.setattr(backup, "_write_contents", forgetful)
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(IntegrityError, match="the rows of house_value_version are not those"):
        back_up_house(url, folder)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("engine", ENGINES)
def test_an_empty_store_is_not_backed_up_and_none_is_made(new_house: NewHouse, tmp_path: Path, engine: str) -> None:
    url = new_house(engine)
    with pytest.raises(BadParameter, match="is empty; there is nothing to back up"):
        back_up_house(url)
    assert list(tmp_path.glob("*.sqlite")) == []
    upgrade_house(url)
    with pytest.raises(BadParameter, match="is empty; there is nothing to back up"):
        back_up_house(url)


@pytest.mark.skipif(os.name != "posix", reason="other systems keep rights in other ways")
@pytest.mark.parametrize("engine", ENGINES)
def test_a_back_up_is_for_its_owner_alone(new_house: NewHouse, tmp_path: Path, engine: str) -> None:
    url = new_house(engine)
    filled(url)
    assert back_up_house(url, tmp_path / "own").path.stat().st_mode & 0o777 == 0o600


def test_a_back_up_can_be_backed_up_after_it_was_put_in_place_of_the_store(
    new_house: NewHouse, written: Path, tmp_path: Path
) -> None:
    target = new_house("postgresql")
    _execute(f"sqlite:///{written}", "DELETE FROM house_value_version WHERE number = 7")
    again = back_up_house(f"sqlite:///{written}", tmp_path / "again").path
    restore_house(again, target)
    assert rows_in(target) == rows_in(f"sqlite:///{written}")


@pytest.mark.parametrize("engine", ENGINES)
def test_the_command_line_goes_the_whole_way_on_both_engines(
    command: CommandLine, new_house: NewHouse, tmp_path: Path, further_revision: FurtherRevision, engine: str
) -> None:
    url, target = new_house(engine), new_house(engine)
    rows = filled(url)
    further_revision("passes")
    file = tmp_path / "file"
    printed = command("db", "upgrade", "--url", url, "--backup-to", str(file))
    assert (printed.code, printed.err) == (0, "")
    assert printed.out.splitlines()[0] == (
        f"Back-up: {file} (revision {NEWEST}: 40 row(s) of house_value, "
        f"{len(rows['house_value_version'])} row(s) of house_value_version)"
    )
    assert command("db", "restore", str(file), "--url", target).code == 0
    assert rows_in(target) == rows
    assert f"{engine}, revision {FURTHER} (the newest), 40 value(s)" in command("db", "status", "--url", target).out
