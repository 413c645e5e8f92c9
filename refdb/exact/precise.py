"""Arithmetic with more bits than a double, by mpmath."""

from __future__ import annotations

from typing import Any

from mpmath import MPContext


def precise(bits: int) -> Any:
    """An mpmath context with this many bits, separate from mpmath's global one."""
    context: Any = MPContext()
    context.prec = bits
    return context
