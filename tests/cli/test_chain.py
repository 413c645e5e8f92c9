"""The provenance of a row as people read it."""

from __future__ import annotations

import re

import pytest

from refdb.database import Database
from refdb.records.rules import RULES
from tests.conftest import CommandLine


def _flowing(command: CommandLine, *arguments: str) -> str:
    printed = command("provenance", *arguments)
    assert printed.code == 0, printed.err
    return re.sub(r"[\s│├└─]+", " ", printed.out)


def test_it_begins_with_the_paragraph_of_the_document(command: CommandLine, database: Database) -> None:
    told = " ".join(database.provenance("stainless-430.shear_speed")["summary"])
    assert _flowing(command, "stainless-430.shear_speed").startswith(told)


def test_a_rule_is_told_once_in_its_short_sentence(command: CommandLine) -> None:
    told = _flowing(command, "stainless-430.shear_speed").partition("Release ")[2]
    rule = RULES["consensus/4"]
    assert told.count("rule consensus/4") == 3
    assert told.count(rule.sentence) == 1
    assert rule.method not in told


def test_full_tells_once_what_a_rule_does_and_where_it_is_published(command: CommandLine) -> None:
    told = _flowing(command, "stainless-430.shear_speed", "--full")
    rule = RULES["consensus/4"]
    assert told.count(rule.method) == 1
    assert told.count(rule.published) == 1


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("carbon-steel.longitudinal_speed", ["between sources: 31.9 m/s", "family spread: 49 m/s with 4 degrees"]),
        ("stainless-430.youngs_modulus", ["pooled spread: 3.22 GPa", "independent readings: 1 ", "value 201.327 GPa"]),
        ("stainless-430.poisson_ratio", ["highest: 0.3 ", "degrees of freedom: 3 "]),
        ("methyl-isobutyl-ketone.sound_speed", ["relative difference: 3 %"]),
        ("roughness.steel-riveted", ["value 0.6481 mm"]),
    ],
)
def test_numbers_of_a_working_have_their_units(command: CommandLine, row: str, words: list[str]) -> None:
    told = _flowing(command, row)
    for word in words:
        assert word in told


@pytest.mark.parametrize("row", ["carbon-steel.longitudinal_speed", "water.freezing_point.01"])
def test_where_a_document_was_seen_and_who_checked_it_stand_in_the_tree(
    command: CommandLine, database: Database, row: str
) -> None:
    told = _flowing(command, row).partition("Release ")[2]
    chain = database.provenance(row)["chain"]
    for reading in [*chain.get("inputs", []), *chain.get("left_out", [])] or [chain]:
        source = reading["source"]
        assert re.sub(r"\s+", " ", source["seen_at"]) in told
        assert f"checked by {source['checked_by'] or 'nobody yet'}" in told
        assert source.get("reproduced_in", "") in told
