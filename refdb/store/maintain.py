"""Maintenance of a house store: status, upgrade, back-up and restoration."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from sqlalchemy import Connection, func, inspect, select
from sqlalchemy.exc import SQLAlchemyError

from refdb.problems import BadParameter, IntegrityError, Problem
from refdb.store import backup, house
from refdb.store.backup import Backup
from refdb.store.migrate import head_revision, known_revisions, take_down, upgrade
from refdb.store.models import HouseValue, HouseValueVersion

if TYPE_CHECKING:
    from refdb.store.documents import StatusDocument


State = Literal["empty", "newest", "older", "unknown"]
"""The state of a store's revision; `unknown` is a revision that this version of refdb does not know."""


@dataclass(frozen=True)
class Status:
    """The status of a house store; `revision` is None for a store that is empty or has not been made."""

    url: str
    engine: str
    state: State
    revision: str | None
    head: str
    values: int
    versions: int

    def document(self) -> StatusDocument:
        """The status as a JSON document."""
        return {
            "url": self.url,
            "engine": self.engine,
            "state": self.state,
            "revision": self.revision,
            "head": self.head,
            "values": self.values,
            "versions": self.versions,
        }


@dataclass(frozen=True)
class Upgrade:
    """The result of an upgrade. `before` is None for an empty store, `backup` if none was needed or wanted."""

    before: str | None
    after: str
    backup: Backup | None


def status(url: str) -> Status:
    """Engine, revision and numbers of values and versions of a house store; changes nothing.

    Raises:
        BadParameter: the store cannot be reached.
    """
    if _is_absent_file(url):
        return Status(house.shown(url), "sqlite", "empty", None, head_revision(), 0, 0)
    with house.reading(url) as connection:
        stands = house.revision(connection)
        return Status(
            url=house.shown(url),
            engine=connection.dialect.name,
            state=_state(stands),
            revision=stands,
            head=head_revision(),
            values=_count(connection, HouseValue),
            versions=_count(connection, HouseValueVersion),
        )


def upgrade_house(url: str, *, back_up: bool = True, backup_to: Path | None = None) -> Upgrade:
    """Bring a house store to the newest revision in one transaction, after backing it up if it holds anything.

    Args:
        url: the address of the store, as SQLAlchemy writes it.
        back_up: whether to write a back-up first.
        backup_to: the file or folder of the back-up; see `refdb.store.backup.write`.

    Raises:
        BadParameter: the store cannot be used or comes from a newer refdb, or the back-up cannot be written.
        IntegrityError: a revision failed; the store is as it was.
    """
    with house.held(url) as connection:
        before, head = house.known_revision(connection, url), head_revision()
        if before == head:
            return Upgrade(before, head, None)
        written = None
        if before is not None:
            tables = backup.tables_at(before)
            house.hold_still(connection, tables, readers=True)
            if back_up and backup.holds_rows(connection, tables):
                written = backup.write(connection, before, backup_to)
        kept = f" The back-up is {written.path}." if written else ""
        with _all_or_nothing(f"url: {house.shown(url)} could not be upgraded and is as it was", kept):
            upgrade(connection)
        _commit(connection, url, kept)
        return Upgrade(before, head, written)


def back_up_house(url: str, to: Path | None = None) -> Backup:
    """Back a house store up into a new file.

    Raises:
        BadParameter: the store cannot be used or is empty, or the file cannot be written.
    """
    empty = BadParameter(f"url: {house.shown(url)} is empty; there is nothing to back up.", parameter="url")
    if _is_absent_file(url):
        raise empty
    with house.held(url) as connection:
        stands = house.known_revision(connection, url)
        if stands is None:
            raise empty
        tables = backup.tables_at(stands)
        house.hold_still(connection, tables, readers=False)
        if not backup.holds_rows(connection, tables):
            raise empty
        return backup.write(connection, stands, to)


def restore_house(file: Path, url: str) -> Backup:
    """Load a back-up into an empty house store of either engine and bring it to the newest revision; all or nothing.

    Raises:
        BadParameter: the file is no back-up, or the store cannot be used or has rows already.
        IntegrityError: the file is damaged, or its rows do not fit into the store, which is as it was.
    """
    with backup.opened(file) as (source, held), house.held(url) as target:
        _clear_if_empty(target, url)
        with _all_or_nothing(f"file: {file} could not be restored into {house.shown(url)}, which is as it was", ""):
            upgrade(target, held.revision)
            tables = backup.tables_at(held.revision)
            backup.copy_rows(source, target, tables)
            if backup.contents_of(target, tables) != held.contents:
                raise IntegrityError(
                    f"file: {file} was not restored: {house.shown(url)} gives other rows back than it was given."
                )
            upgrade(target)
        _commit(target, url, "")
        return held


def _state(stands: str | None) -> State:
    if stands is None:
        return "empty"
    if stands == head_revision():
        return "newest"
    return "older" if stands in known_revisions() else "unknown"


def _clear_if_empty(connection: Connection, url: str) -> None:
    stands = house.known_revision(connection, url)
    if stands is None:
        return
    tables = backup.tables_at(stands)
    house.hold_still(connection, tables, readers=True)
    if backup.holds_rows(connection, tables):
        raise BadParameter(
            f"url: {house.shown(url)} holds values already, and nothing is restored over them; give an empty "
            "database or a file that does not exist yet.",
            parameter="url",
        )
    take_down(connection)


@contextmanager
def _all_or_nothing(what: str, way_out: str) -> Iterator[None]:
    try:
        yield
    except Problem:
        raise
    # A revision is a program, and may fail in any way.
    except Exception as error:
        raise IntegrityError(f"{what}: {house.reason(error)}.{way_out}") from error


def _commit(connection: Connection, url: str, way_out: str) -> None:
    """Commit the transaction; if that fails, say what is known.

    Raises:
        IntegrityError: the store is unchanged, or it is not known whether the commit was made.
    """
    try:
        connection.commit()
    except SQLAlchemyError as error:
        known = "is as it was" if house.is_surely_undone(error) else "may be changed: look with `refdb db status`"
        raise IntegrityError(
            f"url: {house.shown(url)} failed at the very end and {known} ({house.reason(error)}).{way_out}"
        ) from error


def _is_absent_file(url: str) -> bool:
    """Whether the URL names a SQLite file that does not exist; opening it would make it."""
    address = house.house_engine(url).url
    file = address.database or ""
    return address.get_backend_name() == "sqlite" and not file.startswith("file:") and not Path(file).is_file()


def _count(connection: Connection, model: type[HouseValue | HouseValueVersion]) -> int:
    if not inspect(connection).has_table(model.__tablename__):
        return 0
    return connection.scalar(select(func.count()).select_from(model)) or 0
