"""Where the sensors go and how long the sound travels: a ray through every layer, twice, and the liquid, n times.

Written in the slowness along the pipe (`refdb.job.acoustics.waves`), every layer adds a term of the same shape.
Lengths in metres, speeds in m/s, times in seconds; every function takes floats or numpy arrays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from refdb.job.acoustics.waves import across

MOST_PASSES = 6
MOST_ALIKE = 1e6
"""Condition number of a fit, slowness and offset in units of their own: uncertainties lose twice its digits."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of the wall, from outside to inside: its thickness and the speed of the wave that crosses it."""

    thickness: Any
    speed: Any


def spacing(passes: int, bore: Any, liquid_speed: Any, layers: Sequence[Layer], along: Any, offset: Any = 0.0) -> Any:
    """The axial spacing between the marks on the housings; negative where the sensors would cross over.

    Args:
        passes: how often the sound crosses the liquid.
        bore: inside the innermost layer.
        along: slowness along the pipe.
        offset: from the points where sound leaves the wedges to the marks, both sensors together.
    """
    in_liquid = passes * bore * along / across(liquid_speed, along)
    return in_liquid + sum(2.0 * each.thickness * along / across(each.speed, along) for each in layers) + offset


def time_in_liquid(passes: int, bore: Any, liquid_speed: Any, along: Any) -> Any:
    """How long the sound is in the liquid."""
    return passes * bore / (liquid_speed * liquid_speed * across(liquid_speed, along))


def time_in_layers(layers: Sequence[Layer], along: Any) -> Any:
    """How long the sound is in the layers, in both walls together."""
    return sum(2.0 * each.thickness / (each.speed * each.speed * across(each.speed, along)) for each in layers)


def total_time(
    passes: int, bore: Any, liquid_speed: Any, layers: Sequence[Layer], along: Any, exit_spacing: Any, delay: Any = 0.0
) -> Any:
    """The time from sensor to sensor, at the spacing that was really set.

    A plane front arrives `along` seconds later for every metre; at the spacing of the ray this is the sum of the times
    in the layers and the liquid.

    Args:
        exit_spacing: between the points where the sound leaves and enters the wedges: the spacing less its offset.
        delay: in wedges, cables and electronics.
    """
    straight = passes * bore * across(liquid_speed, along)
    return (
        along * exit_spacing
        + straight
        + sum(2.0 * each.thickness * across(each.speed, along) for each in layers)
        + delay
    )


def time_difference(velocity: Any, along: Any, in_liquid: Any) -> Any:
    """The difference of the times upstream and downstream for a velocity averaged along the path."""
    return 2.0 * along * velocity * in_liquid


def path_velocity(difference: Any, along: Any, in_liquid: Any) -> Any:
    """The velocity averaged along the path, from the difference of the times."""
    return difference / (2.0 * along * in_liquid)


def nearest_setting(wanted: float, step: float, first: float = 0.0) -> float:
    """The nearest setting of a rail whose holes are `step` apart, from the spacing of its first hole on."""
    return first + max(round((wanted - first) / step), 0) * step


@dataclass(frozen=True, slots=True)
class Known:
    """A spacing that is known to be right: on which bore, with how many passes, through which layers."""

    spacing: float
    passes: int
    bore: float
    liquid_speed: float
    layers: tuple[Layer, ...]
    uncertainty: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """Sensors found from known spacings: slowness (s/m), offset (m), their standard uncertainties and correlation.

    Attributes:
        residuals: fitted less known spacings, in metres.
        scatter: residual standard deviation over the stated uncertainty; None where nothing is left to tell it by.
    """

    along: float
    offset: float
    along_uncertainty: float
    offset_uncertainty: float
    correlation: float
    residuals: tuple[float, ...]
    scatter: float | None


def fit_sensors(known: Sequence[Known]) -> Fitted:
    """The slowness along the pipe and the offset that fit two or more known spacings best, by weighted least squares.

    The uncertainties are those of the spacings carried through the fit; where the residuals are larger than the stated
    uncertainties, they grow with them.

    Raises:
        ValueError: fewer than two spacings, or all of one arrangement, which fix no slowness; or spacings that tell
            slowness and offset so little apart that their uncertainties would be noise.
    """
    import numpy as np
    from scipy.optimize import least_squares

    if len(known) < 2 or len({(each.passes, each.bore, each.liquid_speed) for each in known}) < 2:
        raise ValueError("two spacings that differ in passes, bore or liquid are needed")
    fastest = max(speed for each in known for speed in (each.liquid_speed, *(layer.speed for layer in each.layers)))

    def misses(unknown: Any) -> Any:
        along, offset = unknown[0] / fastest, unknown[1]
        return np.array(
            [
                (float(spacing(n.passes, n.bore, n.liquid_speed, n.layers, along, offset)) - n.spacing) / n.uncertainty
                for n in known
            ]
        )

    found = least_squares(
        misses, (0.6, 0.0), bounds=((0.01, -5.0), (0.999, 5.0)), x_scale=(0.1, 0.01), xtol=1e-14, ftol=1e-14, gtol=1e-14
    )
    if not np.linalg.cond(found.jac / np.linalg.norm(found.jac, axis=0)) < MOST_ALIKE:
        raise ValueError("spacings so alike, or known so unequally well, do not tell slowness and offset apart")
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    spare = len(known) - 2
    scatter = math.sqrt(float(np.sum(found.fun**2)) / spare) if spare else None
    uncertainties = np.sqrt(np.diag(covariance)) * max(1.0, scatter or 1.0)
    return Fitted(
        float(found.x[0]) / fastest,
        float(found.x[1]),
        float(uncertainties[0]) / fastest,
        float(uncertainties[1]),
        float(covariance[0, 1] / math.sqrt(covariance[0, 0] * covariance[1, 1])),
        tuple(float(miss) * each.uncertainty for miss, each in zip(found.fun, known, strict=True)),
        scatter,
    )
