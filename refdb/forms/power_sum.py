"""A sum of products of powers, in which equations of several variables are published."""

from __future__ import annotations

from typing import Any, ClassVar

from refdb.forms.base import FormSpec
from refdb.forms.functions import PLAIN, Functions


class PowerSum:
    """`power-sum/1`: y = Σ c · Π x_iᵉ, the exponents whole or broken, as in the S^1.5 of sea water.

    Description: `axes` is a list of {name, unit}, `terms` a list of lists: the coefficient, then one exponent for each
    axis. A variable with a broken exponent must not be negative.
    """

    name: ClassVar[str] = "power-sum/1"
    __slots__ = ("_power", "_terms", "variables")

    def __init__(self, spec: FormSpec, functions: Functions = PLAIN) -> None:
        self.variables: tuple[str, ...] = tuple(axis["name"] for axis in spec["axes"])
        self._terms = [(float(term[0]), tuple(float(power) for power in term[1:])) for term in spec["terms"]]
        self._power = functions.power

    def value(self, *arguments: Any) -> Any:
        """The property at a state: an argument for each axis, in the axis' unit."""
        total: Any = 0.0
        for coefficient, powers in self._terms:
            total = total + coefficient * self._product(arguments, powers)
        return total

    def slopes(self, *arguments: Any) -> tuple[Any, ...]:
        """The derivative along each axis, the other arguments held constant."""
        slopes: list[Any] = [0.0] * len(arguments)
        for coefficient, powers in self._terms:
            for place, power in enumerate(powers):
                if power:
                    lowered = (*powers[:place], power - 1.0, *powers[place + 1 :])
                    slopes[place] = slopes[place] + coefficient * power * self._product(arguments, lowered)
        return tuple(slopes)

    def _product(self, arguments: tuple[Any, ...], powers: tuple[float, ...]) -> Any:
        product: Any = 1.0
        for argument, power in zip(arguments, powers, strict=True):
            if power:
                product = product * self._power(argument, power)
        return product
