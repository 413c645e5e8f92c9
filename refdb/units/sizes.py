"""Sizes that people measured or were told: quantities that must be above zero."""

from __future__ import annotations

from refdb.problems import BadParameter, OutsideRange
from refdb.units.quantity import Quantity, read_quantity
from refdb.units.table import units

Given = str | Quantity
"""A quantity or its text."""

NO_SOURCE = "common practice, no source"


def read_size(given: str | Quantity | None, dimension: str, field: str, *, or_zero: bool = False) -> Quantity:
    """A quantity above zero, or zero too.

    Raises:
        BadParameter: it is missing or below.
        BadQuantity, UnknownUnit, WrongDimension: it is not one, or measures something else.
    """
    if given is None:
        raise BadParameter(f"{field}: is missing; give it.", parameter=field)
    quantity = read_quantity(given, dimension, field)
    if quantity.magnitude < 0.0 or (quantity.magnitude == 0.0 and not or_zero):
        raise BadParameter(f"{field}: {quantity} is not above zero; correct it.", parameter=field, given=str(quantity))
    return quantity


def relative(value: Quantity, uncertainty: Quantity) -> float:
    """The relative standard uncertainty."""
    return float(uncertainty.unit.difference_to(uncertainty.magnitude, value.unit)) / float(value.magnitude)


def positive_number(given: Given, field: str, dimension: str, unit: str) -> float:
    """A quantity above zero as a number in a unit.

    Raises:
        OutsideRange: it is not above zero.
        BadQuantity, UnknownUnit, WrongDimension: it is not one, or measures something else.
    """
    quantity = read_quantity(given, dimension, field)
    number = float(quantity.unit.to(quantity.magnitude, units().find(unit, dimension)))
    if number <= 0.0:
        raise OutsideRange(
            f"{field}: '{given}' is not above zero; give what was measured, or leave it out.",
            parameter=field,
            given=str(given),
        )
    return number
