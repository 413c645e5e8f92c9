"""Rule `curve-fit/2` for the saturation pressure: a handbook's curve as node values, beside the other handbook's."""

from __future__ import annotations

from collections.abc import Sequence

from refdb.exact.functions import EXACT
from refdb.forms.scaled import ScaledPolynomial
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.liquids.bounds import LiquidBounds, Liquids
from refdb.recommend.policy import CurveFit
from refdb.records import digest, number_text, printed_number
from refdb.records.models import Grid, Input, PrintedInterval, PropertyReading, RecommendedUncertainty, RecommendedValue
from refdb.records.rules import CURVE_FIT_EXACT

STEPS = 40


def recommend_saturation(
    policy: CurveFit, liquids: Liquids, readings: Sequence[PropertyReading]
) -> RecommendedValue | None:
    """The row that follows the grid by which the liquid's other rows are bounded; None where there is none."""
    liquid = liquids.of(readings[0].subject)
    followed = liquid.saturation
    if followed is None or followed.source not in policy.handbooks:
        return None
    axis = followed.axes[0]
    spec = liquids.spec(followed)
    own = ScaledPolynomial(spec, EXACT)
    low, high = printed_number(axis.low), printed_number(axis.high)
    low = max(low, liquid.freezing_celsius) if liquid.freezing_celsius is not None else low
    others = [
        (grid, _largest(own, ScaledPolynomial(liquids.spec(grid), EXACT), low, high, grid))
        for grid in readings
        if isinstance(grid, Grid) and grid is not followed and not grid.doubts and len(grid.axes) == 1
    ]
    largest = max((abs(relative) for _, relative in others), default=0.0)
    floor = printed_number(policy.handbook_uncertainty)
    disagree = 100.0 * largest / RECTANGULAR > floor
    return RecommendedValue(
        id=f"{followed.subject}.saturation_pressure",
        subject=followed.subject,
        property=followed.property,
        unit=followed.unit,
        form=spec,
        domain={"temperature": PrintedInterval(low=number_text(low, 7), high=axis.high, unit=axis.unit)},
        uncertainty=RecommendedUncertainty(
            number=number_text(max(floor, 100.0 * largest / RECTANGULAR), 2),
            unit="%",
            code="between-sources" if disagree else "stated",
            text="largest disagreement with another handbook, as a rectangular distribution"
            if disagree
            else policy.reason,
        ),
        rule=CURVE_FIT_EXACT.name,
        basis=weakest_basis([followed.basis]),
        seen=weakest_seen([followed.seen]),
        rung="published",
        inputs=[
            Input(id=followed.id, digest=digest(followed.plain()), weight="1", note="followed"),
            *(_compared(grid, relative) for grid, relative in others),
            *liquid.inputs(saturated=False),
        ],
        freezes_at=liquid.freezes_at,
        working={
            "reason": policy.reason,
            "fit_error": f"{followed.fit_error.number} {followed.fit_error.unit}",
            "largest_disagreement": f"{number_text(100.0 * largest, 2)} %",
        },
    )


def _compared(grid: Grid, relative: float) -> Input:
    note = f"compared where it is above {LiquidBounds.COMPARED_FROM:g} MPa: {100.0 * relative:+.2g} % at most"
    return Input(id=grid.id, digest=digest(grid.plain()), weight="0", note=note)


def _largest(own: ScaledPolynomial, other: ScaledPolynomial, low: float, high: float, grid: Grid) -> float:
    """The largest relative deviation over the shared range, where the pressure bears on whether a pipe is full."""
    low, high = max(low, printed_number(grid.axes[0].low)), min(high, printed_number(grid.axes[0].high))
    if low > high:
        return 0.0
    temperatures = [low + (high - low) * step / STEPS for step in range(STEPS + 1)]
    # Both forms are in Pa.
    told = [t for t in temperatures if float(own.value(t)) >= LiquidBounds.COMPARED_FROM * 1e6]
    return max((float(other.value(t)) / float(own.value(t)) - 1.0 for t in told), key=abs, default=0.0)
