"""A row evaluated with numpy and nothing else: the floor of a batch."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.polynomial import polynomial

Numbers = np.ndarray[Any, np.dtype[np.float64]]

ATMOSPHERE = 0.101325
PERCENT_AT_1_ATM = 0.003


class BareWater:
    """The form of water.sound_speed at 1 atm, from its released description: saturation, then the polynomial."""

    def __init__(self, spec: dict[str, Any]) -> None:
        first, second = spec["axes"]
        self.low, self.high = float(first["low"]), float(first["high"])
        self.top = float(second["high"])
        self.saturation = np.array([float(number) for number in second["low"]["coefficients"]])
        self.coefficients = np.array([[float(number) for number in row] for row in spec["coefficients"]])

    def value(self, celsius: Numbers) -> Numbers:
        """Sound speed in m/s at temperatures in degC."""
        u = (2.0 * celsius - (self.low + self.high)) / (self.high - self.low)
        boiling = np.exp(polynomial.polyval(u, self.saturation))
        v = (2.0 * ATMOSPHERE - (boiling + self.top)) / (self.top - boiling)
        value: Numbers = polynomial.polyval2d(u, v, self.coefficients)
        return value
