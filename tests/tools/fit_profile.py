"""Finds the constants of the profile factor again from the published profiles: `python -m tests.tools.fit_profile`.

The shape: κ, W and C of `refdb/job/flow/profile.py` are those with which the factors along a diameter and along a chord
at half the radius come nearest to those of the 23 smooth profiles in `tests/outside/data`, in the sum of the squares of
the relative differences, each factor counting once; f is that of Colebrook's equation for a smooth pipe.

The transition: onset and width are those with which the ratio of mean to greatest velocity comes nearest to the ratios
that Senecal measured from Re 1900 to 4000. The greatest velocity is that on the axis, which is 2 U in laminar flow; in
turbulent flow it follows from the same shape, and the mixture is one in time:

    u_max/U = (1 - share) 2 + share (1 + b sqrt(f/8))       b = (6/5 + 7 W/30)/κ + 2 C/R+
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any
from unittest.mock import patch

import numpy as np

from refdb.job.flow import profile
from tests.outside.flow_profiles import integrals, velocity_ratios
from tests.peers import Peer

optimize = Peer("scipy.optimize")

FROM, UP_TO = 1900.0, 4000.0
"""Reynolds numbers of the transition; what lies outside says nothing of it."""
EDGES = (1700, 1850, 2000, 2100, 2200, 2300, 2400, 2500, 2650, 2850, 3100, 3400, 3900, 4600, 5500, 7600)
"""Reynolds numbers between which readings are drawn as one point."""


def fit_shape() -> tuple[float, float, float]:
    """κ, W and C."""
    told = integrals()
    reynolds = np.array([one.reynolds for one in told])
    smooth = np.zeros_like(reynolds)
    measured = {0.0: np.array([one.factor for one in told]), 0.5: np.array([one.at_half_radius for one in told])}

    def misses(constants: Any) -> Any:
        with patch.multiple(profile, **dict(zip(("KARMAN", "WAKE", "LACK"), constants, strict=True))):
            profile.path_shape.cache_clear()
            return np.concatenate(
                [profile.turbulent_factor(reynolds, smooth, offset) / each - 1.0 for offset, each in measured.items()]
            )

    found = optimize.least_squares(misses, (0.4, 2.5, 40.0), x_scale=(0.1, 1.0, 10.0)).x
    profile.path_shape.cache_clear()
    return float(found[0]), float(found[1]), float(found[2])


def centre_over_mean(reynolds: Any) -> Any:
    """The velocity on the axis over the mean, in smooth pipes, turbulent all the time."""
    friction = profile.friction_factors(np.asarray(reynolds, dtype=float), 0.0)
    ratio = np.sqrt(friction / 8.0)
    shape = (6.0 / 5.0 + 7.0 * profile.WAKE / 30.0) / profile.KARMAN
    return 1.0 + (shape + 2.0 * profile.LACK / (0.5 * reynolds * ratio)) * ratio


def mean_over_greatest(reynolds: Any, onset: float, width: float) -> Any:
    """The ratio that Senecal measured."""
    share = -np.expm1(-np.square(np.maximum(reynolds - onset, 0.0) / width))
    return 1.0 / (2.0 * (1.0 - share) + share * centre_over_mean(reynolds))


def fit_transition() -> tuple[float, float]:
    """Onset and width."""
    told = np.array([pair for pair in velocity_ratios() if FROM < pair[0] < UP_TO])

    def misses(constants: Any) -> Any:
        return mean_over_greatest(told[:, 0], *constants) - told[:, 1]

    found = optimize.least_squares(misses, (2000.0, 500.0), x_scale=(100.0, 100.0)).x
    return float(found[0]), float(found[1])


def points_of_ratios() -> tuple[tuple[float, float], ...]:
    """Reynolds number and factor between each pair of edges; mixed in time, 1/k goes in step with u_max/U."""
    found = []
    for low, high in pairwise(EDGES):
        told = [pair for pair in velocity_ratios() if low <= pair[0] < high]
        reynolds, ratio = (float(np.mean(column)) for column in zip(*told, strict=True))
        share = (2.0 - 1.0 / ratio) / (2.0 - float(centre_over_mean(reynolds)))
        inverse = (1.0 - share) / profile.LAMINAR_FACTOR + share / float(profile.turbulent_factor(reynolds, 0.0))
        found.append((float(round(reynolds)), round(1.0 / inverse, 3)))
    return tuple(found)


if __name__ == "__main__":
    karman, wake, lack = fit_shape()
    onset, width = fit_transition()
    print(f"KARMAN, WAKE, LACK = {karman:.4f}, {wake:.3f}, {lack:.2f}")
    print(f"ONSET, WIDTH = {onset:.1f}, {width:.1f}")
    print(f"FROM_RATIOS = {points_of_ratios()}")
    for one in integrals():
        apart = 100.0 * (float(profile.turbulent_factor(one.reynolds, 0.0)) / one.factor - 1.0)
        half = 100.0 * (float(profile.turbulent_factor(one.reynolds, 0.0, 0.5)) / one.at_half_radius - 1.0)
        kind = "simulated" if one.simulated else "measured"
        print(f"{one.reynolds:10.0f} {kind:9} k = {one.factor:.4f} {apart:+.2f} %; at half the radius {half:+.2f} %")
