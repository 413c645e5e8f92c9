"""The state a question is asked at."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from refdb.problems import BadQuantity
from refdb.units import Quantity, Unit, parse_quantity, units

STANDARD_ATMOSPHERE = 101325.0
ROOM_CELSIUS = 20.0


@dataclass(frozen=True, slots=True)
class State:
    """Temperature in degC (ITS-90) and absolute pressure in Pa; None where it was not given.

    `assumptions` are what reading the quantities took for granted.
    """

    celsius: Any = None
    pascals: Any = None
    assumptions: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def _state_units() -> tuple[Unit, Unit]:
    return units().find("degC", "temperature"), units().find("Pa", "pressure")


def read_state(temperature: str | Quantity | None = None, pressure: str | Quantity | None = None) -> State:
    """The state from quantities or their text.

    Args:
        temperature: such as `20 degC`; a Quantity may hold an array.
        pressure: absolute or gauge, such as `3 bar(g)`.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    celsius, pascal = _state_units()
    assumptions: tuple[str, ...] = ()
    degrees = pressures = None
    if temperature is not None:
        given = _quantity(temperature, "temperature")
        degrees = given.unit.to(given.magnitude, celsius)
        _check_above(degrees, -celsius.offset, "temperature", "absolute zero, -273.15 degC")
    if pressure is not None:
        given = _quantity(pressure, "pressure")
        pressures = given.unit.to(given.magnitude, pascal)
        _check_above(pressures, 0.0, "pressure", "vacuum, 0 Pa absolute")
        if given.unit.gauge:
            assumptions = ("gauge pressure is counted from 1 atm",)
        elif given.unit.assume:
            assumptions = (given.unit.assume,)
    return State(degrees, pressures, assumptions)


def _quantity(given: str | Quantity, dimension: str) -> Quantity:
    if isinstance(given, Quantity):
        units().find(given.unit.symbol, dimension, dimension)
        return given
    return parse_quantity(given, dimension, dimension)


def _check_above(magnitude: Any, limit: float, field: str, words: str) -> None:
    lowest = magnitude if isinstance(magnitude, float) else float(min(magnitude))
    if not lowest >= limit or not math.isfinite(lowest):
        raise BadQuantity(f"{field}: {lowest:g} is below {words}; correct the {field}.", parameter=field)
