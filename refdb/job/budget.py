"""Uncertainty: linear propagation with correlations (JCGM 100, clause 5) and by draws (JCGM 101).

Derivatives are central differences over one standard uncertainty either way (JCGM 100, 5.1.3, note 2).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from refdb.problems import BadParameter

Model = Callable[[Mapping[str, Any]], Any]
Shape = Literal["normal", "rectangular"]
Correlations = Mapping[tuple[str, str], float]

COVERAGE = 2.0
"""Coverage factor of the expanded uncertainties; about 95 % for a normal distribution."""
DRAWS = 10_000
MOST_DRAWS = 1_000_000


@dataclass(frozen=True, slots=True)
class Estimate:
    """An input of a model: its value and standard uncertainty in the SI unit, and where both are from.

    Attributes:
        origin: `given`, `row`, `default` or `computed`.
        words: where it is from, in words.
        row: id and digest of the row, where it is from one.
        uncertainty_words: where the uncertainty is from.
    """

    value: float
    uncertainty: float
    unit: str = "1"
    origin: str = "given"
    words: str = ""
    row: Mapping[str, str] | None = None
    uncertainty_words: str = "given"
    shape: Shape = "normal"

    def document(self) -> dict[str, Any]:
        """The input as plain JSON values."""
        return {
            "value": {"magnitude": float(f"{self.value:.12g}"), "unit": self.unit},
            "standard_uncertainty": {"magnitude": float(f"{self.uncertainty:.6g}"), "unit": self.unit},
            "origin": self.origin,
            "from": self.words,
            "uncertainty_from": self.uncertainty_words,
            "row": dict(self.row) if self.row else None,
        }


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one input adds: c u, in the unit of the result, with its sign; and how much of the variance."""

    name: str
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A result with its combined standard uncertainty and what it is made of, the largest first."""

    value: float
    uncertainty: float
    contributions: tuple[Contribution, ...]

    @property
    def relative(self) -> float:
        """The standard uncertainty as a part of the value."""
        return self.uncertainty / abs(self.value) if self.value else math.inf

    def document(self) -> dict[str, Any]:
        """The budget as plain JSON values."""
        return {
            "value": self.value,
            "standard_uncertainty": self.uncertainty,
            "expanded_uncertainty": COVERAGE * self.uncertainty,
            "coverage_factor": COVERAGE,
            "relative_standard_uncertainty": self.relative if self.value else None,
            "contributions": [
                {
                    "input": item.name,
                    "sensitivity": item.sensitivity,
                    "contribution": item.contribution,
                    "relative": item.contribution / self.value if self.value else None,
                    "share": item.share,
                }
                for item in self.contributions
            ],
        }


def linear(model: Model, inputs: Mapping[str, Estimate], correlations: Correlations | None = None) -> Budget:
    """The budget of a model by linear propagation.

    Args:
        model: takes the values by name, gives a float.
        correlations: coefficients between two inputs by name; those that are not named are independent.

    Raises:
        BadParameter: the correlations cannot all be true together.
    """
    values = {name: item.value for name, item in inputs.items()}
    middle = float(model(values))
    names = [name for name, item in inputs.items() if item.uncertainty > 0.0]
    parts = np.array([_difference(model, values, name, inputs[name].uncertainty) for name in names])
    matrix = correlation_matrix(names, correlations)
    variance = float(parts @ matrix @ parts) if names else 0.0
    # With correlations, the share of an input is its part of the sum over pairs; shares add up to one.
    shares = parts * (matrix @ parts) / variance if variance > 0.0 else np.zeros(len(names))
    found = [
        Contribution(name, float(part / inputs[name].uncertainty), float(part), float(share))
        for name, part, share in zip(names, parts, shares, strict=True)
    ]
    return Budget(middle, math.sqrt(max(variance, 0.0)), tuple(sorted(found, key=lambda c: -abs(c.contribution))))


def _difference(model: Model, values: Mapping[str, float], name: str, step: float) -> float:
    above = float(model({**values, name: values[name] + step}))
    below = float(model({**values, name: values[name] - step}))
    return (above - below) / 2.0


def correlation_matrix(names: Sequence[str], correlations: Correlations | None) -> Any:
    """The matrix of correlation coefficients.

    Raises:
        BadParameter: the coefficients cannot all be true together.
    """
    matrix = np.eye(len(names))
    place = {name: number for number, name in enumerate(names)}
    for (one, other), coefficient in (correlations or {}).items():
        if one in place and other in place:
            matrix[place[one], place[other]] = matrix[place[other], place[one]] = coefficient
    if len(names) and float(np.linalg.eigvalsh(matrix)[0]) < -1e-9:
        raise BadParameter("correlations: these coefficients cannot all be true together; lower one.")
    return matrix


@dataclass(frozen=True, slots=True)
class Drawn:
    """What draws give: mean, standard deviation and the shortest-tailed interval of 95 %."""

    draws: int
    mean: float
    uncertainty: float
    low: float
    high: float

    def document(self) -> dict[str, Any]:
        """The result of the draws as plain JSON values."""
        return {
            "draws": self.draws,
            "mean": self.mean,
            "standard_uncertainty": self.uncertainty,
            "interval_95_percent": [self.low, self.high],
            "method": "Monte Carlo (JCGM 101), probabilistically symmetric interval",
        }


def drawn(
    model: Model,
    inputs: Mapping[str, Estimate],
    correlations: Correlations | None = None,
    draws: int = DRAWS,
    seed: int = 1,
) -> Drawn:
    """The distribution of a model by draws; the model is called once, with arrays.

    Args:
        draws: how many; the same seed draws the same.

    Raises:
        BadParameter: too few or too many draws, correlations that cannot be true, or one of an input that is not
            normally distributed.
    """
    if not 1000 <= draws <= MOST_DRAWS:
        raise BadParameter(f"draws: {draws} is outside 1000 to {MOST_DRAWS}.", parameter="draws", given=draws)
    generator = np.random.default_rng(seed)
    names = [name for name, item in inputs.items() if item.uncertainty > 0.0]
    matrix = correlation_matrix(names, correlations)
    roots, vectors = np.linalg.eigh(matrix) if names else (np.zeros(0), np.zeros((0, 0)))
    standard = (vectors * np.sqrt(np.maximum(roots, 0.0))) @ generator.standard_normal((len(names), draws))
    values: dict[str, Any] = {name: item.value for name, item in inputs.items()}
    for number, name in enumerate(names):
        item = inputs[name]
        if item.shape == "rectangular":
            if np.count_nonzero(matrix[number]) > 1:
                raise BadParameter(f"{name}: a rectangular input cannot be correlated.", parameter=name)
            spread = math.sqrt(3.0) * generator.uniform(-1.0, 1.0, draws)
        else:
            spread = standard[number]
        values[name] = item.value + item.uncertainty * spread
    found = np.broadcast_to(np.asarray(model(values), dtype=float), (draws,))
    low, high = np.quantile(found, [0.025, 0.975])
    return Drawn(draws, float(np.mean(found)), float(np.std(found, ddof=1)), float(low), float(high))
