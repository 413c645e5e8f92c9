"""What is suspicious in the evidence about pipes is told: misprints, disagreements, lone witnesses, memory."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.database import Database
from tests.rows import each
from tests.shapes import untyped


@pytest.fixture(scope="module")
def document(pending: Database) -> Any:
    return untyped(pending.audit("pipes"))


def test_counts_are_those_of_the_parts(document: dict[str, Any]) -> None:
    assert document["counts"] == {name: len(document[name]) for name in document["counts"]}
    assert document["scope"] == "pipes"


# Misprints that a second table of the same standard, or the standard's own rule, shows to be ones.
@each(
    ("about", "printed"),
    [
        ("b36.10-nps-10-sch-160", {"wall": "1.25"}),
        ("b88-nominal-3-1-2-type-k", {"outside_diameter": "6.625"}),
        ("b88-nominal-1-1-4-type-l", {"wall": "0.05"}),
        ("h35.2-nps-2-1-2-sch-40", {"outside_diameter": "2.375"}),
        ("d1785-nps-5-sch-40", {"wall": "0.375"}),
        ("f441-nps-16-sch-80", {"wall": "21.14"}),
        ("iso4427-od-180-sdr-9", {"wall": "20.6"}),
        ("iso4427-od-500-sdr-17", {"wall": "27.7"}),
        ("din8062-od-140-series-6", {"wall": "16.6"}),
        ("en10357-dn-65-series-a", {"wall": "1.5"}),
        ("c151-nominal-42-pressure-class-300", {"wall": "0.52"}),
        ("f2619-nps-28-dr-11", {"wall": "62.23"}),
        ("steel-metric-od-508-bore-485-4mm", {"inside_diameter": "485.4"}),
        ("hdpe-dips-nominal-54", {"outside_diameter": "57.10"}),
        ("cast-iron-coated", {"low": "0.01"}),
    ],
)
def test_a_known_misprint_is_among_the_flagged(document: dict[str, Any], about: str, printed: dict[str, str]) -> None:
    found = [entry for entry in document["flagged"] if entry["about"] == about]
    assert any(printed.items() <= entry["printed"].items() for entry in found)
    assert all(flag["text"] for entry in found for flag in entry["flags"])


def test_two_prints_of_one_wall_are_told_with_their_sources(document: dict[str, Any]) -> None:
    (entry,) = [e for e in document["disagreements"] if e["pipe"] == "en545-dn-200-k9"]
    assert {reading["printed"] for reading in entry["readings"]} == {"6.3", "6.4"}
    assert entry["relative"] == pytest.approx(0.1 / 6.4, rel=1e-3)


def test_what_rounding_explains_is_no_disagreement(document: dict[str, Any]) -> None:
    # 0.322 in is 8.1788 mm, printed as 8.18 mm.
    assert not [e for e in document["disagreements"] if e["pipe"] == "b36.10-nps-8-sch-40"]


def test_what_is_only_recalled_is_told_apart(document: dict[str, Any], pending: Database) -> None:
    rows = {entry["row"]["id"] for entry in document["recalled"]}
    assert {"asme-bpe-nominal-2-wall-0-065in", "en545-dn-1200-k9"} <= rows
    for row in rows:
        assert pending.row(row)["record"]["rung"] == "memory"


def test_a_recalled_reading_beside_a_seen_one_is_left_out(document: dict[str, Any]) -> None:
    reasons = {entry["reading"]["id"]: entry["reason"] for entry in document["left_out"]}
    assert any(reason.startswith("recalled") for reason in reasons.values())


def test_lone_witnesses_are_counted_by_system(document: dict[str, Any]) -> None:
    counts = {entry["system"]: entry for entry in document["single_document"]}
    assert counts["jis-g3454"]["alone"] == counts["jis-g3454"]["rows"]
    assert counts["b36.19"]["alone"] == 0
