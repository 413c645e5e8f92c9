"""Uncertainty: linear propagation with correlations, and a Monte Carlo check of it.

The linear way is that of JCGM 100:2008 (GUM), equations 10, 13 and 16; the other one propagates distributions after
JCGM 101:2008. Both take the same variables and the same model, a function of named numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

Distribution = Literal["normal", "rectangular"]
Model = Callable[[Mapping[str, Any]], Any]
Correlations = Mapping[tuple[str, str], float]

STEP = 0.01
"""Of a standard uncertainty: how far each variable is moved to see what the result does."""
COVERAGE_FACTOR = 2.0
SEED = 20260101
"""Of the generator, so that a job worked twice prints the same figures."""


@dataclass(frozen=True, slots=True)
class Variable:
    """One input: its estimate and standard uncertainty, in the SI unit of its dimension."""

    value: float
    uncertainty: float
    distribution: Distribution = "normal"


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one input brings: the result's change per unit, and that times the standard uncertainty, with its sign."""

    name: str
    sensitivity: float
    amount: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A result with its combined standard uncertainty, the largest contribution first."""

    value: float
    uncertainty: float
    contributions: tuple[Contribution, ...]

    def share(self, contribution: Contribution) -> float:
        """The part of the variance that one input would have if nothing were correlated; 0 to 1."""
        total = sum(item.amount**2 for item in self.contributions)
        return contribution.amount**2 / total if total else 0.0


@dataclass(frozen=True, slots=True)
class Simulated:
    """What the draws gave: mean, standard deviation and the probabilistically symmetric 95 % interval."""

    mean: float
    uncertainty: float
    low: float
    high: float
    draws: int


def propagate(model: Model, variables: Mapping[str, Variable], correlations: Correlations | None = None) -> Budget:
    """The linear propagation of uncertainty through a model.

    Args:
        model: gives the result for a mapping of every variable's name to a number.
        correlations: coefficients of pairs of variables; pairs that are not named are independent.
    """
    centre = {name: variable.value for name, variable in variables.items()}
    value = float(model(centre))
    contributions = []
    for name, variable in variables.items():
        if variable.uncertainty == 0.0:
            continue
        step = STEP * variable.uncertainty
        above, below = (float(model({**centre, name: variable.value + sign * step})) for sign in (1.0, -1.0))
        sensitivity = (above - below) / (2.0 * step)
        contributions.append(Contribution(name, sensitivity, sensitivity * variable.uncertainty))
    amounts = {item.name: item.amount for item in contributions}
    variance = sum(amount**2 for amount in amounts.values())
    for (first, second), coefficient in (correlations or {}).items():
        variance += 2.0 * coefficient * amounts.get(first, 0.0) * amounts.get(second, 0.0)
    ordered = tuple(sorted(contributions, key=lambda item: -abs(item.amount)))
    return Budget(value, math.sqrt(max(variance, 0.0)), ordered)


def simulate(
    model: Model,
    variables: Mapping[str, Variable],
    correlations: Correlations | None = None,
    draws: int = 10_000,
    seed: int = SEED,
) -> Simulated:
    """The propagation of distributions by Monte Carlo; the model is asked once, with arrays of shape (draws,).

    Correlated variables are drawn from a joint normal distribution; rectangular ones are read from it by their ranks.
    """
    import numpy as np
    from scipy.special import ndtr

    generator = np.random.default_rng(seed)
    names = list(variables)
    normal = generator.standard_normal((len(names), draws))
    if correlations:
        matrix = np.eye(len(names))
        for (first, second), coefficient in correlations.items():
            if first in variables and second in variables:
                row, column = names.index(first), names.index(second)
                matrix[row, column] = matrix[column, row] = coefficient
        # The root by eigenvalues also serves pairs that are wholly correlated, where the matrix is singular.
        roots, vectors = np.linalg.eigh(matrix)
        normal = (vectors * np.sqrt(np.clip(roots, 0.0, None))) @ vectors.T @ normal
    drawn: dict[str, Any] = {}
    for name, deviates in zip(names, normal, strict=True):
        variable = variables[name]
        if variable.distribution == "rectangular":
            # Through its normal deviate, so that a rectangular variable keeps its correlations as well.
            half = math.sqrt(3.0) * variable.uncertainty
            drawn[name] = variable.value + half * (2.0 * ndtr(deviates) - 1.0)
        else:
            drawn[name] = variable.value + variable.uncertainty * deviates
    results = np.broadcast_to(np.asarray(model(drawn), dtype=float), (draws,))
    low, high = np.quantile(results, (0.025, 0.975))
    return Simulated(float(results.mean()), float(results.std(ddof=1)), float(low), float(high), draws)


def normalised_error(first: float, first_expanded: float, second: float, second_expanded: float) -> float:
    """|E_n| of two results with their expanded uncertainties (ISO/IEC 17043); up to 1 they agree."""
    return abs(first - second) / math.hypot(first_expanded, second_expanded)


def names_of(budget: Budget, count: int) -> Sequence[str]:
    """The names of the largest contributions."""
    return [item.name for item in budget.contributions[:count]]
