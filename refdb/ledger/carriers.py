"""The copies in which documents were seen.

`sources/carriers.toml` describes those that carry several documents, once each, under their keys:

    [tubes-of-the-world-1.2]
    type = "package"
    name = "tubes-of-the-world"
    version = "1.2"
    url = "https://example.org/tubes"
    licence = "MIT"
    holder = "Copyright (c) 2024 A. Doe"
    rights = "permissive"

A document's `source.toml` names them, or describes one of its own:

    [[carrier]]
    of = "tubes-of-the-world-1.2"
    files = [{ path = "data/walls.csv", sha256 = "…" }]

    [[carrier]]
    type = "page"
    name = "example.org"
    url = "https://example.org/walls"
    licence = "none"
    rights = "no-licence"
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings

FILE = "carriers.toml"
NOTICE_FIELDS = frozenset({"holder", "licence_seen", "committed_on", "file", "file_sha256"})
"""What `sources/carriers.toml` holds for the notices and for fetching again; records do without it."""


def carriers_file(text_root: Path) -> Path:
    """Where the shared carriers are described."""
    return text_root / "sources" / FILE


class Carriers:
    """The carriers that documents share, and the fields of a document's own."""

    def __init__(self, text_root: Path, findings: Findings) -> None:
        file = carriers_file(text_root)
        self._shared: Mapping[str, Any] = read_toml(file, findings) if file.is_file() else {}
        self._findings = findings

    def fields(self, key: str, blocks: list[dict[str, Any]], file: Path) -> list[dict[str, Any]]:
        """The fields of a document's carriers, each with a key: that of the shared one, or the document's."""
        own = sum("of" not in block for block in blocks)
        found = []
        for number, block in enumerate(blocks, start=1):
            if "of" in block:
                fields = self._described(block, file)
            else:
                fields = {"key": key if own == 1 else f"{key}.{number}", **block}
            found.append({name: held for name, held in fields.items() if name not in NOTICE_FIELDS})
        return found

    def _described(self, block: Mapping[str, Any], file: Path) -> dict[str, Any]:
        name = block["of"]
        shared = self._shared.get(name)
        if not isinstance(shared, dict):
            self._findings.add(
                file, None, "carrier.of", f"'{name}' is not in sources/{FILE}; describe it there, or correct the name"
            )
            shared = {}
        return {"key": name, **shared, **{field: held for field, held in block.items() if field != "of"}}
