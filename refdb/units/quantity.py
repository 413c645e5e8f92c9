"""Quantities: a number with a unit, parsed strictly."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from refdb.problems import BadQuantity, UnknownUnit
from refdb.units.table import SHOWN_CHARACTERS, Unit, printable, units

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument


LONGEST_QUANTITY = SHOWN_CHARACTERS
LONGEST_COUNT = 9
"""The most digits of a whole number that are read; Python itself refuses some thousands."""
SMALLEST, LARGEST = 1e-30, 1e30
"""The range of a magnitude in its SI unit: that of the SI prefixes, quecto to quetta (from memory). A number outside it
is a slip, and the product of a few such numbers would overflow."""
ANSWER_DIGITS = 12
GROUPED = "holds a thousands separator; write the digits without one, as in '1482.3'"
EXAMPLES = {"temperature": "20 degC", "pressure": "3 bar(g)", "length": "250 mm", "speed": "1480 m/s"}

_NUMBER = re.compile(
    r"(?P<sign>[+\-−]?)(?:(?P<whole>\d+)[ -](?P<num>\d+)/(?P<den>\d+)|(?P<onum>\d+)/(?P<oden>\d+)"
    r"|(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+\-]?\d+)?))",
    re.ASCII,
)
# A blank, a tab, and the blanks that typesetting puts between a number and its unit; no line breaks, no controls.
_BLANKS = " \t\u00a0\u2009\u202f"
_BLANK = re.compile(f"[{_BLANKS}]+")
_COMMA = re.compile(r"[+\-−]?[\d.]*,\d", re.ASCII)
_GROUP = re.compile(rf"[{_BLANKS}]\d{{3}}(?!\d)|['’_.]\d", re.ASCII)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A magnitude (a float, or a numpy array of floats) in a unit of the unit table."""

    magnitude: Any
    unit: Unit

    def to(self, spelling: str) -> Quantity:
        """The same quantity in another unit.

        Raises:
            UnknownUnit, WrongDimension: the unit is not known or measures something else.
        """
        target = units().find(spelling, self.unit.dimension)
        return Quantity(self.unit.to(self.magnitude, target), target)

    def document(self) -> QuantityDocument:
        """`magnitude`, `unit` and `ucum`, the magnitude to 12 significant digits."""
        return {"magnitude": significant(self.magnitude), "unit": self.unit.symbol, "ucum": self.unit.ucum}

    def __str__(self) -> str:
        return f"{significant(self.magnitude):g} {self.unit.symbol}"


def significant(number: Any, digits: int = ANSWER_DIGITS) -> Any:
    """A number rounded to significant digits, so that answers do not show the last bits, which differ by machine."""
    if isinstance(number, (int, float)):
        return _rounded(number, digits)
    return [_rounded(item, digits) for item in number]


# The same pressures, uncertainties and temperatures recur, and formatting them is the slowest step of an answer.
@lru_cache(maxsize=4096)
def _rounded(number: float, digits: int) -> float:
    return float(f"{number:.{digits}g}")


def with_uncertainty(value: Quantity, uncertainty: Quantity) -> str:
    """`1482.38 ± 0.04 m/s`: the uncertainty to two significant digits, the value to the same place.

    Args:
        value, uncertainty: single magnitudes in one unit.
    """
    size = abs(float(uncertainty.magnitude))
    symbol = "" if value.unit.dimension == "dimensionless" else f" {value.unit.symbol}"
    if size == 0.0 or not math.isfinite(size):
        return f"{significant(value.magnitude):g}{symbol}"
    largest = max(abs(value.magnitude), size)
    if largest >= 1e6 or largest < 1e-3:
        return _scientific(value.magnitude, size, math.floor(math.log10(largest))) + symbol
    places = 1 - math.floor(math.log10(size))
    shown = max(0, places)
    rounded, standard_uncertainty = round(value.magnitude, places), round(size, places)
    return f"{rounded:.{shown}f} ± {standard_uncertainty:.{shown}f}{symbol}"


def _scientific(magnitude: float, size: float, power: int) -> str:
    places = max(0, power - math.floor(math.log10(size)) + 1)
    scale = 10.0**power
    return f"({magnitude / scale:.{places}f} ± {size / scale:.{places}f})e{power}"


def parse_quantity(text: str, dimension: str, field: str) -> Quantity:
    """The quantity written in `text`, such as `20 degC`, `3 bar(g)` or `4 1/2 in`.

    Args:
        text: number and unit; a mixed fraction is accepted as the number.
        dimension: what the quantity must measure.
        field: the name of the parameter, for the problem's sentence.

    Raises:
        BadQuantity: the text is not a number with a unit, or the number is outside `SMALLEST` to `LARGEST`.
        UnknownUnit, WrongDimension: the unit is not known, is ambiguous or measures something else.
        OutsideRange: the unit is not defined at that number.
    """
    stripped = text.strip(_BLANKS) if len(text) <= LONGEST_QUANTITY else ""
    found = _NUMBER.match(stripped)
    if found is None or found.end() == len(stripped) or stripped[found.end()] == ",":
        raise _not_a_quantity(text, dimension, field, found)
    rest = stripped[found.end() :]
    magnitude = _number(found, stripped, field)
    try:
        unit = units().find(_BLANK.sub(" ", rest.strip(_BLANKS)), dimension, field)
    except UnknownUnit:
        if _GROUP.match(rest):
            raise _no_number(stripped, field, GROUPED) from None
        raise
    if unit.function is not None:
        unit.require(magnitude, field)
    quantity = Quantity(magnitude, unit)
    require_measurable(quantity, field)
    return quantity


def read_quantity(given: str | Quantity, dimension: str, field: str) -> Quantity:
    """A single quantity of a dimension, given as a quantity or as text.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension, OutsideRange: as for `parse_quantity`.
    """
    if isinstance(given, str):
        return parse_quantity(given, dimension, field)
    units().find(given.unit.symbol, dimension, field)
    require_measurable(given, field)
    return given


def require_measurable(quantity: Quantity, field: str) -> None:
    """Check that a single magnitude is finite, and zero or between `SMALLEST` and `LARGEST` of its SI unit.

    Raises:
        BadQuantity: it is not.
    """
    unit, magnitude = quantity.unit, quantity.magnitude
    if unit.function is None:
        size = abs(magnitude * unit.scale + unit.offset)
    else:
        size = abs(unit.to(magnitude, units().si(unit.dimension)))
    if SMALLEST <= size <= LARGEST or size == 0.0:
        return
    si, shown = units().si(unit.dimension).symbol, f"{magnitude:g} {unit.symbol}"
    limit = f"below {SMALLEST:g}" if size < SMALLEST else f"not below {LARGEST:g}"
    raise BadQuantity(
        f"{field}: {shown} is {limit} {si}, where nothing is measured; check the number and its unit.",
        parameter=field,
        given=shown,
    )


def whole_number(text: str) -> int | None:
    """The whole number written in plain digits; None for any other text and for more than `LONGEST_COUNT` digits."""
    if not text.isascii() or not text.isdecimal() or len(text) > LONGEST_COUNT:
        return None
    return int(text)


def _not_a_quantity(text: str, dimension: str, field: str, found: re.Match[str] | None) -> BadQuantity:
    """The problem for a text that is not a number with a unit."""
    example = EXAMPLES.get(dimension, f"20 {units().si(dimension).symbol}")
    shown = printable(text.strip(_BLANKS) if len(text) <= LONGEST_QUANTITY else text)
    accepted = None
    if len(text) > LONGEST_QUANTITY:
        words = f"a quantity is at most {LONGEST_QUANTITY} characters long, as in '{example}'"
    elif _COMMA.match(shown):
        words = f"'{shown}' holds a comma; write a decimal point and no thousands separator, as in '1482.3'"
    elif found is None:
        words = f"'{shown}' is not a number followed by a unit, as in '{example}'"
    else:
        words = f"'{shown}' has no unit; write the number with one, as in '{example}'"
        accepted = units().spellings(dimension)
    return BadQuantity(f"{field}: {words}.", parameter=field, given=shown, accepted=accepted)


def _number(found: re.Match[str], text: str, field: str) -> float:
    decimal = found["decimal"]
    if decimal is not None:
        magnitude = float(decimal)
        if magnitude == 0.0 and decimal.lower().partition("e")[0].strip("0."):
            raise _no_number(text, field, "is too small a number; write 0 where nothing is meant")
    else:
        numerator, denominator = int(found["num"] or found["onum"]), int(found["den"] or found["oden"])
        if denominator == 0:
            raise _no_number(text, field, "divides by zero; write another fraction or a decimal number")
        magnitude = int(found["whole"] or 0) + numerator / denominator
    if not math.isfinite(magnitude):
        raise _no_number(text, field, "is too large a number; check it and its unit")
    return -magnitude if found["sign"] in {"-", "−"} else magnitude


def _no_number(text: str, field: str, fault: str) -> BadQuantity:
    shown = printable(text)
    return BadQuantity(f"{field}: '{shown}' {fault}.", parameter=field, given=shown)
