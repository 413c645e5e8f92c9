"""States at which two rows, or a row and a reading, can be compared."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING, cast

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.forms.states import CONTENTS, JUST_LIQUID
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.records.readings import Span
from refdb.units import significant
from refdb.vocabulary import STATE

if TYPE_CHECKING:
    from refdb.values.documents import StateDocument


COMPARED_EVERY = 1.0
"""Kelvin between the temperatures that are compared at."""

CONTENTS_COMPARED = 9
"""Salinities, or strengths, that are compared at, both ends of what is shared included."""

Spans = Mapping[str, Span]
NO_POINTS: Mapping[str, Sequence[float]] = {}


def spans_of(row: PreparedRow) -> dict[str, Span]:
    """The domain of a row, in the units that states are held in."""
    return {name: (interval.low, interval.high) for name, interval in row.intervals.items()}


def why_not_comparable(one: Spans, other: Spans) -> str | None:
    """None where two domains have states in common, else the words that say why they have none."""
    for name in CONTENTS:
        if (name in one) != (name in other):
            return f"only one of the two depends on the {name}"
    for shared in one.keys() & other.keys():
        low, high = _shared(one, other, shared)
        if low > high:
            return f"no {shared} in common"
    return None


def shared_states(
    one: Spans, other: Spans, rows: Sequence[PreparedRow], points: Mapping[str, Sequence[float]] = NO_POINTS
) -> Iterator[State]:
    """States inside two domains: every kelvin, several salinities and strengths, at 1 atm.

    Where a row boils at 1 atm, the pressure is that of saturation; where 1 atm lies outside, the nearest pressure
    inside.

    Args:
        rows: the rows that must not boil.
        points: for parts of the state that are to be compared at these places only, the places.
    """
    if why_not_comparable(one, other) is not None:
        return
    temperatures, salinities, strengths = (
        _steps(one, other, name, points.get(name)) for name in ("temperature", "salinity", "strength")
    )
    for celsius, salinity, strength in product(temperatures, salinities, strengths):
        yield State(celsius, _pressure(one, other, celsius, rows), salinity, strength)


def state_document(state: State) -> StateDocument:
    """The parts of a state that are told, as plain JSON values."""
    told = {
        name: {"magnitude": significant(held), "unit": STATE[name].unit, "ucum": STATE[name].ucum}
        for name, held in state.parts()
        if held is not None
    }
    # Its names are those of the parts of a state.
    return cast("StateDocument", told)


def _shared(one: Spans, other: Spans, name: str) -> Span:
    """What two domains share of a part of the state; the part of the only one that depends on it."""
    spans = [spans[name] for spans in (one, other) if name in spans]
    return max(low for low, _ in spans), min(high for _, high in spans)


def _steps(one: Spans, other: Spans, name: str, points: Sequence[float] | None) -> list[float | None]:
    if name not in one and name not in other:
        return [None]
    low, high = _shared(one, other, name)
    if points is not None:
        return [place for place in points if low <= place <= high]
    if low == high:
        return [low]
    count = math.ceil((high - low) / COMPARED_EVERY) if name == "temperature" else CONTENTS_COMPARED - 1
    return [low + (high - low) * step / count for step in range(count + 1)]


def _pressure(one: Spans, other: Spans, celsius: float | None, rows: Sequence[PreparedRow]) -> float | None:
    if "pressure" not in one and "pressure" not in other:
        return None
    low, high = _shared(one, other, "pressure")
    boiling = [row.saturation_pressure(celsius) for row in rows] if celsius is not None else []
    least = max((pressure * JUST_LIQUID for pressure in boiling if pressure is not None), default=0.0)
    return min(max(STANDARD_ATMOSPHERE, least, low), high)
