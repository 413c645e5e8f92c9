"""Three hundred names and misspellings of materials, as people write them, against the subject they mean.

`names.csv` holds names that must be exact, `misspellings.csv` others that must be understood and never called exact.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from refdb.database import Database
from refdb.problems import AmbiguousName
from tests.rows import each

HERE = Path(__file__).parent
SUBJECT_KINDS = {"material", "liquid"}


def _pairs(file: str) -> list[tuple[str, str]]:
    with (HERE / file).open(encoding="utf-8", newline="") as stream:
        return [(row["text"], row["subject"]) for row in csv.DictReader(stream)]


NAMES = _pairs("names.csv")
MISSPELLINGS = _pairs("misspellings.csv")


def test_the_lists_are_long_enough_to_mean_something() -> None:
    assert len({text for text, _ in NAMES + MISSPELLINGS}) == len(NAMES) + len(MISSPELLINGS) > 250


@each(("text", "subject"), NAMES, ids=[text for text, _ in NAMES])
def test_a_name_leads_to_its_subject_and_to_no_other(pending: Database, text: str, subject: str) -> None:
    items = pending.find(text)
    assert items[0].id == subject
    assert [item.id for item in items if item.exact and item.kind in SUBJECT_KINDS] == [subject]
    assert pending.subject(text).id == subject


@each(("text", "subject"), MISSPELLINGS, ids=[text for text, _ in MISSPELLINGS])
def test_a_misspelling_is_understood_and_makes_nothing_else_exact(pending: Database, text: str, subject: str) -> None:
    items = [item for item in pending.find(text) if item.kind in SUBJECT_KINDS]
    assert items[0].id == subject
    assert {item.id for item in items if item.exact} <= {subject}


@each(
    ("text", "subjects"),
    [
        ("stainless steel", {"stainless-304", "stainless-316l", "stainless-904l", "stainless-unspecified"}),
        ("duplex", {"duplex-2205", "duplex-255", "duplex-2507"}),
        ("super duplex", {"duplex-2507", "duplex-4501"}),
        ("GRE", {"glass-fibre-epoxy", "gre-filament-wound"}),
        ("lean duplex", {"duplex-2101", "duplex-2304"}),
        ("Hastelloy", {"alloy-b-2", "alloy-c-22", "alloy-c-276", "alloy-x"}),
        ("Incoloy", {"alloy-800", "alloy-825"}),
        ("Teflon", {"ptfe", "fep", "pfa"}),
        ("Zircaloy", {"zirconium-alloy", "zirconium-tin-alloy-2", "zirconium-tin-alloy-4"}),
        ("cupronickel", {"copper-nickel-90-10", "copper-nickel-70-30"}),
        ("chrome moly", {"chromium-molybdenum-p11", "chromium-molybdenum-p91"}),
        ("FRP", {"grp", "glass-fibre-polyester", "glass-fibre-epoxy"}),
        ("red brass", {"brass-85-15", "red-brass-cast"}),
        ("CP titanium", {"titanium-grade-1", "titanium-grade-2"}),
        ("PE80", {"hdpe", "mdpe"}),
        ("Fe", {"iron", "iron-electrolytic"}),
    ],
)
def test_a_name_of_several_subjects_names_them_all(pending: Database, text: str, subjects: set[str]) -> None:
    assert subjects <= {item.id for item in pending.find(text, limit=50) if item.exact}
    with pytest.raises(AmbiguousName) as caught:
        pending.subject(text)
    assert subjects <= set(caught.value.extensions["candidates"])


@each(
    ("text", "wrong"),
    [
        ("stainless 321 steel", {"stainless-304", "stainless-316", "stainless-347"}),
        ("alloy 601 pipe", {"alloy-600", "alloy-625"}),
        ("titanium grade 12 pipe", {"titanium-grade-1", "titanium-grade-2"}),
        ("S31653", {"stainless-316l", "stainless-316"}),
        ("1.4440", {"stainless-316l"}),
        ("N06620", {"alloy-625"}),
        ("R50300", {"titanium-grade-1", "titanium-grade-2"}),
        ("PB", {"lead"}),
        ("MO", {"molybdenum"}),
    ],
)
def test_a_neighbour_by_number_or_by_case_is_never_exact(pending: Database, text: str, wrong: set[str]) -> None:
    assert not wrong & {item.id for item in pending.find(text) if item.exact}


def test_a_name_with_the_number_asked_for_comes_before_one_without(pending: Database) -> None:
    found = [item.id for item in pending.find("stainless 321 steel") if item.kind == "material"]
    assert found[0] == "stainless-321"


def test_no_trade_mark_is_an_id_or_a_plain_name(pending: Database) -> None:
    marks = ("monel", "inconel", "incoloy", "hastelloy", "zircaloy", "teflon", "kynar", "neoprene", "perspex", "viton")
    for subject in pending.subjects("material"):
        words = f"{subject['id']} {subject['name']}".casefold()
        assert not any(mark in words for mark in marks), words
