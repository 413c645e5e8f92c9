"""The widths that rule consensus/3 takes are those that the ledger shows, and what is set aside has no part in them."""

from __future__ import annotations

import pytest

from refdb.ledger import load_ledger
from refdb.recommend.policy import load_policy
from refdb.release.vocabulary import compile_vocabulary
from tests.conftest import PROJECT
from tests.tools.widths import WITNESSES, cells_of, estimate, set_aside, text_of

WRITTEN = PROJECT / "sources" / "rules" / "widths.toml"


def test_a_tenth_of_the_documents_is_set_aside_and_named() -> None:
    ledger = load_ledger(PROJECT, compile_vocabulary(PROJECT))
    aside = set_aside(ledger)
    assert len(aside) == 14
    named = [line[4:] for line in WRITTEN.read_text().splitlines() if line.startswith("#   ")]
    assert named == aside


def test_nothing_that_is_set_aside_is_among_what_widths_are_estimated_from() -> None:
    ledger = load_ledger(PROJECT, compile_vocabulary(PROJECT))
    aside = set_aside(ledger)
    cells = cells_of(ledger, load_policy(PROJECT), aside)
    assert cells
    assert not {voice.source for cell in cells for voice in cell.voices} & set(aside)


def test_good_classes_have_no_excess_in_speeds() -> None:
    for entry in load_policy(PROJECT).class_widths:
        if entry.name in WITNESSES and "shear_speed" in entry.properties:
            assert float(entry.excess) == 0.0, entry.name


@pytest.mark.long
def test_the_tool_writes_the_widths_that_are_there() -> None:
    assert text_of(*estimate()) == WRITTEN.read_text()
