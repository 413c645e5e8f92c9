"""Numbers in the unit that a person reads: 3.92 GPa for 3920000000 Pa."""

from __future__ import annotations

from decimal import Decimal

from refdb.units.table import units

READ_IN = {
    "Pa": ("GPa", "MPa", "kPa", "Pa"),
    "m2/s": ("mm2/s",),
    "Pa.s": ("mPa.s",),
    "kg/kg": ("% mass",),
    "s2/m": ("Np/(m.MHz2)",),
}
"""By SI unit, the units that are read in its place, the largest first."""

DIGITS = 6
PLAIN_BETWEEN = (1e-7, 1e9)
"""Sizes of numbers that are written without a power of ten."""


def readable(magnitude: float, symbol: str, digits: int = DIGITS) -> str:
    """A number and its unit, in the first unit of `READ_IN` that leaves it at one or more, or in the last of them.

    A number without unit stays alone.

    Args:
        magnitude: in the unit `symbol`.
        digits: significant digits, at most.
    """
    for shown in READ_IN.get(symbol, ()):
        converted = units().find(symbol).to(magnitude, units().find(shown))
        if abs(converted) >= 1.0 or shown == READ_IN[symbol][-1]:
            return f"{digits_of(converted, digits)} {shown}"
    return digits_of(magnitude, digits) if symbol in {"1", ""} else f"{digits_of(magnitude, digits)} {symbol}"


def percent(part: float, digits: int = DIGITS) -> str:
    """A part of a value in percent."""
    return f"{digits_of(100.0 * part, digits)} %"


def digits_of(number: float, digits: int = DIGITS) -> str:
    """A number in so many significant digits, without a power of ten where that can be read."""
    text = f"{number:.{digits}g}"
    smallest, largest = PLAIN_BETWEEN
    return f"{Decimal(text):f}" if number == 0.0 or smallest <= abs(number) < largest else text
