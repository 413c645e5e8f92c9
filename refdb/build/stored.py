"""All that a compiled store holds, read as it lies there, to be verified."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeVar, get_type_hints

from refdb.records.manifests import ReleaseLine

Line = TypeVar("Line", bound=tuple[Any, ...])


class Row(NamedTuple):
    """A version of a row as its table holds it."""

    row: str
    digest: str
    since: int
    until: int | None
    kind: str
    subject: str | None
    property: str | None
    source: str | None
    body: str


class Name(NamedTuple):
    """An entry of the index of names as its table holds it."""

    normal: str
    text: str
    designation_kind: str
    target_kind: str
    target: str
    since: int
    until: int | None


class Link(NamedTuple):
    """A link as its table holds it."""

    digest: str
    rests_on: str
    role: str


class Ordinal(NamedTuple):
    """The number of a release, by which rows, names and signatures name it."""

    ordinal: int


class Signed(NamedTuple):
    """A signature as its table holds it; `release` is an ordinal."""

    release: int
    public_key: str
    signature: str


class Correction(NamedTuple):
    """What a release corrects, as its table holds it; `release` and `corrected` are ordinals."""

    release: int
    number: int
    corrected: int
    what: str


class EarlierCut(NamedTuple):
    """The digest of an earlier cut and the digest over its rows, as its table holds them."""

    digest: str
    rows_digest: str


class EarlierCutRow(NamedTuple):
    """A row of an earlier cut as its table holds it."""

    cut: str
    row: str
    digest: str


@dataclass(frozen=True)
class Tables:
    """All of a store, read once; `ordinals` are those of `releases`."""

    rows: list[Row]
    names: list[Name]
    links: list[Link]
    ordinals: list[int]
    releases: list[ReleaseLine]
    signatures: list[Signed]
    corrections: list[Correction]
    earlier_cuts: list[EarlierCut]
    earlier_cut_rows: list[EarlierCutRow]

    @classmethod
    def of(cls, connection: sqlite3.Connection) -> Tables:
        """What an open store holds.

        Raises:
            sqlite3.DatabaseError: it cannot be read, or holds what no build writes.
        """
        return cls(
            rows=list(_read(connection, Row, "row_version", "since, row")),
            names=list(_read(connection, Name, "name", "number")),
            links=list(_read(connection, Link, "link", "digest, rests_on, role")),
            ordinals=[row.ordinal for row in _read(connection, Ordinal, "release", "ordinal")],
            releases=list(_read(connection, ReleaseLine, "release", "ordinal")),
            signatures=list(_read(connection, Signed, "signature", "release, public_key")),
            corrections=list(_read(connection, Correction, "release_correction", "release, number")),
            earlier_cuts=list(_read(connection, EarlierCut, "earlier_cut", "digest")),
            earlier_cut_rows=list(_read(connection, EarlierCutRow, "earlier_cut_row", "cut, row, digest")),
        )


def _read(connection: sqlite3.Connection, kind: type[Line], table: str, order: str) -> Iterator[Line]:
    hints = get_type_hints(kind)
    for row in connection.execute(f'SELECT {", ".join(hints)} FROM "{table}" ORDER BY {order}'):  # noqa: S608 - constants only
        cells = [cell.decode("utf-8", errors="replace") if isinstance(cell, bytes) else cell for cell in row]
        for (column, hint), cell in zip(hints.items(), cells, strict=True):
            if not isinstance(cell, hint):
                raise sqlite3.DataError(f"the column {column} of the table {table} holds {cell!r}")
        yield kind(*cells)
