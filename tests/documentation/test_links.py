"""Links between documents of the project lead somewhere."""

from __future__ import annotations

import re
from pathlib import Path

from tests.conftest import PROJECT
from tests.rows import each

DOCUMENTS = sorted([*PROJECT.glob("*.md"), *(PROJECT / "shared").rglob("*.md")])
_CODE = re.compile(r"```.*?```|`[^`\n]*`", re.DOTALL)
_LINK = re.compile(r"\]\(([^)\s]+)\)")
_HEADING = re.compile(r"^#+ (.+)$", re.MULTILINE)


def _anchors(document: Path) -> set[str]:
    headings = _HEADING.findall(document.read_text(encoding="utf-8"))
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


@each("document", DOCUMENTS, ids=lambda document: document.relative_to(PROJECT).as_posix())
def test_links_within_the_project_lead_to_a_file_and_a_heading(document: Path) -> None:
    text = _CODE.sub("", document.read_text(encoding="utf-8"))
    for link in _LINK.findall(text):
        if re.match(r"[a-z]+:", link):
            continue
        target, _, anchor = link.partition("#")
        file = document.parent / target if target else document
        assert file.exists(), f"{link}: there is no such file"
        assert not anchor or anchor in _anchors(file), f"{link}: there is no such heading"
