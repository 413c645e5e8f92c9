"""The rows on which a record rests."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any


def links_of(record: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The id of each row on which a record rests, with its role."""
    for part, role in (("inputs", "input"), ("left_out", "left out")):
        for entry in record.get(part, []):
            yield entry["id"], role
    for key in ("source", "subject"):
        if key in record:
            yield record[key], key
