"""Surfaces in temperature and strength through measured points: an excess over water, after Redlich and Kister."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]

MOST_ORDERS = 10
"""Powers of (2 s - 1) that are tried; measured isotherms have at most some thirty strengths."""

SLOPED = (1, 3, MOST_ORDERS)
"""How many coefficients of the excess may depend on the temperature."""

MOST_SLOPES = 5
"""Powers of the temperature that are tried."""

PARSIMONY = 1.05
"""Of the orders whose left-out error is within this factor of the least, the one with the fewest terms is taken."""

MOST_TERMS = 0.6
"""Terms of a surface for each of its points, at most."""

DEPENDENT = 1e-10
"""A column of which less than this is new is taken to depend on the others."""

DETERMINED = 1e-6
"""Of a combination of points that a group alone determines, less than this is left without it."""

SAME_ISOTHERM = 0.6
"""Kelvin within which points belong to one isotherm."""

SAME_STRENGTH = 0.006
"""Mass fraction within which points belong to one strength."""


@dataclass(frozen=True)
class Order:
    """How many powers a surface has.

    Attributes:
        excess: of (2 s - 1) in the excess.
        slopes: of the temperature, in the difference at the strong end and in the first coefficients of the excess.
        sloped: how many coefficients of the excess these are; the others are constants. Most documents print one long
            isotherm and a few points at other temperatures.
    """

    excess: int
    slopes: int
    sloped: int

    def terms(self) -> list[tuple[int, int]]:
        """Pairs (k, j): k = -1 is the difference at the strong end, k = 0, 1, ... the excess; j the power of t."""
        return [(k, j) for k in range(-1, self.excess) for j in range((self.slopes if k < self.sloped else 0) + 1)]


@dataclass(frozen=True)
class Span:
    """The temperatures in degC of the points, and their greatest mass fraction."""

    coldest: float
    hottest: float
    strongest: float

    def design(self, celsius: Array, strength: Array, order: Order) -> Array:
        """A column for each term: s tau^j at the strong end, the excess s (1 - s) (2 s - 1)^k tau^j."""
        half = max((self.hottest - self.coldest) / 2.0, 1.0)
        tau = (celsius - (self.coldest + self.hottest) / 2.0) / half
        s = strength / self.strongest
        columns = [(s if k < 0 else s * (1.0 - s) * (2.0 * s - 1.0) ** k) * tau**j for k, j in order.terms()]
        return np.stack(columns, axis=1)


@dataclass(frozen=True)
class SurfaceFit:
    """A fitted surface of the difference from water, with what was left over, in the unit of the points.

    Attributes:
        residuals: measured less fitted, point by point.
        left_out: the same, each interior isotherm and strength predicted without it; NaN where none was left out.
    """

    span: Span
    order: Order
    coefficients: Array
    residuals: Array
    left_out: Array
    weights: Array

    def difference(self, celsius: Any, strength: Any) -> Array:
        """What is added to the value of water at temperatures in degC and mass fractions."""
        t, w = np.broadcast_arrays(np.asarray(celsius, dtype=float), np.asarray(strength, dtype=float))
        flat = self.span.design(t.ravel(), w.ravel(), self.order) @ self.coefficients
        return np.asarray(flat.reshape(t.shape))

    @cached_property
    def rms(self) -> float:
        """Root of the weighted mean square of the residuals."""
        return _rms(self.residuals, self.weights)

    @cached_property
    def left_out_rms(self) -> float:
        """The same of the points predicted without their isotherm or strength."""
        known = ~np.isnan(self.left_out)
        return _rms(self.left_out[known], self.weights[known]) if known.any() else self.rms


def fit_surface(
    celsius: Array, strength: Array, difference: Array, weights: Array, order: Order | None = None
) -> SurfaceFit:
    """The surface with the least error where an isotherm or a strength is left out, and few terms.

    Args:
        difference: value less that of water at the same temperature (or of their logarithms), at each point.
        weights: of the squares.
        order: the order of the surface, where it is not to be chosen; nothing is left out then.

    Returns:
        a surface that is zero at strength 0, whatever the points say there.

    Raises:
        ValueError: there are too few points for any surface.
    """
    span = Span(float(celsius.min()), float(celsius.max()), float(strength.max()))
    groups = interior_groups(celsius, strength) if order is None else []
    orders = [order] if order is not None else _orders(celsius, strength)
    fits = [
        fit
        for fit in (_fit(span, tried, celsius, strength, difference, weights, groups) for tried in orders)
        if fit is not None
    ]
    if not fits:
        raise ValueError("too few points for a surface")
    least = min(fit.left_out_rms for fit in fits)
    good = [fit for fit in fits if fit.left_out_rms <= PARSIMONY * least]
    return min(good, key=lambda fit: (len(fit.order.terms()), fit.left_out_rms))


def interior_groups(celsius: Array, strength: Array) -> list[Places]:
    """The places of the points of each isotherm and each strength that has others on both sides of it."""
    groups: list[Places] = []
    for values, width in ((celsius, SAME_ISOTHERM), (strength, SAME_STRENGTH)):
        groups.extend(_clusters(values, width)[1:-1])
    return groups


def _orders(celsius: Array, strength: Array) -> list[Order]:
    """Every order that the isotherms and strengths of the points could bear, one of them left out."""
    isotherms, strengths = len(_clusters(celsius, SAME_ISOTHERM)), len(_clusters(strength, SAME_STRENGTH))
    powers = range(min(MOST_ORDERS, strengths - 1) + 1), range(min(MOST_SLOPES, max(isotherms - 2, 0)) + 1)
    orders = {
        Order(excess, slopes, min(sloped, excess) if slopes else 0)
        for excess, slopes, sloped in itertools.product(*powers, SLOPED)
    }
    return [order for order in sorted(orders, key=Order.terms) if len(order.terms()) <= MOST_TERMS * len(celsius)]


def _fit(
    span: Span,
    order: Order,
    celsius: Array,
    strength: Array,
    difference: Array,
    weights: Array,
    groups: Sequence[Places],
) -> SurfaceFit | None:
    """A surface of one order, or None where the points do not determine it, or not without one of the groups.

    The errors of left-out groups follow from one factorisation: with H the projection on the columns, the points of a
    group are missed by (1 - H_gg)^-1 times their residuals (Allen's PRESS for groups).
    """
    root = np.sqrt(weights)
    design = span.design(celsius, strength, order) * root[:, None]
    if design.shape[1] > design.shape[0]:
        return None
    q, r = np.linalg.qr(design)
    diagonal = np.abs(np.diag(r))
    if diagonal.min() < DEPENDENT * diagonal.max():
        return None
    coefficients = np.linalg.solve(r, q.T @ (difference * root))
    scaled = difference * root - design @ coefficients
    left_out = np.full(len(difference), np.nan)
    for group in groups:
        own = q[group]
        remaining = np.eye(len(group)) - own @ own.T
        if np.linalg.eigvalsh(remaining)[0] < DETERMINED:
            return None
        missed = np.linalg.solve(remaining, scaled[group]) / root[group]
        # A point belongs to an isotherm and to a strength; the larger of its two errors counts.
        left_out[group] = np.where(np.abs(missed) <= np.abs(left_out[group]), left_out[group], missed)
    return SurfaceFit(span, order, np.asarray(coefficients, dtype=np.float64), scaled / root, left_out, weights)


def _clusters(values: Array, width: float) -> list[Places]:
    """Places of values that lie within a width of the first of them, in rising order."""
    order = np.argsort(values, kind="stable")
    clusters: list[list[int]] = []
    first = -np.inf
    for place in order:
        if values[place] - first > width:
            clusters.append([])
            first = values[place]
        clusters[-1].append(int(place))
    return [np.array(cluster) for cluster in clusters]


def _rms(values: Array, weights: Array) -> float:
    return float(np.sqrt(np.average(values**2, weights=weights)))


def resample(
    function: Callable[[Array, Array], Array],
    spans: tuple[tuple[float, float], tuple[float, float]],
    nodes: tuple[int, int],
) -> tuple[list[list[float]], float]:
    """A function of two variables as the polynomial through Chebyshev nodes, and what that costs at most.

    Returns:
        coefficients by rising power of the scaled first variable, of the second; the largest difference at a lattice
        of places between the nodes.
    """
    from numpy.polynomial import polynomial

    first, second = (_between(span, _extremes(count)) for span, count in zip(spans, nodes, strict=True))
    values = function(*np.meshgrid(first, second, indexing="ij"))
    along = np.linalg.solve(polynomial.polyvander(_extremes(nodes[0]), nodes[0] - 1), values)
    coefficients = np.linalg.solve(polynomial.polyvander(_extremes(nodes[1]), nodes[1] - 1), along.T).T
    u, v = np.meshgrid(np.linspace(-1.0, 1.0, 41), np.linspace(-1.0, 1.0, 43), indexing="ij")
    joined = polynomial.polyval2d(u, v, coefficients)
    cost = np.max(np.abs(joined - function(_between(spans[0], u), _between(spans[1], v))))
    return coefficients.tolist(), float(cost)


def _extremes(count: int) -> Array:
    return np.asarray(-np.cos(np.pi * np.arange(count) / (count - 1)))


def _between(span: tuple[float, float], scaled: Array) -> Array:
    low, high = span
    return np.asarray(low + (high - low) * (scaled + 1.0) / 2.0)
