"""The state a question is asked at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from refdb.forms.states import StatePoint
from refdb.problems import BadQuantity, UnknownUnit, WrongDimension
from refdb.units import Quantity, Unit, parse_quantity, printable, units
from refdb.units.quantity import LARGEST
from refdb.vocabulary import STATE, STRENGTHS


@dataclass(frozen=True, slots=True)
class State(StatePoint):
    """The numbers of a state, with what reading them took for granted.

    A strength on another basis than mass stays a Quantity until the solution is known, whose densities and molar masses
    turn it into a mass fraction. `assumptions` are what reading the quantities took for granted;
    `strength_uncertainty` is the standard uncertainty of a strength found from a density.
    """

    assumptions: tuple[str, ...] = ()
    strength_uncertainty: float = 0.0


@lru_cache(maxsize=8)
def _unit(part: str) -> Unit:
    return units().find(STATE[part].unit, STATE[part].dimension)


def read_state(
    temperature: str | Quantity | None = None,
    pressure: str | Quantity | None = None,
    salinity: str | Quantity | None = None,
    strength: str | Quantity | None = None,
) -> State:
    """The state from quantities or their text.

    Args:
        temperature: such as `20 degC`; a Quantity may hold an array, here and below.
        pressure: absolute or gauge, such as `3 bar(g)`.
        salinity: absolute salinity, such as `35 g/kg`, or practical salinity, such as `35 psu`.
        strength: such as `30 % mass`, `30 % vol`, `2 mol/kg`, or a density measured at the state's temperature.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    assumptions: list[str] = []
    degrees = pressures = salt = share = None
    if temperature is not None:
        degrees = _read(temperature, "temperature", assumptions)
        _check_above(degrees, -_unit("temperature").offset, "temperature", "absolute zero, -273.15 degC")
    if pressure is not None:
        pressures = _read(pressure, "pressure", assumptions)
        _check_above(pressures, 0.0, "pressure", "vacuum, 0 Pa absolute")
    if salinity is not None:
        salt = _read(salinity, "salinity", assumptions)
        _check_above(salt, 0.0, "salinity", "nothing, 0 g/kg")
    if strength is not None:
        share = _read_strength(strength, assumptions)
    return State(degrees, pressures, salt, share, tuple(assumptions))


BASES = "% mass, % vol, % ABV, % mol, mol/kg, mol/L, g/L, degBrix, degBaume, or a measured density such as 1043 kg/m3"


def parse_part(text: str, part: str) -> Quantity:
    """One part of a state; a strength on any basis.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: it is no quantity of that part.
    """
    if part != "strength":
        return parse_quantity(text, STATE[part].dimension, part)
    for dimension in STRENGTHS:
        try:
            return parse_quantity(text, dimension, part)
        except (UnknownUnit, WrongDimension):
            continue
    shown = printable(text)
    raise UnknownUnit(
        f"strength: '{shown}' does not say of what; write one of {BASES}.",
        parameter="strength",
        given=shown,
        accepted=[spelling for dimension in STRENGTHS for spelling in units().spellings(dimension)],
    )


def strength_dimension(unit: Unit) -> str:
    """What a strength in a unit measures.

    Raises:
        WrongDimension: no strength is given in it.
    """
    for dimension in STRENGTHS:
        if unit.dimension == dimension:
            return dimension
    raise WrongDimension(
        f"strength: {unit.symbol} measures no strength; write one of {BASES}.",
        parameter="strength",
        given=unit.symbol,
    )


def _read_strength(given: str | Quantity, assumptions: list[str]) -> Any:
    """A mass fraction as a number; on another basis the quantity as it is."""
    quantity = given if isinstance(given, Quantity) else parse_part(given, "strength")
    dimension = strength_dimension(quantity.unit)
    if quantity.unit.assume:
        assumptions.append(quantity.unit.assume)
    _check_above(quantity.magnitude, 0.0, "strength", "nothing")
    if dimension == STATE["strength"].dimension:
        return quantity.unit.to(quantity.magnitude, _unit("strength"))
    return quantity


def _read(given: str | Quantity, part: str, assumptions: list[str]) -> Any:
    """One part of the state in the unit it is held in; what its unit takes for granted is noted."""
    target = _unit(part)
    if isinstance(given, Quantity):
        units().find(given.unit.symbol, target.dimension, part)
        quantity = given
    else:
        quantity = parse_quantity(given, target.dimension, part)
    if quantity.unit.gauge:
        assumptions.append("gauge pressure is counted from 1 atm")
    elif quantity.unit.assume:
        assumptions.append(quantity.unit.assume)
    return quantity.unit.to(quantity.magnitude, target)


def _check_above(magnitude: Any, limit: float, field: str, words: str) -> None:
    single = isinstance(magnitude, float | int)
    lowest, highest = (magnitude, magnitude) if single else (float(magnitude.min()), float(magnitude.max()))
    if not -LARGEST <= lowest <= highest <= LARGEST:
        raise BadQuantity(
            f"{field}: holds a number that is not finite, or larger than anything measured; leave it out.",
            parameter=field,
        )
    if lowest < limit:
        raise BadQuantity(f"{field}: {lowest:g} is below {words}; correct the {field}.", parameter=field)
