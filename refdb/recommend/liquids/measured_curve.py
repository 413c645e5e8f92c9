"""Part of rule `curve-fit/2`: a low polynomial through measured points of independent documents."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from refdb.constants import ROOM_CELSIUS
from refdb.exact.functions import log
from refdb.exact.least_squares import fitted, polynomial
from refdb.exact.sums import root_mean_square, root_sum_square, weighted_mean
from refdb.laws import DOUBTED
from refdb.recommend.arithmetic import FEWEST_FOR_OUTLIERS
from refdb.recommend.evidence import RECTANGULAR
from refdb.recommend.liquids.bounds import LiquidBounds
from refdb.recommend.liquids.curve_points import Series
from refdb.recommend.liquids.temperature_curve import (
    FittedCurve,
    TemperatureCurve,
    input_of,
    left_out_of,
    scaled_values,
)
from refdb.recommend.policy import CurveFit
from refdb.recommend.random_effects import Prior, combine, modified_z_scores
from refdb.recommend.smallness import TOLD_FROM, told
from refdb.records import number_text, printed_number
from refdb.records.models import (
    LeftOut,
    Source,
)

SINGLE_SPAN = 4.0
"""Kelvin that the temperatures of all points must span before they say how the property changes with temperature."""

DISTINCT = 1.0
"""Kelvin within which two temperatures are one."""


class MeasuredCurve:
    """A polynomial through the points of independent documents.

    Args:
        policy: what is written about the property.
        liquid: where the liquid ends.
    """

    def __init__(self, policy: CurveFit, liquid: LiquidBounds, sources: Mapping[str, Source]) -> None:
        self._policy = policy
        self._liquid = liquid
        self._sources = sources

    def through(self, usable: Sequence[Series], left_out: dict[str, LeftOut]) -> FittedCurve | None:
        """The curve, or None without points; compiled values only where nothing was measured.

        Args:
            left_out: takes the readings that are left out, by id.
        """
        chosen = [series for series in usable if not series.compiled] or list(usable)
        for series in usable:
            if series not in chosen:
                left_out[series.reading.id] = left_out_of(
                    series.reading, "compiled from sources that it does not name, where measurements are at hand"
                )
        chosen = self._inside(chosen, left_out)
        if not chosen:
            return None
        documents = self._documents(chosen)
        curve, order = self._curve(documents)
        for name, reason in self._outliers(documents, curve).items():
            for series in documents.pop(name):
                left_out[series.reading.id] = left_out_of(series.reading, reason)
            curve, order = self._curve(documents)
        return self._combined(documents, curve, order)

    def _inside(self, chosen: Sequence[Series], left_out: dict[str, LeftOut]) -> list[Series]:
        """The series with the points at which the liquid is liquid below the highest pressure of the row."""
        kept = []
        for series in chosen:
            part = series.part(self._liquid.holds)
            if part is None:
                left_out[series.reading.id] = left_out_of(series.reading, "where the liquid boils above 1 MPa")
            else:
                kept.append(part)
        return kept

    def _documents(self, chosen: Sequence[Series]) -> dict[str, list[Series]]:
        documents: dict[str, list[Series]] = {}
        for series in chosen:
            lineage = self._sources[series.reading.source].lineage or series.reading.source
            documents.setdefault(lineage, []).append(series)
        return documents

    def _curve(self, documents: Mapping[str, Sequence[Series]]) -> tuple[TemperatureCurve, int]:
        """Least squares: a document weighs by what it is uncertain by, whatever the number of its points."""
        celsius, values, weights = self._points(documents)
        low, high = min(celsius), max(celsius)
        if high - low < SINGLE_SPAN:
            return self._about_one(weighted_mean(celsius, weights), celsius, values, weights), 0
        low, high = self._to_room(low, high)
        places = [(c - low) * (2.0 / (high - low)) - 1.0 for c in celsius]
        wanted = scaled_values(values, self._policy.logarithm)
        best: tuple[float, list[float]] | None = None
        for order in _orders(celsius):
            numbers = fitted(places, wanted, weights, order)
            off = [polynomial(numbers, place) - value for place, value in zip(places, wanted, strict=True)]
            score = _corrected_akaike(weighted_mean((o * o for o in off), weights), len(celsius), order + 2)
            if best is None or score < best[0]:
                best = (score, numbers)
        assert best is not None  # noqa: S101 - a straight line is always among the orders
        return TemperatureCurve(best[1], low, high, self._policy.logarithm), len(best[1]) - 1

    def _to_room(self, low: float, high: float) -> tuple[float, float]:
        """A range of temperatures that ends within the policy's reach of room temperature, carried on to there."""
        # 298.15 K is 25 degC but for the last bit.
        reach = printed_number(self._policy.reach) + 1e-6
        if low > ROOM_CELSIUS >= low - reach and self._liquid.inside(ROOM_CELSIUS, low) == (ROOM_CELSIUS, low):
            return ROOM_CELSIUS, high
        if high < ROOM_CELSIUS <= high + reach and self._liquid.inside(high, ROOM_CELSIUS) == (high, ROOM_CELSIUS):
            return low, ROOM_CELSIUS
        return low, high

    def _about_one(
        self, middle: float, celsius: Sequence[float], values: Sequence[float], weights: Sequence[float]
    ) -> TemperatureCurve:
        """A line with the slope that liquids usually have, through points at one temperature."""
        slope, reach = printed_number(self._policy.slope) / 100.0, printed_number(self._policy.reach)
        moved = (value * (1.0 - slope * (c - middle)) for c, value in zip(celsius, values, strict=True))
        at_middle = weighted_mean(moved, weights)
        low, high = self._liquid.inside(middle - reach, middle + reach) or (middle - reach, middle + reach)
        # 20 degC read as 293.15 K is 20 degC but for the last bit, which must not cost a hundredth of a kelvin.
        low, high = math.ceil(round(low * 100.0, 6)) / 100.0, math.floor(round(high * 100.0, 6)) / 100.0
        centre, half = (low + high) / 2.0, (high - low) / 2.0
        if self._policy.logarithm:
            numbers = [log(at_middle) + slope * (centre - middle), slope * half]
        else:
            numbers = [at_middle * (1.0 + slope * (centre - middle)), at_middle * slope * half]
        return TemperatureCurve(numbers, low, high, self._policy.logarithm)

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

    def _outliers(self, documents: Mapping[str, Sequence[Series]], curve: TemperatureCurve) -> dict[str, str]:
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

    def _combined(self, documents: Mapping[str, Sequence[Series]], curve: TemperatureCurve, order: int) -> FittedCurve:
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
        return FittedCurve(
            curve.shifted(found.mean),
            relative,
            "between-sources" if len(documents) >= FEWEST_FOR_OUTLIERS else "family-repeatability",
            f"half the 95 % interval for one further specimen, from {len(documents)} independent document(s) and the "
            "spread that liquids show between documents",
            [
                input_of(series, number_text(weights[name] / len(group)), _off_words(_offset([series], curve)[0]))
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


def _beyond(documents: Mapping[str, Sequence[Series]], curve: TemperatureCurve) -> float:
    """Kelvin by which a curve is carried on beyond its points, towards room temperature."""
    celsius = [c for group in documents.values() for series in group for c in series.celsius]
    return max(min(celsius) - curve.low, curve.high - max(celsius), 0.0)


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


def _offset(group: Sequence[Series], curve: TemperatureCurve) -> tuple[float, float]:
    """The mean relative deviation of a document from the curve, and the scatter about it."""
    relative = [
        v / curve.value(c) - 1.0 for series in group for c, v in zip(series.celsius, series.values, strict=True)
    ]
    mean = math.fsum(relative) / len(relative)
    return mean, root_mean_square(r - mean for r in relative)


def _off_words(offset: float) -> str:
    percent = 100.0 * offset
    return f"{told(percent, 2, '%')} off" if 0.0 < abs(percent) < TOLD_FROM else f"{percent:+.2g} % off"
