"""How long the lists of a document are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def counts_of(parts: Mapping[str, Any]) -> dict[str, int]:
    """The number of entries of each list, by its name."""
    return {name: len(entries) for name, entries in parts.items()}
