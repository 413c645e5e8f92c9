"""A surface through measured points of a solution, on top of the row of water."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.exact.functions import EXACT, log
from refdb.exact.sums import Array
from refdb.forms.state_function import StateFunction
from refdb.forms.states import StatePoint
from refdb.recommend.solution_policy import (
    SurfaceChoice,
)
from refdb.recommend.solutions.pieces import Spans, ends, in_percent, surface_form
from refdb.recommend.solutions.points import Point, document_weights
from refdb.recommend.solutions.surface_fit import Order, SurfaceFit, fit_surface, resample
from refdb.records import digest
from refdb.records.models import (
    Input,
    PropertyReading,
    RecommendedValue,
)
from refdb.records.state_functions import function_of_form
from refdb.units import UnitTable

TEMPERATURE_NODES = 12

STRENGTH_NODES = 12


@dataclass(frozen=True)
class SolutionSurface:
    """A fitted surface on top of the row of water, near 1 atm."""

    water: StateFunction
    fit: SurfaceFit
    logarithm: bool
    typical: float

    @classmethod
    def through(
        cls,
        points: Sequence[Point],
        water: RecommendedValue,
        of: str,
        table: UnitTable,
        order: Order | None = None,
    ) -> SolutionSurface:
        """The surface through points, in the unit of water's row; `of` is the value or its logarithm.

        Args:
            order: of the surface, where it is not to be chosen.
        """
        form, logarithm = function_of_form(water.form, table, EXACT), of == "logarithm"
        key = tuple(
            (p.celsius, p.strength, p.value, weight) for p, weight in zip(points, document_weights(points), strict=True)
        )
        celsius, values = (np.array([row[place] for row in key]) for place in (0, 2))
        base = at_atmosphere(form, celsius)
        difference = log(values / base) if logarithm else values - base
        fit = _remembered_fit(key, tuple(difference.tolist()), order)
        return cls(form, fit, logarithm, statistics.median(values.tolist()))

    def value(self, celsius: Any, strength: Any) -> Array:
        """The surface at temperatures in degC and mass fractions, in the unit of water's row; or its logarithm."""
        base = at_atmosphere(self.water, np.asarray(celsius, dtype=float))
        return np.asarray((log(base) if self.logarithm else base) + self.fit.difference(celsius, strength))

    def relative(self, error: float) -> float:
        """An error of the fit as a fraction of the value."""
        return error if self.logarithm else error / self.typical

    def spans(self, choice: SurfaceChoice) -> Spans:
        """Where the row is answered: where the points lie, or less where the policy says so."""
        span = self.fit.span
        temperature = (max(span.coldest, 0.01), span.hottest)
        return (
            ends(choice.temperature) if choice.temperature is not None else temperature,
            ends(choice.strength) if choice.strength is not None else (0.0, span.strongest),
        )

    def form(self, spans: Spans) -> tuple[dict[str, Any], float]:
        """The surface as one polynomial, and what joining its nodes costs: relative for a logarithm."""
        nodes = (TEMPERATURE_NODES, max(STRENGTH_NODES, self.fit.order.excess + 3))
        coefficients, cost = resample(self.value, spans, nodes)
        return surface_form(coefficients, spans, "logarithm" if self.logarithm else "value"), cost

    def working(self) -> dict[str, str]:
        """What was left over, in percent of the value."""
        largest = max(map(abs, self.fit.residuals.tolist()))
        return {
            "points": str(len(self.fit.residuals)),
            "order": f"{self.fit.order.excess} of the excess, {self.fit.order.slopes} of the temperature",
            "residuals": f"{in_percent(self.relative(self.fit.rms))} % root mean square, "
            f"{in_percent(self.relative(largest))} % at most",
            "left_out_error": f"{in_percent(self.relative(self.fit.left_out_rms))} % root mean square",
        }


@lru_cache(maxsize=256)
def _remembered_fit(
    key: tuple[tuple[float, float, float, float], ...], difference: tuple[float, ...], order: Order | None
) -> SurfaceFit:
    """The fit through points; rows are derived many times over when a release is checked."""
    celsius, strength, _, weights = (np.array(column) for column in zip(*key, strict=True))
    return fit_surface(celsius, strength, np.array(difference), weights, order)


def at_atmosphere(water: StateFunction, celsius: Array) -> Array:
    """The row of water at temperatures in degC and 1 atm."""
    return np.asarray(water.value(StatePoint(celsius, STANDARD_ATMOSPHERE)))


def fitted_inputs(points: Sequence[Point], surface: SolutionSurface) -> list[Input]:
    """Each reading with the largest of its residuals in percent."""
    largest: dict[str, tuple[float, PropertyReading]] = {}
    for point, residual in zip(points, surface.fit.residuals.tolist(), strict=True):
        known = largest.get(point.reading.id)
        if known is None or abs(residual) > abs(known[0]):
            largest[point.reading.id] = (residual, point.reading)
    return [
        Input(
            id=row,
            digest=digest(reading.plain()),
            weight="1",
            note=f"largest residual {100.0 * surface.relative(residual):+.2g} %",
        )
        for row, (residual, reading) in sorted(largest.items())
    ]
