"""What comes of holding an entered number against a carrier or the print."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from refdb.documents import How
from refdb.records.numbers import EnteredNumber
from refdb.records.printed import printed_exactly, rounding_half_width

Sight = How | Literal["in the file"]
"""How a number was found again. The digits somewhere in a file prove nothing, so a check is never written of that."""


@dataclass(frozen=True)
class Compared:
    """A number held against a carrier or the print.

    `found` is the text that stands there, or None where no number could be found for it; `equal` says whether the two
    are the same number.
    """

    number: EnteredNumber
    found: str | None
    equal: bool
    how: Sight


def recomputed(number: EnteredNumber, value: float | None) -> Compared:
    """A printed number against the same computed again, in the unit printed; None where that was not possible.

    They are equal where the two lie within one unit of the last digit printed: a value on the edge between two digits
    is rounded to either, as the processor and the build of the library have it. `found` is the value, rounded to that
    digit.
    """
    if value is None:
        return Compared(number, None, False, "recomputed")
    last_digit = Decimal(repr(2.0 * rounding_half_width(number.text))).normalize()
    found = Decimal(value).quantize(last_digit)
    equal = abs(Fraction(value) - Fraction(printed_exactly(number.text))) <= Fraction(last_digit)
    return Compared(number, f"{found:f}", equal, "recomputed")
