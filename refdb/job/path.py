"""Where the sound goes: refraction through plane layers, spacing of the sensors, and times.

Every layer shares the trace slowness sigma = sin(angle in the wedge) / (speed in the wedge): Snell's law for plane,
parallel layers. With q = sqrt(1/c^2 - sigma^2) in a layer of speed c, and n passes through a bore D behind solid
layers of thickness t, each crossed twice:

    spacing          s   = n D sigma/q_f + 2 sum(t sigma/q) + s0
    time in liquid   t_f = n D / (c^2 q_f)
    difference       dt  = 2 sigma v t_f                       (v: mean along the diameter that the sound crosses)
    total time       T   = sigma s + n D q_f + 2 sum(t q) + T0

Everything is in SI units, and a float or a numpy array of draws alike. Sound is reflected at the innermost surface of
the pipe. Plane waves and a diametrical path are supposed; a pipe is flat on the scale of a sensor's width only where
its diameter is large.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from refdb.problems import BadParameter, OutsideRange

MOST_PASSES = 6


@dataclass(frozen=True, slots=True)
class Layer:
    """A solid layer between sensor and liquid: thickness in m, the speed in m/s of the wave that crosses it."""

    name: str
    thickness: Any
    speed: Any


@dataclass(frozen=True, slots=True)
class Path:
    """A sound path of `passes` crossings of the liquid.

    Attributes:
        slowness: sigma, in s/m, the same in every layer.
        bore: of the pipe inside its lining, in m.
        sound_speed: of the liquid, in m/s.
        layers: the solid layers on one side, from the outside inwards.
        offset: s0, from the exit points of the sound to the marks that the spacing is measured between, in m.
        delay: T0, the time in wedges and cables, in s.
    """

    slowness: Any
    bore: Any
    sound_speed: Any
    layers: tuple[Layer, ...]
    passes: int
    offset: Any = 0.0
    delay: Any = 0.0

    @property
    def liquid_slowness(self) -> Any:
        """q_f, the slowness across the pipe in the liquid, in s/m."""
        return across("liquid", self.sound_speed, self.slowness)

    @property
    def spacing(self) -> Any:
        """Between the marks of the housings, along the pipe, in m; below zero where the sensors cross over."""
        run = self.passes * self.bore * self.slowness / self.liquid_slowness
        solid = sum(item.thickness * self.slowness / self._across(item) for item in self.layers)
        return run + 2.0 * solid + self.offset

    @property
    def time_in_liquid(self) -> Any:
        """t_f, in s."""
        return self.passes * self.bore / (self.sound_speed**2 * self.liquid_slowness)

    @property
    def time_in_layers(self) -> Any:
        """In the solid layers on both sides, in s."""
        return 2.0 * sum(item.thickness / (item.speed**2 * self._across(item)) for item in self.layers)

    def total_time(self, spacing: Any = None) -> Any:
        """T, in s, at the spacing really set (the computed one by default)."""
        spacing = self.spacing if spacing is None else spacing
        solid = sum(item.thickness * self._across(item) for item in self.layers)
        crossing = self.passes * self.bore * self.liquid_slowness
        return self.slowness * spacing + crossing + 2.0 * solid + self.delay

    def time_in_liquid_of(self, total_time: Any) -> Any:
        """t_f from a total time that was measured: what is left when solids, offset and delay are taken away, in s."""
        return total_time - self.time_in_layers - self.slowness * self.offset - self.delay

    def difference(self, speed: Any) -> Any:
        """dt, in s, for a mean speed along the diameter in m/s."""
        return 2.0 * self.slowness * speed * self.time_in_liquid

    def angles(self) -> dict[str, Any]:
        """The angle to the normal in each layer and in the liquid, in rad."""
        found = {item.name: np.arcsin(self.slowness * item.speed) for item in self.layers}
        return found | {"liquid": np.arcsin(self.slowness * self.sound_speed)}

    def _across(self, layer: Layer) -> Any:
        return across(layer.name, layer.speed, self.slowness)


def trace_slowness(wedge_angle: Any, wedge_speed: Any) -> Any:
    """sigma = sin(angle) / speed, in s/m; angle in rad, speed in m/s at the wedge's temperature."""
    return np.sin(wedge_angle) / wedge_speed


def across(name: str, speed: Any, slowness: Any) -> Any:
    """q = sqrt(1/c^2 - sigma^2), in s/m.

    Raises:
        OutsideRange: the wave does not travel in this layer, since its speed exceeds 1/sigma.
    """
    squared = 1.0 / speed**2 - slowness**2
    if np.min(squared) <= 0.0:
        limit = float(1.0 / np.max(slowness))
        raise OutsideRange(
            f"{name}: a wave of {float(np.max(speed)):.6g} m/s does not enter it, the sensors' waves being refracted "
            f"into speeds below {limit:.6g} m/s only; choose the slower wave of the layer, or a smaller wedge angle.",
            parameter=name,
            valid_range=[None, f"{limit:.6g} m/s"],
        )
    return np.sqrt(squared)


def critical_angle(wedge_speed: float, speed: float) -> float | None:
    """The angle in the wedge beyond which a wave of this speed no longer enters, in rad; None where it always does."""
    return math.asin(wedge_speed / speed) if speed > wedge_speed else None


@dataclass(frozen=True, slots=True)
class Fitted:
    """Sensors found from spacings that are known: sigma in s/m, s0 in m, and what is left over, in m."""

    slowness: float
    offset: float
    residual: float


def fit_sensors(known: Sequence[tuple[Path, float]]) -> Fitted:
    """sigma and s0 from spacings known on known pipes or pass counts, by least squares.

    Args:
        known: at least two paths (whose own slowness and offset are only a beginning) with their known spacing in m.

    Raises:
        BadParameter: there are fewer than two, or they do not tell sigma from s0.
    """
    if len(known) < 2:
        raise BadParameter("known: two spacings are needed to find sigma and s0; give another.", parameter="known")
    from scipy.optimize import least_squares

    fastest = max(max([path.sound_speed, *(item.speed for item in path.layers)]) for path, _ in known)
    limit = 1.0 / float(fastest)

    def misses(parts: Any) -> list[float]:
        return [
            1e3 * (float(_with(path, parts[0] * limit, 0.0).spacing) + parts[1] - spacing) for path, spacing in known
        ]

    found = least_squares(misses, [0.7, 0.0], bounds=([1e-3, -10.0], [1.0 - 1e-9, 10.0]), xtol=1e-14, ftol=1e-14)
    if np.linalg.cond(found.jac) > 1e9:
        raise BadParameter(
            "known: these spacings do not tell sigma from s0; give one of another pass count or another pipe.",
            parameter="known",
        )
    residual = float(np.sqrt(np.mean(np.square(found.fun)))) / 1e3
    return Fitted(float(found.x[0]) * limit, float(found.x[1]), residual)


def _with(path: Path, slowness: float, offset: float) -> Path:
    return Path(slowness, path.bore, path.sound_speed, path.layers, path.passes, offset, path.delay)
