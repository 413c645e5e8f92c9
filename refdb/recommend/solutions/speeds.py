"""Sound speeds of solutions that follow from other functions of temperature and strength."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from refdb.constants import KELVIN_AT_0_CELSIUS, STANDARD_ATMOSPHERE
from refdb.exact.functions import EXACT
from refdb.exact.least_squares import fitted, polynomial
from refdb.exact.sums import Array
from refdb.forms import ScaledPolynomial
from refdb.forms.states import StatePoint
from refdb.problems import LedgerError
from refdb.recommend.solutions.pieces import ends
from refdb.recommend.solutions.points import PURE, Point
from refdb.recommend.solutions.surface import at_atmosphere
from refdb.records.models import (
    RecommendedValue,
)
from refdb.records.state_functions import function_of_form
from refdb.units import UnitTable


def thermodynamic_speed(
    density: ScaledPolynomial, modulus: ScaledPolynomial, heat: ScaledPolynomial, celsius: Any, strength: Any
) -> Array:
    """Sound speed in m/s at temperatures in degC and mass fractions, from forms in kg/m3, Pa and J/(kg.K)."""
    rho = density.value(celsius, strength)
    expansion = -density.slopes(celsius, strength)[0] / rho
    isentropic = 1.0 / modulus.value(celsius, strength) - (celsius + KELVIN_AT_0_CELSIUS) * (expansion * expansion) / (
        rho * heat.value(celsius, strength)
    )
    return np.asarray(1.0 / np.sqrt(rho * isentropic))


def continued(row: RecommendedValue, water: RecommendedValue, table: UnitTable) -> Callable[[Array, Array], Array]:
    """A row of a solution; beyond its temperatures its excess over water goes on with the slope and bend it ends with.

    Water's own curve is known there, and it is what bends most; the excess of aqueous solutions is close to a parabola.
    """
    own, pure = (function_of_form(one.form, table, EXACT) for one in (row, water))
    low, high = ends(row.domain["temperature"])

    def slope(celsius: Array, strength: Array) -> Array:
        solution, water_alone = StatePoint(celsius, strength=strength), StatePoint(celsius, STANDARD_ATMOSPHERE)
        return np.asarray(own.slopes(solution)["temperature"] - pure.slopes(water_alone)["temperature"])

    def value(celsius: Array, strength: Array) -> Array:
        end = np.clip(celsius, low, high)
        away = celsius - end
        bend = (slope(np.full_like(end, high), strength) - slope(np.full_like(end, low), strength)) / (high - low)
        excess = slope(end, strength) * away + 0.5 * bend * away * away
        return np.asarray(
            own.value(StatePoint(end, strength=strength))
            + at_atmosphere(pure, celsius)
            - at_atmosphere(pure, end)
            + excess
        )

    return value


def pure_ratio(own: Sequence[Point], other: Sequence[Point], row: str) -> Callable[[Array], Array]:
    """The ratio of two pure liquids as a function of temperature in degC: straight lines through their points.

    Raises:
        LedgerError: one of them has no points at strength 1.
    """
    lines = []
    for points in (own, other):
        pure = [point for point in points if point.strength > PURE]
        if not pure:
            raise LedgerError([f"sources/rules/solutions.toml: {row}: a pure end member has no measured point"])
        several = len({round(point.celsius) for point in pure}) > 1
        places, values = [p.celsius for p in pure], [p.value for p in pure]
        lines.append(fitted(places, values, [1.0] * len(pure), int(several)))
    return lambda celsius: np.asarray(polynomial(lines[0], celsius) / polynomial(lines[1], celsius))
