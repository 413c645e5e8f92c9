"""Conventions on which every part rests: each number stands here once, with its source."""

from __future__ import annotations

STANDARD_ATMOSPHERE = 101325.0
"""Pa. Resolution 4 of the 10th CGPM (1954)."""

ROOM_CELSIUS = 20.0
"""degC, at which a value is taken where no temperature is told. The standard reference temperature of ISO 1:2022."""

KELVIN_AT_0_CELSIUS = 273.15
"""K. Celsius temperature is t = T - 273.15 K by definition (NIST SP 330, as quoted at jkorpela.fi/SI/kelvin.html)."""
