"""Quantities: a number with a unit, parsed strictly."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from refdb.problems import BadQuantity
from refdb.units.table import Unit, units

LONGEST_QUANTITY = 64
ANSWER_DIGITS = 12
EXAMPLES = {"temperature": "20 degC", "pressure": "3 bar(g)", "length": "250 mm", "speed": "1480 m/s"}

_NUMBER = re.compile(
    r"(?P<sign>[+\-−]?)(?:(?P<whole>\d+)[ -](?P<num>\d+)/(?P<den>\d+)|(?P<onum>\d+)/(?P<oden>\d+)"
    r"|(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+\-]?\d+)?))",
    re.ASCII,
)
_COMMA = re.compile(r"^[+\-−]?\d*[\d.],\d", re.ASCII)


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

    def document(self) -> dict[str, Any]:
        """`magnitude`, `unit` and `ucum`, the magnitude to 12 significant digits."""
        return {"magnitude": significant(self.magnitude), "unit": self.unit.symbol, "ucum": self.unit.ucum}

    def __str__(self) -> str:
        return f"{significant(self.magnitude):g} {self.unit.symbol}"


def significant(number: Any, digits: int = ANSWER_DIGITS) -> Any:
    """A number rounded to significant digits: answers are the same on every machine, whose last bits differ."""
    if isinstance(number, (int, float)):
        return float(f"{number:.{digits}g}")
    return [float(f"{item:.{digits}g}") for item in number]


def parse_quantity(text: str, dimension: str, field: str) -> Quantity:
    """The quantity written in `text`, such as `20 degC`, `3 bar(g)` or `4 1/2 in`.

    Args:
        text: number and unit; a mixed fraction is accepted as the number.
        dimension: what the quantity must measure.
        field: the name of the parameter, for the problem's sentence.

    Raises:
        BadQuantity: no finite number with a unit is written there.
        UnknownUnit, WrongDimension: the unit is not known or measures something else.
    """
    example = EXAMPLES.get(dimension, f"20 {units().si(dimension).symbol}")
    stripped = text.strip()
    if len(stripped) > LONGEST_QUANTITY:
        raise BadQuantity(
            f"{field}: a quantity is at most {LONGEST_QUANTITY} characters long, as in '{example}'.",
            parameter=field,
            given=stripped[:LONGEST_QUANTITY] + "…",
        )
    found = _NUMBER.match(stripped)
    if _COMMA.match(stripped):
        raise BadQuantity(
            f"{field}: '{text}' holds a comma; write a decimal point and no thousands separator, as in '1482.3'.",
            parameter=field,
            given=text,
        )
    if found is None:
        raise BadQuantity(
            f"{field}: '{text}' is not a number followed by a unit, as in '{example}'.",
            parameter=field,
            given=text,
        )
    spelling = " ".join(stripped[found.end() :].split())
    magnitude = _number(found, text, field)
    if not spelling:
        raise BadQuantity(
            f"{field}: '{text}' has no unit; write the number with one, as in '{example}'.",
            parameter=field,
            given=text,
            accepted=units().spellings(dimension),
        )
    return Quantity(magnitude, units().find(spelling, dimension, field))


def _number(found: re.Match[str], text: str, field: str) -> float:
    part = found.groupdict()
    if part["decimal"] is not None:
        magnitude = float(part["decimal"])
    else:
        numerator, denominator = int(part["num"] or part["onum"]), int(part["den"] or part["oden"])
        if denominator == 0:
            raise BadQuantity(f"{field}: '{text}' divides by zero.", parameter=field, given=text)
        magnitude = int(part["whole"] or 0) + numerator / denominator
    if not math.isfinite(magnitude):
        raise BadQuantity(f"{field}: '{text}' is too large a number.", parameter=field, given=text)
    return -magnitude if part["sign"] in {"-", "−"} else magnitude
