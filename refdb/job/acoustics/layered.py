"""A plane wave through a stack of layers, with every echo inside them: what arrives behind the stack.

Displacement and traction are continuous at each interface, as in `refdb.job.acoustics.waves`; inside a layer waves go
both ways. All interfaces are solved at once (the global matrix of Knopoff, by memory), each wave counted from the
interface that it leaves, so that waves which die away lose no digits in thick layers.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from refdb.job.acoustics.waves import Medium, Mode, PlaneWave, concerns, conditions, modes, plane_wave


@dataclass(frozen=True, slots=True)
class Slab:
    """One layer of a stack.

    Attributes:
        thickness: m.
        absorption: Np/m of each of its waves along their way at the frequencies asked for; of none where it is empty.
        slips: whether it touches the medium before it through a film without thickness that holds no shear.
    """

    medium: Medium
    thickness: float
    absorption: dict[Mode, Any]
    slips: bool = False


def transmitted(first: Medium, mode: Mode, slabs: Sequence[Slab], last: Medium, along: float, frequencies: Any) -> Any:
    """The part of the energy that arrives in the last medium, in all its waves together.

    Args:
        mode: of the incident wave; it must travel in the first medium.
        along: slowness along the layers, s/m.
        frequencies: Hz, an array of shape (n,).

    Returns:
        An array of shape (n,), each number 0 to 1.
    """
    import numpy as np

    incoming = plane_wave(first, mode, along, 1.0)
    columns = _columns(first, slabs, last, along, np.asarray(frequencies, dtype=float))
    media = [first, *(slab.medium for slab in slabs), last]
    rows = [
        (place, condition)
        for place in range(len(media) - 1)
        for condition in conditions(media[place], media[place + 1], place < len(slabs) and slabs[place].slips)
    ]
    matrix = np.zeros((len(frequencies), len(rows), len(columns)), dtype=complex)
    right = np.zeros((len(frequencies), len(rows)), dtype=complex)
    for row, (place, condition) in enumerate(rows):
        for number, column in enumerate(columns):
            side = place - column.medium + 1
            if side in {1, 0} and concerns(condition, 2 - side):
                # What stands before the interface is counted with its sign, what stands behind it against it.
                matrix[:, row, number] = (1.0 if side else -1.0) * column.wave.part(condition) * column.phase(place)
        if place == 0 and concerns(condition, 1):
            right[:, row] = -incoming.part(condition)
        scale = np.abs(matrix[:, row, :]).max()
        matrix[:, row, :] /= scale
        right[:, row] /= scale
    amplitudes = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
    behind = [number for number, column in enumerate(columns) if column.medium == len(media) - 1]
    return sum(np.abs(amplitudes[:, n]) ** 2 * columns[n].wave.flux / incoming.flux for n in behind)


@dataclass(frozen=True, slots=True)
class _Column:
    """One unknown wave: in which medium, its displacement and traction, and what it becomes across its layer."""

    medium: int
    wave: PlaneWave
    onward: bool
    crossing: Any

    def phase(self, interface: int) -> Any:
        """Against where it started: a wave onward starts at the front of its layer, one back at the rear of it."""
        at_rear = interface == self.medium
        return self.crossing if at_rear == self.onward else 1.0


def _columns(first: Medium, slabs: Sequence[Slab], last: Medium, along: float, frequencies: Any) -> list[_Column]:
    columns = [_Column(0, plane_wave(first, mode, along, -1.0), False, 1.0) for mode in modes(first)]
    for number, slab in enumerate(slabs, 1):
        for mode in modes(slab.medium):
            across = _across(slab, mode, along, frequencies)
            columns += [
                _Column(number, plane_wave(slab.medium, mode, along, direction), direction > 0.0, across)
                for direction in (1.0, -1.0)
            ]
    count = len(slabs) + 1
    return columns + [_Column(count, plane_wave(last, mode, along, 1.0), True, 1.0) for mode in modes(last)]


def _across(slab: Slab, mode: Mode, along: float, frequencies: Any) -> Any:
    """What a wave of amplitude one has become at the other side of its layer."""
    import numpy as np

    speed = slab.medium.speed(mode)
    assert speed is not None  # noqa: S101 - asked for modes that exist
    normal = cmath.sqrt(1.0 / speed**2 - along**2)
    turned = np.exp(2j * math.pi * frequencies * normal * slab.thickness)
    if mode not in slab.absorption or normal.imag:
        return turned
    return turned * np.exp(-slab.absorption[mode] * slab.thickness / (normal.real * speed))
