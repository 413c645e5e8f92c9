"""Exports of provenance and citations, read with libraries that are not ours.

W3C PROV: PROV-DM (W3C Recommendation, 30 April 2013) with PROV-JSON (W3C Member Submission, 24 April 2013), read with
the package `prov`. CSL-JSON (Citation Style Language 1.0.2, input data schema), read with `citeproc-py`. BibTeX (Oren
Patashnik, BibTeXing, 1988), read with `pybtex`.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator

import pytest
from citeproc import Citation, CitationItem, CitationStylesBibliography, CitationStylesStyle, formatter
from citeproc.source.json import CiteProcJSON
from prov.model import ProvDocument, ProvEntity
from pybtex.database import parse_string

from refdb.database import Database
from refdb.evidence.bibliography import bibtex, csl_items
from refdb.evidence.prov import prov_document
from refdb.records.models import RECOMMENDED_KINDS
from tests.shapes import untyped

ROWS = ["water.sound_speed", "carbon-steel.longitudinal_speed", "b36.10-nps-8-sch-40", "roughness.steel-new"]


def _all_rows(database: Database) -> Iterator[str]:
    for kind in RECOMMENDED_KINDS:
        yield from (record.id for record in database.store.of_kind(kind, database.release()))


@pytest.mark.parametrize("row", ROWS)
def test_prov_reads_the_chain_and_finds_every_reading_derived_from_a_document(database: Database, row: str) -> None:
    told = prov_document(database.store, row, database.release())
    document = ProvDocument.deserialize(io.StringIO(json.dumps(told)), format="json")
    entities = {str(record.identifier) for record in document.get_records(ProvEntity)}
    assert len(entities) == len(told["entity"])
    # Every name that a relation uses is described, and PROV's own constraints on types hold when it is written again.
    for relation in told.values():
        if isinstance(relation, dict):
            for members in relation.values():
                if isinstance(members, dict):
                    for key in ("prov:entity", "prov:usedEntity", "prov:generatedEntity"):
                        assert members.get(key, next(iter(entities))) in entities
    readings = {name for name, held in told["entity"].items() if held.get("prov:type", {}).get("$") == "refdb:Reading"}
    derived = {members["prov:generatedEntity"] for members in untyped(told)["wasDerivedFrom"].values()}
    assert readings
    assert readings <= derived
    again = json.loads(str(document.serialize(format="json")))
    assert set(again["entity"]) == set(told["entity"])
    assert "activity" in again
    assert document.get_provn().startswith("document")


def test_prov_reads_every_hundredth_row(database: Database) -> None:
    for row in list(_all_rows(database))[::100]:
        told = prov_document(database.store, row, database.release())
        assert ProvDocument.deserialize(io.StringIO(json.dumps(told)), format="json").get_records()


def test_pybtex_reads_the_documents_behind_every_row(database: Database) -> None:
    items = csl_items(database.store, _all_rows(database), database.release())
    assert len(items) > 50
    parsed = parse_string(bibtex(items), "bibtex")
    assert set(parsed.entries.keys()) == {item["id"] for item in items}
    for item in map(untyped, items):
        entry = parsed.entries[item["id"]]
        assert entry.fields["title"]
        assert entry.fields.get("year") == (str(item["issued"]["date-parts"][0][0]) if "issued" in item else None)
        assert len(entry.persons.get("author", [])) == len(item.get("author", []))


def test_bibtex_keeps_what_tex_would_take_for_itself() -> None:
    text = r"50 % of A & B_{c} cost $1 #2 ~ ^ \alpha"
    item = {"id": "odd", "type": "book", "title": text, "author": [{"literal": "A & B, Inc."}]}
    entry = parse_string(bibtex([item]), "bibtex").entries["odd"]
    assert entry.fields["title"] == (
        r"50 \% of A \& B\_\{c\} cost \$1 \#2 \textasciitilde{} \textasciicircum{} \textbackslash{}alpha"
    )
    assert len(entry.persons["author"]) == 1


def test_citeproc_makes_a_bibliography_of_the_documents_behind_every_row(database: Database) -> None:
    items = csl_items(database.store, _all_rows(database), database.release())
    source = CiteProcJSON(json.loads(json.dumps(items)))
    style = CitationStylesStyle("harvard-cite-them-right", validate=False)
    bibliography = CitationStylesBibliography(style, source, formatter.plain)
    for item in items:
        bibliography.register(Citation([CitationItem(item["id"])]))
    lines = [str(line) for line in bibliography.bibliography()]
    assert len(lines) == len(items)
    assert any("IAPWS" in line or "Water" in line for line in lines)
