"""Published velocity profiles of pipe flow, and their integrals, without anything of the product's model.

The folders of `tests/outside/data` say what each document is and how it was seen.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

DATA = Path(__file__).parent / "data"
NODES = 4000
"""Of the midpoint rule, drawn together towards the wall."""
SHARED_BELOW = 0.0027
"""y/R below which the points next to the wall stand in for a profile of the Superpipe (its own begin at 0.0029)."""


@dataclass(frozen=True)
class Measured:
    """A velocity profile: distances from the wall over the radius, from wall to axis, and the velocities there."""

    eta: Any
    velocity: Any

    def at(self, eta: Any) -> Any:
        """The velocity, along straight lines in the logarithm of the distance, and straight down to the wall."""
        first = self.eta[0]
        outer = np.interp(np.log(np.maximum(eta, first)), np.log(self.eta), self.velocity)
        return np.where(eta < first, self.velocity[0] * eta / first, outer)

    def mean(self) -> float:
        """Over the area."""
        part = _part()
        return float(np.mean(2.0 * (1.0 - part**3) * self.at(part**3) * 3.0 * part**2))

    def along(self, offset: float = 0.0) -> float:
        """Along a path at a distance from the axis, over the radius."""
        part = _part()
        half, along = 1.0 - offset**2, 1.0 - part**3
        eta = half * (1.0 - along**2) / (1.0 + np.sqrt(offset**2 + half * along**2))
        return float(np.mean(self.at(eta) * 3.0 * part**2))

    def factor(self, offset: float = 0.0) -> float:
        """Mean over the area over the mean along the path."""
        return self.mean() / self.along(offset)

    def centre(self) -> float:
        """The velocity on the axis over the mean."""
        return float(self.velocity[-1]) / self.mean()


def _part() -> Any:
    return (np.arange(NODES) + 0.5) / NODES


def rows(path: str) -> list[dict[str, str]]:
    """The rows of a table."""
    with (DATA / path).open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@cache
def superpipe() -> dict[float, Measured]:
    """The sixteen profiles of the Princeton Superpipe, by Reynolds number."""
    shared = [(float(row["y_plus"]), float(row["u_plus"])) for row in rows("mckeon-2004/next_to_wall.csv")]
    found = {}
    for row in rows("mckeon-2004/friction_reynolds.csv"):
        scale = float(row["y_plus_at_axis"])
        near = [(y / scale, u) for y, u in shared if y / scale < SHARED_BELOW]
        own = [
            (float(point["y_over_r"]), float(point["u_plus"]))
            for point in rows("mckeon-2004/profiles.csv")
            if point["reynolds"] == row["reynolds"]
        ]
        eta, velocity = zip(*[point for point in near if point[0] < own[0][0]] + own, strict=True)
        found[float(row["reynolds"])] = Measured(eta, velocity)
    return found


@cache
def simulated_at_5300() -> Measured:
    """The simulation of Wu and Moin at its lowest Reynolds number."""
    points = rows("wu-moin-2008/profile.csv")
    return Measured([float(row["y_over_r"]) for row in points], [float(row["u_plus"]) for row in points])


@cache
def stanton() -> dict[int, tuple[bool, Measured]]:
    """Stanton's five profiles by series: whether the pipe was roughened, and the profile."""
    found: dict[int, tuple[bool, Measured]] = {}
    for series in range(1, 6):
        points = [row for row in rows("stanton-1911/profiles.csv") if int(row["series"]) == series]
        radius = 0.5 * float(points[0]["diameter_cm"])
        pairs = sorted((1.0 - float(row["radius_cm"]) / radius, float(row["velocity_cm_s"])) for row in points)
        eta, velocity = zip(*pairs, strict=True)
        found[series] = (points[0]["rough"] == "yes", Measured(eta, velocity))
    return found


@dataclass(frozen=True)
class Integrals:
    """What a profile of fully developed smooth flow says."""

    reynolds: float
    factor: float
    at_half_radius: float
    centre: float
    simulated: bool


@cache
def integrals() -> tuple[Integrals, ...]:
    """Of every smooth profile whose Reynolds number is known: sixteen measured ones and seven simulations."""
    found = [
        Integrals(reynolds, one.factor(), one.factor(0.5), one.centre(), simulated=False)
        for reynolds, one in superpipe().items()
    ]
    for key in ("wu-moin-2008", "yao-2022"):
        for row in rows(f"{key}/integrals.csv"):
            reynolds, factor = float(row["reynolds"]), float(row["factor"])
            half, centre = float(row["factor_at_half_radius"]), float(row["centre_over_mean"])
            found.append(Integrals(reynolds, factor, half, centre, simulated=True))
    return tuple(sorted(found, key=lambda one: one.reynolds))


@cache
def velocity_ratios() -> tuple[tuple[float, float], ...]:
    """Senecal's Reynolds numbers and ratios of mean to greatest velocity."""
    told = rows("senecal-1951/velocity_ratios.csv")
    return tuple(sorted((float(row["reynolds"]), float(row["mean_over_greatest"])) for row in told))
