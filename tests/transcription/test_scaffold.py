"""Beginning a document: where it goes, what is filled in already, and what cannot be a key."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from refdb.ledger.columns import TABLES
from refdb.ledger.folders import GROUPS
from refdb.problems import BadParameter
from refdb.transcription.scaffold import new_document

ITEM = {
    "type": "article-journal",
    "title": "Sound in invented tubes",
    "author": [{"family": "Doe", "given": "J."}, {"literal": "The Invented Society"}],
    "issued": {"date-parts": [[1987, 5]]},
    "container-title": "Invented Letters",
    "volume": "3",
    "page": "41-49",
    "DOI": "10.9999/invented.41",
}


def _source(folder: Path) -> dict[str, Any]:
    source: dict[str, Any] = tomllib.loads((folder / "source.toml").read_text())
    return source


@pytest.mark.parametrize("group", GROUPS)
def test_every_group_gets_a_record_that_its_own_readings_fit(invented_text: Path, group: str) -> None:
    folder = new_document(invented_text, "doe-1987-tubes", group, "readings", today="2026-12-01")
    assert folder == invented_text / "sources" / "documents" / group / "doe-1987-tubes"
    source = _source(folder)
    assert source["source"]["seen_on"] == "2026-12-01"
    seen = source.get("defaults", {}).get("seen")
    assert seen in GROUPS[group] if seen is not None else group == "cited"


@pytest.mark.parametrize("table", TABLES)
def test_a_table_begins_with_columns_that_the_build_knows(invented_text: Path, table: str) -> None:
    folder = new_document(invented_text, "doe-1987-tubes", "read", table)
    header = (folder / f"{table}.csv").read_text().strip().split(",")
    assert set(header) <= TABLES[table].names
    assert {"id", "locator"} <= set(header)


def test_a_record_of_a_reference_manager_fills_the_citation_in(invented_text: Path, tmp_path: Path) -> None:
    record = tmp_path / "record.json"
    record.write_text(json.dumps([ITEM]))
    folder = new_document(invented_text, "https://doi.org/10.9999/Invented.41", "read", "readings", record)
    assert folder.name == "doe-1987"
    source = _source(folder)["source"]
    assert source["title"] == "Sound in invented tubes"
    assert source["authors"] == ["Doe, J.", "The Invented Society"]
    assert (source["type"], source["year"], source["pages"]) == ("article", "1987", "41-49")
    assert source["doi"] == "10.9999/invented.41"


def test_a_doi_alone_gives_a_key_by_its_end(invented_text: Path) -> None:
    folder = new_document(invented_text, "10.9999/j.invented.2026.01.002", "archives", "readings")
    assert folder.name == "doi-j-invented-2026-01-002"
    assert _source(folder)["source"]["doi"] == "10.9999/j.invented.2026.01.002"


@pytest.mark.parametrize(
    ("key", "group", "table", "said"),
    [
        ("Doe 1987", "read", "readings", "is no key; write who, when"),
        ("../outside", "read", "readings", "is no key; write who, when"),
        ("first-article", "read", "readings", "is there already, in sources/documents/read/first-article"),
        ("doe-1987", "books", "readings", "group: 'books' is none of read, pages"),
        ("doe-1987", "read", "colours", "table: 'colours' is none of readings, pipes"),
    ],
)
def test_what_cannot_be_begun_is_refused_and_nothing_is_made(
    invented_text: Path, key: str, group: str, table: str, said: str
) -> None:
    before = sorted(invented_text.rglob("*"))
    with pytest.raises(BadParameter, match=said):
        new_document(invented_text, key, group, table)
    assert sorted(invented_text.rglob("*")) == before


@pytest.mark.parametrize("text", ["", "[]", "3", "{", "[[[[", '"text"'])
def test_a_record_that_is_none_is_refused(invented_text: Path, tmp_path: Path, text: str) -> None:
    record = tmp_path / "record.json"
    record.write_text(text)
    with pytest.raises(BadParameter, match=r"^record: "):
        new_document(invented_text, "doe-1987", "read", "readings", record)
