"""Relations between the sound speeds, the elastic moduli and the density of an isotropic solid.

After Landau and Lifshitz, Theory of Elasticity, section 22.
"""

from __future__ import annotations

import math


def speeds_from_moduli(youngs_modulus: float, poisson_ratio: float, density: float) -> tuple[float, float]:
    """Longitudinal and shear speed in m/s from E in Pa, nu and rho in kg/m3, for an isotropic solid."""
    shear = youngs_modulus / (2.0 * (1.0 + poisson_ratio))
    longitudinal = youngs_modulus * (1.0 - poisson_ratio) / ((1.0 + poisson_ratio) * (1.0 - 2.0 * poisson_ratio))
    return math.sqrt(longitudinal / density), math.sqrt(shear / density)


def poisson_ratio_of_speeds(longitudinal: float, shear: float) -> float:
    """Poisson's ratio of an isotropic solid from its two speeds."""
    ratio = longitudinal / shear
    squared = ratio * ratio
    return (squared - 2.0) / (2.0 * (squared - 1.0))


def youngs_modulus_of_speeds(longitudinal: float, shear: float, density: float) -> float:
    """Young's modulus in Pa of an isotropic solid from its two speeds in m/s and its density in kg/m3."""
    return 2.0 * density * (shear * shear) * (1.0 + poisson_ratio_of_speeds(longitudinal, shear))


def bulk_speed_of_speeds(longitudinal: float, shear: float) -> float:
    """Bulk sound speed sqrt(K/rho) in m/s, from the longitudinal and the shear speed in m/s."""
    return math.sqrt(max(0.0, longitudinal * longitudinal - 4.0 / 3.0 * (shear * shear)))


def rod_speed(youngs_modulus: float, density: float) -> float:
    """Longitudinal speed in m/s in a rod much thinner than the wavelength, from E in Pa and rho in kg/m3."""
    return math.sqrt(youngs_modulus / density)
