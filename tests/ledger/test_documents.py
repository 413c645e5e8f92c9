"""The real ledger: every file of it, and a fresh derivation that keeps every promise of the record format."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from refdb.ledger.columns import TABLES
from refdb.ledger.files import read_csv, read_toml
from refdb.ledger.findings import Findings
from refdb.ledger.load import DESIGNATION_COLUMNS, GRID_COLUMNS, TERM_COLUMNS
from refdb.records import digest
from refdb.records.models import READING_KINDS, RECOMMENDED_KINDS, RECORD
from refdb.release.vocabulary import compile_vocabulary
from tests.conftest import PROJECT
from tests.rows import failing

TEXT_FILES = sorted(
    file
    for folder in ("sources/documents", "shared")
    for file in (PROJECT / folder).rglob("*")
    if file.suffix in {".toml", ".csv"} and file.is_file()
)
POINT_COLUMNS = frozenset({"x", "y"}) | GRID_COLUMNS | TERM_COLUMNS
COLUMNS = {
    **{f"{name}.csv": table.names for name, table in TABLES.items()},
    "designations.csv": DESIGNATION_COLUMNS,
}


def test_every_text_file_parses_strictly() -> None:
    assert failing(_parses, TEXT_FILES, lambda file: str(file.relative_to(PROJECT))) == []


def _parses(file: Path) -> None:
    findings = Findings(PROJECT)
    if file.suffix == ".toml":
        assert read_toml(file, findings)
    else:
        rows = list(read_csv(file, COLUMNS.get(file.name, POINT_COLUMNS), findings))
        assert rows
    assert findings.lines == []


def test_every_record_validates_and_has_a_digest_of_its_own(records: dict[str, dict[str, Any]]) -> None:
    seen: dict[str, str] = {}
    for row, record in records.items():
        assert RECORD.validate_python(record).plain() == record
        assert record["id"] == row
        assert seen.setdefault(digest(record), row) == row


def test_every_reading_names_a_source_a_locator_and_how_it_was_seen(records: dict[str, dict[str, Any]]) -> None:
    readings = [record for record in records.values() if record["kind"] in READING_KINDS]
    assert len(readings) > 1000
    for record in readings:
        assert records[record["source"]]["kind"] == "source"
        assert record["locator"].strip()
        assert record["seen"] in {"original", "archive", "reproduction", "library", "memory"}


def test_no_id_names_a_source(records: dict[str, dict[str, Any]]) -> None:
    sources = {row for row, record in records.items() if record["kind"] == "source"}
    for row, record in records.items():
        if record["kind"] != "source":
            assert not any(key in row for key in sources), row


def test_every_recommended_row_rests_on_records_of_the_ledger_at_their_present_digest(
    records: dict[str, dict[str, Any]],
) -> None:
    recommended = [record for record in records.values() if record["kind"] in RECOMMENDED_KINDS]
    assert recommended
    for record in recommended:
        for entry in [*record["inputs"], *record.get("left_out", [])]:
            assert digest(records[entry["id"]]) == entry["digest"]


def test_memory_is_never_cited_as_a_document(records: dict[str, dict[str, Any]]) -> None:
    for record in records.values():
        if record.get("seen") == "memory" and record["kind"] in READING_KINDS:
            assert record["source"] == "memory"


def test_doubtful_readings_go_into_no_recommended_row(records: dict[str, dict[str, Any]]) -> None:
    doubtful = {
        row for row, record in records.items() if any(flag["code"] != "note" for flag in record.get("flags", []))
    }
    assert doubtful
    for record in records.values():
        assert not doubtful & {entry["id"] for entry in record.get("inputs", [])}


def test_every_source_states_its_rights(records: dict[str, dict[str, Any]]) -> None:
    spdx_like = re.compile(r"^[A-Za-z0-9.+-]+$")
    for record in records.values():
        if record["kind"] == "source":
            assert spdx_like.match(record["rights"]), record["id"]


def test_the_vocabulary_of_the_installed_store_belongs_to_the_text() -> None:
    from refdb.vocabulary import vocabulary

    assert compile_vocabulary(PROJECT) == vocabulary()
