"""From the velocity along a diameter to the mean over the area: the profile factor of developed flow.

Two published relations stand side by side and their difference enters the uncertainty: the logarithmic law, whose
integrals over a diameter and over the area differ by the friction velocity over 2κ, and the power law of Nikuradse's
profiles with the exponent m = 1/sqrt(f) (Nunner 1956). Laminar flow is the parabola of Hagen and Poiseuille, 3/4.
The friction factor is Darcy's, from Colebrook's equation, through the library `fluids`; thousands of draws at once are
solved by the Wright omega function of `scipy`, the same equation in closed form.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

Regime = Literal["laminar", "transitional", "turbulent"]
KARMAN = 0.40
LAMINAR_FACTOR = 0.75
LAMINAR_UP_TO, TURBULENT_FROM = 2300.0, 4000.0
ENTRANCE = 0.06
"""Entrance length over diameter and Reynolds number in laminar flow (Schlichting, Boundary-Layer Theory)."""
FLAT_FACTOR = 1.0
"""Of the flat profile with which a laminar flow enters."""
FACTOR_LEAST_UNCERTAINTY = 0.002
"""Of a profile factor in developed flow, beside the difference of the two relations (judgement)."""
ITERATIONS = 4


@dataclass(frozen=True, slots=True)
class Profile:
    """A profile factor: one number with its standard uncertainty, or, between the regimes, an interval alone.

    Attributes:
        factor: None in the transitional range, where nobody can tell.
        interval: what the factor can be; both ends are equal outside the transitional range.
        power: the factor of the power law; None where the flow is not turbulent.
        developed: False where laminar flow has not yet run its entrance length.
    """

    reynolds: float
    regime: Regime
    factor: float | None
    uncertainty: float | None
    interval: tuple[float, float]
    friction: float | None
    power: float | None
    developed: bool = True


def regime_of(reynolds: float) -> Regime:
    """Laminar up to 2300, turbulent from 4000, and between them neither."""
    if reynolds <= LAMINAR_UP_TO:
        return "laminar"
    return "turbulent" if reynolds >= TURBULENT_FROM else "transitional"


def log_law(friction: Any) -> Any:
    """Mean velocity over the velocity along a diameter, after the logarithmic law."""
    return 1.0 / (1.0 + (friction / 8.0) ** 0.5 / (2.0 * KARMAN))


def power_law(exponent: Any) -> Any:
    """The same for a profile of the power 1/exponent of the distance from the wall."""
    return 2.0 * exponent / (2.0 * exponent + 1.0)


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


def profile(reynolds: float, relative_roughness: float, upstream: float | None = None) -> Profile:
    """The profile factor of developed flow at a Reynolds number.

    Args:
        relative_roughness: absolute roughness over bore.
        upstream: straight diameters upstream, where they are known: laminar flow may not have developed in them.
    """
    regime = regime_of(reynolds)
    if regime == "laminar":
        return _laminar(reynolds, upstream)
    friction = friction_factor(reynolds, relative_roughness)
    factor = float(log_law(friction))
    if regime == "transitional":
        return Profile(reynolds, regime, None, None, (LAMINAR_FACTOR, factor), friction, None)
    power = float(power_law(1.0 / math.sqrt(friction)))
    # Two relations, neither preferred: half their difference is the half-width of a rectangular distribution.
    doubt = math.hypot((factor - power) / math.sqrt(12.0), FACTOR_LEAST_UNCERTAINTY * factor)
    return Profile(reynolds, regime, factor, doubt, (factor, factor), friction, power)


def _laminar(reynolds: float, upstream: float | None) -> Profile:
    """The parabola; where it has not developed, with what the flat profile of the inlet may have left of itself.

    The part of the entrance that is missing is taken as the part of the way from the parabola to the flat profile by
    which the factor may be off: the half-width of a rectangular distribution (judgement).
    """
    entrance = ENTRANCE * reynolds
    missing = 0.0 if upstream is None or upstream >= entrance else 1.0 - upstream / entrance
    far = LAMINAR_FACTOR + missing * (FLAT_FACTOR - LAMINAR_FACTOR)
    doubt = math.hypot(FACTOR_LEAST_UNCERTAINTY * LAMINAR_FACTOR, (far - LAMINAR_FACTOR) / math.sqrt(3.0))
    interval = (LAMINAR_FACTOR, far)
    return Profile(reynolds, "laminar", LAMINAR_FACTOR, doubt, interval, None, None, missing == 0.0)


def profile_of_path(
    path_velocity: float, bore: float, viscosity: float, roughness: float, upstream: float | None = None
) -> Profile:
    """The profile that a velocity along the path belongs to; its Reynolds number is of the mean velocity sought.

    Laminar and turbulent flow are tried; where neither fits its own regime, the flow is between them.

    Args:
        viscosity: kinematic, m2/s.
        roughness: absolute, m.
    """
    for regime in ("laminar", "turbulent"):
        mean = float(mean_velocity(path_velocity, bore, viscosity, roughness, regime))
        reynolds = abs(mean) * bore / viscosity
        if regime_of(reynolds) == regime:
            return profile(reynolds, roughness / bore, upstream)
    # Between the regimes no factor is known; the ends of the interval hold the Reynolds numbers that are possible.
    laminar = LAMINAR_FACTOR * abs(path_velocity) * bore / viscosity
    return profile(min(max(laminar, 1.001 * LAMINAR_UP_TO), 0.999 * TURBULENT_FROM), roughness / bore)


def mean_velocity(path_velocity: Any, bore: Any, viscosity: Any, roughness: Any, regime: Regime) -> Any:
    """The mean velocity that a velocity along the path stands for, in a regime that is known; floats or arrays.

    The Reynolds number depends on the factor sought, so it is found by repetition; each step gains two digits or more.

    Args:
        viscosity: kinematic, m2/s.
        roughness: absolute, m.
    """
    import numpy as np

    if regime == "laminar":
        return LAMINAR_FACTOR * path_velocity
    mean = 0.93 * path_velocity
    friction = friction_factor if np.ndim(mean * bore / viscosity * roughness) == 0 else friction_factors
    for _ in range(ITERATIONS):
        # A draw far out may leave the regime; the factor of its border then holds, as it does at the border itself.
        reynolds = np.maximum(np.abs(mean) * bore / viscosity, TURBULENT_FROM)
        mean = log_law(friction(reynolds, np.maximum(roughness, 0.0) / bore)) * path_velocity
    return mean


def entrance_length(reynolds: float, bore: float) -> float:
    """How far laminar flow runs until its profile has developed, in metres."""
    return ENTRANCE * reynolds * bore
