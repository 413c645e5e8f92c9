"""The release store as it is read: one SQLite file, every record kept once it has been asked for."""

from __future__ import annotations

import sqlite3
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import orjson

from refdb.data import WAY_OUT
from refdb.problems import BadParameter, IntegrityError, UnknownName
from refdb.records.blocks import unpack
from refdb.records.manifests import ReleaseLine, chain_faults, text_digest

if TYPE_CHECKING:
    from refdb.lookup.documents import EarlierCutDocument, ReleaseCorrectionDocument, ReleaseDocument


T = TypeVar("T")
HEADER_BYTES = 100
_VALID = "since <= ?1 AND (until IS NULL OR until > ?1)"
BLOCKS_KEPT = 32
"""Unpacked blocks that are kept, a megabyte: more than there are kinds of records."""


@dataclass(frozen=True, slots=True)
class CorrectionInfo:
    """What was wrong with a release, seen from one of the two: `release` is the other one's label."""

    release: str
    what: str

    def document(self) -> ReleaseCorrectionDocument:
        """The correction as plain JSON values."""
        return {"release": self.release, "what": self.what}


@dataclass(frozen=True, slots=True)
class EarlierCutInfo:
    """A list of rows that bore a release's label before it: its digest, its dates, and why it was cut again."""

    digest: str
    cut_on: str
    superseded_on: str
    why: str

    def document(self) -> EarlierCutDocument:
        """The cut as plain JSON values."""
        return {
            "digest": self.digest,
            "cut_on": self.cut_on,
            "superseded_on": self.superseded_on,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class ReleaseInfo:
    """One release: its label, date, digest and size; what it corrects, what corrects it, what bore its label before."""

    ordinal: int
    label: str
    cut_on: str
    digest: str
    rows: int
    note: str
    corrects: tuple[CorrectionInfo, ...] = ()
    corrected_by: tuple[CorrectionInfo, ...] = ()
    earlier_cuts: tuple[EarlierCutInfo, ...] = ()

    def document(self) -> ReleaseDocument:
        """The release as plain JSON values."""
        return {
            "label": self.label,
            "cut_on": self.cut_on,
            "digest": self.digest,
            "rows": self.rows,
            "note": self.note,
            "corrects": [one.document() for one in self.corrects],
            "corrected_by": [one.document() for one in self.corrected_by],
            "earlier_cuts": [one.document() for one in self.earlier_cuts],
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
    """All releases of one compiled file, read-only.

    Opening checks the size of the file and the manifests of its releases (`refdb.data` says what that guards against).

    Attributes:
        manifest: the digest of the newest release's manifest, which covers all of them; None without releases.

    Raises:
        IntegrityError: the file is cut short or no store, or its releases do not fit their manifests.
    """

    def __init__(self, path: Path) -> None:
        _check_size(path)
        # The file is ours and never written while it has this name, so SQLite need not look for locks or journals.
        self._connection = sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True, check_same_thread=False)
        self.path = path
        try:
            self.releases = list(self._read_releases())
            self.manifest = self._checked_manifest()
        except sqlite3.DatabaseError as error:
            raise IntegrityError(f"The release store {path} cannot be read: {error}; {WAY_OUT}.") from error
        # What is not there is not remembered: anybody can ask for any number of names that lead nowhere.
        self._records: dict[tuple[str, int], StoredRecord] = {}
        self._of_kind: dict[tuple[str, int], list[StoredRecord]] = {}
        self._of_system: dict[tuple[str, int], dict[str, list[StoredRecord]]] = {}
        self._names: dict[int, list[StoredName]] = {}
        self._made: dict[tuple[str, int], Any] = {}
        self._block = lru_cache(maxsize=BLOCKS_KEPT)(partial(_unpacked_block, self._connection, path))

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
            found = next(self._select(f"row = {_word(2)} AND {_VALID}", (release.ordinal, row)), None)
            if found is not None:
                self._records[key] = found
        return found

    def of_kind(self, kind: str, release: ReleaseInfo) -> list[StoredRecord]:
        """Every record of a kind in a release, by id."""
        key = (kind, release.ordinal)
        if key not in self._of_kind:
            self._of_kind[key] = list(self._select(f"kind = {_word(2)} AND {_VALID}", (release.ordinal, kind)))
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
        words = ", ".join(_word(number) for number in range(3, 3 + len(kinds)))
        where = f"subject = {_word(2)} AND kind IN ({words}) AND {_VALID}"
        return list(self._select(where, (release.ordinal, subject, *kinds)))

    def versions(self, row: str) -> list[StoredRecord]:
        """Every version of a record, oldest first, whatever the release."""
        return list(self._select(f"row = {_word(1)}", (row,), "since"))

    def resting_on(self, row: str, release: ReleaseInfo) -> list[tuple[str, str]]:
        """The rows of a release that rest on a row, each with the role it plays for them."""
        found = self._connection.execute(
            "SELECT resting.text, playing.text FROM link JOIN row_version ON row_version.number = version "  # noqa: S608 - constants only
            "JOIN word AS resting ON resting.number = row JOIN word AS playing ON playing.number = role "
            f"WHERE rests_on = {_word(2)} AND {_VALID} ORDER BY row, role",
            (release.ordinal, row),
        )
        return [(str(name), str(role)) for name, role in found]

    def earlier_cuts(self, row: str, digest: str, release: ReleaseInfo) -> list[EarlierCutInfo]:
        """The earlier cuts under a release's label that held a version of a row which the release does not hold."""
        found = self._connection.execute("SELECT cut FROM earlier_cut_row WHERE row = ? AND digest = ?", (row, digest))
        cuts = {cut for (cut,) in found}
        return [cut for cut in release.earlier_cuts if cut.digest in cuts]

    def named(self, normals: tuple[str, ...], release: ReleaseInfo) -> list[StoredName]:
        """What has exactly one of these normal names in a release."""
        marks = ", ".join(f"?{number}" for number in range(2, 2 + len(normals)))
        return list(self._select_names(f"normal IN ({marks}) AND {_VALID}", (release.ordinal, *normals)))

    def names(self, release: ReleaseInfo) -> list[StoredName]:
        """Every name of a release."""
        if release.ordinal not in self._names:
            self._names[release.ordinal] = list(self._select_names(_VALID, (release.ordinal,)))
        return self._names[release.ordinal]

    def count_names(self, release: ReleaseInfo) -> int:
        """How many names a release has."""
        ((count,),) = self._connection.execute(f"SELECT count(*) FROM name WHERE {_VALID}", (release.ordinal,))  # noqa: S608 - constants only
        return int(count)

    def made_with(self, release: ReleaseInfo) -> dict[str, str]:
        """The programs, rules and policies that a release was made with, by name; nothing where it does not say."""
        ((header,),) = self._connection.execute('SELECT header FROM "release" WHERE ordinal = ?', (release.ordinal,))
        told: dict[str, str] = tomllib.loads(header or "").get("made_with", {})
        return told

    def _read_releases(self) -> Iterator[ReleaseInfo]:
        corrections = self._connection.execute(
            "SELECT release, corrected, what FROM release_correction ORDER BY release, number"
        ).fetchall()
        cuts = self._connection.execute(
            "SELECT release, digest, cut_on, superseded_on, why FROM earlier_cut ORDER BY superseded_on, digest"
        ).fetchall()
        releases = [
            ReleaseInfo(*row)
            for row in self._connection.execute(
                'SELECT ordinal, label, cut_on, digest, rows, note FROM "release" ORDER BY ordinal'
            )
        ]
        labels = {release.ordinal: release.label for release in releases}
        for release in releases:
            own = release.ordinal
            yield replace(
                release,
                corrects=tuple(CorrectionInfo(labels[of], what) for by, of, what in corrections if by == own),
                corrected_by=tuple(CorrectionInfo(labels[by], what) for by, of, what in corrections if of == own),
                earlier_cuts=tuple(EarlierCutInfo(*cut) for of, *cut in cuts if of == own),
            )

    def _checked_manifest(self) -> str | None:
        select = 'SELECT label, cut_on, digest, rows, note, manifest FROM "release" ORDER BY ordinal'
        lines = [ReleaseLine(*row) for row in self._connection.execute(select)]
        for fault in chain_faults(lines):
            raise IntegrityError(f"The release store {self.path} does not fit its manifests: {fault}; {WAY_OUT}.")
        return text_digest(lines[-1].manifest or "") if lines else None

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
        query = (
            "SELECT text, digest, since, until, block, start, length FROM row_version "  # noqa: S608 - constants only
            f"JOIN word ON word.number = row WHERE {where} ORDER BY {order}"
        )
        for row, digest, since, until, block, start, length in self._connection.execute(query, values):
            body = orjson.loads(self._block(block)[start : start + length])
            yield StoredRecord(row, f"sha256:{digest.hex()}", since, until, body)

    def _select_names(self, where: str, values: tuple[Any, ...]) -> Iterator[StoredName]:
        query = (
            "SELECT normal, name.text, designation.text, kind.text, word.text FROM name "  # noqa: S608 - constants only
            "JOIN word AS designation ON designation.number = designation_kind "
            "JOIN word AS kind ON kind.number = target_kind JOIN word ON word.number = target "
            f"WHERE {where} ORDER BY name.number"
        )
        for row in self._connection.execute(query, values):
            yield StoredName(*row)


def _unpacked_block(connection: sqlite3.Connection, path: Path, number: int) -> bytes:
    (packed,) = connection.execute("SELECT packed FROM block WHERE number = ?", (number,)).fetchone()
    try:
        return unpack(packed)
    except ValueError as error:
        raise IntegrityError(
            f"The release store {path} is damaged ({error}); `refdb verify` tells what is, and installing the package "
            "again puts it right."
        ) from error


def _word(parameter: int) -> str:
    """The number of the word that a parameter of a query gives, as SQL."""
    return f"(SELECT number FROM word WHERE text = ?{parameter})"  # noqa: S608 - a number


def _check_size(path: Path) -> None:
    """Hold the size of the file against what its header says, https://www.sqlite.org/fileformat.html, section 1.3.

    A file that was copied in part is told so before SQLite reads into what is not there.
    """
    with path.open("rb") as stream:
        header = stream.read(HEADER_BYTES)
    page, pages = int.from_bytes(header[16:18]), int.from_bytes(header[28:32])
    size = path.stat().st_size
    if size != page * pages or not size:
        raise IntegrityError(
            f"The release store {path} has {size} bytes, where its header says {page * pages}; {WAY_OUT}."
        )
