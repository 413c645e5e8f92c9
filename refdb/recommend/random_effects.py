"""Random effects: one mean of readings that differ by more than they admit, and what one further specimen may have.

Between-source variance after Paule and Mandel (J. Res. Natl. Bur. Stand. 87, 377-385, 1982); variance of the mean after
Hartung and Knapp (Stat. Med. 20, 3875-3889, 2001), never below the usual one (Röver, Knapp and Friede, BMC Med. Res.
Methodol. 15:99, 2015); interval for one further specimen after Higgins, Thompson and Spiegelhalter (J. R. Stat. Soc. A
172, 137-159, 2009), with Student's t of k - 2 degrees of freedom for k sources. What is known of a family beforehand is
pooled with what k sources show, as a variance of d degrees of freedom beside one of k - 1 (Smyth, Stat. Appl. Genet.
Mol. Biol. 3, 3, 2004), which leaves d + k - 2 degrees of freedom; with d = 0 nothing but the methods above remains.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from refdb.exact.roots import root_between
from refdb.exact.student import t_quantile
from refdb.exact.sums import root_sum_square
from refdb.laws import NORMAL_OF_MEDIAN

COVERAGE = 0.95


@dataclass(frozen=True, slots=True)
class Prior:
    """What a family of materials shows from one source to the next: a standard deviation and its degrees of freedom."""

    deviation: float
    freedom: int


NO_PRIOR = Prior(0.0, 0)


@dataclass(frozen=True, slots=True)
class Combined:
    """Several independent values as one, all in their common unit.

    Attributes:
        mean: weighted by the inverse of own plus between-source variance.
        weights: of the values, summing to one.
        between: the between-source standard deviation that the values show.
        pooled: the same, pooled with what is known of the family.
        mean_uncertainty: standard uncertainty of the mean.
        freedom: degrees of freedom of the interval.
        quantile: Student's t for them at 97.5 %.
    """

    mean: float
    weights: list[float]
    between: float
    pooled: float
    mean_uncertainty: float
    freedom: int
    quantile: float

    @property
    def half_interval(self) -> float:
        """Half the 95 % interval for one further specimen."""
        return self.quantile * root_sum_square(self.pooled, self.mean_uncertainty)


def combine(values: Sequence[float], uncertainties: Sequence[float], prior: Prior = NO_PRIOR) -> Combined:
    """The random-effects mean of independent values, and the interval for one further specimen.

    Args:
        values: one of each source.
        uncertainties: their own standard uncertainties, not zero; what sources have in common is not among them.
        prior: what is known beforehand; a lone value needs some, and two need one degree of freedom.
    """
    count = len(values)
    variances = [uncertainty * uncertainty for uncertainty in uncertainties]
    between = paule_mandel(values, variances)
    pooled = _pooled(between, count, prior)
    inverse = [1.0 / (variance + pooled) for variance in variances]
    total = math.fsum(inverse)
    mean = math.fsum(weight * value for weight, value in zip(inverse, values, strict=True)) / total
    freedom = prior.freedom + count - 2
    return Combined(
        mean=mean,
        weights=[weight / total for weight in inverse],
        between=math.sqrt(between),
        pooled=math.sqrt(pooled),
        mean_uncertainty=math.sqrt(_inflation(values, inverse, mean) / total),
        freedom=freedom,
        quantile=t_quantile(0.5 + COVERAGE / 2.0, freedom),
    )


def paule_mandel(values: Sequence[float], variances: Sequence[float]) -> float:
    """The between-source variance at which the weighted squares about the mean are as many as they should be, k - 1.

    Zero where the values agree better than their own variances let expect, and for a lone value.
    """
    expected = len(values) - 1
    if expected < 1 or _squares(values, variances, 0.0) <= expected:
        return 0.0
    # With the plain variance of the values as the between-source variance, the squares are k - 1 at most.
    largest = statistics.variance(values)
    return root_between(lambda between: _squares(values, variances, between) - expected, 0.0, largest)


def modified_z_scores(values: Sequence[float], floors: Sequence[float]) -> list[float]:
    """How far values lie from their median, in robust standard deviations.

    After Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC Quality Press 1993: 0.6745 (x - median)/MAD, to
    be doubted beyond 3.5. The median absolute deviation of a few values may be next to nothing, so each value's scale
    is never below its floor.
    """
    median = statistics.median(values)
    scale = statistics.median(abs(value - median) for value in values) / NORMAL_OF_MEDIAN
    return [(value - median) / max(scale, floor) for value, floor in zip(values, floors, strict=True)]


def _squares(values: Sequence[float], variances: Sequence[float], between: float) -> float:
    inverse = [1.0 / (variance + between) for variance in variances]
    mean = math.fsum(w * y for w, y in zip(inverse, values, strict=True)) / math.fsum(inverse)
    return _squares_about(mean, values, inverse)


def _squares_about(mean: float, values: Sequence[float], weights: Sequence[float]) -> float:
    offsets = (value - mean for value in values)
    return math.fsum(weight * offset * offset for weight, offset in zip(weights, offsets, strict=True))


def _pooled(between: float, count: int, prior: Prior) -> float:
    freedom = prior.freedom + count - 1
    return (prior.freedom * prior.deviation * prior.deviation + (count - 1) * between) / freedom if freedom else 0.0


def _inflation(values: Sequence[float], inverse: Sequence[float], mean: float) -> float:
    if len(values) < 2:
        return 1.0
    return max(1.0, _squares_about(mean, values, inverse) / (len(values) - 1))
