"""Tests over many rows: one test checks them all and tells every one that fails."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

Row = TypeVar("Row")


def failing(check: Callable[[Row], None], rows: Iterable[Row], name: Callable[[Row], str]) -> list[str]:
    """The rows that a check does not pass, each with its name and the first line of what was wrong.

    Args:
        check: raises where something is wrong.
        rows: at least one.
        name: of a row.
    """
    found = []
    listed = list(rows)
    assert listed, "there is nothing to check"
    for row in listed:
        try:
            check(row)
        except Exception as error:
            found.append(f"{name(row)}: {type(error).__name__}: {str(error).partition(chr(10))[0]}")
    return found
