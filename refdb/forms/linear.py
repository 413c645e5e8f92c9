"""A value at a reference temperature with a temperature coefficient."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions


class TemperatureCoefficient:
    """`temperature-coefficient/1`: y = c0 + c1 (t - t0).

    Description: `coefficients` holds `c0` in the row's unit, `c1` in that unit per unit of t, and `t0`.
    """

    name: ClassVar[str] = "temperature-coefficient/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_at_reference", "_coefficient", "_reference")

    def __init__(self, spec: FormSpec, _functions: Functions = PLAIN) -> None:
        coefficients = spec["coefficients"]
        self._at_reference = float(coefficients["c0"])
        self._coefficient = float(coefficients["c1"])
        self._reference = float(coefficients["t0"])

    def value(self, x: Any) -> Any:
        """The value at temperature `x`."""
        return self._at_reference + self._coefficient * (x - self._reference)

    def slopes(self, x: Any) -> tuple[Any]:
        """The temperature coefficient."""
        return (self._coefficient if isinstance(x, float) else x * 0.0 + self._coefficient,)
