"""The programs that W3C PROV names as agents: that which made a row, cut the release, and writes the document."""

from __future__ import annotations

import importlib.metadata
import tomllib
from pathlib import Path
from typing import Any

from refdb.database import Database
from refdb.evidence.prov import prov_document
from refdb.opening import open_database
from tests.shapes import untyped

RELEASES = Path(__file__).parent.parent.parent / "sources" / "releases"
ROW = "carbon-steel.longitudinal_speed"


def _told(database: Database, row: str = ROW) -> Any:
    return untyped(prov_document(database.store, row, database.release()))


def _agent_of(told: Any, activity: str) -> Any:
    (agent,) = (
        one["prov:agent"] for one in told["wasAssociatedWith"].values() if one["prov:activity"].startswith(activity)
    )
    return told["agent"][agent]


def test_the_program_that_cut_a_release_is_named_in_the_version_that_its_header_tells() -> None:
    header = tomllib.loads((RELEASES / "2026r7" / "release.toml").read_text())
    told = _told(open_database("2026r7"))
    assert _agent_of(told, "refdb:cutting/2026r7")["refdb:version"] == header["made_with"]["refdb"]
    assert told["activity"]["refdb:cutting/2026r7"]["refdb:commit"] == header["made_with"]["commit"]


def test_a_release_that_does_not_say_is_said_not_to() -> None:
    agent = _agent_of(_told(open_database("2026r1")), "refdb:cutting/2026r1")
    assert "refdb:version" not in agent
    assert agent["dcterms:title"] == "refdb, in a version that release 2026r1 does not name"


def test_a_row_is_made_by_the_program_that_cut_the_release_since_which_it_stands() -> None:
    database = open_database("2026r7")
    record = database.store.record("b36.10-nps-8-sch-40", database.release())
    assert record is not None
    since = database.store.releases[record.since - 1].label
    assert since != "2026r7"
    agent = _agent_of(_told(database, record.id), "refdb:recommending/")
    assert agent["dcterms:title"] == f"refdb, in a version that release {since} does not name"


def test_the_program_that_writes_the_document_is_named(database: Database) -> None:
    told = _told(database)
    assert _agent_of(told, "refdb:writing")["refdb:version"] == importlib.metadata.version("refdb")
    written = [
        one["prov:activity"] for one in told["wasGeneratedBy"].values() if one["prov:entity"] == "refdb:document"
    ]
    assert written == ["refdb:writing"]
