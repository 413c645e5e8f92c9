"""House values are added, changed, reviewed and withdrawn; they are never deleted, and no change overwrites another.

Every write is one transaction: the value's current version goes up by one if it is still the one that the writer saw,
a version is added, and a line is added to the log. A write that fails leaves nothing behind.
"""

from __future__ import annotations

import datetime
import json
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import Connection, func, insert, select, text, update
from sqlalchemy.exc import DataError, OperationalError, ProgrammingError, SQLAlchemyError

from refdb.problems import BadParameter, Changed, Conflict, HouseUnavailable, IntegrityError, NotAllowed, UnknownName
from refdb.records import digest
from refdb.store import house
from refdb.store.migrate import head_revision
from refdb.store.models import HouseValue, HouseValueVersion, HouseWrite

if TYPE_CHECKING:
    from refdb.store.documents import HouseWriteDocument


Status = Literal["draft", "reviewed", "withdrawn"]
FORMAT = "refdb-house/1"
LINES = "refdb lines of the log of writes"
"""Key in `Connection.info` under which a connection keeps the lines that it wrote."""
LOOKED_AT = 3
"""Number of writes that the problem of a lost commit names; the others are counted."""
_NOT_NOW = "cannot be used now; try again, or ask its keeper"


@dataclass(frozen=True, slots=True)
class Writer:
    """The person who writes, and the id of their key; None at the command line."""

    person: str
    key: str | None = None

    @property
    def same(self) -> str:
        """The person's name without differences of spaces and case, for comparing."""
        return " ".join(self.person.split()).casefold()


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a house value. `digest` is None in stores from before digests."""

    id: str
    subject: str
    property_id: str
    version: int
    status: Status
    entered_by: str
    entered_at: str
    body: str
    digest: str | None
    reason: str | None

    @property
    def entry(self) -> dict[str, Any] | None:
        """The entry; None if this version of refdb does not know its form."""
        try:
            entry = json.loads(self.body)
        except ValueError:
            return None
        return entry if isinstance(entry, dict) and entry.get("format") == FORMAT else None

    def sealed(self, previous: str | None) -> str:
        """The digest over this version and the digest `previous` of the one before."""
        told = {name: getattr(self, name) for name in _SEALED if getattr(self, name) is not None}
        return digest({"format": FORMAT, **told, **({"previous": previous} if previous else {})})


@dataclass(frozen=True, slots=True)
class Standing:
    """A reviewed version in force, and the people who entered it."""

    version: Version
    entered_by: tuple[str, ...]


_SEALED = ("id", "subject", "property_id", "version", "status", "entered_by", "entered_at", "body", "reason")

Check = Callable[[Version, Sequence[Version]], None]
"""Checks the version to be reviewed against the reviewed versions of other values of the same property."""


class HouseStore:
    """A house store with the newest tables."""

    def __init__(self, url: str) -> None:
        self.url = url
        self._engines = {writing: house.house_engine(url, writing=writing) for writing in (True, False)}
        self._head = head_revision()

    @contextmanager
    def opened(self, *, writing: bool) -> Iterator[Connection]:
        """A connection in a transaction, which is committed at the end and undone if anything fails.

        Raises:
            HouseUnavailable: the store has not been made or upgraded, or does not answer; for a write, `outcome` says
                whether it was written, was not, or that is not known.
            BadParameter: a text contains something that the engine cannot store.
        """
        lines: list[dict[str, Any]] = []
        committing = False
        try:
            with self._engines[writing].connect() as connection:
                lines = connection.info.setdefault(LINES, [])
                with connection.begin():
                    self._require_newest(connection)
                    yield connection
                    committing = True
        except DataError as error:
            raise BadParameter(
                "value: holds something that the house store cannot hold, such as a zero character; take it out."
            ) from error
        except SQLAlchemyError as error:
            inside = f"{house.shown(self.url)}: {house.reason(error)}"
            if not writing:
                raise HouseUnavailable(f"house store: {_NOT_NOW}.", inside) from error
            if not committing or house.is_surely_undone(error):
                words = f"house store: nothing was written, since it {_NOT_NOW}."
                raise HouseUnavailable(words, inside, "nothing written") from error
            raise self._lost(lines, inside) from error

    def _lost(self, lines: list[dict[str, Any]], inside: str) -> HouseUnavailable:
        """The problem for a commit that was lost; another connection looks whether it was made."""
        writes = [{"id": line["target"], "version": line["version"]} for line in lines]
        told = [f"{one['id']}, version {one['version']}" if one["version"] else str(one["id"]) for one in writes]
        named = "; ".join(told[:LOOKED_AT]) + (f"; and {len(told) - LOOKED_AT} more" if len(told) > LOOKED_AT else "")
        if self._stand(lines):
            words = (
                f"house store: failed at the end of a write, which was made all the same: {named}; do not repeat it."
            )
            return HouseUnavailable(words, inside, "written", writes)
        words = f"house store: failed at the end of a write; whether it was made is not known: look at {named}."
        return HouseUnavailable(words, inside, "not known", writes)

    def _stand(self, lines: list[dict[str, Any]]) -> bool:
        """Whether the log of writes holds exactly these lines; False if it cannot be read."""
        columns = HouseWrite.__table__.c
        try:
            with self._engines[False].connect() as connection:
                found = (
                    connection.scalar(
                        select(func.count()).where(*(columns[name] == held for name, held in line.items()))
                    )
                    for line in lines
                )
                return bool(lines) and all(found)
        except SQLAlchemyError:
            return False

    def _require_newest(self, connection: Connection) -> None:
        # One statement, since this runs for every write; Alembic's own way looks at all tables first.
        try:
            stands = connection.scalar(text("SELECT version_num FROM alembic_version"))
        except (OperationalError, ProgrammingError) as error:
            if "alembic_version" not in str(error.orig):
                raise
            stands = None
        if stands != self._head:
            raise HouseUnavailable(
                f"house store: {'is not made yet' if stands is None else 'is not up to date'}; run `refdb db upgrade`.",
                house.shown(self.url),
            )

    def add(self, entry: Mapping[str, Any], by: Writer) -> Version:
        """Add a value as a draft."""
        return self.add_all([entry], by)[0]

    def add_all(self, entries: Sequence[Mapping[str, Any]], by: Writer) -> list[Version]:
        """Add several values as drafts, all or none."""
        with self.opened(writing=True) as connection:
            return [_added(connection, entry, by) for entry in entries]

    def change(self, value: str, seen: int, entry: Mapping[str, Any], by: Writer, reason: str | None) -> Version:
        """Add a draft on top of the version that was seen; a reviewed version below it stays in force.

        Raises:
            UnknownName, Changed: there is no such value, or another version is the current one.
            Conflict: the value is withdrawn, or the entry is about something else.
        """

        def following(versions: list[Version]) -> tuple[Status, str]:
            _refuse_withdrawn(versions[-1])
            if (entry["subject"], entry["property"]) != (versions[-1].subject, versions[-1].property_id):
                raise Conflict(
                    f"subject: this house value is {versions[-1].property_id} of {versions[-1].subject}; for anything "
                    "else enter a new one."
                )
            return "draft", _body(entry)

        return self._append(value, seen, "change", by, reason, following)

    def review(self, value: str, seen: int, by: Writer, reason: str | None, check: Check) -> Version:
        """Put the draft that was seen into force.

        Raises:
            UnknownName, Changed: there is no such value, or another version is the current one.
            Conflict: it is no draft, or another reviewed value is in its way.
            NotAllowed: the reviewer entered it, or a part of it.
        """

        def following(versions: list[Version]) -> tuple[Status, str]:
            current = versions[-1]
            if current.status != "draft":
                raise Conflict(f"status: this house value is {current.status}; only a draft can be reviewed.")
            for version in _drafts(versions):
                if Writer(version.entered_by).same == by.same:
                    raise NotAllowed(
                        f"review: {by.person} entered version {version.version} of it; another person must review."
                    )
            return "reviewed", current.body

        return self._append(value, seen, "review", by, reason, following, check)

    def withdraw(self, value: str, seen: int, by: Writer, reason: str, *, drafts_only: bool = False) -> Version:
        """Take a value out of force, for good.

        Args:
            drafts_only: refuse where a reviewed version is in force.

        Raises:
            UnknownName, Changed: there is no such value, or another version is the current one.
            Conflict: it is withdrawn already.
            NotAllowed: it was reviewed, and `drafts_only` is asked for.
        """

        def following(versions: list[Version]) -> tuple[Status, str]:
            _refuse_withdrawn(versions[-1])
            if drafts_only and any(version.status == "reviewed" for version in versions):
                raise NotAllowed("withdraw: it has been reviewed; a reviewer must withdraw it.")
            return "withdrawn", versions[-1].body

        return self._append(value, seen, "withdraw", by, reason, following)

    def current(self, value: str) -> Version:
        """The current version of a value.

        Raises:
            UnknownName: there is no such value.
        """
        return self.history(value)[-1]

    def history(self, value: str) -> list[Version]:
        """Every version of a value, oldest first.

        Raises:
            UnknownName: there is no such value.
        """
        with self.opened(writing=False) as connection:
            return _history(connection, value)

    def values(self, subject: str | None = None, property_id: str | None = None) -> list[Version]:
        """The current version of every value, in the order in which they were first entered."""
        with self.opened(writing=False) as connection:
            return [versions[-1] for versions in _histories(connection, _about(subject, property_id))]

    def in_force(self, subject: str | None = None, property_id: str | None = None) -> list[Standing]:
        """The reviewed versions in force: the last one of each value that is not withdrawn."""
        with self.opened(writing=False) as connection:
            return _in_force(connection, subject, property_id)

    def writes(self, target: str | None = None) -> list[HouseWriteDocument]:
        """The log of writes, oldest first."""
        asked = select(HouseWrite.__table__).order_by(HouseWrite.number)
        with self.opened(writing=False) as connection:
            rows = connection.execute(asked if target is None else asked.where(HouseWrite.target == target))
            return [
                {
                    "number": row["number"],
                    "at": row["at"],
                    "person": row["person"],
                    "key": row["key"],
                    "action": row["action"],
                    "target": row["target"],
                    "version": row["version"],
                }
                for row in rows.mappings()
            ]

    def verify(self) -> list[str]:
        """The faults of all histories, one line each: missing versions, and digests that do not fit what is stored."""
        with self.opened(writing=False) as connection:
            found = [line for versions in _histories(connection, _about(None, None)) for line in _faults(versions)]
            counted = connection.scalar(select(func.count()).select_from(HouseValue)) or 0
            held = connection.scalar(select(func.count(func.distinct(HouseValueVersion.house_value)))) or 0
        return found if counted == held else [*found, f"{counted - held} value(s) have no version"]

    def _append(
        self,
        value: str,
        seen: int,
        action: str,
        by: Writer,
        reason: str | None,
        following: Callable[[list[Version]], tuple[Status, str]],
        check: Check | None = None,
    ) -> Version:
        with self.opened(writing=True) as connection:
            # Raising the version first locks the row: a second writer waits here and then finds another version.
            risen = connection.execute(
                update(HouseValue).where(HouseValue.id == value, HouseValue.version == seen).values(version=seen + 1)
            )
            versions = _history(connection, value)
            current = versions[-1]
            if risen.rowcount != 1:
                raise Changed(
                    f"version: {value} stands at version {current.version}, {current.status}, not {seen}; read it "
                    "again, and change what stands now.",
                    parameter="version",
                    given=str(seen),
                )
            status, body = following(versions)
            made = Version(
                value, current.subject, current.property_id, seen + 1, status, by.person, now(), body, None, reason
            )
            if check is not None:
                _one_review_at_a_time(connection, made)
                standing = [one.version for one in _in_force(connection, made.subject, made.property_id)]
                check(made, [version for version in standing if version.id != value])
            return _write(connection, made, current.digest, action, by)


def now() -> str:
    """The present moment in UTC, to the millisecond."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def log(connection: Connection, by: Writer, action: str, target: str, version: int | None = None) -> None:
    """Add a line to the log of writes; the connection keeps it in case its commit is lost."""
    line = {
        "at": now(), "person": by.person, "key": by.key, "action": action, "target": target, "version": version,
    }  # fmt: skip
    connection.execute(insert(HouseWrite).values(**line))
    connection.info.setdefault(LINES, []).append(line)


def _body(entry: Mapping[str, Any]) -> str:
    return json.dumps({"format": FORMAT, **entry}, ensure_ascii=False, sort_keys=True)


def _write(connection: Connection, made: Version, previous: str | None, action: str, by: Writer) -> Version:
    sealed = made.sealed(previous)
    connection.execute(
        insert(HouseValueVersion).values(
            house_value=made.id,
            version=made.version,
            status=made.status,
            entered_by=made.entered_by,
            entered_at=made.entered_at,
            body=made.body,
            digest=sealed,
            reason=made.reason,
        )
    )
    log(connection, by, action, made.id, made.version)
    return replace(made, digest=sealed)


def _added(connection: Connection, entry: Mapping[str, Any], by: Writer) -> Version:
    subject, property_id = entry["subject"], entry["property"]
    made = Version(str(uuid.uuid4()), subject, property_id, 1, "draft", by.person, now(), _body(entry), None, None)
    connection.execute(
        insert(HouseValue).values(
            id=made.id, subject=subject, property=property_id, created_at=made.entered_at, version=1
        )
    )
    return _write(connection, made, None, "add", by)


def _one_review_at_a_time(connection: Connection, made: Version) -> None:
    """Prevent that two conflicting values are reviewed at once; on SQLite there is only one writer anyway."""
    if connection.dialect.name == "postgresql":
        about = f"{made.subject}.{made.property_id}"
        connection.execute(text("SELECT pg_advisory_xact_lock(hashtext(:about))"), {"about": about})


def _refuse_withdrawn(current: Version) -> None:
    if current.status == "withdrawn":
        raise Conflict("status: this house value is withdrawn, for good; enter a new one.")


def _about(subject: str | None, property_id: str | None) -> Any:
    asked: Any = (
        select(
            HouseValue.id, HouseValue.subject, HouseValue.property.label("property_id"),
            HouseValueVersion.version, HouseValueVersion.status, HouseValueVersion.entered_by,
            HouseValueVersion.entered_at, HouseValueVersion.body, HouseValueVersion.digest, HouseValueVersion.reason,
        )
        .join(HouseValueVersion, HouseValueVersion.house_value == HouseValue.id)
        .order_by(HouseValue.created_at, HouseValue.id, HouseValueVersion.version)
    )  # fmt: skip
    if subject is not None:
        asked = asked.where(HouseValue.subject == subject)
    return asked if property_id is None else asked.where(HouseValue.property == property_id)


def _histories(connection: Connection, asked: Any) -> Iterator[list[Version]]:
    versions: list[Version] = []
    for row in connection.execute(asked):
        if versions and versions[-1].id != row.id:
            yield versions
            versions = []
        versions.append(Version(**row._mapping))
    if versions:
        yield versions


def _history(connection: Connection, value: str) -> list[Version]:
    versions = next(_histories(connection, _about(None, None).where(HouseValue.id == value)), None)
    if versions is None:
        raise UnknownName(
            f"id: there is no house value '{value[:40]}'; list them with `refdb house list`.",
            parameter="id",
            given=value[:40],
        )
    return versions


def _in_force(connection: Connection, subject: str | None, property_id: str | None) -> list[Standing]:
    standing = []
    for versions in _histories(connection, _about(subject, property_id)):
        reviewed = [at for at, version in enumerate(versions) if version.status == "reviewed"]
        if reviewed and versions[-1].status != "withdrawn":
            authors = [version.entered_by for version in _drafts(versions[: reviewed[-1]])]
            standing.append(Standing(versions[reviewed[-1]], tuple(dict.fromkeys(reversed(authors)))))
    return standing


def _drafts(versions: list[Version]) -> Iterator[Version]:
    """The drafts at the end of a history, last first, which a review puts into force."""
    return takewhile(lambda version: version.status == "draft", reversed(versions))


def _faults(versions: list[Version]) -> Iterator[str]:
    previous: str | None = None
    for number, version in enumerate(versions, start=1):
        place = f"house value {version.id}, version {version.version}"
        if version.version != number:
            yield f"{place}: version {number} is missing"
            return
        if version.digest is not None and version.digest != version.sealed(previous):
            yield f"{place}: does not fit its digest {version.digest}"
        previous = version.digest


def require_sound(store: HouseStore) -> None:
    """Check that every history of a store fits its digests.

    Raises:
        IntegrityError: something does not fit; the sentence names the first fault.
    """
    faults = store.verify()
    if faults:
        raise IntegrityError(f"house store: {faults[0]} ({len(faults)} finding(s)); restore a back-up.")
