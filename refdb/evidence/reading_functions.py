"""Printed readings as functions of the state, where they hold, and what they descend from: for every audit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from refdb.constants import ROOM_CELSIUS
from refdb.forms.state_function import StateFunction
from refdb.forms.states import StatePoint
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.records import printed_number, rounding_half_width
from refdb.records.grids import Grids, function_of_grid, typical_size
from refdb.records.readings import CURVE_KINDS, Span, function_of_reading, own_points, single_value, stated_uncertainty
from refdb.records.state_functions import function_of_form
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
class ReadingFunction:
    """A printed reading as a function of the state, in a row's unit, and where it holds; a table at its own points.

    Attributes:
        unit: of the row.
        function: in the unit `printed`.
        printing: the standard uncertainty that the printed digits, and a printed range, leave; in the row's unit.
        points: of a table, the places that it prints.
    """

    body: Mapping[str, Any]
    unit: Unit
    spans: Spans
    function: StateFunction
    printed: Unit
    printing: float
    points: Mapping[str, Sequence[float]] = field(default_factory=dict)

    def value(self, state: StatePoint) -> float:
        """The value at a state, in the row's unit: without a pressure at 1 atm, and at saturation below it."""
        return float(self.printed.to(self.function.value(self.function.liquid_at(state)), self.unit))

    def uncertainty(self, value: float, entry: Mapping[str, Any]) -> tuple[float, UncertaintyFrom]:
        """From the rule that used the reading, else from its document, else from its printed digits; and from which."""
        if "standard_uncertainty" in entry:
            return printed_number(entry["standard_uncertainty"]), "rule"
        stated = stated_uncertainty(self.body, value, self.unit, units())
        if stated is not None:
            return stated, "stated"
        return self.printing, "printing" if self.printing else "none"


def reading_function(body: dict[str, Any], target: Unit, kind: str, grids: Grids) -> ReadingFunction:
    """A printed reading as a function of the state, in the unit `target`.

    Args:
        kind: of its subject, `material` or `liquid`: what is taken of a temperature that is not stated.
        grids: finds the grids that bound another one.

    Raises:
        NotComparableError: it is no function of the state that can be evaluated here.
    """
    stated = stated_spans(body, kind)
    if body["kind"] in CURVE_KINDS:
        return _of_curve(body, target, stated)
    if body["kind"] == "grid":
        return _of_grid(body, target, stated, grids)
    single = single_value(body, target, units())
    printing = math.hypot(single.rounding, single.half_range) / RECTANGULAR
    constant = function_of_form({"name": "constant/1", "coefficients": {"c0": repr(single.value)}}, units())
    return ReadingFunction(body, target, stated, constant, target, printing)


def _of_curve(body: dict[str, Any], target: Unit, stated: dict[str, Span]) -> ReadingFunction:
    function, unit = function_of_reading(body, units()), units().find(body["unit"], target.dimension)
    rounding = max((rounding_half_width(y) for _, y in body.get("points", [])), default=0.0)
    printing = unit.difference_to(rounding, target) / RECTANGULAR
    spans = {**stated, **function.spans}
    return ReadingFunction(body, target, spans, function, unit, printing, own_points(body, units()))


def _of_grid(body: dict[str, Any], target: Unit, stated: dict[str, Span], grids: Grids) -> ReadingFunction:
    """Node values as the function that joins them."""
    function, unit = function_of_grid(body, grids, units()), units().find(body["unit"], target.dimension)
    fit = body["fit_error"]
    printing = printed_number(fit["number"]) * (typical_size(body) / 100.0 if fit["unit"] == "%" else 1.0)
    spans = {**stated, **function.spans}
    return ReadingFunction(body, target, spans, function, unit, unit.difference_to(printing, target))


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
