"""The release store as it is read: one SQLite file, every record kept once it has been asked for."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from refdb.problems import BadParameter, UnknownName

T = TypeVar("T")
_VALID = "since <= ?1 AND (until IS NULL OR until > ?1)"


@dataclass(frozen=True, slots=True)
class ReleaseInfo:
    """One release: its label, date, digest and size."""

    ordinal: int
    label: str
    cut_on: str
    digest: str
    rows: int
    note: str

    def document(self) -> dict[str, Any]:
        """The release as plain JSON values."""
        return {
            "label": self.label,
            "cut_on": self.cut_on,
            "digest": self.digest,
            "rows": self.rows,
            "note": self.note,
        }


@dataclass(frozen=True, slots=True)
class StoredRecord:
    """A version of a record as it stands in a release."""

    id: str
    digest: str
    since: int
    until: int | None
    body: dict[str, Any]


@dataclass(frozen=True, slots=True)
class StoredName:
    """A name and what it leads to."""

    normal: str
    text: str
    designation_kind: str
    target_kind: str
    target: str


class ReleaseStore:
    """All releases of one compiled file, read-only."""

    def __init__(self, path: Path) -> None:
        # The file is ours and never written while it has this name, so SQLite need not look for locks or journals.
        self._connection = sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True, check_same_thread=False)
        self.path = path
        self.releases = [
            ReleaseInfo(*row)
            for row in self._connection.execute(
                'SELECT ordinal, label, cut_on, digest, rows, note FROM "release" ORDER BY ordinal'
            )
        ]
        # What is not there is not remembered: anybody can ask for any number of names that lead nowhere.
        self._records: dict[tuple[str, int], StoredRecord] = {}
        self._of_kind: dict[tuple[str, int], list[StoredRecord]] = {}
        self._of_system: dict[tuple[str, int], dict[str, list[StoredRecord]]] = {}
        self._names: dict[int, list[StoredName]] = {}
        self._made: dict[tuple[str, int], Any] = {}

    def release(self, label: str | None = None, as_of: str | None = None) -> ReleaseInfo:
        """The release asked for: by label, by date, or the newest.

        Args:
            label: a release label such as `2026r1`.
            as_of: a UTC date; the newest release cut on or before it.

        Raises:
            UnknownName: there is no such release.
            BadParameter: both were given.
        """
        if label is not None and as_of is not None:
            raise BadParameter("release: give release or as_of, not both.", parameter="as_of", given=as_of)
        if not self.releases:
            raise UnknownName("release: the store holds no release yet; cut one with `refdb release cut LABEL`.")
        if label is not None:
            return self._labelled(label)
        if as_of is not None:
            return self._dated(as_of)
        return self.releases[-1]

    def once(self, what: str, release: ReleaseInfo, make: Callable[[], T]) -> T:
        """What `make` makes of a release, made the first time it is asked for: an index, an array."""
        key = (what, release.ordinal)
        if key not in self._made:
            self._made[key] = make()
        made: T = self._made[key]
        return made

    def record(self, row: str, release: ReleaseInfo) -> StoredRecord | None:
        """The version of a record in a release, or None."""
        key = (row, release.ordinal)
        found = self._records.get(key)
        if found is None:
            found = next(self._select(f"row = ?2 AND {_VALID}", (release.ordinal, row)), None)
            if found is not None:
                self._records[key] = found
        return found

    def of_kind(self, kind: str, release: ReleaseInfo) -> list[StoredRecord]:
        """Every record of a kind in a release, by id."""
        key = (kind, release.ordinal)
        if key not in self._of_kind:
            self._of_kind[key] = list(self._select(f"kind = ?2 AND {_VALID}", (release.ordinal, kind)))
        return self._of_kind[key]

    def of_system(self, kind: str, system: str, release: ReleaseInfo) -> list[StoredRecord]:
        """Every record of a kind that belongs to a pipe system, by id."""
        key = (kind, release.ordinal)
        if key not in self._of_system:
            grouped: dict[str, list[StoredRecord]] = {}
            for record in self.of_kind(kind, release):
                for name in record.body.get("systems") or [record.body["system"]]:
                    grouped.setdefault(name, []).append(record)
            self._of_system[key] = grouped
        return self._of_system[key].get(system, [])

    def all(self, release: ReleaseInfo) -> Iterator[StoredRecord]:
        """Every record of a release, by id."""
        return self._select(_VALID, (release.ordinal,))

    def about(self, kinds: tuple[str, ...], subject: str, release: ReleaseInfo) -> list[StoredRecord]:
        """The records of some kinds about one subject, by id."""
        marks = ", ".join(f"?{number}" for number in range(3, 3 + len(kinds)))
        where = f"subject = ?2 AND kind IN ({marks}) AND {_VALID}"
        return list(self._select(where, (release.ordinal, subject, *kinds)))

    def versions(self, row: str) -> list[StoredRecord]:
        """Every version of a record, oldest first, whatever the release."""
        return list(self._select("row = ?1", (row,), "since"))

    def resting_on(self, row: str, release: ReleaseInfo) -> list[tuple[str, str]]:
        """The rows of a release that rest on a row, each with the role it plays for them."""
        found = self._connection.execute(
            f"SELECT row, role FROM link JOIN row_version USING (digest) WHERE rests_on = ?2 AND {_VALID} "  # noqa: S608 - constants only
            "ORDER BY row, role",
            (release.ordinal, row),
        )
        return [(str(name), str(role)) for name, role in found]

    def named(self, normals: tuple[str, ...], release: ReleaseInfo) -> list[StoredName]:
        """What has exactly one of these normal names in a release."""
        marks = ", ".join(f"?{number}" for number in range(2, 2 + len(normals)))
        return list(self._select_names(f"normal IN ({marks}) AND {_VALID}", (release.ordinal, *normals)))

    def names(self, release: ReleaseInfo) -> list[StoredName]:
        """Every name of a release."""
        if release.ordinal not in self._names:
            self._names[release.ordinal] = list(self._select_names(_VALID, (release.ordinal,)))
        return self._names[release.ordinal]

    def _labelled(self, label: str) -> ReleaseInfo:
        for release in self.releases:
            if release.label == label:
                return release
        known = [release.label for release in self.releases]
        raise UnknownName(
            f"release: there is no release '{label}'; there are {', '.join(known)}.",
            parameter="release",
            given=label,
            candidates=known,
        )

    def _dated(self, as_of: str) -> ReleaseInfo:
        eligible = [release for release in self.releases if release.cut_on <= as_of]
        if not eligible:
            first = self.releases[0]
            raise UnknownName(
                f"as_of: no release was cut on or before {as_of}; the first is {first.label} of {first.cut_on}.",
                parameter="as_of",
                given=as_of,
                candidates=[first.label],
            )
        return eligible[-1]

    def _select(self, where: str, values: tuple[Any, ...], order: str = "row") -> Iterator[StoredRecord]:
        query = f"SELECT row, digest, since, until, body FROM row_version WHERE {where} ORDER BY {order}"  # noqa: S608 - constants only
        for row, digest, since, until, body in self._connection.execute(query, values):
            yield StoredRecord(row, digest, since, until, json.loads(body))

    def _select_names(self, where: str, values: tuple[Any, ...]) -> Iterator[StoredName]:
        query = f"SELECT normal, text, designation_kind, target_kind, target FROM name WHERE {where} ORDER BY number"  # noqa: S608 - constants only
        for row in self._connection.execute(query, values):
            yield StoredName(*row)
