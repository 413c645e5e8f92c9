"""The families of subjects: `shared/vocabulary/families.toml`.

A family is what rules pool and estimates borrow from, so a slip in its name would take a subject out of both unseen.
"""

from __future__ import annotations

from pathlib import Path

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings

FAMILIES = "shared/vocabulary/families.toml"


def read_families(text_root: Path, findings: Findings) -> dict[str, str]:
    """Every family, and whether it is one of materials or of liquids."""
    file = text_root / FAMILIES
    families = {}
    for name, fields in read_toml(file, findings).items():
        kind = fields.get("applies_to") if isinstance(fields, dict) else None
        if kind in {"material", "liquid"}:
            families[name] = kind
        else:
            findings.add(file, None, name, "needs applies_to = 'material' or 'liquid'")
    return families
