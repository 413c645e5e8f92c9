"""From the velocity along the path to the mean over the area: the profile factor k of developed flow.

Turbulent flow. With η the distance from the wall over the radius, the velocity is the logarithmic law with a wake that
comes level at the axis, in friction velocities u* = U sqrt(f/8) and up to a constant that drops out:

    u/u* = (ln η + W η² - (1 + 2 W)/3 η³) / κ

Next to the wall the true profile lies below the logarithm; what it lacks there, C ν for each width of the wall, lowers
the mean over the area and, more or less, that along the path. On a chord at the distance h (over the radius) from the
axis, the mean along the path stands above the mean over the area by a u*:

    a = s(h)/κ + (2 - 1/(1 - h²)) C/R+        R+ = Re sqrt(f/8)/2        k = 1/(1 + a sqrt(f/8))

where s is the integral of the shape, 0.45 + W/15 along a diameter. Roughness enters through f and R+ alone: the outer
flow of rough pipes is that of smooth ones in friction velocities (Townsend's similarity).

Transition. Up to the onset the flow is laminar, k = 3/4 along a diameter; beyond it, it is turbulent for a part of the
time that grows as a Rayleigh distribution, and the profile that is seen is the mixture of both. How slowly the part
grows depends on the pipe's inlet: that is the uncertainty of the transition.

κ, W and C are fitted to measured and simulated profiles, onset and width to measured velocity ratios, by
`tests/tools/fit_profile.py`; the documents are in `refdb/job/flow/profile_evidence.py`. The friction factor f is
Darcy's, from Colebrook's equation, through the library `fluids`; thousands of draws at once are solved by the Wright
omega function of `scipy`, the same equation in closed form.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from refdb.problems import BadParameter

Regime = Literal["laminar", "transitional", "turbulent"]

KARMAN, WAKE, LACK = 0.402, 2.43, 45.0
"""κ, W and C: fitted to 23 profiles between Re 5300 and 10.3 million, along a diameter and at half the radius."""
ONSET, WIDTH = 2020.0, 390.0
"""Reynolds numbers: from where the flow can stay turbulent, and over how many more it comes to be; fitted to 112 ratios
of mean to greatest velocity."""
SHAPE_UNCERTAINTY = 0.04
"""Of a: what measured and simulated profiles, and friction laws, differ by, smooth and rough (judgement)."""
TRANSITION_UNCERTAINTY = 0.3
"""Of ln WIDTH: two tubes of one laboratory differ by a quarter, inlets in plants by more (judgement)."""
LAMINAR_FACTOR = 0.75
LAMINAR_UNCERTAINTY = 0.002
"""Of the factor of developed laminar flow (judgement)."""
NARROWEST = -0.25
"""Least logarithm of the width over the usual one that is followed: with a transition much narrower, more than one mean
velocity would belong to one velocity along the path."""
COVERAGE = 2.0
TURBULENT_FROM = ONSET + WIDTH * math.exp(COVERAGE * TRANSITION_UNCERTAINTY) * math.sqrt(math.log(100.0))
"""From here even a slow transition leaves less than one part in a hundred laminar: about 3500."""
ENTRANCE = 0.06
"""Entrance length over diameter and Reynolds number in laminar flow (Schlichting, Boundary-Layer Theory)."""
FLAT_FACTOR = 1.0
"""Of the flat profile with which a laminar flow enters."""
FARTHEST_PATH = 0.75
"""Distance of a path from the axis, over the radius, up to which the model was held against profiles."""
MOST_STEPS, SETTLED = 20, 1e-9
"""Of Newton's method for the Reynolds number; eight steps are enough in the middle of the transition."""


@dataclass(frozen=True, slots=True)
class Profile:
    """A profile factor with its standard uncertainty.

    Attributes:
        shape_uncertainty: the standard uncertainty without that of the transition.
        transition_uncertainty: what the place of the transition adds to it; zero outside it.
        interval: of the factor, 95 %, as far as the place of the transition and a missing entrance leave it open; both
            ends are the factor where the flow is developed and of one kind.
        share: the part of the time in which the flow is turbulent, 0 to 1.
        friction: Darcy's friction factor of the turbulent part; None where there is none.
        developed: False where laminar flow has not yet run its entrance length.
    """

    reynolds: float
    regime: Regime
    factor: float
    shape_uncertainty: float
    transition_uncertainty: float
    interval: tuple[float, float]
    share: float
    friction: float | None
    developed: bool = True

    @property
    def uncertainty(self) -> float:
        """The standard uncertainty of the factor."""
        return math.hypot(self.shape_uncertainty, self.transition_uncertainty)


def regime_of(reynolds: float) -> Regime:
    """Laminar up to the onset, turbulent once nearly all of the flow is; between them by turns."""
    if reynolds <= ONSET:
        return "laminar"
    return "turbulent" if reynolds >= TURBULENT_FROM else "transitional"


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy's friction factor of turbulent flow: Colebrook's equation, solved after Clamond (2009)."""
    from fluids.friction import Clamond

    return float(Clamond(reynolds, relative_roughness))


def friction_factors(reynolds: Any, relative_roughness: Any) -> Any:
    """The same for arrays of one shape, since `fluids` takes one pair at a time.

    With b = roughness/3.7, d = 2.51/Re and a = 2/ln 10, Colebrook's 1/sqrt(f) = -a ln(b + d/sqrt(f)) is
    z + ln z = b/(a d) - ln(a d) in z = (b + d/sqrt(f))/(a d): z is the Wright omega function of the right-hand side.
    """
    import numpy as np
    from scipy.special import wrightomega

    rough, smooth = relative_roughness / 3.7, 2.51 / reynolds * (2.0 / math.log(10.0))
    root = -2.0 / math.log(10.0) * np.log(smooth * wrightomega(rough / smooth - np.log(smooth)))
    return 1.0 / np.square(root)


@lru_cache(maxsize=64)
def path_shape(offset: float = 0.0) -> float:
    """s(h): how far the shape ln η + W η² - (1 + 2 W)/3 η³ stands higher along the path than over the area.

    Args:
        offset: distance of the path from the axis over the radius, 0 for a diameter.

    Raises:
        BadParameter: it lies outside what the model was held against.
    """
    import numpy as np

    if not 0.0 <= offset <= FARTHEST_PATH:
        raise BadParameter(
            f"offset: must be 0 (a diameter) to {FARTHEST_PATH:g} of the radius; {offset:g} is not.",
            parameter="offset",
            given=offset,
        )
    # Gauss's rule along the half chord, drawn together towards the wall, where the logarithm is steep.
    nodes, weights = np.polynomial.legendre.leggauss(64)
    part = 0.5 * (nodes + 1.0)
    half = 1.0 - offset * offset
    along = 1.0 - part**4
    eta = half * (1.0 - along**2) / (1.0 + np.sqrt(offset * offset + half * along**2))
    shape = np.log(eta) + WAKE * eta**2 - (1.0 + 2.0 * WAKE) / 3.0 * eta**3
    over_area = -1.5 + WAKE / 6.0 - (1.0 + 2.0 * WAKE) / 30.0
    return float(np.sum(0.5 * weights * 4.0 * part**3 * shape)) - over_area


def path_excess(friction: Any, reynolds: Any, offset: float = 0.0) -> Any:
    """a: how far the mean along the path stands above the mean over the area, in friction velocities."""
    near_wall = 2.0 - 1.0 / (1.0 - offset * offset)
    return path_shape(offset) / KARMAN + near_wall * LACK / (0.5 * reynolds * (friction / 8.0) ** 0.5)


def turbulent_factor(reynolds: Any, relative_roughness: Any, offset: float = 0.0) -> Any:
    """Mean velocity over the velocity along the path in flow that is turbulent all the time.

    Args:
        reynolds: of the mean velocity and the bore; below the onset that of the onset counts.
        relative_roughness: absolute roughness over bore.
        offset: distance of the path from the axis over the radius.
    """
    import numpy as np

    fast = np.maximum(reynolds, ONSET)
    friction = _friction(fast, relative_roughness)
    return 1.0 / (1.0 + path_excess(friction, fast, offset) * (friction / 8.0) ** 0.5)


def laminar_factor(offset: float = 0.0) -> float:
    """The same of the parabola of Hagen and Poiseuille: exactly 3/4 along a diameter."""
    return LAMINAR_FACTOR / (1.0 - offset * offset)


def turbulent_share(reynolds: Any, delay: Any = 0.0) -> Any:
    """The part of the time in which the flow is turbulent.

    Args:
        delay: logarithm of the width of the transition over the usual one.
    """
    import numpy as np

    return -np.expm1(-np.square(_beyond(reynolds, delay)))


def developed_factor(reynolds: Any, relative_roughness: Any, delay: Any = 0.0, offset: float = 0.0) -> Any:
    """Mean velocity over the velocity along the path, at any Reynolds number; numbers or arrays of one shape.

    Value and slope are continuous in every argument; in the delay, as far as it is followed.

    Args:
        reynolds: of the mean velocity and the bore.
        relative_roughness: absolute roughness over bore.
        delay: logarithm of the width of the transition over the usual one.
        offset: distance of the path from the axis over the radius, 0 for a diameter.
    """
    share = turbulent_share(reynolds, delay)
    return 1.0 / (
        (1.0 - share) / laminar_factor(offset) + share / turbulent_factor(reynolds, relative_roughness, offset)
    )


def _friction(reynolds: Any, relative_roughness: Any) -> Any:
    import numpy as np

    scalar = np.ndim(reynolds) == np.ndim(relative_roughness) == 0
    return (friction_factor if scalar else friction_factors)(reynolds, relative_roughness)


def _beyond(reynolds: Any, delay: Any) -> Any:
    """How far beyond the onset, in widths of the transition."""
    import numpy as np

    return np.maximum(reynolds - ONSET, 0.0) / _width(delay)


def _width(delay: Any) -> Any:
    """Of the transition, in Reynolds numbers."""
    import numpy as np

    return WIDTH * np.exp(np.maximum(delay, NARROWEST))


def profile(reynolds: float, relative_roughness: float, upstream: float | None = None, offset: float = 0.0) -> Profile:
    """The profile factor of developed flow at a Reynolds number.

    Args:
        reynolds: of the mean velocity and the bore.
        relative_roughness: absolute roughness over bore.
        upstream: straight diameters upstream, where they are known: laminar flow may not have developed in them.
        offset: distance of the path from the axis over the radius, 0 for a diameter.
    """
    share, laminar = float(turbulent_share(reynolds)), laminar_factor(offset)
    turbulent = float(turbulent_factor(reynolds, relative_roughness, offset))
    factor = float(developed_factor(reynolds, relative_roughness, 0.0, offset))
    missing = _missing_entrance(reynolds, upstream)
    # What is added to 1/k, in parts that nothing ties together.
    fast = max(reynolds, ONSET)
    friction = friction_factor(fast, relative_roughness)
    # A chord is no better known than a diameter, though its own a may pass through zero.
    of_turbulent = share * SHAPE_UNCERTAINTY * float(path_excess(friction, fast)) * math.sqrt(friction / 8.0)
    flat = missing * (FLAT_FACTOR - laminar) / math.sqrt(3.0)
    of_laminar = (1.0 - share) * math.hypot(LAMINAR_UNCERTAINTY * laminar, flat) / laminar**2
    beyond = float(_beyond(reynolds, 0.0))
    of_share = TRANSITION_UNCERTAINTY * 2.0 * beyond**2 * math.exp(-(beyond**2)) * abs(1.0 / laminar - 1.0 / turbulent)
    return Profile(
        reynolds,
        regime_of(reynolds),
        factor,
        factor**2 * math.hypot(of_turbulent, of_laminar),
        factor**2 * of_share,
        _interval(reynolds, relative_roughness, missing, offset),
        share,
        friction if share > 0.0 else None,
        missing == 0.0,
    )


def _missing_entrance(reynolds: float, upstream: float | None) -> float:
    """The part of the laminar entrance length that the pipe does not have; none is missing once the flow is turbulent.

    It is taken as the part of the way from the parabola to the flat profile by which the factor may be off: the
    half-width of a rectangular distribution (judgement).
    """
    if upstream is None or regime_of(reynolds) == "turbulent":
        return 0.0
    return max(0.0, 1.0 - upstream / (ENTRANCE * reynolds)) if reynolds > 0.0 else 0.0


def _interval(reynolds: float, relative_roughness: float, missing: float, offset: float) -> tuple[float, float]:
    """The factor with a slow and with a fast transition, and as far towards the flat profile as it may be."""
    ends = []
    for delay, flat in ((COVERAGE * TRANSITION_UNCERTAINTY, 0.0), (-COVERAGE * TRANSITION_UNCERTAINTY, missing)):
        share = float(turbulent_share(reynolds, delay))
        factor = float(developed_factor(reynolds, relative_roughness, delay, offset))
        ends.append(factor + (1.0 - share) * flat * (FLAT_FACTOR - laminar_factor(offset)))
    return min(ends), max(ends)


def profile_of_path(
    path_velocity: float, bore: float, viscosity: float, roughness: float, upstream: float | None = None
) -> Profile:
    """The profile that a velocity along a diameter belongs to; its Reynolds number is of the mean velocity sought.

    Args:
        path_velocity: m/s.
        bore: m.
        viscosity: kinematic, m2/s.
        roughness: absolute, m.
        upstream: straight diameters upstream, where they are known.
    """
    mean = float(mean_velocity(path_velocity, bore, viscosity, roughness))
    return profile(abs(mean) * bore / viscosity, roughness / bore, upstream)


def mean_velocity(path_velocity: Any, bore: Any, viscosity: Any, roughness: Any, delay: Any = 0.0) -> Any:
    """The mean velocity that a velocity along a diameter stands for; numbers or arrays of one shape.

    The factor depends on the Reynolds number of the mean velocity sought. Re/k(Re) grows with Re everywhere, so that
    there is one solution; Newton's method finds it, with the slope of the transition and without the slight one of
    turbulent flow.

    Args:
        path_velocity: m/s; against the usual direction below zero.
        bore: m.
        viscosity: kinematic, m2/s.
        roughness: absolute, m; below zero counts as smooth.
        delay: logarithm of the width of the transition over the usual one.
    """
    import numpy as np

    along = np.abs(path_velocity) * bore / viscosity
    rough = np.maximum(roughness, 0.0) / bore
    # From where the transition is steepest no step goes astray: beyond it the slope only grows, to either side.
    steepest = ONSET + _width(delay) / math.sqrt(2.0)
    reynolds = np.where(LAMINAR_FACTOR * along > steepest, 0.93 * along, np.minimum(steepest, 0.93 * along))
    for _ in range(MOST_STEPS):
        beyond = _beyond(reynolds, delay)
        laminar_part = np.exp(-np.square(beyond))
        turbulent = 1.0 / turbulent_factor(reynolds, rough)
        inverse = laminar_part / LAMINAR_FACTOR + (1.0 - laminar_part) * turbulent
        growth = 2.0 * beyond * laminar_part / _width(delay) * (turbulent - 1.0 / LAMINAR_FACTOR)
        step = (reynolds * inverse - along) / (inverse + reynolds * growth)
        reynolds = np.maximum(reynolds - step, 0.0)
        if np.all(np.abs(step) <= SETTLED * along):
            break
    return np.copysign(reynolds * viscosity / bore, path_velocity)


def mean_interval(
    path_velocity: float, bore: float, viscosity: float, roughness: float, upstream: float | None = None
) -> tuple[float, float]:
    """What the mean velocity may be, 95 %, as far as the place of the transition and a missing entrance leave it open.

    Both ends are the mean velocity where the flow is developed and of one kind. Arguments as for `profile_of_path`.
    """
    late = float(mean_velocity(path_velocity, bore, viscosity, roughness, COVERAGE * TRANSITION_UNCERTAINTY))
    early = float(mean_velocity(path_velocity, bore, viscosity, roughness, -COVERAGE * TRANSITION_UNCERTAINTY))
    reynolds = abs(early) * bore / viscosity
    laminar = 1.0 - float(turbulent_share(reynolds, -COVERAGE * TRANSITION_UNCERTAINTY))
    flatter = early * (1.0 + laminar * _missing_entrance(reynolds, upstream) * (FLAT_FACTOR / LAMINAR_FACTOR - 1.0))
    return min(late, flatter), max(late, flatter)


def entrance_length(reynolds: float, bore: float) -> float:
    """How far laminar flow runs until its profile has developed, in metres."""
    return ENTRANCE * reynolds * bore
