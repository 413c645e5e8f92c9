"""What rows of solutions are made of: domains, forms, uncertainties, and what was left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from refdb.exact.sums import root_sum_square
from refdb.recommend.solution_policy import (
    Percent,
)
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyInterval,
    Grid,
    LeftOut,
    PrintedInterval,
    PropertyReading,
    RecommendedUncertainty,
    StateVariable,
    UnfrozenInterval,
)

Spans = tuple[tuple[float, float], tuple[float, float]]


def rectangle(spans: Spans) -> dict[StateVariable, AnyInterval]:
    """The domain from temperatures in degC and mass fractions."""
    (coldest, hottest), (weakest, strongest) = spans
    return {
        "temperature": PrintedInterval(low=bound_text(coldest), high=bound_text(hottest), unit="degC"),
        "strength": PrintedInterval(low=bound_text(weakest), high=bound_text(strongest), unit="kg/kg"),
    }


def domain_of_grid(grid: Grid) -> dict[StateVariable, AnyInterval]:
    """The domain of a grid, whose temperature may begin where the solution freezes."""
    domain: dict[StateVariable, AnyInterval] = {}
    for axis in grid.axes:
        if axis.name == "temperature" and grid.freezing is not None:
            row = f"{grid.subject}.freezing_point"
            domain[axis.name] = UnfrozenInterval(low="freezing", high=axis.high, unit=axis.unit, freezing=row)
        else:
            domain[axis.name] = PrintedInterval(low=axis.low, high=axis.high, unit=axis.unit)
    return domain


def surface_form(coefficients: Sequence[Sequence[float]], spans: Spans, of: str) -> dict[str, Any]:
    """The description of a polynomial in temperature (degC) and strength (kg/kg), of the value or its logarithm."""
    axes = zip(("temperature", "strength"), ("degC", "kg/kg"), spans, strict=True)
    return {
        "name": "scaled-polynomial/1",
        "of": of,
        "axes": [
            {"name": name, "unit": unit, "low": bound_text(low), "high": bound_text(high)}
            for name, unit, (low, high) in axes
        ],
        "coefficients": [[number_text(number, 15) for number in row] for row in coefficients],
    }


def bound_text(bound: float) -> str:
    """A bound of a domain: six digits are finer than any temperature or strength is set."""
    return f"{bound:.6g}"


def ends(interval: AnyInterval) -> tuple[float, float]:
    """Both ends of an interval, as they are printed."""
    assert isinstance(interval, PrintedInterval)  # noqa: S101 - rectangles only
    return printed_number(interval.low), printed_number(interval.high)


def stated_in(stated: Percent, unit: str) -> RecommendedUncertainty:
    """The stated number, in a unit instead of percent."""
    return RecommendedUncertainty(number=stated.number, unit=unit, code="stated", text=stated.text)


def stated_or_larger(stated: Percent, other: float, text: str) -> RecommendedUncertainty:
    """The stated percentage, or another one where it is larger."""
    as_stated = other <= printed_number(stated.number)
    return RecommendedUncertainty(
        number=stated.number if as_stated else number_text(other, 2),
        unit="%",
        code="stated" if as_stated else "between-sources",
        text=stated.text if as_stated else f"{text}, as a rectangular distribution",
    )


def predictive(allowance: Percent, found: float) -> RecommendedUncertainty:
    """What was found in percent, together with what the policy allows for beyond it."""
    return RecommendedUncertainty(
        number=number_text(root_sum_square(printed_number(allowance.number), found), 2),
        unit="%",
        code="propagated",
        text=f"{_two(found)} % found, and {allowance.number} % for {allowance.text}",
    )


def _two(number: float) -> str:
    return number_text(number, 2)


def in_percent(fraction: float) -> str:
    """A fraction in percent, as text of two digits."""
    return number_text(100.0 * fraction, 2)


def left_out_of(left_out: Sequence[tuple[PropertyReading, str]]) -> list[LeftOut]:
    """Readings that were left out, with the reason, as a row tells them."""
    return [LeftOut(id=r.id, digest=digest(r.plain()), reason=reason) for r, reason in left_out]
