"""A recommended row made ready to answer: its function of states, and what it says where it cannot answer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from refdb.constants import ROOM_CELSIUS, STANDARD_ATMOSPHERE
from refdb.forms.state_function import Breach, StateFunction
from refdb.forms.states import CONTENTS, Interval
from refdb.lookup.refuse import RowRefusals
from refdb.lookup.state import State
from refdb.lookup.store import StoredRecord
from refdb.problems import Problem
from refdb.records.state_functions import function_of_row
from refdb.units import Unit, units
from refdb.vocabulary import properties


@dataclass(frozen=True, slots=True)
class Evaluated:
    """What a row gives at a state, in the row's unit; the slopes only when they are asked for.

    `state` holds the parts that the row depends on, with what was assumed for those not given.
    """

    row: PreparedRow
    value: Any
    standard_uncertainty: Any
    state: State

    def limits(self) -> tuple[Any, Any]:
        """Both ends of the rectangle that a bounded row is."""
        return _ends(self.value, self.standard_uncertainty)

    def slopes(self) -> dict[str, Any]:
        """Change per kelvin, per pascal, per g/kg of salinity: for each part of the state the value depends on."""
        return self.row.slopes(self.state)


@dataclass(frozen=True, slots=True)
class Each:
    """Values and standard uncertainties of a row at many states, NaN where it was refused.

    `refused` says where, as masks, and why, as the problem of the first of them.
    """

    value: Any
    standard_uncertainty: Any
    refused: list[tuple[Any, Problem]]
    assumptions: tuple[str, ...]

    def limits(self) -> tuple[Any, Any]:
        """Both ends of the rectangle that a bounded row is, at every state."""
        return _ends(self.value, self.standard_uncertainty)


class PreparedRow:
    """A recommended value, ready to be evaluated any number of times."""

    def __init__(self, record: StoredRecord) -> None:
        body = record.body
        self.id: str = record.id
        self.digest: str = record.digest
        self.body: dict[str, Any] = body
        self.property: str = body["property"]
        self.unit: Unit = units().find(body["unit"], properties()[self.property]["dimension"])
        self._function: StateFunction = function_of_row(body, units())
        self.intervals = self._function.intervals
        self.temperature: Interval | None = self.intervals.get("temperature")
        self.pressure: Interval | None = self.intervals.get("pressure")
        self._refusals = RowRefusals(self.id, body, self.intervals)
        self.is_bounded: bool = body.get("bound") == "between"
        self.slopes = self._function.slopes
        self.slope_uncertainty = self._function.slope_uncertainty
        self.saturation_pressure = self._function.saturation_pressure

    @property
    def valid_range(self) -> dict[str, list[str]]:
        """The domain in its own words."""
        return self._refusals.valid_range

    def evaluate(self, state: State, needs_temperature: bool) -> Evaluated:
        """The value at a state.

        Args:
            needs_temperature: a liquid needs one; a material without one is taken at 20 degC, and says so.

        Raises:
            MissingState: a liquid was asked about without its temperature, salinity or strength, or boils at 1 atm
                and no pressure was given.
            BadParameter: a salinity or a strength was given for a liquid that has none.
            OutsideRange: the state lies outside the row's domain; the range and the nearest valid state are told.
        """
        function = self._function
        held = self._held(state, needs_temperature)
        self._require_contents(held)
        for breach in function.breaches(held, state.pascals):
            if breach.where is not False:
                self._require_kept(breach, state)
        value = function.value(held)
        uncertainty = function.standard_uncertainty(value, held)
        if held.strength_uncertainty and "strength" in function.contents:
            uncertainty = math.hypot(uncertainty, function.slopes(held)["strength"] * held.strength_uncertainty)
        return Evaluated(self, value, uncertainty, held)

    def evaluate_each(self, state: State, count: int, needs_temperature: bool) -> Each:
        """The values at states given as arrays of one length; states that cannot be answered are told, not raised.

        Args:
            count: the length; a part of the state may also be one number for all.
            needs_temperature: as for `evaluate`.

        Raises:
            MissingState: the temperature, salinity or strength that the row needs was not given at all.
            BadParameter: a salinity or a strength was given for a liquid that has none.
        """
        import numpy as np

        function = self._function
        held = self._held(state, needs_temperature)
        self._require_contents(held)
        refused: list[tuple[Any, Problem]] = []
        standing = np.ones(count, dtype=bool)
        for breach in function.breaches(held, state.pascals):
            where = np.broadcast_to(breach.where, (count,)) & standing
            if where.any():
                first = int(where.argmax())
                refused.append((where, self._refusals.problem(breach, first, state.pascals is not None)))
                standing = standing & ~where
        if not refused:
            value = function.value(held) + np.zeros(count)
            uncertainty = function.standard_uncertainty(value, held) + np.zeros(count)
            return Each(value, uncertainty, [], held.assumptions)
        value, uncertainty = np.full(count, np.nan), np.full(count, np.nan)
        kept = _subset(held, standing)
        value[standing] = function.value(kept)
        uncertainty[standing] = function.standard_uncertainty(value[standing], kept)
        return Each(value, uncertainty, refused, held.assumptions)

    def value_at(self, state: State) -> Any:
        """The form's bare value inside the row's intervals, where the liquid is frozen too; floats and arrays alike.

        For what is solved along a part of the state: only the place that is found need be liquid.

        Raises:
            MissingState, BadParameter, OutsideRange: as for `evaluate`, of the first state outside an interval.
        """
        held = self._held(state, needs_temperature=True)
        self._require_contents(held)
        for name in (*self._function.contents, *(["temperature"] if self.temperature is not None else [])):
            self._require_kept(self._function.outside(held, name), state)
        return self._function.value(held)

    def _held(self, state: State, needs_temperature: bool) -> State:
        """The parts of the state that the row depends on."""
        celsius, pascals, assumptions = state.celsius, state.pascals, state.assumptions
        if self.temperature is None:
            celsius = None
        elif celsius is None:
            if needs_temperature:
                raise self._refusals.no_temperature()
            celsius = ROOM_CELSIUS
            assumptions = (*assumptions, "temperature not given: 20 degC")
        if self.pressure is None:
            if pascals is not None and needs_temperature:
                assumptions = (*assumptions, "a value near 1 atm: the row says nothing of the pressure given")
            pascals = None
        elif pascals is None:
            pascals = self._function.usual_pressure(celsius)
            assumptions = (*assumptions, _usual_words(pascals))
        return State(celsius, pascals, state.salinity, state.strength, assumptions, state.strength_uncertainty)

    def _require_contents(self, state: State) -> None:
        contents = self._function.contents
        if not contents and state.salinity is None and state.strength is None:
            return
        for name, given in zip(CONTENTS, (state.salinity, state.strength), strict=True):
            if name not in contents:
                if given is not None:
                    raise self._refusals.has_no(name)
            elif given is None:
                raise self._refusals.no_contents(name)

    def _require_kept(self, breach: Breach, given: State) -> None:
        first = breach.first()
        if first is not None:
            raise self._refusals.problem(breach, first, given.pascals is not None)


def _ends(middle: Any, standard_uncertainty: Any) -> tuple[Any, Any]:
    half = math.sqrt(3.0) * standard_uncertainty
    return middle - half, middle + half


def _usual_words(pascals: Any) -> str:
    """How a pressure is told that was taken because none was given."""
    if not isinstance(pascals, float):
        return "pressure not given: 1 atm, or saturation where that is higher"
    if pascals == STANDARD_ATMOSPHERE:
        return "pressure not given: 1 atm"
    return f"pressure not given: saturation, {pascals * 1e-5:.4g} bar absolute"


def _subset(state: State, where: Any) -> State:
    """The places of a state that a mask keeps."""
    celsius, pascals, salinity, strength = (
        part if part is None or isinstance(part, float) else part[where] for _, part in state.parts()
    )
    return State(celsius, pascals, salinity, strength, state.assumptions)
