"""Rule `printed-limits/1`, and what the rules that convert and combine nothing have in common."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from refdb.recommend.evidence import weakest_basis, weakest_seen
from refdb.records import digest, printed_number
from refdb.records.models import (
    SEEN_ORDER,
    Input,
    LeftOut,
    LiningReading,
    PrintedLining,
    Reading,
    RecommendedLining,
    RecommendedTolerance,
    Tolerance,
    ToleranceReading,
)
from refdb.records.rules import PRINTED_LIMITS

Printed = TypeVar("Printed", bound=Reading)
OTHER = "prints other numbers than the reading that is followed"


def in_order_of_trust(readings: Sequence[Printed]) -> list[Printed]:
    """Closest to the standard's own text first, then by id."""
    return sorted(readings, key=lambda reading: (SEEN_ORDER.index(reading.seen), reading.id))


def doubts_of(reading: Reading) -> str:
    """Why a reading cannot be used, or nothing."""
    return "; ".join(f"{flag.code}: {flag.text}" for flag in reading.doubts)


def used(reading: Reading) -> Input:
    """A reading as an input that was taken as printed."""
    return Input(id=reading.id, digest=digest(reading.plain()))


def left_out(reading: Reading, reason: str, value: str | None = None) -> LeftOut:
    """A reading that was left out, and why."""
    return LeftOut(id=reading.id, digest=digest(reading.plain()), reason=reason, value=value)


def same_number(one: str | None, other: str | None) -> bool:
    """Whether two prints are of the same number, or both absent."""
    if one is None or other is None:
        return one is other
    return printed_number(one) == printed_number(other)


def recommend_tolerances(readings: Sequence[ToleranceReading]) -> list[RecommendedTolerance]:
    """One row per tolerance id."""
    return _followed(readings, lambda r: r.tolerance, tuple(Tolerance.model_fields), RecommendedTolerance)


def recommend_linings(readings: Sequence[LiningReading]) -> list[RecommendedLining]:
    """One row per lining id."""
    return _followed(readings, lambda r: r.lining, tuple(PrintedLining.model_fields), RecommendedLining)


def _followed(
    readings: Sequence[Printed], key: Callable[[Printed], str], fields: tuple[str, ...], row: type[Any]
) -> list[Any]:
    grouped: dict[str, list[Printed]] = defaultdict(list)
    for reading in readings:
        grouped[key(reading)].append(reading)
    rows = [_row(row_id, in_order_of_trust(members), fields, row) for row_id, members in sorted(grouped.items())]
    return [found for found in rows if found is not None]


def _row(row_id: str, readings: list[Printed], fields: tuple[str, ...], row: type[Any]) -> Any | None:
    usable = [reading for reading in readings if not reading.doubts]
    if not usable:
        return None
    first = _said(usable[0], fields)
    agreeing = [reading for reading in usable if _numbers(_said(reading, fields)) == _numbers(first)]
    return row(
        **first,
        id=row_id,
        rule=PRINTED_LIMITS.name,
        basis=weakest_basis(reading.basis for reading in agreeing),
        seen=weakest_seen(reading.seen for reading in agreeing),
        rung="memory" if usable[0].seen == "memory" else "published",
        inputs=[used(reading) for reading in agreeing],
        left_out=[left_out(r, doubts_of(r) or OTHER) for r in readings if r not in agreeing] or None,
    )


def _said(reading: Reading, fields: tuple[str, ...]) -> dict[str, Any]:
    """What the reading says, without where and by whom."""
    return {name: text for name, text in reading.plain().items() if name in fields}


def _numbers(said: Any) -> Any:
    """What is said, with the numbers as numbers: `1 %` is `1.0 %`."""
    if isinstance(said, dict):
        return {key: _numbers(part) for key, part in said.items()}
    if isinstance(said, list):
        return [_numbers(part) for part in said]
    try:
        return printed_number(said)
    except (TypeError, ValueError):
        return said
