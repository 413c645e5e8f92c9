"""Each change that is not yet released is one line in a file of its own, and towncrier can collect them."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import entry_points
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.conftest import PROJECT

FRAGMENTS = sorted(file for file in (PROJECT / "shared" / "changes").iterdir() if file.name != "README.md")
TOWNCRIER = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["towncrier"]
KINDS = [kind["directory"] for kind in TOWNCRIER["type"]]


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda fragment: fragment.name)
def test_a_change_has_a_known_kind_and_one_line(fragment: Path) -> None:
    found = re.fullmatch(r"\+[a-z0-9-]+\.([a-z]+)\.md", fragment.name)
    assert found, f"{fragment.name}: name it +short-words.KIND.md"
    assert found[1] in KINDS, f"{fragment.name}: the kind is one of {', '.join(KINDS)}"
    lines = fragment.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1, f"{fragment.name}: say it in one line"
    assert lines[0].strip(" -*") == lines[0], f"{fragment.name}: no list mark and no space around the line"


def test_the_changelog_can_be_drafted_with_every_change() -> None:
    (towncrier,) = entry_points(group="console_scripts", name="towncrier")
    draft = CliRunner().invoke(towncrier.load(), ["build", "--draft", "--version", "next", "--dir", str(PROJECT)])
    assert draft.exit_code == 0, draft.output
    assert "## next (" in draft.output
    for fragment in FRAGMENTS:
        assert "- " + fragment.read_text(encoding="utf-8").strip() in draft.output


def test_the_changelog_has_one_place_where_new_releases_begin() -> None:
    changelog = (PROJECT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert changelog.count(TOWNCRIER["start_string"]) == 1
    assert changelog.index(TOWNCRIER["start_string"]) < changelog.index("## ")
