"""Part of rule `curve-fit/2`: a handbook's curve followed inside the liquid, as far as others agree with it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np

from refdb.constants import ROOM_CELSIUS
from refdb.exact.least_squares import Orthonormal, polynomial, powers
from refdb.exact.slopes import spline_slopes
from refdb.exact.sums import root_sum_square
from refdb.forms.tabulated import HermiteTable
from refdb.recommend.evidence import RECTANGULAR
from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_points import Series
from refdb.recommend.liquids.temperature_curve import (
    FittedCurve,
    TemperatureCurve,
    curve_deviation,
    input_of,
    scaled_values,
)
from refdb.recommend.policy import CurveFit
from refdb.recommend.smallness import told
from refdb.records import printed_number

STEPS = 60

NARROWEST = 5.0
"""Kelvin below which what is left of a handbook's curve between freezing and boiling makes no row."""

HANDBOOK_ORDERS = (2, 3, 4, 5, 6, 8)


class HandbookCurve:
    """The curve of the handbook that stands first in the policy, where others do not contradict it.

    Args:
        policy: what is written about the property.
        liquid: where the liquid ends.
    """

    def __init__(self, policy: CurveFit, liquid: LiquidBounds) -> None:
        self._policy = policy
        self._liquid = liquid

    def followed(self, usable: Sequence[Series]) -> FittedCurve | None:
        """The curve, or None where no handbook has one that can be followed."""
        handbook = self._handbook(usable)
        return self._followed(handbook, usable) if handbook is not None else None

    def _handbook(self, usable: Sequence[Series]) -> Series | None:
        """The curve of the handbook that stands first in the policy."""
        for source in self._policy.handbooks:
            for series in usable:
                if series.reading.source == source and len(series.celsius) > 1:
                    return series
        return None

    def _followed(self, handbook: Series, usable: Sequence[Series]) -> FittedCurve | None:
        """A handbook's curve inside the liquid, as far from the others as they say."""
        inside = self._agreed(handbook, usable)
        if inside is None or inside[1] - inside[0] < NARROWEST or not self._liquid.saturated:
            return None
        curve, cost = self._joined(handbook, *inside)
        others = [(series, curve_deviation(curve, series)) for series in usable if series is not handbook]
        shared = [(series, deviation) for series, deviation in others if deviation is not None]
        largest = max((abs(relative) for _, (relative, _) in shared), default=0.0)
        floor = printed_number(self._policy.handbook_uncertainty) / 100.0
        disagree = largest / RECTANGULAR > floor
        return FittedCurve(
            curve,
            root_sum_square(max(floor, largest / RECTANGULAR), cost),
            "between-sources" if disagree else "stated",
            "largest disagreement with other readings, as a rectangular distribution"
            if disagree
            else self._policy.reason,
            [
                input_of(handbook, "1", "followed"),
                *(
                    input_of(s, "0", f"compared: {100.0 * by:+.2g} % at most, at {at:.4g} degC")
                    for s, (by, at) in shared
                ),
            ],
            [handbook.reading],
            {
                "order": str(len(curve.coefficients) - 1),
                "fit_error": told(100.0 * cost, 2, "%"),
                "largest_disagreement": told(100.0 * largest, 2, "%"),
            },
        )

    def _agreed(self, handbook: Series, usable: Sequence[Series]) -> tuple[float, float] | None:
        """The part of the liquid about room temperature in which another handbook does not contradict the curve."""
        inside = self._liquid.inside(handbook.celsius[0], handbook.celsius[-1])
        if inside is None:
            return None
        low, high = inside
        curve, _ = self._joined(handbook, low, high)
        limit = printed_number(self._policy.disagreement) / 100.0
        middle = min(max(ROOM_CELSIUS, low), high)
        for series in usable:
            if series is handbook or series.reading.basis != "computed":
                continue
            agree = [
                (c, abs(v / curve.value(c) - 1.0) <= limit)
                for c, v in zip(series.celsius, series.values, strict=True)
                if low <= c <= high
            ]
            low = _last_before_doubt([pair for pair in reversed(agree) if pair[0] <= middle], low)
            high = _last_before_doubt([pair for pair in agree if pair[0] > middle], high)
        return low, high

    def _joined(self, handbook: Series, low: float, high: float) -> tuple[TemperatureCurve, float]:
        """The lowest polynomial that gives the handbook's curve back to a tenth of its uncertainty."""
        values = scaled_values(handbook.values, self._policy.logarithm)
        slopes = spline_slopes(handbook.celsius, values)
        spline = HermiteTable({"points": list(zip(handbook.celsius, values, slopes, strict=True))})
        places = _steps()
        wanted = [spline.value(low + (high - low) * (place + 1.0) / 2.0) for place in places]
        limit = 0.1 * printed_number(self._policy.handbook_uncertainty) / 100.0
        numbers, cost = wanted, math.inf
        for order in HANDBOOK_ORDERS:
            numbers = _basis_of_steps().coefficients(np.array(wanted), order + 1).tolist()
            off = [polynomial(numbers, place) - value for place, value in zip(places, wanted, strict=True)]
            cost = max(abs(o if self._policy.logarithm else o / w) for o, w in zip(off, wanted, strict=True))
            if cost <= limit:
                break
        return TemperatureCurve(numbers, low, high, self._policy.logarithm), cost


def _last_before_doubt(agree: Sequence[tuple[float, bool]], bound: float) -> float:
    """The last temperature before the first at which two curves disagree, going outwards; the bound where none does."""
    last = None
    for celsius, fine in agree:
        if not fine:
            return celsius if last is None else last
        last = celsius
    return bound


def _steps() -> list[float]:
    """Places from -1 to 1 at which a handbook's curve is followed."""
    return [2.0 * step / STEPS - 1.0 for step in range(STEPS + 1)]


@cache
def _basis_of_steps() -> Orthonormal:
    """The powers of those places, made orthogonal once for all handbooks."""
    basis = Orthonormal(STEPS + 1)
    for column in powers(np.array(_steps()), max(HANDBOOK_ORDERS)):
        basis.add(column)
    return basis
