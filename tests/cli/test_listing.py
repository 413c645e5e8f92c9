"""Lists of audits and of changes in the width of a terminal: every word whole, every line short enough."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable

import pytest

from refdb.cli import printing
from refdb.cli.audit import show_audit, show_changes
from refdb.cli.listing import Listing
from refdb.opening import open_database
from tests.conftest import CommandLine

WIDE = 20_000
"""Columns in which every entry takes one line of a table."""

AUDITS = [
    *((scope, "2026r1") for scope in ("liquids", "solids", "pipes")),
    *(pytest.param(scope, "2026r7", marks=pytest.mark.long) for scope in ("liquids", "solids", "pipes")),
]
CHANGES = [
    ("2026r1", "2026r2"),
    ("2026r7", "2026r8"),
    *(
        pytest.param(*pair, marks=pytest.mark.long)
        for pair in (("2026r2", "2026r3"), ("2026r3", "2026r4"), ("2026r5", "2026r6"))
    ),
]
SHOWN = 150
"""Entries of each list of an audit: those of every kind, and far more than are usually printed."""


def _words(text: str) -> Counter[str]:
    """How often each word stands there; a heading or an entry may be followed by a colon or a semicolon."""
    return Counter(word.rstrip(";:") for word in text.split() if not word.startswith("─"))


def _fits(show: Callable[[], None], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Every line is as short as it should be, and each word of the widest print stands whole in the narrow ones.

    An entry that stands by itself has no heading over its first part, and none for a part that is empty.
    """
    printed: dict[int, str] = {}
    for columns in (80, 200, WIDE):
        monkeypatch.setattr(printing, "PLAIN_WIDTH", columns)
        show()
        printed[columns] = capsys.readouterr().out
        assert max(map(len, printed[columns].splitlines())) <= columns
    headings = " ".join(re.findall(r"(.*)\n─", printed[WIDE]))
    for columns in (80, 200):
        cut = _words(printed[WIDE]) - _words(printed[columns])
        assert not cut - _words(headings)


@pytest.mark.parametrize(("scope", "label"), AUDITS)
def test_audits_fit_with_every_word_whole(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, scope: str, label: str
) -> None:
    document = open_database(label).audit(scope)
    _fits(lambda: show_audit(document, SHOWN), capsys, monkeypatch)


@pytest.mark.parametrize(("since", "label"), CHANGES)
def test_changes_fit_with_every_word_whole(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, since: str, label: str
) -> None:
    document = open_database().changes(label, since)
    _fits(lambda: show_changes(document), capsys, monkeypatch)


def test_what_is_piped_takes_the_usual_width(command: CommandLine) -> None:
    lines = command("audit", "pipes", "--limit", "5").out.splitlines()
    assert 80 < max(map(len, lines)) <= 120


def test_a_list_is_a_table_where_the_width_allows_it() -> None:
    listing = Listing(("row", "because"), "Left out")
    listing.add_row("oak.density.03", "measured across the grain, in a single board")
    assert list(listing.lines(50)) == [
        "Left out",
        "",
        "row             because",
        "─" * 50,
        "oak.density.03  measured across the grain, in a",
        "                single board",
        "",
    ]


def test_where_it_does_not_an_entry_stands_by_itself() -> None:
    listing = Listing(("row", "because", "uncertainties"))
    listing.add_row("oak.density.03", "measured across the grain", "")
    listing.add_row("elm.density.11", "wet", "+3")
    assert list(listing.lines(28)) == [
        "oak.density.03",
        "    because: measured across",
        "    the grain",
        "elm.density.11",
        "    because: wet;",
        "    uncertainties: +3",
        "",
    ]


def test_nothing_is_added_to_the_words_of_a_cell() -> None:
    listing = Listing(("row", "because"))
    listing.add_row("oak.density.03", "printed as\n  .67, without  a unit")
    assert re.sub(r"\s+", " ", " ".join(listing.lines(200))).endswith("oak.density.03 printed as .67, without a unit ")
