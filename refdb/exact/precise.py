"""Arithmetic of more bits than a double has, by mpmath."""

from __future__ import annotations

from typing import Any

from mpmath import MPContext


def precise(bits: int) -> Any:
    """mpmath's functions to so many bits, apart from everything else that uses mpmath."""
    context: Any = MPContext()
    context.prec = bits
    return context
