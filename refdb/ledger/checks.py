"""Second readings of a document: who or what held its numbers against the print or a pinned carrier, and when.

`refdb source check` writes them to `checks.toml` beside the readings; nothing else does:

    [[check]]
    by = "refdb 0.7.0"
    on = "2026-12-01"
    against = "tubes-of-the-world-1.2"
    how = "beside its name"
    numbers = 41
    content = "sha256:…"

`readings` lists those that were compared, where they are not all. `content` is the digest of what was compared: once a
number, a unit or a state is another, the check says nothing any more, and the build asks for a new one.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings
from refdb.records.models import Reading
from refdb.records.numbers import content_digest, numbers_of

FILE = "checks.toml"


def checks_of(folder: Path, readings: Mapping[str, Reading], findings: Findings) -> list[dict[str, Any]]:
    """The second readings of a document that are still good, as fields of its record.

    Args:
        readings: those of the document, by id.
    """
    file = folder / FILE
    if not file.is_file():
        return []
    good = []
    for block in read_toml(file, findings).get("check", []):
        names = block.get("readings", list(readings))
        gone = [name for name in names if name not in readings]
        compared = [readings[name] for name in names if name in readings]
        if gone or content_digest(compared) != block.get("content"):
            what = f"'{gone[0]}' is no reading of this document any more" if gone else "what was compared is another"
            findings.add(
                file, None, "content", f"{what}; run `refdb source check {folder.name}` again, or remove the check"
            )
        else:
            good.append({name: held for name, held in block.items() if name != "content"})
    return good


def told(checks: list[dict[str, Any]], readings: Mapping[str, Reading]) -> str:
    """The second readings in a sentence: who, when, against what, and how many of the numbers."""
    total = sum(len(numbers_of(reading)) for reading in readings.values())
    return "; ".join(
        f"{check.get('by')} on {check.get('on')} against {_against(check)}: {check.get('numbers')} of {total} numbers"
        for check in checks
    )


def _against(check: Mapping[str, Any]) -> str:
    return "the print" if check.get("against") == "print" else str(check.get("against"))
