"""The chain from a row to its documents, told in a paragraph."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import cache
from itertools import islice
from typing import Any

import pytest

from refdb.database import Database
from refdb.evidence.printed import printed_words
from refdb.evidence.summary import reason_words
from refdb.evidence.uncertain_parts import parts_of
from refdb.lookup import StoredRecord
from refdb.opening import open_database

KINDS = (
    "recommended", "recommended-pipe", "recommended-roughness", "recommended-tolerance", "recommended-lining",
    "source", "subject", "designation",
    "scalar", "range", "table", "equation", "grid", "surface", "pipe", "tolerance", "lining", "roughness",
)  # fmt: skip


@cache
def _one_of_each(database: Database) -> list[StoredRecord]:
    """A row of every kind, rule, rung and way of having been seen."""
    found: dict[tuple[Any, ...], StoredRecord] = {}
    for kind in KINDS:
        for record in database.store.of_kind(kind, database.release()):
            body = record.body
            key = (kind, body.get("rule"), body.get("rung"), body.get("seen"), "left_out" in body, "flags" in body)
            found.setdefault(key, record)
    return list(found.values())


def _paragraph(database: Database, row: str) -> str:
    return " ".join(database.provenance(row)["summary"])


@pytest.mark.parametrize("label", ["2026r1", "2026r4", "2026r6", "2026r7"])
def test_every_kind_of_row_is_told_in_sentences(label: str) -> None:
    database = open_database(label)
    for record in _one_of_each(database):
        sentences = database.provenance(record.id)["summary"]
        assert len(sentences) >= 2, record.id
        for sentence in sentences:
            assert sentence.endswith((".", "!", "?", "…")), sentence
            assert "None" not in sentence.split(), sentence


def test_numbers_of_recommended_rows_are_in_units_that_a_person_reads(database: Database) -> None:
    for record in _one_of_each(database):
        if record.body["kind"] == "recommended":
            long = re.findall(r"(?<![\w./-])\d{7,}(?:\.\d+)? ", _paragraph(database, record.id))
            assert not long, record.id


def test_the_number_of_independent_documents_is_that_of_the_rule(database: Database) -> None:
    asked = 0
    for record in islice(database.store.of_kind("recommended", database.release()), 0, None, 7):
        count = record.body.get("working", {}).get("independent_readings")
        if count is not None and record.body["rung"] != "memory":
            told = re.search(r"(\d+) independent document", database.provenance(record.id)["summary"][0])
            assert told is not None, record.id
            assert told[1] == count, record.id
            asked += 1
    assert asked > 50


def test_three_documents_are_named_and_the_others_counted(database: Database) -> None:
    first = database.provenance("carbon-steel.longitudinal_speed")["summary"][0]
    assert first.startswith("The longitudinal sound speed of Carbon steel")
    assert "rests on 4 readings, 2 evaluated or compiled and 2 computed, in 3 independent documents: " in first
    assert "Ono (2020)" in first
    many = database.provenance("carbon-steel.density")["summary"][0]
    assert re.search(r" and \d+ more\.$", many)


def test_what_was_left_out_is_counted_with_its_reasons(database: Database) -> None:
    told = _paragraph(database, "carbon-steel.longitudinal_speed")
    assert "Left out were 6 readings: " in told
    assert {"2 of a class that gives way (program's default)", "1 of the wrong kind", "1 suspect"} <= set(
        re.split("[:;.] ", told.partition("Left out were 6 readings")[2])
    )


def test_a_derived_row_names_its_rows_with_values_and_what_was_left_out_of_them(database: Database) -> None:
    told = _paragraph(database, "stainless-430.shear_speed")
    assert "Young's modulus of Stainless steel 430 (201.33 GPa)" in told
    left_out = told.partition("Left out were 5 readings: ")[2]
    assert "3 of a class that gives way (program's default)" in left_out
    assert "2 suspect" in left_out
    assert "this gives 3179 m/s" in told
    assert "the largest part of it is what Young's modulus may be off by (100 m/s)" in told


def test_what_rests_on_memory_is_said_to(database: Database) -> None:
    told = 0
    for record in _one_of_each(database):
        if record.body.get("rung") == "memory":
            assert "nobody saw that in print" in _paragraph(database, record.id), record.id
            told += 1
        elif record.body.get("seen") == "memory" and "source" in record.body:
            assert _paragraph(database, record.id).startswith("Nobody saw this in print"), record.id
    assert told >= 3


def test_a_reading_says_what_is_printed_where_and_where_it_was_seen(database: Database) -> None:
    for record in _one_of_each(database):
        chain = database.provenance(record.id)["chain"]
        if "printed" in chain and record.body["seen"] != "memory":
            told = _paragraph(database, record.id)
            for part in (printed_words(chain["printed"]), chain["locator"], chain["source"]["seen_at"]):
                assert part in told, record.id
            for flag in chain["flags"]:
                assert flag["text"].rstrip(".") in told, record.id


def test_what_was_computed_is_not_said_to_be_printed(database: Database) -> None:
    first = database.provenance("water.sound_speed.05")["summary"][0]
    assert first.startswith(
        "From International Association for the Properties of Water and Steam (2018) was computed 70"
    )
    assert " prints " not in first


def test_a_document_says_where_it_was_seen_and_how_much_comes_from_it(database: Database) -> None:
    told = _paragraph(database, "marczak-1997")
    assert "Marczak, W. Water as a standard" in told
    assert "Coefficients at gorbatschow.github.io/SonarDocs" in told
    assert "1 reading of the release comes from it." in told


def test_a_lower_bound_and_a_range_from_saturation_are_told(database: Database) -> None:
    told = _paragraph(database, "carbon-tetrachloride.absorption_over_frequency_squared")
    assert "It is a lower bound, not a value." in told
    assert "temperature from 20 to 30 degC and pressure from saturation to 1 MPa" in told


def test_a_strength_is_told_in_percent(database: Database) -> None:
    assert "strength from 0 to 25.962 % mass" in _paragraph(database, "sodium-chloride-water.density")


def _uncertain(database: Database) -> Iterator[tuple[str, dict[str, Any]]]:
    for record in islice(database.store.of_kind("recommended", database.release()), 0, None, 11):
        yield record.id, database.provenance(record.id)["chain"]


@pytest.mark.parametrize("label", ["2026r1", "2026r7"])
def test_the_parts_of_an_uncertainty_make_up_what_the_rule_has_found(label: str) -> None:
    """The root of their squares is the stored uncertainty, to the two digits that both are told in."""
    rules: set[str] = set()
    for row, chain in _uncertain(open_database(label)):
        parts = parts_of(chain)
        told = chain["result"]["uncertainty"]
        if parts:
            found = math.sqrt(sum(part.size * part.size for part in parts)) * _whole(chain)
            assert found == pytest.approx(float(told["number"]), rel=0.06), row
            rules.add(chain["rule"]["name"])
    assert len(rules) >= (2 if label == "2026r1" else 5)


def _whole(chain: dict[str, Any]) -> float:
    """What the parts are parts of: those of an analogue are relative, in a row that may be absolute."""
    if chain["rule"]["name"] != "analogue/1":
        return 1.0
    if chain["result"]["uncertainty"]["unit"] == "%":
        return 100.0
    return float(chain["result"]["form"]["coefficients"]["c0"])


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("wrong-kind: 4880 to 5050 m/s is the speed in a thin steel rod.", "of the wrong kind"),
        ("shares its origin with steel.density.07 (lineage a); the two count once", "of the same origin as another"),
        ("at 200 degC, which is not room temperature", "not at room temperature"),
        ("at 500 kPa, which is not near 1 atm", "not near 1 atm"),
        ("measured under pressure", "measured under pressure"),
    ],
)  # fmt: skip
def test_reasons_are_told_by_their_kind(reason: str, words: str) -> None:
    assert reason_words(reason) == words
