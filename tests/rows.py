"""Tests over many rows: one test checks them all and tells every one that fails."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import pytest

Row = TypeVar("Row")
Ids = Callable[[Any], object] | Iterable[str] | None
LONGEST_NAME = 200


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
        # What pytest raises where nothing was refused, or where a test calls it, is no Exception.
        except (Exception, pytest.fail.Exception) as error:
            found.append(f"{name(row)}: {type(error).__name__}: {str(error).partition(chr(10))[0]}")
    return found


def each(names: str | tuple[str, ...], rows: Iterable[Any], ids: Ids = None) -> Callable[..., Callable[..., None]]:
    """Written like `pytest.mark.parametrize`, but one test for all rows: a test of its own costs more than most rows.

    The fixtures are made once for all rows, so that no row may change them.

    Args:
        names: of the arguments that a row gives; a single name takes the row itself.
        rows: at least one.
        ids: the name of each row, or what gives it from the values of a row, taken one by one.
    """
    columns = (names,) if isinstance(names, str) else names
    table = [(row,) if isinstance(names, str) else tuple(row) for row in rows]
    told = _told(ids, table)
    assert all(len(row) == len(columns) for row in table), f"every row gives {', '.join(columns)}"

    def over_all(test: Callable[..., None]) -> Callable[..., None]:
        @functools.wraps(test)
        def goes_through_all(**fixtures: Any) -> None:
            def check(numbered: tuple[int, tuple[Any, ...]]) -> None:
                test(**fixtures, **dict(zip(columns, numbered[1], strict=True)))

            assert failing(check, enumerate(table), lambda numbered: told[numbered[0]]) == []

        signature = inspect.signature(test)
        asked = [argument for name, argument in signature.parameters.items() if name not in columns]
        goes_through_all.__signature__ = signature.replace(parameters=asked)  # type: ignore[attr-defined]
        return goes_through_all

    return over_all


def _told(ids: Ids, table: list[tuple[Any, ...]]) -> list[str]:
    """The names of the rows."""
    if ids is None:
        return [", ".join(map(repr, row))[:LONGEST_NAME] for row in table]
    if callable(ids):
        return ["-".join(str(ids(value)) for value in row)[:LONGEST_NAME] for row in table]
    return list(ids)
