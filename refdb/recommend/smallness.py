"""How small differences are told: what is left of a difference of doubles where there is none says nothing."""

from __future__ import annotations

from refdb.records import number_text

TOLD_FROM = 1e-9
"""In the unit that it is told in. Doubles of the sizes that rows hold leave less, and no uncertainty is as small."""


def told(size: float, digits: int, unit: str) -> str:
    """A size with its unit, or that it is less than can be told; nothing at all is 0."""
    if 0.0 < abs(size) < TOLD_FROM:
        return f"less than 1e-9 {unit}"
    return f"{number_text(size, digits)} {unit}"
