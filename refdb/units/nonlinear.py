"""Units that are not proportional to their SI unit: Saybolt universal seconds, degrees API and degrees Baume.

Each has a pair of functions, to the SI unit and from it, for floats and numpy arrays, and the range in which the pair
holds. The unit table and the compiled vocabulary hold only the name of a pair.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from refdb.problems import OutsideRange

WATER_AT_60_DEGF = 999.016
"""kg/m3. API MPMS chapter 11.1 (2004), in the equations of a petroleum handbook, flippingbook.com 520915846, p. 108."""

API_NUMERATOR, API_SHIFT = 141.5, 131.5
"""degAPI = 141.5 / (relative density 60/60 degF) - 131.5. API MPMS chapter 11.1 (2004), seen at the same place."""

BAUME_MODULUS = 145.0
"""degBaume = 145 - 145 / (relative density 60/60 degF), for liquids heavier than water. The National Bureau of
Standards' modulus, as printed after Marks' Standard Handbook for Mechanical Engineers at engineersedge.com
(calculators/degrees_baume__16284) and in the conservation dictionary of cool.culturalheritage.org (don/dt/dt0255)."""

SAYBOLT_SLOPE = 4.6324
SAYBOLT_OVER = (1.0, 0.03264)
SAYBOLT_UNDER = (3930.2, 262.7, 23.97, 1.646)
SAYBOLT_SCALE = 1e5
"""ASTM D2161-93, as printed in the documentation of chemicals 1.5.2 (chemicals.viscosity.viscosity_converter)."""

SAYBOLT_LEAST = 1.81
"""The least viscosity in mm2/s of table 1 of ASTM D2161 at 100 degF. Above the table the practice is proportional."""

NEWTON_STEPS = 12
LAST_BITS = 1.0 - 1e-12
MM2_PER_S = 1e-6


@dataclass(frozen=True, slots=True)
class UnitCurve:
    """A pair of functions between a unit and the SI unit of its dimension, with the range in which they hold."""

    to_si: Callable[[Any], Any]
    from_si: Callable[[Any], Any]
    above: float
    si_above: float
    range_words: str
    difference_words: str
    below: float = math.inf

    def require(self, magnitude: Any, field: str) -> None:
        """Check that a magnitude of the unit, or every element of an array, lies in the range.

        Raises:
            OutsideRange: the pair does not hold there.
        """
        self._require(magnitude, self.above, self.below, field)

    def require_si(self, magnitude: Any, field: str) -> None:
        """Check that a magnitude of the SI unit, or every element of an array, lies in the range.

        Raises:
            OutsideRange: the pair does not hold there.
        """
        self._require(magnitude, self.si_above, math.inf, field)

    def _require(self, magnitude: Any, above: float, below: float, field: str) -> None:
        inside: Any = (magnitude > above) & (magnitude < below)
        if not (inside if isinstance(inside, bool) else inside.all()):
            raise OutsideRange(f"{field}: {self.range_words}.", parameter=field)


def _density_of_api(degrees: Any) -> Any:
    return API_NUMERATOR * WATER_AT_60_DEGF / (degrees + API_SHIFT)


def _api_of_density(density: Any) -> Any:
    return API_NUMERATOR * WATER_AT_60_DEGF / density - API_SHIFT


def _density_of_baume(degrees: Any) -> Any:
    return BAUME_MODULUS * WATER_AT_60_DEGF / (BAUME_MODULUS - degrees)


def _baume_of_density(density: Any) -> Any:
    return BAUME_MODULUS * (1.0 - WATER_AT_60_DEGF / density)


def _saybolt(viscosity: Any) -> Any:
    """Saybolt universal seconds at 100 degF of a kinematic viscosity in mm2/s."""
    over, under = _polynomial(SAYBOLT_OVER, viscosity), _polynomial(SAYBOLT_UNDER, viscosity)
    return SAYBOLT_SLOPE * viscosity + SAYBOLT_SCALE * over / under


def _saybolt_slope(viscosity: Any) -> Any:
    over, under = _polynomial(SAYBOLT_OVER, viscosity), _polynomial(SAYBOLT_UNDER, viscosity)
    over_slope, under_slope = SAYBOLT_OVER[1], _polynomial(_derivative(SAYBOLT_UNDER), viscosity)
    return SAYBOLT_SLOPE + SAYBOLT_SCALE * (over_slope - over / under * under_slope) / under


def _polynomial(coefficients: tuple[float, ...], at: Any) -> Any:
    value: Any = 0.0
    for coefficient in reversed(coefficients):
        value = value * at + coefficient
    return value


def _derivative(coefficients: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(power * coefficient for power, coefficient in enumerate(coefficients))[1:]


def _viscosity_of_saybolt(seconds: Any) -> Any:
    """The kinematic viscosity in mm2/s. Newton's method from above: the curve is convex, so no step overshoots."""
    viscosity = seconds / SAYBOLT_SLOPE
    for _ in range(NEWTON_STEPS):
        viscosity = viscosity - (_saybolt(viscosity) - seconds) / _saybolt_slope(viscosity)
    return viscosity * MM2_PER_S


def _saybolt_of_viscosity(viscosity: Any) -> Any:
    return _saybolt(viscosity / MM2_PER_S)


CURVES = {
    "api-gravity": UnitCurve(
        to_si=_density_of_api,
        from_si=_api_of_density,
        above=-API_SHIFT,
        si_above=0.0,
        range_words="degrees API are defined above -131.5 degAPI only, where the density is positive and finite",
        difference_words="a difference in degAPI is no fixed difference in density; give both values, or kg/m3",
    ),
    "baume-heavy": UnitCurve(
        to_si=_density_of_baume,
        from_si=_baume_of_density,
        above=-math.inf,
        below=BAUME_MODULUS,
        si_above=0.0,
        range_words="degrees Baume are defined below 145 degBaume only, where the density is positive and finite",
        difference_words="a difference in degBaume is no fixed difference in density; give both values, or kg/m3",
    ),
    "saybolt-universal": UnitCurve(
        to_si=_viscosity_of_saybolt,
        from_si=_saybolt_of_viscosity,
        above=_saybolt(SAYBOLT_LEAST) * LAST_BITS,
        si_above=SAYBOLT_LEAST * MM2_PER_S * LAST_BITS,
        range_words="Saybolt universal seconds are defined from 1.81 mm2/s (31.95 SSU) upwards only; write mm2/s below",
        difference_words="a difference in SSU is no fixed difference in viscosity; give both values, or mm2/s",
    ),
}
