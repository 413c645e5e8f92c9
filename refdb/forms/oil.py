"""Viscosity and density of oils against temperature, in the two forms that the oil trade uses."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from refdb.constants import KELVIN_AT_0_CELSIUS
from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions

SHIFT = 0.7
"""The constant of ASTM D341 for viscosities above 2 mm2/s, in mm2/s."""

LN_10 = 2.302585092994046
"""The natural logarithm of 10, to the nearest double."""

BEND = 0.8
"""The constant in the exponent of ISO 91-1."""


class OilExpansion:
    """`oil-expansion/1`: ρ = c0 exp(-a Δt (1 + 0.8 a Δt)), Δt = t - t0: the thermal expansion of petroleum (ISO 91-1).

    Description: `coefficients` holds `c0`, the density at t0 in the row's unit, `a0`, the coefficient a of thermal
    expansion at t0 in 1/degC, and `t0` in degC.
    """

    name: ClassVar[str] = "oil-expansion/1"
    variables: ClassVar[tuple[str, ...]] = ("temperature",)
    __slots__ = ("_at_reference", "_expansion", "_power", "_reference")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        coefficients = spec["coefficients"]
        self._at_reference = float(coefficients["c0"])
        self._expansion = float(coefficients["a0"])
        self._reference = float(coefficients["t0"])
        self._power = functions.power

    def value(self, x: Any) -> Any:
        """The density at a temperature `x` in degC."""
        grown = self._expansion * (x - self._reference)
        return self._at_reference * self._power(math.e, -grown * (1.0 + BEND * grown))

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
    __slots__ = ("_exponent", "_factor", "_power", "_unit")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        coefficients = spec["coefficients"]
        self._unit = float(coefficients["c0"])
        self._power = functions.power
        self._factor = self._power(10.0, float(coefficients["c1"]))
        self._exponent = -float(coefficients["c2"])

    def value(self, x: Any) -> Any:
        """The kinematic viscosity at a temperature `x` in degC."""
        return self._unit * (self._power(10.0, self._logarithm(x)) - SHIFT)

    def slopes(self, x: Any) -> tuple[Any]:
        """The derivative at a temperature `x` in degC."""
        logarithm = self._logarithm(x)
        kelvin = x + KELVIN_AT_0_CELSIUS
        return (self._unit * LN_10 * self._power(10.0, logarithm) * self._exponent * logarithm / kelvin,)

    def _logarithm(self, x: Any) -> Any:
        """lg (ν / (mm2/s) + 0.7)."""
        return self._factor * self._power(x + KELVIN_AT_0_CELSIUS, self._exponent)
