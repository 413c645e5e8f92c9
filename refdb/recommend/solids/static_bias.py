"""What static moduli tell a speed too low, family by family: where the speed is known, the two are compared.

A load bends a specimen by more than sound does, and a code's modulus is a round number for many grades; a speed derived
from it is mostly too slow. Each material whose speed is published and whose static moduli are too is one comparison,
with its own uncertainty. A family's bias is drawn to that of all families as far as its few comparisons allow.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from refdb.exact.sums import root_sum_square
from refdb.recommend.random_effects import Prior, combine, paule_mandel

FEWEST = 3
"""Comparisons of one family by which a bias of its own can be told from that of all."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """A speed derived from static moduli beside the published one of the same material.

    Attributes:
        off: the derived one over the published one, less one.
        uncertainty: of `off`, from what both are uncertain by.
    """

    subject: str
    family: str
    off: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class Bias:
    """What a speed from static moduli is off by in a family, relative.

    Attributes:
        mean: of `Comparison.off`, to be taken off.
        mean_uncertainty: standard uncertainty of the mean.
        scatter: by what materials differ about it beside their stated uncertainties, a standard deviation.
        own: comparisons in the family; `all` those in all families.
    """

    mean: float
    mean_uncertainty: float
    scatter: float
    own: int
    all: int

    @property
    def uncertainty(self) -> float:
        """Of one further material's bias."""
        return root_sum_square(self.mean_uncertainty, self.scatter)


class StaticBias:
    """The biases of one speed, from all comparisons."""

    def __init__(self, comparisons: Iterable[Comparison]) -> None:
        self._comparisons = sorted(comparisons, key=lambda one: one.subject)

    def of(self, family: str, without: str | None = None) -> Bias | None:
        """The bias of a family, or None where there is nothing to compare.

        Args:
            without: a material whose own comparison is left out.
        """
        told = [one for one in self._comparisons if one.subject != without]
        if len(told) < FEWEST:
            return None
        everything = _combined(told)
        own = [one for one in told if one.family == family]
        scatter = math.sqrt(
            paule_mandel([one.off for one in told], [one.uncertainty * one.uncertainty for one in told])
        )
        between = self._between(told)
        prior_variance = everything[1] * everything[1] + between * between
        if len(own) < FEWEST:
            return Bias(everything[0], math.sqrt(prior_variance), scatter, len(own), len(told))
        mean, uncertainty = _combined(own, scatter)
        weight, prior_weight = 1.0 / (uncertainty * uncertainty), 1.0 / prior_variance
        total = weight + prior_weight
        shrunk = (weight * mean + prior_weight * everything[0]) / total
        return Bias(shrunk, math.sqrt(1.0 / total), scatter, len(own), len(told))

    def _between(self, told: Sequence[Comparison]) -> float:
        """The standard deviation of the families' biases."""
        by_family: dict[str, list[Comparison]] = defaultdict(list)
        for one in told:
            by_family[one.family].append(one)
        means = [_combined(group) for group in by_family.values() if len(group) >= FEWEST]
        if len(means) < 2:
            return 0.0
        return math.sqrt(
            paule_mandel([mean for mean, _ in means], [uncertainty * uncertainty for _, uncertainty in means])
        )


def _combined(told: Sequence[Comparison], least: float = 0.0) -> tuple[float, float]:
    """The random-effects mean of comparisons, with its standard uncertainty."""
    found = combine([one.off for one in told], [one.uncertainty for one in told], Prior(least, len(told)))
    return found.mean, found.mean_uncertainty
