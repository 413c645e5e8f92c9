"""Sound from a wedge through the layers of a wall into the liquid: angles, critical slowness, transmission.

Everything follows one number, the slowness along the pipe, which is the same in every layer (Snell's law). Amplitudes
follow from continuity of displacement and traction between two half-spaces, for solids those of Zoeppritz's equations
(Aki and Richards, Quantitative Seismology, 2nd edition, section 5.2); a liquid carries no shear. Between two solids the
contact is either welded or slips on a film of couplant that is thin beside the wavelength and holds no shear.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import Any, Literal

Mode = Literal["longitudinal", "shear"]
NEARLY_THIN = 1.2
"""Wall thickness times frequency over shear speed: near one or below it a wall carries plate waves (judgement)."""
MUCH_TOO_THIN = 0.5
"""Well below one: rays in the wall mean nothing. Half a shear wavelength is where a free plate's first mode of higher
order begins (cut-off f d = c_S / 2 of Lamb's equation); below it the two lowest plate modes are all that travels."""


GRAZING = 1e-9
"""How near to a critical slowness, as a part of it, the equations at an interface are not solved."""


@dataclass(frozen=True, slots=True)
class Medium:
    """A solid, or a liquid where there is no shear speed; speeds in m/s, density in kg/m3."""

    longitudinal: float
    shear: float | None
    density: float

    def speed(self, mode: Mode) -> float | None:
        """The speed of one mode; None where it does not exist."""
        return self.longitudinal if mode == "longitudinal" else self.shear


@dataclass(frozen=True, slots=True)
class Scattered:
    """Parts of the incident energy that leave an interface; they add up to one."""

    reflected: dict[Mode, float]
    transmitted: dict[Mode, float]


def slowness(angle: Any, wedge_speed: Any) -> Any:
    """Slowness along the pipe in s/m, from the wedge's angle in radians and speed in m/s at its temperature."""
    import numpy as np

    return np.sin(angle) / wedge_speed


def across(speed: Any, along: Any) -> Any:
    """Slowness across a layer in s/m; NaN where the wave does not travel in it."""
    import numpy as np

    squared = 1.0 / np.square(speed) - np.square(along)
    return np.sqrt(np.where(squared > 0.0, squared, np.nan))


def travels(speed: float, along: float) -> bool:
    """Whether a wave of this speed travels in the layer rather than dying away beyond the critical angle."""
    return speed * along < 1.0


def angle_in(speed: float, along: float) -> float:
    """The angle from the normal, in radians; NaN beyond the critical angle."""
    sine = speed * along
    return math.asin(sine) if sine < 1.0 else math.nan


def scatter(first: Medium, second: Medium, mode: Mode, along: float, *, slips: bool = False) -> Scattered:
    """Where the energy of a plane wave goes that meets the interface from the first medium.

    Args:
        mode: of the incident wave; it must travel in the first medium.
        along: slowness along the interface, s/m.
        slips: two solids touch through a thin film of liquid that holds no shear, rather than being welded.
    """
    import numpy as np

    speeds = [speed for medium in (first, second) for each in modes(medium) if (speed := medium.speed(each))]
    if any(abs(speed * along - 1.0) < GRAZING for speed in speeds):
        # A wave exactly along the interface carries nothing across, and the equations lose a row; beside it they hold.
        along *= 1.0 - 2.0 * GRAZING
    incoming = plane_wave(first, mode, along, 1.0)
    back: dict[Mode, PlaneWave] = {each: plane_wave(first, each, along, -1.0) for each in modes(first)}
    onward: dict[Mode, PlaneWave] = {each: plane_wave(second, each, along, 1.0) for each in modes(second)}
    met = conditions(first, second, slips)
    matrix = np.array(
        [
            [
                sign * wave.part(condition) if concerns(condition, side) else 0.0
                for sign, side, wave in _waves(back, onward)
            ]
            for condition in met
        ]
    )
    right = np.array([-incoming.part(condition) if concerns(condition, 1) else 0.0 for condition in met])
    scale = np.abs(matrix).max(axis=1)
    amplitudes = np.linalg.solve(matrix / scale[:, None], right / scale)
    energies = [
        abs(amplitude) ** 2 * wave.flux / incoming.flux
        for amplitude, (_, _, wave) in zip(amplitudes, _waves(back, onward), strict=True)
    ]
    count = len(back)
    return Scattered(
        dict(zip(back, map(float, energies[:count]), strict=True)),
        dict(zip(onward, map(float, energies[count:]), strict=True)),
    )


@dataclass(frozen=True, slots=True)
class PlaneWave:
    """Displacement and traction of a unit wave at the interface, and its flux of energy across it."""

    parts: dict[str, complex]
    flux: float

    def part(self, condition: str) -> complex:
        """What of it a condition of `conditions` is about."""
        return self.parts[condition.partition(" ")[0]]


def plane_wave(medium: Medium, mode: Mode, along: float, direction: float) -> PlaneWave:
    """A wave of unit displacement that leaves an interface onward (1) or back to where the sound came from (-1)."""
    speed = medium.speed(mode)
    assert speed is not None  # noqa: S101 - asked for modes that exist
    normal = cmath.sqrt(1.0 / speed**2 - along**2)
    vertical = direction * normal
    along_part, across_part = (along, vertical) if mode == "longitudinal" else (normal, -direction * along)
    u_x, u_z = along_part * speed, across_part * speed
    rigidity = medium.density * (medium.shear or 0.0) ** 2
    lame = medium.density * medium.longitudinal**2 - 2.0 * rigidity
    pressure = lame * (along * u_x + vertical * u_z) + 2.0 * rigidity * vertical * u_z
    shearing = rigidity * (vertical * u_x + along * u_z)
    parts = {"x": u_x, "z": u_z, "pressure": pressure, "shearing": shearing}
    return PlaneWave(parts, medium.density * speed**2 * normal.real)


def modes(medium: Medium) -> tuple[Mode, ...]:
    """The waves that a medium carries."""
    return ("longitudinal",) if medium.shear is None else ("longitudinal", "shear")


def conditions(first: Medium, second: Medium, slips: bool) -> list[str]:
    """What must be continuous; a liquid slips, so that the shear traction of a solid beside it is zero."""
    if first.shear is not None and second.shear is not None and not slips:
        return ["x", "z", "pressure", "shearing"]
    own = [f"shearing of {side}" for side, medium in ((1, first), (2, second)) if medium.shear is not None]
    return ["z", "pressure", *own]


def concerns(condition: str, side: int) -> bool:
    """Whether a condition is about the medium on a side of the interface: 1 before it, 2 behind it."""
    return " of " not in condition or condition.endswith(str(side))


def _waves(back: dict[Mode, PlaneWave], onward: dict[Mode, PlaneWave]) -> list[tuple[float, int, PlaneWave]]:
    return [(1.0, 1, wave) for wave in back.values()] + [(-1.0, 2, wave) for wave in onward.values()]


def decibels(energy: float) -> float:
    """A part of the energy as a loss in dB; infinite where nothing is left."""
    return -10.0 * math.log10(energy) if energy > 0.0 else math.inf
