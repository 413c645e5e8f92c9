"""Laws that bind what documents print of one isotropic solid, and how far honest prints stray from each.

Deriving leaves readings out by these laws, and the audit calls readings suspicious by them: one relation, one limit.
The relations are those of `refdb.forms.elasticity`; the limits are relative differences, and judgement.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from refdb.forms.elasticity import bulk_speed_of_speeds, youngs_modulus_of_speeds

YOUNGS_MODULUS = 0.15
"""Between Young's modulus of two speeds and a density, and the printed one: printed moduli are static; a wrong pair of
speeds is 20 to 40 % off."""
BULK_SPEED = 0.075
"""Between the bulk speed of two speeds and that of shock waves: most sound pairs agree within 5 %, and wrong ones are
10 to 30 % off."""
MODULI = 0.06
"""Between E, G and nu of one row, printed to two digits."""

DOUBTED = 3.5
"""Modified z-score beyond which Iglewicz and Hoaglin doubt a value."""
NORMAL_OF_MEDIAN = 0.6745
"""The upper quartile of the normal distribution: a median absolute deviation over it estimates a standard deviation."""


@dataclass(frozen=True, slots=True)
class Held:
    """What a law makes of some printed values, held against another that is printed.

    Attributes:
        own: what the law gives, in SI.
        other: what is printed, in SI.
        limit: how far they may differ, relatively.
    """

    own: float
    other: float
    limit: float

    @property
    def off(self) -> float:
        """How far the first is above the second, relatively."""
        return self.own / self.other - 1.0

    @property
    def broken(self) -> bool:
        """Whether they differ by more than honest prints do."""
        return abs(self.off) > self.limit


def hold_youngs_modulus(longitudinal: float, shear: float, density: float, modulus: float) -> Held:
    """Two speeds in m/s and a density in kg/m3 against Young's modulus in Pa."""
    return Held(youngs_modulus_of_speeds(longitudinal, shear, density), modulus, YOUNGS_MODULUS)


def hold_bulk_speed(longitudinal: float, shear: float, shock: float) -> Held:
    """Two speeds against the bulk sound speed that shock experiments give, all in m/s."""
    return Held(bulk_speed_of_speeds(longitudinal, shear), shock, BULK_SPEED)


def hold_moduli(young: float, shear: float, nu: float) -> Held:
    """Young's modulus against 2 G (1 + nu), both moduli in Pa."""
    return Held(young, 2.0 * shear * (1.0 + nu), MODULI)


def median_of_lineages(said: Iterable[tuple[str, float]]) -> float:
    """The median of what independent documents say, one mean for each lineage.

    Args:
        said: lineage and value, at least one.
    """
    return statistics.median(means_of_lineages(said))


def means_of_lineages(said: Iterable[tuple[str, float]]) -> list[float]:
    """What independent documents say, one mean for each lineage, in the order in which they come.

    Args:
        said: lineage and value.
    """
    by_lineage: dict[str, list[float]] = defaultdict(list)
    for lineage, value in said:
        by_lineage[lineage].append(value)
    return [statistics.fmean(values) for values in by_lineage.values()]
