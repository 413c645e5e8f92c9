"""All that a compiled store holds, as text again: numbers replaced by their words, blocks unpacked."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from types import NoneType
from typing import Any, NamedTuple, TypeVar, get_type_hints

from refdb.records.blocks import unpack
from refdb.records.manifests import ReleaseLine

Line = TypeVar("Line", bound=tuple[Any, ...])


class Row(NamedTuple):
    """A version of a row. `body` is None where the block that holds it is damaged."""

    row: str
    digest: str
    since: int
    until: int | None
    kind: str
    subject: str | None
    property: str | None
    source: str | None
    body: str | None


class NameEntry(NamedTuple):
    """An entry of the index of names."""

    normal: str
    text: str
    designation_kind: str
    target_kind: str
    target: str
    since: int
    until: int | None


class LinkEntry(NamedTuple):
    """A link: the version with a digest rests on a row."""

    digest: str
    rests_on: str
    role: str


class Ordinal(NamedTuple):
    """The number of a release, by which rows, names and signatures name it."""

    ordinal: int


class HeaderEntry(NamedTuple):
    """The text of a release's `release.toml` as its table holds it."""

    ordinal: int
    header: str | None


class Signed(NamedTuple):
    """A signature as its table holds it; `release` is an ordinal."""

    release: int
    public_key: str
    signature: str


class CorrectionEntry(NamedTuple):
    """What a release corrects, as its table holds it; `release` and `corrected` are ordinals."""

    release: int
    number: int
    corrected: int
    what: str


class EarlierCutEntry(NamedTuple):
    """The digest of an earlier cut and the digest over its rows, as its table holds them."""

    digest: str
    rows_digest: str


class EarlierCutRowEntry(NamedTuple):
    """A row of an earlier cut as its table holds it."""

    cut: str
    row: str
    digest: str


COLUMNS = ("kind", "subject", "property", "source")
"""What of a record its row version repeats for searching."""

ROW_VERSION = {
    "number": int,
    "row": int,
    "since": int,
    "until": (int, NoneType),
    "kind": int,
    "subject": (int, NoneType),
    "property": (int, NoneType),
    "source": (int, NoneType),
    "digest": bytes,
    "block": int,
    "start": int,
    "length": int,
}
NAME = {
    "normal": bytes,
    "text": bytes,
    "designation_kind": int,
    "target_kind": int,
    "target": int,
    "since": int,
    "until": (int, NoneType),
}


def typed_columns(record: Mapping[str, Any]) -> dict[str, Any]:
    """The columns that repeat a part of the record for searching."""
    return {key: record.get(key) for key in COLUMNS}


class StoredTables:
    """All of an open store, each table read once; `ordinals` are those of `releases`.

    The connection gives text as bytes (`text_factory`): text may be damaged, and is told as far as it can be read.

    Raises:
        sqlite3.DatabaseError: the store cannot be read, or holds what no build writes.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        words = _read(connection, "word", {"number": int, "text": bytes})
        self._words = {number: _text(word) for number, word in words}
        versions = list(_read(connection, "row_version", ROW_VERSION, "since, row"))
        blocks = dict(_read(connection, "block", {"number": int, "packed": bytes}))
        self.rows = list(self._rows(versions, blocks))
        self.names = [
            NameEntry(_text(normal), _text(text), self._word(what), self._word(kind), self._word(target), since, until)
            for normal, text, what, kind, target, since, until in _read(connection, "name", NAME, "number")
        ]
        digests = {number: _digest(digest) for number, *_, digest, _, _, _ in versions}
        self.links = [
            LinkEntry(digests.get(version, f"version {version}"), self._word(on), self._word(role))
            for on, version, role in _read(connection, "link", {"rests_on": int, "version": int, "role": int})
        ]

        self.ordinals = [row.ordinal for row in _plain(connection, Ordinal, "release", "ordinal")]
        self.releases = list(_plain(connection, ReleaseLine, "release", "ordinal"))
        self.headers = [entry.header for entry in _plain(connection, HeaderEntry, "release", "ordinal")]
        self.signatures = list(_plain(connection, Signed, "signature", "release, public_key"))
        self.corrections = list(_plain(connection, CorrectionEntry, "release_correction", "release, number"))
        self.earlier_cuts = list(_plain(connection, EarlierCutEntry, "earlier_cut", "digest"))
        self.earlier_cut_rows = list(_plain(connection, EarlierCutRowEntry, "earlier_cut_row", "cut, row, digest"))

    def _rows(self, versions: list[Any], blocks: dict[int, bytes]) -> Iterator[Row]:
        unpacked = {number: _unpacked(packed) for number, packed in blocks.items()}
        for _, row, since, until, kind, subject, prop, source, digest, block, start, length in versions:
            lying = unpacked.get(block)
            yield Row(
                row=self._word(row),
                digest=_digest(digest),
                since=since,
                until=until,
                kind=self._word(kind),
                subject=self._word_or_none(subject),
                property=self._word_or_none(prop),
                source=self._word_or_none(source),
                body=None if lying is None else _text(lying[start : start + length]),
            )

    def _word(self, number: int) -> str:
        return self._words.get(number, f"word {number}")

    def _word_or_none(self, number: int | None) -> str | None:
        return None if number is None else self._word(number)


def _read(
    connection: sqlite3.Connection, table: str, columns: dict[str, Any], order: str = "1"
) -> Iterator[tuple[Any, ...]]:
    names = ", ".join(f'"{column}"' for column in columns)
    for cells in connection.execute(f'SELECT {names} FROM "{table}" ORDER BY {order}'):  # noqa: S608 - constants only
        for (column, kind), cell in zip(columns.items(), cells, strict=True):
            if not isinstance(cell, kind):
                raise sqlite3.DataError(f"the column {column} of the table {table} holds {cell!r}")
        yield cells


def _plain(connection: sqlite3.Connection, kind: type[Line], table: str, order: str) -> Iterator[Line]:
    """The rows of a table that is kept as it is read."""
    hints = get_type_hints(kind)
    for row in connection.execute(f'SELECT {", ".join(hints)} FROM "{table}" ORDER BY {order}'):  # noqa: S608 - constants only
        cells = [_text(cell) if isinstance(cell, bytes) else cell for cell in row]
        for (column, hint), cell in zip(hints.items(), cells, strict=True):
            if not isinstance(cell, hint):
                raise sqlite3.DataError(f"the column {column} of the table {table} holds {cell!r}")
        yield kind(*cells)


def _text(cell: bytes) -> str:
    return cell.decode("utf-8", errors="replace")


def _digest(cell: bytes) -> str:
    return f"sha256:{cell.hex()}"


def _unpacked(packed: bytes) -> bytes | None:
    try:
        return unpack(packed)
    except ValueError:
        return None
