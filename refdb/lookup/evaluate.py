"""A recommended row made ready: its form, domain and uncertainty as numbers, evaluated at a state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from refdb.forms import Form, make_form
from refdb.forms.scales import to_scale
from refdb.lookup.state import ROOM_CELSIUS, STANDARD_ATMOSPHERE, State
from refdb.lookup.store import StoredRecord
from refdb.problems import MissingState, OutsideRange
from refdb.units import Unit, units
from refdb.vocabulary import properties

# A state may miss a bound by the rounding of its own conversion, and by no more.
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Interval:
    """A printed interval in its own words, and as numbers in the unit of the state."""

    low: float
    high: float
    words: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Evaluated:
    """What a row gives at a state, in the row's unit; the slopes only when they are asked for."""

    row: PreparedRow
    value: Any
    standard_uncertainty: Any
    celsius: Any
    pascals: Any
    assumptions: tuple[str, ...]

    def slopes(self) -> dict[str, Any]:
        """Change per kelvin, and per pascal where the value depends on pressure."""
        return self.row.slopes(self.celsius, self.pascals)


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
        self.temperature = self._interval("temperature", "degC")
        self.pressure = self._interval("pressure", "Pa")
        self._saturation = self._saturation_form()
        self._per_pressure = self._pressure_unit()
        uncertainty = body["uncertainty"]
        self._in_percent = uncertainty["unit"] == "%"
        self._number = float(uncertainty["number"])
        self._per_megapascal = float(uncertainty.get("per_megapascal", "0"))

    @property
    def valid_range(self) -> dict[str, list[str]]:
        """The domain in its own words."""
        return {
            name: list(interval.words)
            for name, interval in (("temperature", self.temperature), ("pressure", self.pressure))
            if interval is not None
        }

    def evaluate(self, state: State, needs_temperature: bool) -> Evaluated:
        """The value at a state.

        Args:
            needs_temperature: a liquid needs one; a material without one is taken at 20 degC, and says so.

        Raises:
            MissingState: a liquid was asked about without a temperature, or boils at 1 atm and no pressure was given.
            OutsideRange: the state lies outside the row's domain; the range and the nearest valid state are told.
        """
        celsius, pascals, assumptions = state.celsius, state.pascals, state.assumptions
        if celsius is None:
            if needs_temperature:
                raise MissingState(
                    f"temperature: {self.property} of a liquid depends on it; give one, such as temperature=20 degC.",
                    parameter="temperature",
                )
            celsius = ROOM_CELSIUS
            assumptions = (*assumptions, "temperature not given: 20 degC")
        self._check(celsius, self.temperature, "temperature", "degC")
        if self.pressure is not None:
            given = pascals is not None
            if not given:
                pascals = STANDARD_ATMOSPHERE
                assumptions = (*assumptions, "pressure not given: 1 atm")
            self._check_liquid(celsius, pascals, given)
            self._check(pascals, self.pressure, "pressure", "Pa")
        value = self._form.value(*self._arguments(celsius, pascals))
        return Evaluated(self, value, self._uncertainty(value, pascals), celsius, pascals, assumptions)

    def _uncertainty(self, value: Any, pascals: Any) -> Any:
        """The standard uncertainty of a value, which may grow with the pressure above 1 atm."""
        number = self._number
        if self._per_megapascal and pascals is not None:
            added = self._per_megapascal * (pascals - STANDARD_ATMOSPHERE) * 1e-6
            number = (number * number + added * added) ** 0.5
        return abs(value) * number / 100.0 if self._in_percent else number

    def slopes(self, celsius: Any, pascals: Any) -> dict[str, Any]:
        """The derivatives at a state that has been evaluated, per kelvin and per pascal."""
        found = self._form.slopes(*self._arguments(celsius, pascals))
        if len(found) == 1:
            return {"temperature": found[0]}
        return {"temperature": found[0], "pressure": found[1] / self._per_pressure}

    def saturation_pressure(self, celsius: Any) -> Any:
        """The pressure in Pa at which the liquid boils at a temperature, or None where the row does not know."""
        if self._saturation is None:
            return None
        return self._saturation.value(celsius) * self._per_pressure

    def _arguments(self, celsius: Any, pascals: Any) -> tuple[Any, ...]:
        x = to_scale(celsius, self._scale)
        if len(self._form.variables) == 1:
            return (x,)
        return x, pascals / self._per_pressure

    def _pressure_axis(self) -> dict[str, Any] | None:
        axes = self.body["form"].get("axes", [])
        return next((axis for axis in axes if axis["name"] == "pressure"), None)

    def _saturation_form(self) -> Form | None:
        axis = self._pressure_axis()
        if axis is None or not isinstance(axis["low"], dict):
            return None
        return make_form(axis["low"])

    def _pressure_unit(self) -> float:
        """Pascals per unit of the form's pressure."""
        axis = self._pressure_axis()
        return 1.0 if axis is None else units().find(axis["unit"], "pressure").scale

    def _interval(self, name: str, unit: str) -> Interval | None:
        printed = self.body["domain"].get(name)
        if printed is None:
            return None
        dimension = "temperature" if name == "temperature" else "pressure"
        own, target = units().find(printed["unit"], dimension), units().find(unit, dimension)
        high = float(own.to(float(printed["high"]), target))
        if printed["low"] == "saturation":
            return Interval(0.0, high, ("saturation", f"{printed['high']} {printed['unit']}"))
        low = float(own.to(float(printed["low"]), target))
        return Interval(low, high, (f"{printed['low']} {printed['unit']}", f"{printed['high']} {printed['unit']}"))

    def _freezing_words(self) -> str:
        printed = self.body.get("freezes_at")
        if printed is None:
            return ""
        own, celsius = units().find(printed["unit"], "temperature"), units().find("degC", "temperature")
        return f" ({self.body['subject']} freezes at {own.to(float(printed['number']), celsius):.4g} degC at 1 atm)"

    def _check_liquid(self, celsius: Any, pascals: Any, given: bool) -> None:
        """Refuse a state in which the liquid boils, with the pressure that would keep it liquid."""
        boiling = self.saturation_pressure(celsius)
        if boiling is None:
            return
        excess = boiling - pascals
        worst = excess if isinstance(excess, float) else float(excess.max())
        if worst <= ROUNDING * STANDARD_ATMOSPHERE:
            return
        hottest = celsius if isinstance(celsius, float) else float(celsius.max())
        needed = boiling if isinstance(boiling, float) else float(boiling.max())
        least = f"{needed / 1000.0:.4g} kPa absolute"
        words = (
            f"pressure: {self.body['subject']} at {hottest:.6g} degC is liquid only above {least}, its saturation "
            f"pressure; {'give a higher pressure' if given else 'give the pressure'}, or a lower temperature."
        )
        if not given:
            raise MissingState(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)
        raise OutsideRange(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)

    def _check(self, given: Any, interval: Interval | None, name: str, unit: str) -> None:
        if interval is None:
            return
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
