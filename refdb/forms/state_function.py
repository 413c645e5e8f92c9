"""A form as a function of states: what answers, readings and rules evaluate.

One class knows the axes of a form, where it holds, where the liquid boils or freezes, and how uncertain a value is.
What is wrong with a state is told as a `Breach`, in numbers: words are for those who ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, NamedTuple

from refdb.constants import ROOM_CELSIUS, STANDARD_ATMOSPHERE
from refdb.forms.base import Form, FormSpec
from refdb.forms.catalogue import make_form
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.states import ATTRIBUTES, CONTENTS, JUST_LIQUID, ROUNDING, Interval, StateAxis, StatePoint

BreachKind = Literal["outside", "frozen", "boils", "may boil"]


class Breach(NamedTuple):
    """A rule that a state may break.

    Attributes:
        part: the part of the state that the rule is about.
        where: whether it is broken; a mask for an array of states.
        held: that part of the state; of a liquid that boils, its temperature in degC.
        limit: the freezing point in degC, or the pressure in Pa above which the liquid is liquid; else None.
    """

    kind: BreachKind
    part: str
    where: Any
    held: Any
    limit: Any = None

    def first(self) -> int | None:
        """The first place where the rule is broken, None where there is none; a single state has the place 0."""
        if isinstance(self.where, bool):
            return 0 if self.where else None
        return int(self.where.argmax()) if self.where.any() else None


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """A standard uncertainty, in the unit of the value or in percent of it; it may grow with the state.

    Attributes:
        per_megapascal: the growth per MPa above 1 atm, in the unit of `number`.
        per_kelvin: the growth per kelvin from 20 degC, in the unit of `number`.
    """

    number: float
    in_percent: bool = False
    per_megapascal: float = 0.0
    per_kelvin: float = 0.0

    def of(self, value: Any, state: StatePoint, functions: Functions = PLAIN) -> Any:
        """The standard uncertainty of a value at a state, in its unit; a part that is None is not known to matter."""
        number, pascals = self.number, state.pascals
        if self.per_kelvin and state.celsius is not None:
            warmer = self.per_kelvin * (state.celsius - ROOM_CELSIUS)
            number = functions.power(number * number + warmer * warmer, 0.5)
        if self.per_megapascal and pascals is not None:
            added = self.per_megapascal * (pascals - STANDARD_ATMOSPHERE) * 1e-6
            number = functions.power(number * number + added * added, 0.5)
        return abs(value) * number / 100.0 if self.in_percent else number


@dataclass(frozen=True, slots=True)
class VapourBound:
    """A vapour pressure beside a form that knows no pressure: the liquid's own, or one that it cannot exceed.

    Attributes:
        curve: the vapour pressure in Pa, from `coldest` to `hottest` in degC.
        most: Pa from which on the row's own evidence says that the liquid does not boil; None for its own curve.
    """

    curve: StateFunction
    coldest: float
    hottest: float
    most: float | None

    def pressure(self, state: StatePoint) -> Any:
        """In Pa at a state; colder than the curve begins, as where it begins, which is too much."""
        celsius = _between(state.celsius, self.coldest, self.hottest)
        needed = self.curve.value(replace(state, celsius=celsius))
        return needed if self.most is None else _between(needed, 0.0, self.most)


class StateFunction:
    """A form, evaluated at states; floats and numpy arrays alike.

    Args:
        spec: the description of the form.
        axes: of each of its arguments.
        intervals: where it holds, by part of the state.
        uncertainty: of a value; none where nothing is known of it.
        freezing: the freezing point in degC, for a form that reaches below it.
        vapour: a vapour pressure, for a form that knows no pressure.
        at_saturation: where no pressure is given, a liquid that boils at 1 atm is taken at saturation.
        functions: the elementary functions; the machine's to answer, those of `refdb.exact` to derive.

    Attributes:
        boils: whether the domain begins at a saturation pressure.
        contents: those of `CONTENTS` on which it depends.
    """

    __slots__ = (
        "_at_saturation", "_axes", "_form", "_freezing", "_functions", "_per_pressure", "_uncertainty", "_vapour",
        "boils", "contents", "intervals",
    )  # fmt: skip

    def __init__(
        self,
        spec: FormSpec,
        axes: Sequence[StateAxis],
        *,
        intervals: Mapping[str, Interval] | None = None,
        uncertainty: Uncertainty | None = None,
        freezing: StateFunction | None = None,
        vapour: VapourBound | None = None,
        at_saturation: bool = False,
        functions: Functions = PLAIN,
    ) -> None:
        self._form: Form = make_form(spec, functions)
        self._axes = tuple((ATTRIBUTES[axis.name], axis, axis.plain) for axis in axes)
        self.intervals: Mapping[str, Interval] = intervals or {}
        self._uncertainty = uncertainty or Uncertainty(0.0)
        self._functions = functions
        self._freezing = freezing
        self._vapour = vapour
        self._at_saturation = at_saturation
        self._per_pressure = next((axis.per_unit for axis in axes if axis.name == "pressure"), 1.0)
        self.boils = getattr(self._form, "saturation", None) is not None
        self.contents = tuple(name for name in CONTENTS if name in self.intervals)

    @property
    def spans(self) -> dict[str, tuple[float, float]]:
        """Both ends of each interval, in the units in which states are held."""
        return {name: (interval.low, interval.high) for name, interval in self.intervals.items()}

    def value(self, state: StatePoint) -> Any:
        """The form's bare value, whether it holds there or not."""
        return self._form.value(*self._arguments(state))

    def standard_uncertainty(self, value: Any, state: StatePoint) -> Any:
        """The standard uncertainty of the value at a state, in the unit of the value."""
        return self._uncertainty.of(value, state, self._functions)

    def slopes(self, state: StatePoint) -> dict[str, Any]:
        """The derivatives at a state that the form knows, per unit in which each part of the state is held."""
        found = self._form.slopes(*self._arguments(state))
        return {
            axis.name: slope if plain else axis.slope(slope)
            for (_, axis, plain), slope in zip(self._axes, found, strict=True)
            if slope is not None
        }

    @property
    def slope_uncertainty(self) -> float | None:
        """The standard uncertainty of the slope in temperature, per kelvin; None where nothing is known of it."""
        return self._uncertainty.per_kelvin or None

    def saturation_pressure(self, celsius: Any) -> Any:
        """The pressure in Pa at which the liquid boils at a temperature, or None where that is not known."""
        if not self.boils:
            return None
        return self._form.boiling(celsius) * self._per_pressure  # type: ignore[attr-defined]

    def usual_pressure(self, celsius: Any) -> Any:
        """The pressure in Pa where none is given: 1 atm, or saturation where a liquefied gas boils there.

        Outside the range of temperatures, where the saturation pressure is not known, it is 1 atm. One float where it
        is 1 atm everywhere.
        """
        if not self._at_saturation:
            return STANDARD_ATMOSPHERE
        interval = self.intervals["temperature"]
        if isinstance(celsius, float):
            known = interval.least <= celsius <= interval.most
            return max(STANDARD_ATMOSPHERE, self.saturation_pressure(celsius)) if known else STANDARD_ATMOSPHERE
        boiling = self.saturation_pressure(celsius.clip(interval.low, interval.high))
        return boiling.clip(STANDARD_ATMOSPHERE) if (boiling > STANDARD_ATMOSPHERE).any() else STANDARD_ATMOSPHERE

    def liquid_at(self, state: StatePoint) -> StatePoint:
        """The state at 1 atm where it tells no pressure; one below saturation is raised to just above it."""
        pascals = STANDARD_ATMOSPHERE if state.pascals is None else state.pascals
        if self.boils:
            pascals = max(pascals, self.saturation_pressure(state.celsius) * JUST_LIQUID)
        return state if pascals is state.pascals else replace(state, pascals=pascals)

    def outside(self, state: StatePoint, name: str) -> Breach:
        """Whether a part of the state lies outside its interval."""
        interval, held = self.intervals[name], getattr(state, ATTRIBUTES[name])
        return Breach("outside", name, (held < interval.least) | (held > interval.most), held)

    def breaches(self, state: StatePoint, given: Any) -> Iterator[Breach]:
        """Every way in which a state may lie outside the domain, in the order in which it is told.

        Args:
            given: the pressure in Pa that was asked about, on which the value need not depend; None where none was.
        """
        for name in self.contents:
            yield self.outside(state, name)
        if "temperature" in self.intervals:
            yield self.outside(state, "temperature")
        if self._freezing is not None:
            freezing = self._freezing.value(state)
            yield Breach("frozen", "temperature", freezing - state.celsius > ROUNDING, state.celsius, freezing)
        if self.boils:
            yield _boiling("boils", self.saturation_pressure(state.celsius), state, state.pascals)
        if self._vapour is not None:
            # Without a pressure the question is about 1 atm.
            kind: BreachKind = "boils" if self._vapour.most is None else "may boil"
            yield _boiling(kind, self._vapour.pressure(state), state, STANDARD_ATMOSPHERE if given is None else given)
        if "pressure" in self.intervals:
            yield self.outside(state, "pressure")

    def _arguments(self, state: StatePoint) -> list[Any]:
        return [
            getattr(state, attribute) if plain else axis.argument(getattr(state, attribute))
            for attribute, axis, plain in self._axes
        ]


def _boiling(kind: BreachKind, needed: Any, state: StatePoint, pascals: Any) -> Breach:
    return Breach(kind, "pressure", needed - pascals > ROUNDING * STANDARD_ATMOSPHERE, state.celsius, needed)


def _between(part: Any, low: float, high: float) -> Any:
    """A number, or each of an array, moved to the nearer end of an interval where it lies outside."""
    return min(max(part, low), high) if isinstance(part, float) else part.clip(low, high)
