"""The thermal expansion of a liquid, from the form of its density."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.inner import FromSaturation, InnerForm

STEPS = {"temperature": 1e-3, "pressure": 1e-4, "salinity": 1e-3, "strength": 1e-5}
"""Step in each direction of the central differences that give the slopes of the expansion, in the units of the axes:
small compared with the ranges of rows, large compared with the rounding of a density."""


class Expansion(FromSaturation):
    """`expansion/1`: y = -(1/rho) d rho/dt at constant pressure, rho the form of the density.

    Description: `axes` is a list of {name, unit} as the density's; `density` is the description of its form, whose
    slope along the temperature is evaluated. The slopes of the expansion itself are central differences.
    """

    name: ClassVar[str] = "expansion/1"
    __slots__ = ("_density", "saturation", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in spec["axes"])
        self._density = InnerForm(spec["density"], functions)
        self.saturation = self._density.saturation

    def value(self, *arguments: Any) -> Any:
        """The expansion coefficient per kelvin: an argument for each axis, in the axis' unit."""
        state = dict(zip(self.variables, arguments, strict=True))
        return -self._density.slopes(state)["temperature"] / self._density.value(state)

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative along each axis, as a central difference."""
        return tuple(self._difference(arguments, place) for place in range(len(arguments)))

    def _difference(self, arguments: tuple[Any, ...], place: int) -> Any:
        step = STEPS[self.variables[place]]
        higher, lower = (
            (*arguments[:place], arguments[place] + sign * step, *arguments[place + 1 :]) for sign in (1.0, -1.0)
        )
        return (self.value(*higher) - self.value(*lower)) / (2.0 * step)
