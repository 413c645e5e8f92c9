"""States as numbers, the axes along which a form takes them, and the intervals in which it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from refdb.forms.scales import to_scale

ROUNDING = 1e-9
"""A state may miss a bound by the rounding of its own conversion (relative), and by no more."""

JUST_LIQUID = 1.0 + ROUNDING
"""Factor on the pressure of a state at saturation, so that rounding does not make it boil."""

CONTENTS: tuple[Literal["salinity", "strength"], ...] = ("salinity", "strength")
"""The parts of a state that tell what is in a liquid."""

ATTRIBUTES = {"temperature": "celsius", "pressure": "pascals", "salinity": "salinity", "strength": "strength"}
"""The attribute of a `StatePoint` that holds a part of the state."""


@dataclass(frozen=True, slots=True)
class StatePoint:
    """Temperature in degC (ITS-90), absolute pressure in Pa, absolute salinity in g/kg, strength in kg/kg.

    Each a float or a numpy array, None where it was not given.
    """

    celsius: Any = None
    pascals: Any = None
    salinity: Any = None
    strength: Any = None

    def parts(self) -> tuple[tuple[str, Any], ...]:
        """The parts of the state by name, given or not."""
        return (
            ("temperature", self.celsius),
            ("pressure", self.pascals),
            ("salinity", self.salinity),
            ("strength", self.strength),
        )


@dataclass(frozen=True, slots=True)
class StateAxis:
    """One argument of a form: a part of the state in a unit, on a scale and from an origin of its own.

    Attributes:
        per_unit: one unit of the axis, in the unit in which states are held.
        origin: where the axis is zero, counted from an absolute zero; 1 atm for a gauge pressure.
        zero: where the states are zero, counted from there too; 273.15 for a temperature in degC.
        scale: of a temperature; None for ITS-90.
    """

    name: str
    per_unit: float = 1.0
    origin: float = 0.0
    zero: float = 0.0
    scale: str | None = None

    @property
    def plain(self) -> bool:
        """Whether the argument is the part of the state as it is held."""
        return self.per_unit == 1.0 and self.origin == self.zero and self.scale is None

    def argument(self, held: Any) -> Any:
        """The argument that belongs to a part of the state."""
        if self.scale is not None:
            held = to_scale(held, self.scale)
        if self.origin != self.zero:
            held = held + self.zero - self.origin
        return held if self.per_unit == 1.0 else held / self.per_unit

    def held(self, argument: Any) -> Any:
        """The part of the state that belongs to an argument; the inverse of `argument`."""
        held = argument if self.per_unit == 1.0 else argument * self.per_unit
        if self.origin != self.zero:
            held = held + self.origin - self.zero
        # A scale is a factor in degC.
        return held if self.scale is None else held / to_scale(1.0, self.scale)

    def slope(self, along_argument: Any) -> Any:
        """A derivative along the argument as one along the part of the state."""
        along = along_argument / self.per_unit
        return along if self.scale is None else along * to_scale(1.0, self.scale)


@dataclass(frozen=True, slots=True)
class Interval:
    """Both ends of what is valid of a part of the state, in the unit in which states are held.

    A state is refused below `least` and above `most`, which leave room for the rounding of its own conversion.
    """

    low: float
    high: float
    least: float
    most: float

    @classmethod
    def between(cls, low: float, high: float) -> Interval:
        """The interval with its room."""
        room = ROUNDING * max(1.0, abs(high))
        return cls(low, high, low - room, high + room)


def place_of(part: Any, index: int) -> float:
    """A part of the state at one place of an array; it may be the same everywhere."""
    return part if isinstance(part, float) else float(part[index])
