"""Every number that is told is one: neither NaN nor an infinity leaves in a document."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from refdb.problems import NotFinite


def require_finite(document: Any, name: str = "") -> None:
    """Nothing, if every number of a document is finite.

    Args:
        document: plain JSON values.
        name: what to call it, before the names of its parts.

    Raises:
        NotFinite: a number is not; the sentence names the first.
    """
    found = _first(document, name)
    if found is None:
        return
    where, number = found
    fault = "cannot be calculated" if math.isnan(number) else "becomes larger than any number"
    raise NotFinite(
        f"{where}: {fault} with what was given; check each number and its unit, uncertainties too.", parameter=where
    )


def _first(part: Any, name: str) -> tuple[str, float] | None:
    """The name of the first number that is not finite, with the number."""
    if isinstance(part, float):
        return None if math.isfinite(part) else (name or "number", part)
    items: Iterable[tuple[Any, Any]]
    if isinstance(part, dict):
        items = part.items()
    elif isinstance(part, list | tuple):
        items = enumerate(part)
    else:
        return None
    before = f"{name}." if name else ""
    for key, item in items:
        # Most of a document is text, which is passed by without a call.
        if isinstance(item, float | dict | list | tuple):
            found = _first(item, f"{before}{key}")
            if found is not None:
                return found
    return None
