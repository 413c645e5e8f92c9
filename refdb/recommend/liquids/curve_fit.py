"""Rule `curve-fit/2`: a liquid without an equation of state, from a handbook's curve or from measured points.

One low polynomial in temperature over the range of the evidence, for the value or its logarithm. Pressure enters only
as a limit: from saturation to 1 MPa, with what that neglects in the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np

from refdb.exact.functions import EXACT, log
from refdb.exact.least_squares import Orthonormal, fitted, polynomial, powers
from refdb.exact.slopes import spline_slopes
from refdb.exact.sums import root_mean_square, root_sum_square, weighted_mean
from refdb.forms.scaled import ScaledPolynomial
from refdb.forms.tabulated import HermiteTable
from refdb.recommend.evidence import RECTANGULAR, weakest_basis, weakest_seen
from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_points import Series, series_of
from refdb.recommend.policy import CurveFit
from refdb.recommend.random_effects import Prior, combine, modified_z_scores
from refdb.recommend.smallness import TOLD_FROM, told
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    Grid,
    Input,
    LeftOut,
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Source,
    Subject,
    UncertaintyCode,
)
from refdb.records.rules import CURVE_FIT_EXACT
from refdb.units import UnitTable

SINGLE_SPAN = 4.0
"""Kelvin that the temperatures of all points must span before they say how the property changes with temperature."""

DISTINCT = 1.0
"""Kelvin within which two temperatures are one."""

FEWEST_FOR_OUTLIERS = 3
DOUBTED = 3.5
STEPS = 60
NARROWEST = 5.0
"""Kelvin below which what is left of a handbook's curve between freezing and boiling makes no row."""

ROOM = 20.0
"""degC, from which the agreement of handbooks is followed outwards."""

HANDBOOK_ORDERS = (2, 3, 4, 5, 6, 8)


@dataclass(frozen=True)
class Polynomial:
    """Coefficients by rising power of the scaled temperature, of the value or its logarithm, from low to high degC."""

    coefficients: list[float]
    low: float
    high: float
    logarithm: bool

    def value(self, celsius: float) -> float:
        """The property at a temperature in degC."""
        return float(self._form.value(celsius))

    def shifted(self, relative: float) -> Polynomial:
        """The same curve, larger by a part of itself."""
        if self.logarithm:
            moved = [self.coefficients[0] + relative, *self.coefficients[1:]]
        else:
            moved = [number * (1.0 + relative) for number in self.coefficients]
        return Polynomial(moved, self.low, self.high, self.logarithm)

    @cached_property
    def _form(self) -> ScaledPolynomial:
        return ScaledPolynomial(self.spec(None), EXACT)

    def spec(self, saturation: dict[str, Any] | None) -> dict[str, Any]:
        """The description of the form; with a saturation pressure, nothing changes along an axis of pressure."""
        numbers = [number_text(number, 9) for number in self.coefficients]
        axes: list[dict[str, Any]] = [
            {"name": "temperature", "unit": "degC", "low": number_text(self.low, 7), "high": number_text(self.high, 7)}
        ]
        if saturation is not None:
            axes.append({"name": "pressure", "unit": "MPa", "low": saturation, "high": LiquidBounds.HIGHEST})
        return {
            "name": "scaled-polynomial/1",
            "of": "logarithm" if self.logarithm else "value",
            "axes": axes,
            "coefficients": numbers if saturation is None else [[number] for number in numbers],
        }


@dataclass(frozen=True)
class Fitted:
    """A curve with its relative standard uncertainty, and how it came about."""

    curve: Polynomial
    relative: float
    code: UncertaintyCode
    text: str
    inputs: list[Input]
    used: list[PropertyReading]
    working: dict[str, str]


class CurveFitting:
    """Applies the rule to the readings of one property of one liquid.

    Args:
        policy: what is written about the property.
        liquid: where the liquid ends.
        si: the property's SI unit.
    """

    def __init__(
        self, policy: CurveFit, liquid: LiquidBounds, sources: Mapping[str, Source], si: str, table: UnitTable
    ) -> None:
        self._policy = policy
        self._liquid = liquid
        self._sources = sources
        self._si = si
        self._table = table

    def recommend(self, subject: Subject, readings: Sequence[PropertyReading]) -> RecommendedValue | None:
        """The row, or None where no reading can be used."""
        left_out: dict[str, LeftOut] = {}
        usable = []
        for reading in sorted(readings, key=lambda reading: reading.id):
            if isinstance(reading, Grid):
                continue
            series, reason = series_of(reading, self._si, self._policy, self._table)
            if series is None:
                left_out[reading.id] = _left_out(reading, reason)
            else:
                usable.append(series)
        handbook = self._handbook(usable)
        fitted = self._followed(handbook, usable) if handbook is not None else None
        if fitted is None:
            fitted = self._fitted([series for series in usable if series.reading.basis != "computed"], left_out)
        return None if fitted is None else self._row(subject, fitted, list(left_out.values()))

    def _handbook(self, usable: Sequence[Series]) -> Series | None:
        """The curve of the handbook that stands first in the policy."""
        for source in self._policy.handbooks:
            for series in usable:
                if series.reading.source == source and len(series.celsius) > 1:
                    return series
        return None

    def _followed(self, handbook: Series, usable: Sequence[Series]) -> Fitted | None:
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
        return Fitted(
            curve,
            root_sum_square(max(floor, largest / RECTANGULAR), cost),
            "between-sources" if disagree else "stated",
            "largest disagreement with other readings, as a rectangular distribution"
            if disagree
            else self._policy.reason,
            [
                _input(handbook, "1", "followed"),
                *(_input(s, "0", f"compared: {100.0 * by:+.2g} % at most, at {at:.4g} degC") for s, (by, at) in shared),
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
        middle = min(max(ROOM, low), high)
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

    def _joined(self, handbook: Series, low: float, high: float) -> tuple[Polynomial, float]:
        """The lowest polynomial that gives the handbook's curve back to a tenth of its uncertainty."""
        values = self._scaled_values(handbook.values)
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
        return Polynomial(numbers, low, high, self._policy.logarithm), cost

    def _fitted(self, usable: Sequence[Series], left_out: dict[str, LeftOut]) -> Fitted | None:
        """A polynomial through the points of independent documents; compiled values only where nothing was measured."""
        chosen = [series for series in usable if not series.compiled] or list(usable)
        for series in usable:
            if series not in chosen:
                left_out[series.reading.id] = _left_out(
                    series.reading, "compiled from sources that it does not name, where measurements are at hand"
                )
        chosen = self._inside(chosen, left_out)
        if not chosen:
            return None
        documents = self._documents(chosen)
        curve, order = self._curve(documents)
        for name, reason in self._outliers(documents, curve).items():
            for series in documents.pop(name):
                left_out[series.reading.id] = _left_out(series.reading, reason)
            curve, order = self._curve(documents)
        return self._combined(documents, curve, order)

    def _inside(self, chosen: Sequence[Series], left_out: dict[str, LeftOut]) -> list[Series]:
        """The series with the points at which the liquid is liquid below the highest pressure of the row."""
        kept = []
        for series in chosen:
            part = series.part(self._liquid.holds)
            if part is None:
                left_out[series.reading.id] = _left_out(series.reading, "where the liquid boils above 1 MPa")
            else:
                kept.append(part)
        return kept

    def _documents(self, chosen: Sequence[Series]) -> dict[str, list[Series]]:
        documents: dict[str, list[Series]] = {}
        for series in chosen:
            lineage = self._sources[series.reading.source].lineage or series.reading.source
            documents.setdefault(lineage, []).append(series)
        return documents

    def _curve(self, documents: Mapping[str, Sequence[Series]]) -> tuple[Polynomial, int]:
        """Least squares: a document weighs by what it is uncertain by, whatever the number of its points."""
        celsius, values, weights = self._points(documents)
        low, high = min(celsius), max(celsius)
        if high - low < SINGLE_SPAN:
            return self._about_one(weighted_mean(celsius, weights), celsius, values, weights), 0
        low, high = self._to_room(low, high)
        places = [(c - low) * (2.0 / (high - low)) - 1.0 for c in celsius]
        wanted = self._scaled_values(values)
        best: tuple[float, list[float]] | None = None
        for order in _orders(celsius):
            numbers = fitted(places, wanted, weights, order)
            off = [polynomial(numbers, place) - value for place, value in zip(places, wanted, strict=True)]
            score = _corrected_akaike(weighted_mean((o * o for o in off), weights), len(celsius), order + 2)
            if best is None or score < best[0]:
                best = (score, numbers)
        assert best is not None  # noqa: S101 - a straight line is always among the orders
        return Polynomial(best[1], low, high, self._policy.logarithm), len(best[1]) - 1

    def _to_room(self, low: float, high: float) -> tuple[float, float]:
        """A range of temperatures that ends within the policy's reach of room temperature, carried on to there."""
        # 298.15 K is 25 degC but for the last bit.
        reach = printed_number(self._policy.reach) + 1e-6
        if low > ROOM >= low - reach and self._liquid.inside(ROOM, low) == (ROOM, low):
            return ROOM, high
        if high < ROOM <= high + reach and self._liquid.inside(high, ROOM) == (high, ROOM):
            return low, ROOM
        return low, high

    def _about_one(
        self, middle: float, celsius: Sequence[float], values: Sequence[float], weights: Sequence[float]
    ) -> Polynomial:
        """A line with the slope that liquids usually have, through points at one temperature."""
        slope, reach = printed_number(self._policy.slope) / 100.0, printed_number(self._policy.reach)
        moved = (value * (1.0 - slope * (c - middle)) for c, value in zip(celsius, values, strict=True))
        at_middle = weighted_mean(moved, weights)
        low, high = self._liquid.inside(middle - reach, middle + reach) or (middle - reach, middle + reach)
        low, high = math.ceil(low * 100.0) / 100.0, math.floor(high * 100.0) / 100.0
        centre, half = (low + high) / 2.0, (high - low) / 2.0
        if self._policy.logarithm:
            numbers = [log(at_middle) + slope * (centre - middle), slope * half]
        else:
            numbers = [at_middle * (1.0 + slope * (centre - middle)), at_middle * slope * half]
        return Polynomial(numbers, low, high, self._policy.logarithm)

    def _points(self, documents: Mapping[str, Sequence[Series]]) -> tuple[list[float], ...]:
        """Temperatures, values and weights of all points; a document's weights add up to its own."""
        spread = printed_number(self._policy.spread) / 100.0
        columns: list[tuple[float, float, float]] = []
        for group in documents.values():
            count = sum(len(series.celsius) for series in group)
            for series in group:
                weight = 1.0 / (series.own * series.own + spread * spread) / count
                columns.extend((c, v, weight) for c, v in zip(series.celsius, series.values, strict=True))
        return tuple(map(list, zip(*columns, strict=True)))

    def _outliers(self, documents: Mapping[str, Sequence[Series]], curve: Polynomial) -> dict[str, str]:
        """Documents too far from the curve to be of the same liquid, with the reason."""
        if len(documents) < FEWEST_FOR_OUTLIERS:
            return {}
        names = list(documents)
        offsets = [_offset(documents[name], curve)[0] for name in names]
        spread = printed_number(self._policy.spread) / 100.0
        floors = [root_sum_square(spread, documents[name][0].own) for name in names]
        scores = modified_z_scores(offsets, floors)
        return {
            name: f"outlier: {100.0 * offset:+.2g} % from the curve, {score:+.1f} robust standard deviations from the "
            f"median of {len(names)} documents (modified z-score, limit {DOUBTED:g})"
            for name, offset, score in zip(names, offsets, scores, strict=True)
            if abs(score) > DOUBTED
        }

    def _combined(self, documents: Mapping[str, Sequence[Series]], curve: Polynomial, order: int) -> Fitted:
        """The curve moved to the random-effects mean of the documents, and what one further specimen may differ by."""
        policy = self._policy
        offsets, own, scatters = [], [], []
        for group in documents.values():
            offset, scatter = _offset(group, curve)
            offsets.append(offset)
            scatters.append(scatter)
            own.append(root_sum_square(max(series.own for series in group), scatter))
        prior = Prior(printed_number(policy.spread) / 100.0, policy.freedom)
        found = combine(offsets, own, prior)
        scatter = root_mean_square(scatters)
        beyond = (curve.high - curve.low) / 2.0 if order == 0 else _beyond(documents, curve)
        neglect = printed_number(policy.slope_uncertainty) / 100.0 * beyond / RECTANGULAR
        compiled = all(series.compiled for group in documents.values() for series in group)
        alone = max(own) if compiled or len(documents) == 1 else 0.0
        relative = root_sum_square(found.half_interval / 2.0, scatter, neglect, alone)
        used = [series for group in documents.values() for series in group]
        weights = dict(zip(documents, found.weights, strict=True))
        return Fitted(
            curve.shifted(found.mean),
            relative,
            "between-sources" if len(documents) >= FEWEST_FOR_OUTLIERS else "family-repeatability",
            f"half the 95 % interval for one further specimen, from {len(documents)} independent document(s) and the "
            "spread that liquids show between documents",
            [
                _input(series, number_text(weights[name] / len(group)), _off_words(_offset([series], curve)[0]))
                for name, group in documents.items()
                for series in group
            ],
            [series.reading for series in used],
            {
                "independent_readings": str(len(documents)),
                "points": str(sum(len(series.celsius) for series in used)),
                "order": str(order) if order else "1, with the slope that liquids usually have",
                "between_sources": f"{number_text(100.0 * found.between, 3)} %",
                "pooled_spread": f"{number_text(100.0 * found.pooled, 3)} %",
                "family_spread": f"{policy.spread} % with {prior.freedom} degrees of freedom",
                "scatter": told(100.0 * scatter, 3, "%"),
                "t_quantile": number_text(found.quantile, 4),
            },
        )

    def _scaled_values(self, values: Sequence[float]) -> list[float]:
        return [log(value) for value in values] if self._policy.logarithm else list(values)

    def _row(self, subject: Subject, fitted: Fitted, left_out: list[LeftOut]) -> RecommendedValue:
        curve, liquid = fitted.curve, self._liquid
        saturation = liquid.saturation_spec(curve.low, curve.high, self._table)
        return RecommendedValue(
            id=f"{subject.id}.{self._policy.property}",
            subject=subject.id,
            property=self._policy.property,
            unit=self._si,
            form=curve.spec(saturation),
            domain=liquid.domain(number_text(curve.low, 7), number_text(curve.high, 7), saturation is not None),
            uncertainty=RecommendedUncertainty(
                number=number_text(100.0 * fitted.relative, 2),
                unit="%",
                code=fitted.code,
                text=fitted.text,
                per_megapascal=self._policy.per_megapascal if saturation is not None else None,
            ),
            rule=CURVE_FIT_EXACT.name,
            basis=weakest_basis(reading.basis for reading in fitted.used),
            seen=weakest_seen(reading.seen for reading in fitted.used),
            rung="published",
            inputs=fitted.inputs + liquid.inputs(saturation is not None),
            left_out=sorted(left_out, key=lambda entry: entry.id) or None,
            freezes_at=liquid.freezes_at,
            working=fitted.working | {"reason": self._policy.reason},
        )


def curve_deviation(curve: Polynomial, series: Series) -> tuple[float, float] | None:
    """The largest relative deviation of a series from a curve and where it is; None where they share no temperature."""
    found = [
        (value / curve.value(celsius) - 1.0, celsius)
        for celsius, value in zip(series.celsius, series.values, strict=True)
        if curve.low <= celsius <= curve.high
    ]
    return max(found, key=lambda pair: abs(pair[0])) if found else None


def _last_before_doubt(agree: Sequence[tuple[float, bool]], bound: float) -> float:
    """The last temperature before the first at which two curves disagree, going outwards; the bound where none does."""
    last = None
    for celsius, fine in agree:
        if not fine:
            return celsius if last is None else last
        last = celsius
    return bound


def _beyond(documents: Mapping[str, Sequence[Series]], curve: Polynomial) -> float:
    """Kelvin by which a curve is carried on beyond its points, towards room temperature."""
    celsius = [c for group in documents.values() for series in group for c in series.celsius]
    return max(min(celsius) - curve.low, curve.high - max(celsius), 0.0)


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


def _orders(celsius: Sequence[float]) -> range:
    """A straight line; a quadratic from four temperatures and six points on, a cubic from eight temperatures on."""
    distinct = 1
    ordered = sorted(celsius)
    last = ordered[0]
    for c in ordered:
        if c - last > DISTINCT:
            distinct, last = distinct + 1, c
    highest = 3 if distinct >= 8 else 2 if distinct >= 4 and len(ordered) >= 6 else 1
    return range(1, highest + 1)


def _corrected_akaike(mean_square: float, count: int, parameters: int) -> float:
    """Hurvich and Tsai's corrected criterion; endless where the points are too few for it."""
    if count <= parameters + 1:
        return math.inf
    correction = 2.0 * parameters * (parameters + 1) / (count - parameters - 1)
    return count * float(log(max(mean_square, 1e-30))) + 2.0 * parameters + correction


def _offset(group: Sequence[Series], curve: Polynomial) -> tuple[float, float]:
    """The mean relative deviation of a document from the curve, and the scatter about it."""
    relative = [
        v / curve.value(c) - 1.0 for series in group for c, v in zip(series.celsius, series.values, strict=True)
    ]
    mean = math.fsum(relative) / len(relative)
    return mean, root_mean_square(r - mean for r in relative)


def _off_words(offset: float) -> str:
    percent = 100.0 * offset
    return f"{told(percent, 2, '%')} off" if 0.0 < abs(percent) < TOLD_FROM else f"{percent:+.2g} % off"


def _input(series: Series, weight: str, note: str) -> Input:
    reading = series.reading
    return Input(id=reading.id, digest=digest(reading.plain()), weight=weight, note=note)


def _left_out(reading: PropertyReading, reason: str) -> LeftOut:
    return LeftOut(id=reading.id, digest=digest(reading.plain()), reason=reason)
