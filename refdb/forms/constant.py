"""A value that is constant in its domain."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions


class Constant:
    """`constant/1`: y = c0.

    Description: `coefficients` holds `c0` in the row's unit.
    """

    name: ClassVar[str] = "constant/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_value",)

    def __init__(self, spec: FormSpec, _functions: Functions = PLAIN) -> None:
        self._value = float(spec["coefficients"]["c0"])

    def value(self, x: Any) -> Any:
        """The constant, once per element of `x`; a row that does not depend on the temperature has None there."""
        return self._value if x is None or isinstance(x, float) else x * 0.0 + self._value

    def slopes(self, _: Any) -> tuple[None]:
        """None: that a value is told for a range does not say that it stays the same in it."""
        return (None,)
