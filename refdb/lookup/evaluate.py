"""A recommended row made ready: its form, domain and uncertainty as numbers, evaluated at a state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from refdb.forms import Form, ScaledPolynomial, make_form
from refdb.forms.scales import to_scale
from refdb.lookup.state import ROOM_CELSIUS, STANDARD_ATMOSPHERE, State
from refdb.lookup.store import StoredRecord
from refdb.problems import BadParameter, MissingState, OutsideRange
from refdb.units import Unit, units
from refdb.vocabulary import STATE, properties

# A state may miss a bound by the rounding of its own conversion, and by no more.
ROUNDING = 1e-9
CONTENTS = ("salinity", "strength")
EXAMPLES = {"salinity": "35 g/kg or 35 psu", "strength": "30 % mass"}


@dataclass(frozen=True, slots=True)
class Interval:
    """A printed interval in its own words, and as numbers in the unit of the state."""

    low: float
    high: float
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
        self._boils = isinstance(self._form, ScaledPolynomial) and self._form.saturation is not None
        self._freezing: Form | None = make_form(body["form"]["freezing"]) if "freezing" in body["form"] else None
        self._freezing_axes = _axis_units(body["form"].get("freezing", {}))
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
        self._check_contents(held)
        if self.temperature is not None:
            self._check(held.celsius, self.temperature, "temperature", "degC")
        if self._freezing is not None:
            self._check_unfrozen(held)
        if self.pressure is not None:
            self._check_liquid(held, state.pascals is not None)
            self._check(held.pascals, self.pressure, "pressure", "Pa")
        value = self._form.value(*self._arguments(held))
        return Evaluated(self, value, self._uncertainty(value, held.pascals), held)

    def slopes(self, state: State) -> dict[str, Any]:
        """The derivatives at a state that has been evaluated, per unit of each part of the state."""
        found = self._form.slopes(*self._arguments(state))
        names = self._form.variables
        return {name: slope / self._axes.get(name, 1.0) for name, slope in zip(names, found, strict=True)}

    def saturation_pressure(self, celsius: Any) -> Any:
        """The pressure in Pa at which the liquid boils at a temperature, or None where the row does not know."""
        if not self._boils:
            return None
        return self._form.boiling(celsius)[0] * self._axes["pressure"]  # type: ignore[attr-defined]

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
            pascals = STANDARD_ATMOSPHERE
            assumptions = (*assumptions, "pressure not given: 1 atm")
        return State(celsius, pascals, state.salinity, state.strength, assumptions)

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

    def _check_contents(self, state: State) -> None:
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
            else:
                self._check(given, self.intervals[name], name, STATE[name].unit)

    def _check_unfrozen(self, state: State) -> None:
        """Refuse a temperature below the freezing point at this salinity or strength, and say where that is."""
        assert self._freezing is not None  # noqa: S101 - called only where there is one
        freezing = self._freezing.value(*_along(self._freezing.variables, self._freezing_axes, state))
        deficit = freezing - state.celsius
        worst = deficit if isinstance(deficit, float) else float(deficit.max())
        if worst <= ROUNDING:
            return
        warmest = freezing if isinstance(freezing, float) else float(freezing.max())
        raise OutsideRange(
            f"temperature: {self.body['subject']} as given freezes at {warmest:.4g} degC; give a temperature above.",
            parameter="temperature",
            nearest=f"{warmest:.6g} degC",
            valid_range=self.valid_range,
        )

    def _check_liquid(self, state: State, given: bool) -> None:
        """Refuse a state in which the liquid boils, with the pressure that would keep it liquid."""
        boiling = self.saturation_pressure(state.celsius)
        if boiling is None:
            return
        excess = boiling - state.pascals
        worst = excess if isinstance(excess, float) else float(excess.max())
        if worst <= ROUNDING * STANDARD_ATMOSPHERE:
            return
        hottest = state.celsius if isinstance(state.celsius, float) else float(state.celsius.max())
        needed = boiling if isinstance(boiling, float) else float(boiling.max())
        least = f"{needed / 1000.0:.4g} kPa absolute"
        words = (
            f"pressure: {self.body['subject']} at {hottest:.6g} degC is liquid only above {least}, its saturation "
            f"pressure; {'give a higher pressure' if given else 'give the pressure'}, or a lower temperature."
        )
        if not given:
            raise MissingState(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)
        raise OutsideRange(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)

    def _check(self, given: Any, interval: Interval, name: str, unit: str) -> None:
        slack = ROUNDING * max(1.0, abs(interval.high))
        if isinstance(given, float):
            if interval.low - slack <= given <= interval.high + slack:
                return
            offending = given
        else:
            outside = given[(given < interval.low - slack) | (given > interval.high + slack)]
            if len(outside) == 0:
                return
            offending = float(outside[0])
        cold = offending < interval.low
        nearest = interval.words[0] if cold else interval.words[1]
        freezing = self._freezing_words() if cold and name == "temperature" else ""
        raise OutsideRange(
            f"{name}: {self.id} is valid from {interval.words[0]} to {interval.words[1]}, and {offending:.6g} {unit} "
            f"is outside{freezing}; the nearest valid {name} is {nearest}.",
            parameter=name,
            given=f"{offending:.12g} {unit}",
            valid_range=self.valid_range,
            nearest=nearest,
        )


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


def _interval(name: str, printed: Mapping[str, str]) -> Interval:
    own, target = _unit_of(name, printed["unit"]), _unit_of(name, STATE[name].unit)
    high = float(own.to(float(printed["high"]), target))
    if printed["low"] in {"saturation", "freezing"}:
        # The guards of boiling and freezing stand at the low end.
        low = 0.0 if name == "pressure" else -target.offset
        return Interval(low, high, (printed["low"], f"{printed['high']} {printed['unit']}"))
    low = float(own.to(float(printed["low"]), target))
    return Interval(low, high, (f"{printed['low']} {printed['unit']}", f"{printed['high']} {printed['unit']}"))
