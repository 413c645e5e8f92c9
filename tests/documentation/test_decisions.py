"""Decisions are dated pages, numbered without gaps and listed in one table."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from tests.conftest import PROJECT
from tests.rows import each

FOLDER = PROJECT / "shared" / "docs" / "decisions"
PAGES = sorted(page for page in FOLDER.glob("*.md") if page.name != "README.md")
_HEAD = re.compile(r"# (?P<number>\d{3})\. (?P<title>\S.*)\n\nDecided on (?P<date>\S+)\.\n\n")
_ROW = re.compile(r"^\| \[(\d{3})\]\(([^)]+)\) \| (.+) \| (\S+) \| (\S.*) \|$", re.MULTILINE)


def _head(page: Path) -> re.Match[str]:
    found = _HEAD.match(page.read_text(encoding="utf-8"))
    assert found, f"{page.name} begins with `# NNN. Title` and `Decided on YEAR-MONTH-DAY.`"
    return found


@each("page", PAGES, ids=lambda page: page.name)
def test_a_decision_has_its_number_a_title_a_date_and_its_sections(page: Path) -> None:
    head = _head(page)
    assert page.name.startswith(head["number"] + "-")
    assert date.fromisoformat(head["date"]).isoformat() == head["date"]
    sections = re.findall(r"^## (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    assert sections[:3] == ["Context", "Decision", "What follows"]
    assert sections[3:] in ([], ["What would change it"])


def test_numbers_have_no_gaps_and_follow_the_dates() -> None:
    heads = [_head(page) for page in PAGES]
    assert [int(head["number"]) for head in heads] == list(range(1, len(PAGES) + 1))
    dates = [head["date"] for head in heads]
    assert dates == sorted(dates)


def test_the_table_lists_every_decision_with_its_title_and_date() -> None:
    listed = [row[:4] for row in _ROW.findall((FOLDER / "README.md").read_text(encoding="utf-8"))]
    assert listed == [(_head(page)["number"], page.name, _head(page)["title"], _head(page)["date"]) for page in PAGES]
