"""Carrying released rows forward: a row that differs from the released one by rounding alone is the released one.

Coefficients come from solving linear equations, and processors and libraries differ in the last bits of that. Without
this, a release cut on another machine would change rows whose evidence has not changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from refdb.records import digest

ROUNDING = 1e-11
"""By how much coefficients may differ, relative to the largest of them."""

Record = dict[str, Any]


def carried_forward(records: Mapping[str, Record], released: Mapping[str, Record]) -> dict[str, Record]:
    """The records, with the released version of each that differs from it by rounding alone.

    Rows that rest on such a row name the released version's digest, and so does what rests on them in turn; each may
    then be the released row itself.
    """
    kept = dict(records)
    open_rows = [row for row in records if row in released and records[row] != released[row]]
    while True:
        found = [row for row in open_rows if _same_but_for_rounding(kept[row], released[row])]
        if not found:
            return kept
        open_rows = [row for row in open_rows if row not in set(found)]
        _replace(kept, {row: released[row] for row in found})


def _replace(kept: dict[str, Record], new: dict[str, Record]) -> None:
    """Put versions of rows in place of others, and name them in whatever rests on them, however far up."""
    while new:
        renamed = {digest(kept[row]): digest(record) for row, record in new.items()}
        kept.update(new)
        changed = {row: _renamed(record, renamed) for row, record in kept.items()}
        new = {row: record for row, record in changed.items() if record is not kept[row]}


def _renamed(record: Record, renamed: Mapping[str, str]) -> Record:
    """A record whose inputs name the versions that are kept; itself where it names them already."""
    changed = {
        part: [{**entry, "digest": renamed.get(entry["digest"], entry["digest"])} for entry in record[part]]
        for part in ("inputs", "left_out")
        if any(entry.get("digest") in renamed for entry in record.get(part, ()))
    }
    return {**record, **changed} if changed else record


def _same_but_for_rounding(one: Any, other: Any) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(
            _close(one[key], other[key]) if key == "coefficients" else _same_but_for_rounding(one[key], other[key])
            for key in one
        )
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same_but_for_rounding, one, other))
    return bool(one == other)


def _close(one: Any, other: Any) -> bool:
    """Whether two sets of coefficients, nested lists of numbers as text, differ by rounding alone."""
    if not (isinstance(one, list) and isinstance(other, list)):
        return bool(one == other)
    mine, theirs = list(_numbers(one)), list(_numbers(other))
    allowed = ROUNDING * max((abs(number) for number in theirs), default=0.0)
    return len(mine) == len(theirs) and all(abs(a - b) <= allowed for a, b in zip(mine, theirs, strict=True))


def _numbers(coefficients: Any) -> Iterator[float]:
    if isinstance(coefficients, list):
        for inner in coefficients:
            yield from _numbers(inner)
    else:
        yield float(coefficients)
