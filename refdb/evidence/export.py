"""A release as files for other tools."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import orjson

from refdb.evidence.rights import Kept, without
from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.problems import BadParameter

if TYPE_CHECKING:
    from refdb.documents import RightsClass
    from refdb.evidence.documents import ExportDocument

FORMATS = ("json", "csv", "parquet")
FIRST = ("id", "kind")


def export_document(store: ReleaseStore, release: ReleaseInfo, classes: Collection[str] = ()) -> ExportDocument:
    """Every record of a release that does without these classes of rights.

    Raises:
        BadParameter: there is no such class.
    """
    return _document(release, without(store, release, classes), classes)


def export(store: ReleaseStore, release: ReleaseInfo, form: str, to: Path, classes: Collection[str] = ()) -> Kept:
    """Write a release to a file: `json` whole, `csv` and `parquet` with a column for each field of a record.

    Fields that are themselves objects or lists stand in their columns as JSON.

    Raises:
        BadParameter: there is no such class of rights, or the file exists or cannot be written.
    """
    kept = without(store, release, classes)
    if to.exists():
        raise BadParameter(f"to: {to} is there already; name another file.", parameter="to", given=str(to))
    try:
        if form == "json":
            to.write_bytes(orjson.dumps(_document(release, kept, classes), option=orjson.OPT_INDENT_2))
        elif form == "csv":
            _write_csv(kept, to)
        else:
            _write_parquet(kept, to)
    except OSError as error:
        raise BadParameter(f"to: {to} cannot be written: {error.strerror}.", parameter="to", given=str(to)) from error
    return kept


def _document(release: ReleaseInfo, kept: Kept, classes: Collection[str]) -> ExportDocument:
    return {
        "release": release.label,
        "digest": release.digest,
        "without": [cast("RightsClass", name) for name in classes],
        "left_out": kept.left_out,
        "records": [dict(record) for record in kept.records],
    }


def _columns(kept: Kept) -> list[str]:
    return [*FIRST, *sorted({name for record in kept.records for name in record} - set(FIRST))]


def _cells(record: Mapping[str, Any], columns: list[str]) -> Iterator[str | None]:
    for name in columns:
        held = record.get(name)
        yield (
            held if held is None or isinstance(held, str) else orjson.dumps(held, option=orjson.OPT_SORT_KEYS).decode()
        )


def _write_csv(kept: Kept, to: Path) -> None:
    columns = _columns(kept)
    with to.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(_cells(record, columns) for record in kept.records)


def _write_parquet(kept: Kept, to: Path) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    columns = _columns(kept)
    rows = [dict(zip(columns, _cells(record, columns), strict=True)) for record in kept.records]
    parquet.write_table(pa.Table.from_pylist(rows, pa.schema([(name, pa.string()) for name in columns])), to)
