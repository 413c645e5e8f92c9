"""The command line of the audit: the service's document with --json, the most suspicious lines first for people."""

from __future__ import annotations

import json
import re

import pytest

from tests.conftest import CommandLine
from tests.service import TestClient


@pytest.mark.parametrize("scope", ["liquids", "solids"])
def test_json_is_the_document_of_the_service(command: CommandLine, client: TestClient, scope: str) -> None:
    printed = command("audit", scope, "--release", "2026r1", "--json")
    assert printed.code == 0, printed.err
    assert json.loads(printed.out) == client.get(f"/v1/audit/{scope}?release=2026r1").json()


def test_people_read_a_summary_and_then_the_farthest_reading(command: CommandLine) -> None:
    printed = command("audit", "liquids", "--release", "2026r1")
    assert printed.code == 0, printed.err
    flowing = re.sub(r"\s+", " ", printed.out)
    assert flowing.startswith("Audit of liquids, release 2026r1: 4 reading(s) compared, 0 of them beyond 2 combined")
    assert (
        flowing.index("water.sound_speed.04") < flowing.index("water.sound_speed.01") < flowing.index("26 degC, 1 atm")
    )


def test_people_read_every_kind_of_suspicion_and_how_to_see_the_rest(command: CommandLine) -> None:
    flowing = re.sub(r"\s+", " ", command("audit", "solids", "--release", "2026r1", "--limit", "2").out)
    for words in (
        "wrong-kind: A foam",
        "Left out for other reasons than a flag",
        "Resting on a single lineage",
        "--limit 168 prints them all",
    ):
        assert words in flowing


def test_a_doubt_is_printed_once(command: CommandLine) -> None:
    flowing = re.sub(r"\s+", " ", command("audit", "solids", "--release", "2026r1", "--limit", "500").out)
    assert len(re.findall(r"pvc-rigid\.density\.08 ", flowing)) == 1


def test_an_unknown_scope_exits_with_2_and_the_scopes_there_are(command: CommandLine) -> None:
    printed = command("audit", "gases")
    assert (printed.code, printed.out) == (2, "")
    assert printed.err == "refdb: scope: there is no audit of 'gases'; there is one of liquids, solids, pipes.\n"


def test_an_unknown_older_release_is_refused_by_its_own_name(command: CommandLine) -> None:
    printed = command("changes", "1999r1", "2026r1")
    assert printed.code == 2
    assert printed.err.startswith("refdb: since: there is no release '1999r1'")


def test_people_read_the_audit_of_pipes(command: CommandLine) -> None:
    printed = command("audit", "pipes", "--limit", "3")
    assert printed.code == 0, printed.err
    assert "reading(s) flagged" in printed.out
