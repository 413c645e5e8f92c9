"""What copies allow, and a release without a class of rights."""

from __future__ import annotations

import csv
import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pyarrow import parquet

from refdb.data import current
from refdb.database import Database
from refdb.evidence.documents import ExportDocument, RightsDocument
from refdb.evidence.rights import CLASSES, rights, without
from refdb.lookup import ReleaseStore
from refdb.problems import BadParameter
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import READINGS_HEADER, SECOND_READINGS, write_document
from tests.service import TestClient, create_app
from tests.shapes import require_shape

COPY = """
[[carrier]]
type = "package"
name = "tubes"
version = "1.0"
licence = "{licence}"
rights = "{rights}"
"""
PLASTIC = "invented-plastic.density.01,invented-plastic,density,1.2,,,g/cm3,20 degC,p. 1,,\n"


def _seen_in(text: Path, key: str, readings: str, *copies: tuple[str, str]) -> None:
    folder = write_document(text, key, READINGS_HEADER + readings, group="programs")
    blocks = "".join(COPY.format(licence=licence, rights=class_) for licence, class_ in copies)
    source = folder / "source.toml"
    source.write_text(source.read_text().replace("\n[defaults]", f"{blocks}\n[defaults]"))


@pytest.fixture
def released(invented_text: Path, tmp_path: Path) -> Database:
    """A speed seen in two copies, one of them under copyleft, and a density seen under copyleft alone."""
    _seen_in(invented_text, "both", SECOND_READINGS, ("GPL-3.0-only", "copyleft"), ("MIT", "permissive"))
    _seen_in(invented_text, "alone", PLASTIC, ("GPL-3.0-only", "copyleft"))
    cut_release(invented_text, "2026r1", "Invented.", datetime.date(2026, 1, 2))
    build(invented_text, tmp_path / "compiled")
    return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))


def _ids(database: Database, *classes: str) -> set[str]:
    return {record["id"] for record in without(database.store, database.release(), classes).records}


def test_documents_are_told_apart_by_the_rights_of_their_copies(released: Database) -> None:
    document = rights(released.store, released.release())
    require_shape(RightsDocument, document)
    keys = {one["rights"]: [told["key"] for told in one["documents"]] for one in document["classes"]}
    assert list(keys) == list(CLASSES)
    assert keys["copyleft"] == ["alone", "both"]
    assert keys["permissive"] == ["both"]
    assert keys["unknown"] == ["first-article"]


def test_without_a_class_goes_what_was_seen_in_nothing_else_and_all_that_rests_on_it(released: Database) -> None:
    gone = _ids(released) - _ids(released, "copyleft")
    assert gone == {"alone", "invented-plastic.density.01", "invented-plastic.density"}
    assert {"both", "invented-metal.longitudinal_speed.02"} <= _ids(released, "copyleft")


def test_without_several_classes_goes_what_was_seen_only_in_these(released: Database) -> None:
    gone = _ids(released) - _ids(released, "copyleft", "permissive")
    assert {"both", "alone", "invented-metal.longitudinal_speed.02", "invented-metal.longitudinal_speed"} <= gone


def test_a_class_that_is_none_is_refused(released: Database) -> None:
    with pytest.raises(BadParameter, match="without: 'gpl' is no class of rights; there are public-domain"):
        without(released.store, released.release(), ["gpl"])


def test_the_service_exports_with_the_same_words(released: Database) -> None:
    with TestClient(create_app(released)) as client:
        whole = client.get("/v1/releases/2026r1/export").json()
        require_shape(ExportDocument, whole)
        assert {record["id"] for record in whole["records"]} == _ids(released)
        part = client.get("/v1/releases/2026r1/export?without=copyleft").json()
        assert part["left_out"] == {"recommended": 1, "scalar": 1, "source": 1}
        assert client.get("/v1/releases/2026r1/export?without=gpl").status_code == 422
        assert client.get("/v1/rights").json() == rights(released.store, released.release())


@pytest.mark.parametrize("form", ["json", "csv", "parquet"])
def test_the_command_writes_every_record_into_a_new_file(
    command: Callable[..., Any], tmp_path: Path, form: str, database: Database
) -> None:
    file = tmp_path / f"release.{form}"
    printed = command("export", "--release", "2026r1", "--format", form, "--to", str(file))
    assert printed.code == 0
    records = {record.id: record.body for record in database.store.all(database.release("2026r1"))}
    assert {row["id"]: row for row in _read(file, form)} == records
    again = command("export", "--to", str(file))
    assert (again.code, again.err) == (2, f"refdb: to: {file} is there already; name another file.\n")


def _read(file: Path, form: str) -> list[dict[str, Any]]:
    if form == "json":
        records: list[dict[str, Any]] = json.loads(file.read_bytes())["records"]
        return records
    if form == "csv":
        with file.open(newline="") as stream:
            rows: list[dict[str, Any]] = list(csv.DictReader(stream))
    else:
        rows = parquet.read_table(file).to_pylist()
    return [{name: _held(cell) for name, cell in row.items() if cell not in {None, ""}} for row in rows]


def _held(cell: str) -> Any:
    return json.loads(cell) if cell[0] in "[{" or cell in {"true", "false"} else cell
