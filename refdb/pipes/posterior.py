"""How probable each pipe is, given a measured outside diameter and perhaps a wall.

The outcomes are the rows of a release; for each row the same size with a wall that no standard prints (corroded, ground
or special); and none of these. Bayes' rule on

- the prior of `Candidates.prior`, less NONE for none of these and, where a wall was measured, WORN of each size for a
  wall that is not in its standard;
- the density of the measured diameter, given the row: true diameters are normal about the middle between the limits,
  which stand LIMITS_AT standard deviations away, and the measurement adds its own normal error;
- the density of the measured wall, given the row, alike. A wall that is not in the standard, and one that no document
  prints, are spread evenly over the logarithm of the ratio of wall and diameter between the ends of WALL_RATIOS;
- none of these: evenly over the logarithm of the diameter between the ends of DIAMETERS, the wall as above.

A limit is the extreme that an inspector accepts, and mills stay clear of it; two standard deviations are also close to
an even spread between the limits (which has 1.7), so that neither custom is far from the model. All of this is
judgement, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from refdb.pipes.candidates import Candidates, Floats

NONE = 0.05
WORN = 0.05
LIMITS_AT = 2.0
DIAMETERS = (1.5, 5000.0)
WALL_RATIOS = (0.002, 0.4)
_PER_DIAMETER = 1.0 / math.log(DIAMETERS[1] / DIAMETERS[0])
_PER_WALL = 1.0 / math.log(WALL_RATIOS[1] / WALL_RATIOS[0])

MODEL_TEXT = (
    f"True dimensions are normal about the middle between the limits, which stand {LIMITS_AT:g} standard deviations "
    f"away; {NONE:.0%} for none of these; {WORN:.0%} of each size for a wall that its standard does not have. "
    "Judgement, no source."
)


@dataclass(frozen=True, slots=True)
class Posterior:
    """Probabilities, one line per measurement.

    Attributes:
        pipe: of each row, size and wall.
        worn: of each row's size with another wall than its standard's.
        none: of none of these.
    """

    pipe: Floats
    worn: Floats
    none: Floats


def posterior(
    known: Candidates,
    prior: Floats,
    diameter: Floats,
    diameter_uncertainty: Floats,
    wall: Floats | None,
    wall_uncertainty: Floats | None,
) -> Posterior:
    """The probability of every outcome for each of many measurements.

    Args:
        prior: of each row, in total 1.
        diameter, diameter_uncertainty, wall, wall_uncertainty: in mm, one element per measurement.
    """
    size = prior * _normal(diameter, diameter_uncertainty, known.diameter, known.diameter_half)
    none = NONE * _PER_DIAMETER / diameter
    if wall is None or wall_uncertainty is None:
        return _normalised((1.0 - NONE) * size, np.zeros_like(size), none)
    broad = _PER_WALL / wall
    fits = _normal(wall, wall_uncertainty, known.wall, known.wall_half)
    unprinted = np.isnan(known.wall)
    fits = np.where(unprinted, broad[:, None], fits)
    pipe = (1.0 - NONE) * (1.0 - WORN) * size * fits
    worn = (1.0 - NONE) * WORN * size * np.where(unprinted, 0.0, broad[:, None])
    return _normalised(pipe, worn, none * broad)


def spread(half: Floats | float) -> Floats | float:
    """The standard deviation of true dimensions whose limits are twice `half` apart."""
    return half / LIMITS_AT


def _normal(measured: Floats, uncertainty: Floats, middle: Floats, half: Floats) -> Floats:
    """Density of each measurement, given each row."""
    variance = uncertainty[:, None] ** 2 + (half / LIMITS_AT)[None, :] ** 2
    away = measured[:, None] - middle[None, :]
    density: Floats = np.exp(-0.5 * away**2 / variance) / np.sqrt(2.0 * math.pi * variance)
    return density


def _normalised(pipe: Floats, worn: Floats, none: Floats) -> Posterior:
    total = pipe.sum(axis=1) + worn.sum(axis=1) + none
    return Posterior(pipe / total[:, None], worn / total[:, None], none / total)
