"""Texts of a job's document as numbers in SI units."""

from __future__ import annotations

from typing import Any

from refdb.constants import KELVIN_AT_0_CELSIUS
from refdb.problems import BadParameter
from refdb.units import Quantity, parse_quantity, significant, units

STEADY_DIGITS = 14
"""One fewer than the factors of the unit table have."""


def number(text: str, dimension: str, where: str) -> float:
    """A quantity's text as a number in the SI unit of its dimension."""
    quantity = parse_quantity(text, dimension, where)
    return steady(quantity.unit.to(quantity.magnitude, units().si(dimension)))


def steady_length(text: str, where: str) -> Quantity:
    """A length in millimetres, the same number whatever unit it was written in."""
    quantity, unit = parse_quantity(text, "length", where), units().find("mm", "length")
    return Quantity(steady(quantity.unit.to(quantity.magnitude, unit)), unit)


def difference(text: str, dimension: str, where: str) -> float:
    """A standard uncertainty's text as a number in SI units; not below zero.

    Raises:
        BadParameter: it is negative.
    """
    if dimension == "temperature":
        return not_negative(_kelvins(text, where), where)
    quantity = parse_quantity(text, dimension, where)
    return not_negative(steady(quantity.unit.difference_to(quantity.magnitude, units().si(dimension))), where)


def _kelvins(text: str, where: str) -> float:
    quantity = parse_quantity(text, "temperature_difference", where)
    return steady(quantity.unit.to(quantity.magnitude, units().si("temperature_difference")))


def steady(amount: Any) -> float:
    """A number without the last bits of its conversion: 8.5 in and 215.9 mm are then one number, to the last bit."""
    return float(significant(float(amount), STEADY_DIGITS))


def not_negative(amount: float, where: str) -> float:
    """The amount, where it is the size of something.

    Raises:
        BadParameter: it is below zero.
    """
    if amount < 0.0:
        raise BadParameter(f"{where}: an uncertainty is not below zero; give its size.", parameter=where)
    return amount


def positive(text: str, dimension: str, where: str) -> float:
    """A quantity that must be above zero.

    Raises:
        BadParameter: it is not.
    """
    amount = number(text, dimension, where)
    if amount <= 0.0:
        raise BadParameter(f"{where}: must be above zero; {text} is not.", parameter=where, given=text)
    return amount


def celsius(kelvin: float) -> float:
    """A temperature in K as degrees Celsius."""
    return kelvin - KELVIN_AT_0_CELSIUS
