"""A polynomial in one variable."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions


class Polynomial:
    """`polynomial/1`: y = c0 + c1 x + c2 x² + …, summed by Horner's rule.

    Description: `coefficients` holds c0, c1, … without gaps, in the row's unit per power of the unit of x.
    """

    name: ClassVar[str] = "polynomial/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_descending", "_descending_slope")

    def __init__(self, spec: FormSpec, _functions: Functions = PLAIN) -> None:
        named = spec["coefficients"]
        ascending = [float(named[f"c{power}"]) for power in range(len(named))]
        self._descending = tuple(reversed(ascending))
        self._descending_slope = tuple(power * ascending[power] for power in range(len(ascending) - 1, 0, -1)) or (0.0,)

    def value(self, x: Any) -> Any:
        """The polynomial at `x`."""
        return _horner(self._descending, x)

    def slopes(self, x: Any) -> tuple[Any]:
        """The polynomial's first derivative at `x`."""
        return (_horner(self._descending_slope, x),)


def _horner(descending: tuple[float, ...], x: Any) -> Any:
    total = descending[0] + x * 0.0
    for coefficient in descending[1:]:
        total = total * x + coefficient
    return total
