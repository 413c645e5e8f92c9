"""How oils thin and grow lighter as they warm: the two forms in which the oil trade prints it."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from refdb.forms.base import FormSpec

KELVIN_AT_0_CELSIUS = 273.15
SHIFT = 0.7
"""mm2/s; the constant of ASTM D341 for viscosities above 2 mm2/s."""

BEND = 0.8
"""The constant of ISO 91-1 in its exponent."""


class OilExpansion:
    """`oil-expansion/1`: ρ = c0 exp(-a Δt (1 + 0.8 a Δt)), Δt = t - t0: the thermal expansion of petroleum (ISO 91-1).

    Description: `coefficients` holds `c0`, the density at t0 in the row's unit, `a0`, the coefficient a of thermal
    expansion at t0 in 1/degC, and `t0` in degC.
    """

    name: ClassVar[str] = "oil-expansion/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_at_reference", "_expansion", "_reference")

    def __init__(self, spec: FormSpec) -> None:
        coefficients = spec["coefficients"]
        self._at_reference = float(coefficients["c0"])
        self._expansion = float(coefficients["a0"])
        self._reference = float(coefficients["t0"])

    def value(self, x: Any) -> Any:
        """The density at a temperature `x` in degC."""
        grown = self._expansion * (x - self._reference)
        return self._at_reference * math.e ** (-grown * (1.0 + BEND * grown))

    def slopes(self, x: Any) -> tuple[Any]:
        """The derivative at a temperature `x` in degC."""
        grown = self._expansion * (x - self._reference)
        return (-self._expansion * (1.0 + 2.0 * BEND * grown) * self.value(x),)


class Walther:
    """`walther/1`: ν = c0 (10^(10^(c1 - c2 lg T)) - 0.7), T = t + 273.15: kinematic viscosity of an oil (ASTM D341).

    Description: `coefficients` holds `c0`, what 1 mm2/s is in the row's unit, and the constants `c1` and `c2`. It is
    that of oils above 2 mm2/s.
    """

    name: ClassVar[str] = "walther/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_factor", "_power", "_unit")

    def __init__(self, spec: FormSpec) -> None:
        coefficients = spec["coefficients"]
        self._unit = float(coefficients["c0"])
        self._factor = 10.0 ** float(coefficients["c1"])
        self._power = -float(coefficients["c2"])

    def value(self, x: Any) -> Any:
        """The kinematic viscosity at a temperature `x` in degC."""
        return self._unit * (10.0 ** self._logarithm(x) - SHIFT)

    def slopes(self, x: Any) -> tuple[Any]:
        """The derivative at a temperature `x` in degC."""
        logarithm = self._logarithm(x)
        kelvin = x + KELVIN_AT_0_CELSIUS
        return (self._unit * math.log(10.0) * 10.0**logarithm * self._power * logarithm / kelvin,)

    def _logarithm(self, x: Any) -> Any:
        """lg (ν / (mm2/s) + 0.7)."""
        return self._factor * (x + KELVIN_AT_0_CELSIUS) ** self._power


def walther_constants(celsius: tuple[float, float], viscosities: tuple[float, float]) -> tuple[float, float]:
    """The constants c1 and c2 of the line through two viscosities.

    Args:
        celsius: two different temperatures in degC.
        viscosities: the kinematic viscosities there, in mm2/s.
    """
    (first, second), (t1, t2) = (
        tuple(math.log10(math.log10(viscosity + SHIFT)) for viscosity in viscosities),
        tuple(math.log10(t + KELVIN_AT_0_CELSIUS) for t in celsius),
    )
    slope = (first - second) / (t2 - t1)
    return first + slope * t1, slope
