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
    """What a row gives at a state, in the row's unit."""

    value: Any
    standard_uncertainty: Any
    slope: Any
    celsius: Any
    pascals: Any
    assumptions: tuple[str, ...]


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
        variable = body["form"].get("variable", {})
        self._scale: str | None = variable.get("scale")
        self.temperature = self._interval("temperature", "degC")
        self.pressure = self._interval("pressure", "Pa")
        uncertainty = body["uncertainty"]
        self._relative = float(uncertainty["number"]) / 100.0 if uncertainty["unit"] == "%" else None
        self._absolute = float(uncertainty["number"])
        self.is_constant = body["form"]["name"] == "constant/1"

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
            MissingState: a liquid was asked about without a temperature.
            OutsideRange: the state lies outside the row's domain; the range and the nearest valid state are told.
        """
        assumptions = state.assumptions
        celsius, pascals = state.celsius, state.pascals
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
            if pascals is None:
                pascals = STANDARD_ATMOSPHERE
                assumptions = (*assumptions, "pressure not given: 1 atm")
            self._check(pascals, self.pressure, "pressure", "Pa")
        x = to_scale(celsius, self._scale)
        value = self._form.value(x)
        uncertainty = self._absolute if self._relative is None else abs(value) * self._relative
        return Evaluated(value, uncertainty, self._form.slope(x), celsius, pascals, assumptions)

    def _interval(self, name: str, unit: str) -> Interval | None:
        printed = self.body["domain"].get(name)
        if printed is None:
            return None
        dimension = "temperature" if name == "temperature" else "pressure"
        own, target = units().find(printed["unit"], dimension), units().find(unit, dimension)
        low, high = (float(own.to(float(printed[end]), target)) for end in ("low", "high"))
        return Interval(low, high, (f"{printed['low']} {printed['unit']}", f"{printed['high']} {printed['unit']}"))

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
        nearest = interval.words[0] if offending < interval.low else interval.words[1]
        raise OutsideRange(
            f"{name}: {self.id} is valid from {interval.words[0]} to {interval.words[1]}, and {offending:.6g} {unit} "
            f"is outside; the nearest valid {name} is {nearest}.",
            parameter=name,
            given=f"{offending:.12g} {unit}",
            valid_range=self.valid_range,
            nearest=nearest,
        )
