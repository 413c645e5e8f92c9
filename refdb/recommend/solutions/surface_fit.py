"""Surfaces in temperature and strength through measured points: an excess over water, after Redlich and Kister."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from refdb.exact.chebyshev import coefficients, extremes
from refdb.exact.definite import factors, solved
from refdb.exact.least_squares import Orthonormal, polynomial, powers
from refdb.exact.sums import Array, folded, weighted_mean

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

LATTICE = (40, 42)
"""Steps of either variable at which what joining costs is looked at: between the nodes, whatever their number."""

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
        tau = powers((celsius - (self.coldest + self.hottest) / 2.0) / half, order.slopes)
        s = strength / self.strongest
        bends = powers(2.0 * s - 1.0, order.excess)
        columns = [(s if k < 0 else s * (1.0 - s) * bends[k]) * tau[j] for k, j in order.terms()]
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
        columns = self.span.design(t.ravel(), w.ravel(), self.order)
        return np.asarray(folded((columns * self.coefficients).T).reshape(t.shape))

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
    chains = [[order]] if order is not None else _chains(celsius, strength)
    fits = [fit for chain in chains for fit in _fits(span, chain, celsius, strength, difference, weights, groups)]
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


def _chains(celsius: Array, strength: Array) -> list[list[Order]]:
    """Every order that the isotherms and strengths of the points could bear, one of them left out.

    The terms of each order of a chain begin with those of the order before it.
    """
    isotherms, strengths = len(_clusters(celsius, SAME_ISOTHERM)), len(_clusters(strength, SAME_STRENGTH))
    excesses = range(min(MOST_ORDERS, strengths - 1) + 1)
    chains = [
        [Order(excess, slopes, min(sloped, excess)) for excess in excesses]
        for slopes in range(1, min(MOST_SLOPES, max(isotherms - 2, 0)) + 1)
        for sloped in SLOPED
    ]
    level = [Order(excess, 0, 0) for excess in excesses]
    most = MOST_TERMS * len(celsius)
    return [[order for order in chain if len(order.terms()) <= most] for chain in (level, *chains)]


def _fits(
    span: Span,
    chain: Sequence[Order],
    celsius: Array,
    strength: Array,
    difference: Array,
    weights: Array,
    groups: Sequence[Places],
) -> Iterator[SurfaceFit]:
    """The surfaces of a chain of orders, up to the first that the points do not determine, or not without some group.

    The errors of left-out groups follow from one basis: with H the projection on the columns, the points of a group
    are missed by (1 - H_gg)^-1 times their residuals (Allen's PRESS for groups). What an order leaves undetermined,
    the longer ones do too.
    """
    if not chain:
        return
    root = np.sqrt(weights)
    columns = span.design(celsius, strength, chain[-1]) * root[:, None]
    basis, left_out = Orthonormal(len(root)), _LeftOut(groups, len(root))
    for order in chain:
        terms = len(order.terms())
        while len(basis) < terms <= len(root):
            left_out.explain(basis.add(columns[:, len(basis)]))
        if terms > len(root) or min(basis.sizes) < DEPENDENT * max(basis.sizes):
            return
        found = basis.coefficients(difference * root, terms)
        scaled = difference * root - folded((columns[:, :terms] * found).T)
        missed = left_out.missed(scaled)
        if missed is None:
            return
        yield SurfaceFit(span, order, found, scaled / root, missed / root, weights)


class _LeftOut:
    """Groups of points that are left out in turn, and what the columns of a basis leave of each: 1 - H_gg."""

    def __init__(self, groups: Sequence[Places], points: int) -> None:
        self._groups = groups
        most = max(map(len, groups), default=0)
        # Groups of fewer points are filled up with a point that no column knows, one past the last.
        self._places = np.full((len(groups), most), points)
        for row, group in zip(self._places, groups, strict=True):
            row[: len(group)] = group
        self._unit = np.eye(most)
        self._remaining = np.stack([self._unit] * len(groups)) if groups else np.zeros((0, 0, 0))

    def explain(self, vector: Array) -> None:
        """Take away what one more vector of the basis says of the points of each group."""
        own = self._of_groups(vector)
        self._remaining -= own[:, :, None] * own[:, None, :]

    def missed(self, scaled: Array) -> Array | None:
        """By how much each point is missed without its group; None where one is undetermined without it.

        Args:
            scaled: residuals times the roots of their weights.

        Returns:
            likewise scaled; NaN for a point of no group.
        """
        # All eigenvalues are above a number where taking it off the diagonal leaves the matrix positive definite.
        _, determined = factors(self._remaining - DETERMINED * self._unit)
        if not determined.all():
            return None
        lower, _ = factors(self._remaining)
        found = np.full(len(scaled), np.nan)
        for group, errors in zip(self._groups, solved(lower, self._of_groups(scaled)), strict=True):
            own = errors[: len(group)]
            # A point belongs to an isotherm and to a strength; the larger of its two errors counts.
            found[group] = np.where(np.abs(own) <= np.abs(found[group]), found[group], own)
        return found

    def _of_groups(self, points: Array) -> Array:
        return np.asarray(np.append(points, 0.0)[self._places])


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
    return math.sqrt(weighted_mean((values * values).tolist(), weights.tolist()))


def resample(
    function: Callable[[Array, Array], Array],
    spans: tuple[tuple[float, float], tuple[float, float]],
    nodes: tuple[int, int],
) -> tuple[Any, float]:
    """A function of two variables as the polynomial through Chebyshev nodes, and what that costs at most.

    Args:
        function: of a column of places of the first variable and a row of the second; its table of values.

    Returns:
        coefficients by rising power of the scaled first variable, of the second; the largest difference at a lattice
        of places between the nodes.
    """

    def table(first: Sequence[float], second: Sequence[float]) -> Array:
        column, row = (
            np.array([_between(span, place) for place in places])
            for span, places in zip(spans, (first, second), strict=True)
        )
        values = function(column[:, None], row[None, :])
        return np.asarray(np.broadcast_to(values, (len(first), len(second))))

    found = coefficients(table(extremes(nodes[0]), extremes(nodes[1])).ravel().tolist(), nodes)
    first, second = ([2.0 * step / steps - 1.0 for step in range(steps + 1)] for steps in LATTICE)
    along = [polynomial(row, np.array(second)) for row in found]
    joined = polynomial(along, np.array(first)[:, None])
    return found, float(np.max(np.abs(joined - table(first, second))))


def _between(span: tuple[float, float], scaled: float) -> float:
    low, high = span
    return low + (high - low) * (scaled + 1.0) / 2.0
