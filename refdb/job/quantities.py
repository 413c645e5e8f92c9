"""Texts of a job's document as numbers in SI units."""

from __future__ import annotations

from refdb.problems import BadParameter
from refdb.units import parse_quantity, units


def number(text: str, dimension: str, where: str) -> float:
    """A quantity's text as a number in the SI unit of its dimension."""
    quantity = parse_quantity(text, dimension, where)
    return float(quantity.unit.to(quantity.magnitude, units().si(dimension)))


def difference(text: str, dimension: str, where: str) -> float:
    """A standard uncertainty's text as a number in SI units; not below zero.

    Raises:
        BadParameter: it is negative.
    """
    if dimension == "temperature":
        return not_negative(_kelvins(text, where), where)
    quantity = parse_quantity(text, dimension, where)
    return not_negative(float(quantity.unit.difference_to(quantity.magnitude, units().si(dimension))), where)


def _kelvins(text: str, where: str) -> float:
    quantity = parse_quantity(text, "temperature_difference", where)
    return float(quantity.unit.to(quantity.magnitude, units().si("temperature_difference")))


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
