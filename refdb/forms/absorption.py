"""The least sound absorption of a liquid, from the forms of its viscosity and its sound speed."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.inner import FromSaturation, InnerForm

STOKES = 8.0 * math.pi * math.pi / 3.0
"""The factor of ν/c³ in the absorption over frequency squared, for a bulk viscosity of 0."""


def classical_absorption(viscosity: Any, speed: Any) -> Any:
    """Stokes' absorption by shear viscosity alone, divided by the square of the frequency, in s2/m.

    Args:
        viscosity: the kinematic viscosity in m2/s.
        speed: the sound speed in m/s.
    """
    return STOKES * viscosity / (speed * speed * speed)


class ClassicalAbsorption(FromSaturation):
    """`classical-absorption/1`: y = (8π²/3) ν / c³ in s²/m, Stokes' absorption over frequency squared.

    Shear viscosity alone is in it. ν is the kinematic viscosity: the form `viscosity` over the form `density`, or
    `viscosity` alone where there is no `density`.

    Description: `axes` is a list of {name, unit} of every part of the state that one of them depends on; `viscosity`
    (Pa.s, or m2/s without `density`), `density` (kg/m3) and `sound_speed` (m/s) are descriptions of forms whose axes
    have these units.
    """

    name: ClassVar[str] = "classical-absorption/1"
    __slots__ = ("_density", "_speed", "_viscosity", "saturation", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in spec["axes"])
        self._viscosity, self._speed = (InnerForm(spec[name], functions) for name in ("viscosity", "sound_speed"))
        self._density = InnerForm(spec["density"], functions) if "density" in spec else None
        parts = [part for part in (self._density, self._speed, self._viscosity) if part is not None]
        self.saturation = next((part.saturation for part in parts if part.saturation), None)

    def value(self, *arguments: Any) -> Any:
        """The absorption over frequency squared, in s2/m: an argument for each axis, in the axis' unit."""
        state = dict(zip(self.variables, arguments, strict=True))
        viscosity = self._viscosity.value(state)
        if self._density is not None:
            viscosity = viscosity / self._density.value(state)
        return classical_absorption(viscosity, self._speed.value(state))

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative along each axis: the sum of the factors' relative slopes, each times its power."""
        state = dict(zip(self.variables, arguments, strict=True))
        powers = [(self._viscosity, 1.0), (self._speed, -3.0)]
        if self._density is not None:
            powers.append((self._density, -1.0))
        relative = dict.fromkeys(self.variables, 0.0)
        for part, power in powers:
            value = part.value(state)
            for name, slope in part.slopes(state).items():
                relative[name] = relative[name] + power * slope / value
        own = self.value(*arguments)
        return tuple(own * relative[name] for name in self.variables)
