"""Numbers as documents print them."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction

# Digits may be grouped by spaces ("19 300", also no-break and thin ones), and a power of ten may be written the ways
# documents write it.
_SPACE = r"[ \u00a0\u2009\u202f]"
PRINTED_NUMBER = (
    rf"[+\-−]?(?:\d{{1,3}}(?:{_SPACE}\d{{3}})+(?:\.\d+)?|\d+\.?\d*|\.\d+)"
    rf"(?:[eE][+\-−]?\d+|{_SPACE}?[×x·]{_SPACE}?10\^?[+\-−]?\d+)?"
)
_PRINTED = re.compile(PRINTED_NUMBER, re.ASCII)
_FRACTION = re.compile(r"(?:(?P<whole>\d+)[ -])?(?P<above>\d+)/(?P<below>[1-9]\d*)", re.ASCII)
_POWER = re.compile(rf"{_SPACE}?[×x·]{_SPACE}?10\^?")


def printed_number(text: str) -> float:
    """The value of a number as printed, such as `5960`, `19 300`, `.00181`, `19.5 × 10^10` or `3 31/32`.

    Raises:
        ValueError: the text is not one printed number, or one larger than any float.
    """
    # Hundreds of thousands of numbers are read, and hardly any is a fraction or grouped.
    fraction = _FRACTION.fullmatch(text) if "/" in text else None
    if fraction is not None:
        whole, above, below = (float(fraction[part] or 0) for part in ("whole", "above", "below"))
        number = whole + above / below
    else:
        number = float(_plain(text))
    if not math.isfinite(number):
        raise ValueError(f"'{text[:40]}' is larger than any number")
    return number


def printed_exactly(text: str) -> Decimal | Fraction:
    """The exact value of a printed number, which a float may not hold.

    Raises:
        ValueError: the text is not one printed number.
    """
    from fractions import Fraction

    fraction = _FRACTION.fullmatch(text)
    if fraction is not None:
        return int(fraction["whole"] or 0) + Fraction(int(fraction["above"]), int(fraction["below"]))
    return Decimal(_plain(text))


def _plain(text: str) -> str:
    if not _PRINTED.fullmatch(text):
        raise ValueError(f"'{text}' is not a number as a document would print it")
    if text.isascii() and " " not in text and "x" not in text:
        return text
    return re.sub(_SPACE, "", _POWER.sub("e", text).replace("−", "-"))


def rounding_half_width(text: str) -> float:
    """Half a unit of the last printed digit: the largest error by rounding.

    Trailing zeros of a whole number count as printed digits, which understates the error of a rounded one.
    """
    mantissa, _, exponent = _POWER.sub("e", text).replace("−", "-").lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return float(f"5e{int(exponent or 0) - decimals - 1}")


def number_text(value: float, digits: int = 6) -> str:
    """A number as text for a record: plain decimals with a fixed number of significant digits."""
    return format(Decimal(f"{value:.{digits}g}"), "f")
