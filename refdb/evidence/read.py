"""A reading as a function of the state, where it holds, and what it descends from: what every audit needs of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.state import ROOM_CELSIUS, STANDARD_ATMOSPHERE, State
from refdb.records import printed_number, rounding_half_width
from refdb.records.grids import GridCurve, Grids
from refdb.records.readings import CURVE_KINDS, Curve, Span, single_value, stated_uncertainty
from refdb.units import Unit, units
from refdb.values.states import Spans
from refdb.vocabulary import STATE

if TYPE_CHECKING:
    from refdb.evidence.documents import UncertaintyFrom


RECTANGULAR = math.sqrt(3.0)
ROOM_WORDS = "room temperature"
NOT_STATED = "not stated"


def lineage_of(store: ReleaseStore, release: ReleaseInfo, reading: StoredRecord) -> str:
    """What a reading descends from: the lineage of its source, or the source itself."""
    key = str(reading.body["source"])
    source = store.record(key, release)
    return str(source.body.get("lineage", key)) if source is not None else key


def grids_of(store: ReleaseStore, release: ReleaseInfo) -> Grids:
    """Finds the grids of a release."""

    def grid(row: str) -> Mapping[str, Any]:
        record = store.record(row, release)
        if record is None:
            raise NotComparableError(f"the grid {row} that bounds it is not in the release")
        return record.body

    return grid


class NotComparableError(Exception):
    """A reading and a row have no state in common; its words say why."""


@dataclass(frozen=True, slots=True)
class Read:
    """A reading as a function of the state, in a row's unit, and where it holds; a table only at its own points.

    `printing` is the standard uncertainty that the printed digits, and a printed range, leave.
    """

    body: Mapping[str, Any]
    unit: Unit
    spans: Spans
    value: Callable[[State], float]
    printing: float
    points: Mapping[str, Sequence[float]] = field(default_factory=dict)

    def uncertainty(self, value: float, entry: Mapping[str, Any]) -> tuple[float, UncertaintyFrom]:
        """From the rule that used the reading, else from its document, else from its printed digits; and from which."""
        if "standard_uncertainty" in entry:
            return printed_number(entry["standard_uncertainty"]), "rule"
        stated = stated_uncertainty(self.body, value, self.unit, units())
        if stated is not None:
            return stated, "stated"
        return self.printing, "printing" if self.printing else "none"


def read_of(body: dict[str, Any], target: Unit, kind: str, grids: Grids) -> Read:
    """A reading as a function of the state, in the unit `target`.

    Args:
        kind: of its subject, `material` or `liquid`: what is taken of a temperature that is not stated.
        grids: finds the grids that bound another one.

    Raises:
        NotComparableError: it is no function of the state that can be evaluated here.
    """
    stated = stated_spans(body, kind)
    if body["kind"] in CURVE_KINDS:
        return _read_curve(body, target, stated)
    if body["kind"] == "grid":
        return _read_grid(body, target, stated, grids)
    single = single_value(body, target, units())
    printing = math.hypot(single.rounding, single.half_range) / RECTANGULAR
    return Read(body, target, stated, lambda _state: single.value, printing)


def _read_curve(body: dict[str, Any], target: Unit, stated: dict[str, Span]) -> Read:
    curve, unit = Curve(body, units()), units().find(body["unit"], target.dimension)

    def value(state: State) -> float:
        parts = {"pressure": STANDARD_ATMOSPHERE} | {name: held for name, held in state.parts() if held is not None}
        return float(unit.to(curve.value(parts), target))

    rounding = max((rounding_half_width(y) for _, y in body.get("points", [])), default=0.0)
    printing = unit.difference_to(rounding, target) / RECTANGULAR
    return Read(body, target, {**stated, **curve.spans}, value, printing, curve.points)


def _read_grid(body: dict[str, Any], target: Unit, stated: dict[str, Span], grids: Grids) -> Read:
    """Node values as the function that joins them; below saturation it is taken at saturation."""
    curve, unit = GridCurve(body, grids, units()), units().find(body["unit"], target.dimension)

    def value(state: State) -> float:
        return float(unit.to(curve.value(dict(state.parts())), target))

    fit = body["fit_error"]
    printing = printed_number(fit["number"]) * (curve.typical / 100.0 if fit["unit"] == "%" else 1.0)
    return Read(body, target, {**stated, **curve.spans}, value, unit.difference_to(printing, target))


def stated_spans(body: dict[str, Any], kind: str) -> dict[str, Span]:
    """The parts of the state that a reading states, each as an interval without width.

    A material's reading without a temperature is taken at room temperature, as the rules do.

    Raises:
        NotComparableError: the temperature is told in words that are no temperature.
    """
    spans: dict[str, Span] = {}
    for name, part in STATE.items():
        printed = body["state"].get(name)
        if isinstance(printed, dict):
            unit, held = units().find(printed["unit"], part.dimension), units().find(part.unit, part.dimension)
            ends = [printed[key] for key in ("number", "low", "high") if key in printed]
            middle = sum(map(printed_number, ends)) / len(ends)
            place = float(unit.to(middle, held))
            spans[name] = (place, place)
        elif name == "temperature" and printed is not None:
            if printed != ROOM_WORDS and (printed != NOT_STATED or kind != "material"):
                raise NotComparableError(f"its temperature is told as '{printed}'")
            spans[name] = (ROOM_CELSIUS, ROOM_CELSIUS)
    return spans
