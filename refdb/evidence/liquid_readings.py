"""What documents say of one property of a liquid, ready to be held against one another at one state."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.evidence.reading_functions import NotComparableError, ReadingFunction, grids_of, lineage_of, reading_function
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.state import State
from refdb.problems import Problem
from refdb.records.readings import PROPERTY_READING_KINDS, Span
from refdb.units import Unit, units
from refdb.vocabulary import properties

NEAR: Mapping[str, float] = {"temperature": 0.6, "pressure": 5e4, "salinity": 0.05, "strength": 0.002}
"""How far from a state a document may speak and still be asked about it, in the units that states are held in."""

PLACES: Mapping[str, int] = {"temperature": 9, "pressure": 3, "salinity": 3, "strength": 5}
"""At how many places of an interval a function is asked."""


@dataclass(frozen=True, slots=True)
class LiquidReading:
    """One reading of a property, in SI, with what it descends from and whether it carries a doubt."""

    record: StoredRecord
    lineage: str
    function: ReadingFunction

    @property
    def body(self) -> dict[str, Any]:
        """The reading."""
        return self.record.body

    @property
    def sound(self) -> bool:
        """Whether it may speak against others: a doubted reading may not."""
        return not any(flag["code"] != "note" for flag in self.body.get("flags", []))

    def places(self) -> list[State]:
        """States at which the reading says something: its own points, or some over its interval."""
        spans = self.function.spans
        if "temperature" not in spans:
            return []
        parts = [_places(name, spans.get(name), self.function.points.get(name)) for name in PLACES]
        return [State(celsius, pascals, salt, share) for celsius, pascals, salt, share in product(*parts)]

    def at(self, state: State) -> float | None:
        """The value in SI at a state, or None where the reading does not speak of it."""
        for name, held in state.parts():
            if not _speaks_of(self.function.spans.get(name), held, name):
                return None
            points = self.function.points.get(name)
            if points is not None and min(abs(point - held) for point in points) > NEAR[name]:
                return None
        return self.value(self._inside(state))

    def value(self, state: State) -> float | None:
        """The value in SI at a state inside the reading's own interval; None where its form gives no number."""
        try:
            value = self.function.value(state)
        except (ArithmeticError, ValueError):
            return None
        return value if math.isfinite(value) else None

    def _inside(self, state: State) -> State:
        """The state, moved by no more than what counts as near, to where the reading holds."""
        held = {"pressure": STANDARD_ATMOSPHERE, **{name: value for name, value in state.parts() if value is not None}}
        spans = self.function.spans
        held |= {name: min(max(held[name], low), high) for name, (low, high) in spans.items() if name in held}
        return State(held.get("temperature"), held["pressure"], held.get("salinity"), held.get("strength"))


def liquid_readings(store: ReleaseStore, release: ReleaseInfo, subject: str) -> dict[str, list[LiquidReading]]:
    """The readings about a liquid by property; those that are no function of a temperature are left out."""
    found: dict[str, list[LiquidReading]] = {}
    for record in store.about(PROPERTY_READING_KINDS, subject, release):
        property_id = record.body["property"]
        try:
            function = reading_function(record.body, _si(property_id), "liquid", grids_of(store, release))
        except (NotComparableError, Problem):
            continue
        found.setdefault(property_id, []).append(LiquidReading(record, lineage_of(store, release, record), function))
    return found


def independent_readings(
    reading: LiquidReading, among: Sequence[LiquidReading], state: State
) -> Iterator[tuple[LiquidReading, float]]:
    """What sound readings of another descent say at a state, the first of each descent alone."""
    asked: set[str] = {reading.lineage}
    for other in among:
        if other.lineage in asked or not other.sound:
            continue
        value = other.at(state)
        if value is not None:
            asked.add(other.lineage)
            yield other, value


def _si(property_id: str) -> Unit:
    definition = properties()[property_id]
    return units().find(definition["si"], definition["dimension"])


def _places(name: str, span: Span | None, points: Sequence[float] | None) -> list[float | None]:
    if points is not None:
        return list(points)
    if span is None:
        return [None]
    low, high = span
    if low == high:
        return [low]
    if name == "pressure" and low < STANDARD_ATMOSPHERE < high:
        # Where none is told it is 1 atm, or saturation.
        return [None, high]
    count = PLACES[name] - 1
    return [low + (high - low) * step / count for step in range(count + 1)]


def _speaks_of(span: Span | None, held: float | None, name: str) -> bool:
    if span is None:
        # A reading that says nothing of pressure is one near 1 atm, and one without salt or strength is of none.
        usual = STANDARD_ATMOSPHERE if name == "pressure" else 0.0
        return name == "temperature" or held is None or abs(held - usual) <= NEAR[name]
    if held is None and name != "pressure":
        return False
    held = STANDARD_ATMOSPHERE if held is None else held
    return span[0] - NEAR[name] <= held <= span[1] + NEAR[name]
