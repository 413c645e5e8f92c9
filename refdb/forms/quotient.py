"""The quotient of two forms, such as kinematic viscosity: dynamic viscosity over density."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.inner import FromSaturation, InnerForm


class Quotient(FromSaturation):
    """`quotient/1`: y = a / b, a and b forms of their own.

    Description: `axes` is a list of {name, unit} of every part of the state that either depends on; `numerator` and
    `denominator` are descriptions of forms whose axes have these units.
    """

    name: ClassVar[str] = "quotient/1"
    __slots__ = ("_denominator", "_numerator", "saturation", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in spec["axes"])
        self._numerator, self._denominator = (InnerForm(spec[name], functions) for name in ("numerator", "denominator"))
        self.saturation = self._denominator.saturation or self._numerator.saturation

    def value(self, *arguments: Any) -> Any:
        """The quotient at a state: an argument for each axis, in the axis' unit."""
        state = dict(zip(self.variables, arguments, strict=True))
        return self._numerator.value(state) / self._denominator.value(state)

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative along each axis, by the quotient rule."""
        state = dict(zip(self.variables, arguments, strict=True))
        above, below = self._numerator.slopes(state), self._denominator.slopes(state)
        denominator = self._denominator.value(state)
        quotient = self._numerator.value(state) / denominator
        return tuple((above.get(name, 0.0) - quotient * below.get(name, 0.0)) / denominator for name in self.variables)
