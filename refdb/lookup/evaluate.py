"""A recommended row made ready: its form, domain and uncertainty as numbers, evaluated at a state."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, NamedTuple

from refdb.forms import Form, make_form
from refdb.forms.scales import to_scale
from refdb.lookup.state import ROOM_CELSIUS, STANDARD_ATMOSPHERE, State
from refdb.lookup.store import StoredRecord
from refdb.problems import BadParameter, MissingState, OutsideRange, Problem
from refdb.units import Unit, units
from refdb.vocabulary import STATE, properties

# A state may miss a bound by the rounding of its own conversion, and by no more.
ROUNDING = 1e-9
CONTENTS = ("salinity", "strength")
EXAMPLES = {"salinity": "35 g/kg or 35 psu", "strength": "30 % mass"}


@dataclass(frozen=True, slots=True)
class Interval:
    """A printed interval in its own words, and as numbers in the unit of the state.

    A state is refused below `least` and above `most`, which leave room for the rounding of its own conversion.
    """

    low: float
    high: float
    least: float
    most: float
    words: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Evaluated:
    """What a row gives at a state, in the row's unit; the slopes only when they are asked for.

    `state` holds the parts that the row depends on, with what was assumed for those not given.
    """

    row: PreparedRow
    value: Any
    standard_uncertainty: Any
    state: State

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


class Offence(NamedTuple):
    """A rule of the domain: where a state breaks it, and the problem for one of those places."""

    where: Any
    problem: Callable[[int], Problem]

    def first(self) -> int | None:
        """The first place where the rule is broken; a single state has the place 0."""
        if isinstance(self.where, bool):
            return 0 if self.where else None
        return int(self.where.argmax()) if self.where.any() else None


class PreparedRow:
    """A recommended value, ready to be evaluated any number of times."""

    def __init__(self, record: StoredRecord) -> None:
        body = record.body
        self.id: str = record.id
        self.digest: str = record.digest
        self.body: dict[str, Any] = body
        self.property: str = body["property"]
        dimension = properties()[self.property]["dimension"]
        self.unit: Unit = units().find(body["unit"], dimension)
        self._form: Form = make_form(body["form"])
        self._scale: str | None = body["form"].get("variable", {}).get("scale")
        self._axes = _axis_units(body["form"])
        self.intervals = {name: _interval(name, printed) for name, printed in body["domain"].items()}
        self.temperature = self.intervals.get("temperature")
        self.pressure = self.intervals.get("pressure")
        self._contents = tuple(name for name in CONTENTS if name in self.intervals)
        self._boils = getattr(self._form, "saturation", None) is not None
        self._at_saturation = body["domain"].get("pressure", {}).get("not_given") == "saturation"
        self._freezing: Form | None = make_form(body["form"]["freezing"]) if "freezing" in body["form"] else None
        self._freezing_axes = _axis_units(body["form"].get("freezing", {}))
        self._vapour = _Vapour.of(body["form"]["boiling"]) if "boiling" in body["form"] else None
        uncertainty = body["uncertainty"]
        self._in_percent = uncertainty["unit"] == "%"
        self._number = float(uncertainty["number"])
        self._per_megapascal = float(uncertainty.get("per_megapascal", "0"))

    @property
    def valid_range(self) -> dict[str, list[str]]:
        """The domain in its own words."""
        return {name: list(interval.words) for name, interval in self.intervals.items()}

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
        held = self._held(state, needs_temperature)
        self._require_contents(held)
        for offence in self._offences(held, state.pascals):
            first = offence.first()
            if first is not None:
                raise offence.problem(first)
        value = self._form.value(*self._arguments(held))
        uncertainty = self._uncertainty(value, held.pascals)
        if held.strength_uncertainty and "strength" in self._contents:
            uncertainty = math.hypot(uncertainty, self.slopes(held)["strength"] * held.strength_uncertainty)
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

        held = self._held(state, needs_temperature)
        self._require_contents(held)
        refused: list[tuple[Any, Problem]] = []
        standing = np.ones(count, dtype=bool)
        for offence in self._offences(held, state.pascals):
            where = np.broadcast_to(offence.where, (count,)) & standing
            if where.any():
                refused.append((where, offence.problem(int(where.argmax()))))
                standing = standing & ~where
        if not refused:
            value = self._form.value(*self._arguments(held)) + np.zeros(count)
            uncertainty = self._uncertainty(value, held.pascals) + np.zeros(count)
            return Each(value, uncertainty, [], held.assumptions)
        value, uncertainty = np.full(count, np.nan), np.full(count, np.nan)
        kept = _subset(held, standing)
        value[standing] = self._form.value(*self._arguments(kept))
        uncertainty[standing] = self._uncertainty(value[standing], kept.pascals)
        return Each(value, uncertainty, refused, held.assumptions)

    def value_at(self, state: State) -> Any:
        """The form's bare value inside the row's intervals, where the liquid is frozen too; floats and arrays alike.

        For what is solved along a part of the state: only the place that is found need be liquid.

        Raises:
            MissingState, BadParameter, OutsideRange: as for `evaluate`, of the first state outside an interval.
        """
        held = self._held(state, needs_temperature=True)
        self._require_contents(held)
        parts = dict(held.parts())
        for name in (*self._contents, *(["temperature"] if self.temperature is not None else [])):
            outside = self._outside(parts[name], name)
            first = outside.first()
            if first is not None:
                raise outside.problem(first)
        return self._form.value(*self._arguments(held))

    def slopes(self, state: State) -> dict[str, Any]:
        """The derivatives at a state that has been evaluated, per unit of each part of the state."""
        found = self._form.slopes(*self._arguments(state))
        names = self._form.variables
        return {name: slope / self._axes.get(name, 1.0) for name, slope in zip(names, found, strict=True)}

    def saturation_pressure(self, celsius: Any) -> Any:
        """The pressure in Pa at which the liquid boils at a temperature, or None where the row does not know."""
        if not self._boils:
            return None
        return self._form.boiling(celsius) * self._axes["pressure"]  # type: ignore[attr-defined]

    def _held(self, state: State, needs_temperature: bool) -> State:
        """The parts of the state that the row depends on."""
        celsius, pascals, assumptions = state.celsius, state.pascals, state.assumptions
        if self.temperature is None:
            celsius = None
        elif celsius is None:
            if needs_temperature:
                raise MissingState(
                    f"temperature: {self.property} of a liquid depends on it; give one, such as temperature=20 degC.",
                    parameter="temperature",
                )
            celsius = ROOM_CELSIUS
            assumptions = (*assumptions, "temperature not given: 20 degC")
        if self.pressure is None:
            if pascals is not None and needs_temperature:
                assumptions = (*assumptions, "a value near 1 atm: the row says nothing of the pressure given")
            pascals = None
        elif pascals is None:
            pascals, assumed = self._usual_pressure(celsius)
            assumptions = (*assumptions, assumed)
        return State(celsius, pascals, state.salinity, state.strength, assumptions, state.strength_uncertainty)

    def _usual_pressure(self, celsius: Any) -> tuple[Any, str]:
        """The pressure where none is given, and how that is told: 1 atm; saturation where a liquefied gas boils there.

        Outside the range of temperatures, where the saturation pressure is not known, it is 1 atm.
        """
        if not self._at_saturation:
            return STANDARD_ATMOSPHERE, "pressure not given: 1 atm"
        interval = self.intervals["temperature"]
        if isinstance(celsius, float):
            boiling = self.saturation_pressure(celsius) if interval.least <= celsius <= interval.most else 0.0
            if boiling <= STANDARD_ATMOSPHERE:
                return STANDARD_ATMOSPHERE, "pressure not given: 1 atm"
            return boiling, f"pressure not given: saturation, {boiling * 1e-5:.4g} bar absolute"
        boiling = self.saturation_pressure(celsius.clip(interval.low, interval.high))
        if not (boiling > STANDARD_ATMOSPHERE).any():
            return STANDARD_ATMOSPHERE, "pressure not given: 1 atm"
        return boiling.clip(STANDARD_ATMOSPHERE), "pressure not given: 1 atm, or saturation where that is higher"

    def _uncertainty(self, value: Any, pascals: Any) -> Any:
        """The standard uncertainty of a value, which may grow with the pressure above 1 atm."""
        number = self._number
        if self._per_megapascal and pascals is not None:
            added = self._per_megapascal * (pascals - STANDARD_ATMOSPHERE) * 1e-6
            number = (number * number + added * added) ** 0.5
        return abs(value) * number / 100.0 if self._in_percent else number

    def _arguments(self, state: State) -> list[Any]:
        if len(self._form.variables) == 1 and self._form.variables[0] == "temperature":
            return [to_scale(state.celsius, self._scale)]
        return _along(self._form.variables, self._axes, state)

    def _freezing_words(self) -> str:
        printed = self.body.get("freezes_at")
        if printed is None:
            return ""
        own, celsius = units().find(printed["unit"], "temperature"), units().find("degC", "temperature")
        return f" ({self.body['subject']} freezes at {own.to(float(printed['number']), celsius):.4g} degC at 1 atm)"

    def _require_contents(self, state: State) -> None:
        for name in CONTENTS:
            given = state.salinity if name == "salinity" else state.strength
            if name not in self._contents:
                if given is not None:
                    raise BadParameter(
                        f"{name}: {self.property} of {self.body['subject']} does not depend on it; leave it out, or "
                        "ask for the liquid that has one.",
                        parameter=name,
                    )
            elif given is None:
                raise MissingState(
                    f"{name}: {self.property} of {self.body['subject']} depends on it; give one, such as "
                    f"{EXAMPLES[name]}.",
                    parameter=name,
                    valid_range=self.valid_range,
                )

    def _offences(self, state: State, given: Any) -> Iterator[Offence]:
        """Every way in which a state may lie outside the domain, in the order in which it is told.

        Args:
            given: the pressure in Pa that was asked about, which a row may not depend on, or None.
        """
        for name in self._contents:
            yield self._outside(state.salinity if name == "salinity" else state.strength, name)
        if self.temperature is not None:
            yield self._outside(state.celsius, "temperature")
        if self._freezing is not None:
            yield self._frozen(state)
        if self._boils:
            yield self._boiling(state, given is not None)
        if self._vapour is not None:
            yield self._evaporating(self._vapour, state, given)
        if self.pressure is not None:
            yield self._outside(state.pascals, "pressure")

    def _outside(self, given: Any, name: str) -> Offence:
        interval = self.intervals[name]
        return Offence(
            (given < interval.least) | (given > interval.most), partial(self._outside_problem, given, interval, name)
        )

    def _outside_problem(self, given: Any, interval: Interval, name: str, index: int) -> Problem:
        offending, unit = _at(given, index), STATE[name].unit
        cold = offending < interval.low
        nearest = interval.words[0] if cold else interval.words[1]
        freezing = self._freezing_words() if cold and name == "temperature" else ""
        return OutsideRange(
            f"{name}: {self.id} is valid from {interval.words[0]} to {interval.words[1]}, and {offending:.6g} {unit} "
            f"is outside{freezing}; the nearest valid {name} is {nearest}.",
            parameter=name,
            given=f"{offending:.12g} {unit}",
            valid_range=self.valid_range,
            nearest=nearest,
        )

    def _frozen(self, state: State) -> Offence:
        """A temperature below the freezing point at this salinity or strength."""
        assert self._freezing is not None  # noqa: S101 - asked only where there is one
        freezing = self._freezing.value(*_along(self._freezing.variables, self._freezing_axes, state))
        return Offence(freezing - state.celsius > ROUNDING, partial(self._frozen_problem, freezing))

    def _frozen_problem(self, freezing: Any, index: int) -> Problem:
        point = _at(freezing, index)
        return OutsideRange(
            f"temperature: {self.body['subject']} as given freezes at {point:.4g} degC; give a temperature above.",
            parameter="temperature",
            nearest=f"{point:.6g} degC",
            valid_range=self.valid_range,
        )

    def _boiling(self, state: State, pressure_given: bool) -> Offence:
        """A state in which the liquid boils; told with the pressure that would keep it liquid."""
        boiling = self.saturation_pressure(state.celsius)
        return Offence(
            boiling - state.pascals > ROUNDING * STANDARD_ATMOSPHERE,
            partial(self._boiling_problem, boiling, state.celsius, pressure_given),
        )

    def _evaporating(self, vapour: _Vapour, state: State, given: Any) -> Offence:
        """A state in which a liquid whose row knows no pressure boils, or may boil; without a pressure, at 1 atm."""
        needed = vapour.pressure(state)
        pascals = STANDARD_ATMOSPHERE if given is None else given
        problem = self._boiling_problem if vapour.most is None else self._perhaps_boiling_problem
        return Offence(
            needed - pascals > ROUNDING * STANDARD_ATMOSPHERE,
            partial(problem, needed, state.celsius, given is not None),
        )

    def _perhaps_boiling_problem(self, needed: Any, celsius: Any, pressure_given: bool, index: int) -> Problem:
        del pressure_given  # at 1 atm and above such a row is never refused
        least = _at(needed, index)
        return OutsideRange(
            f"pressure: {self.body['subject']} at {_at(celsius, index):.6g} degC is known to be liquid only above "
            f"{least / 1000.0:.4g} kPa absolute, where not even water boils; its own vapour pressure, which is lower, "
            "was not seen: give a higher pressure, or a lower temperature.",
            parameter="pressure",
            nearest=f"{least:.6g} Pa",
            valid_range=self.valid_range,
        )

    def _boiling_problem(self, boiling: Any, celsius: Any, pressure_given: bool, index: int) -> Problem:
        needed = _at(boiling, index)
        words = (
            f"pressure: {self.body['subject']} at {_at(celsius, index):.6g} degC is liquid only above "
            f"{needed / 1000.0:.4g} kPa absolute, its saturation pressure; "
            f"{'give a higher pressure' if pressure_given else 'give the pressure'}, or a lower temperature."
        )
        kind = OutsideRange if pressure_given else MissingState
        return kind(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)


class _Vapour:
    """A vapour pressure beside a form that knows no pressure: the liquid's own, or one that it cannot exceed.

    Attributes:
        most: Pa from which on the row's own evidence says that the liquid does not boil; None for its own curve.
    """

    def __init__(self, form: Form, axes: Mapping[str, float], ends: tuple[float, float], most: float | None) -> None:
        self._form = form
        self._axes = axes
        self._coldest, self._hottest = ends
        self.most = most

    @classmethod
    def of(cls, spec: Mapping[str, Any]) -> _Vapour:
        """From what stands under `boiling` in the description of a form: `pressure`, a form in Pa, and `most`."""
        pressure = spec["pressure"]
        axis = pressure["axes"][0]
        most = float(spec["most"]) if "most" in spec else None
        return cls(make_form(pressure), _axis_units(pressure), (float(axis["low"]), float(axis["high"])), most)

    def pressure(self, state: State) -> Any:
        """In Pa at a state; colder than the curve begins, as where it begins, which is too much."""
        celsius = _between(state.celsius, self._coldest, self._hottest)
        needed = self._form.value(*_along(self._form.variables, self._axes, replace(state, celsius=celsius)))
        return needed if self.most is None else _between(needed, 0.0, self.most)


def _between(part: Any, low: float, high: float) -> Any:
    """A number, or each of an array, moved to the nearer end of an interval where it lies outside."""
    return min(max(part, low), high) if isinstance(part, float) else part.clip(low, high)


def _axis_units(spec: Mapping[str, Any]) -> dict[str, float]:
    """For each axis of a form other than the temperature: its unit, in the unit that the state is held in."""
    return {
        axis["name"]: _unit_of(axis["name"], axis["unit"]).to(1.0, _unit_of(axis["name"], STATE[axis["name"]].unit))
        for axis in spec.get("axes", [])
        if axis["name"] != "temperature"
    }


def _unit_of(part: str, spelling: str) -> Unit:
    return units().find(spelling, STATE[part].dimension)


def _along(names: tuple[str, ...], axes: Mapping[str, float], state: State) -> list[Any]:
    """The arguments of a form: the named parts of a state, in the units of its axes."""
    arguments = []
    for name in names:
        if name == "temperature":
            arguments.append(state.celsius)
        elif name == "pressure":
            arguments.append(state.pascals / axes[name])
        else:
            arguments.append((state.salinity if name == "salinity" else state.strength) / axes[name])
    return arguments


def _at(part: Any, index: int) -> float:
    """A part of the state at one place: it may be the same everywhere."""
    return part if isinstance(part, float) else float(part[index])


def _subset(state: State, where: Any) -> State:
    """The places of a state that a mask keeps."""
    celsius, pascals, salinity, strength = (
        part if part is None or isinstance(part, float) else part[where] for _, part in state.parts()
    )
    return State(celsius, pascals, salinity, strength, state.assumptions)


def _interval(name: str, printed: Mapping[str, str]) -> Interval:
    own, target = _unit_of(name, printed["unit"]), _unit_of(name, STATE[name].unit)
    high = float(own.to(float(printed["high"]), target))
    if printed["low"] in {"saturation", "freezing"}:
        # The guards of boiling and freezing stand at the low end.
        low = 0.0 if name == "pressure" else -target.offset
        return _with_room(low, high, (printed["low"], f"{printed['high']} {printed['unit']}"))
    low = float(own.to(float(printed["low"]), target))
    return _with_room(low, high, (f"{printed['low']} {printed['unit']}", f"{printed['high']} {printed['unit']}"))


def _with_room(low: float, high: float, words: tuple[str, str]) -> Interval:
    room = ROUNDING * max(1.0, abs(high))
    return Interval(low, high, low - room, high + room, words)
