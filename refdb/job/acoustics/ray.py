"""The path of the sound that a job works on: one slowness along the pipe, one wave in each layer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from refdb.job.acoustics.spacing import Layer
from refdb.job.acoustics.waves import Mode
from refdb.job.inputs.held import Inputs
from refdb.job.inputs.solid import number_of, solid


@dataclass(frozen=True, slots=True)
class Ray:
    """The path that a job works on.

    Attributes:
        along: slowness along the pipe, s/m.
        wall_mode, lining_mode: the waves that cross the wall and its lining; None without a lining.
        labels: the inputs that hold each layer's thickness and speed, the wall first.
    """

    along: float
    wall_mode: Mode
    lining_mode: Mode | None
    labels: tuple[tuple[str, str], ...]

    def layers(self, numbers: Any) -> list[Layer]:
        """The layers with thicknesses and speeds from a mapping of names to numbers."""
        return [Layer(numbers[thickness], numbers[speed]) for thickness, speed in self.labels]


def given_speed(inputs: Inputs, where: str, mode: Mode) -> tuple[str | None, str | None]:
    """A speed of the wall or its lining as the job gives it, and its uncertainty."""
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    return getattr(section, f"{mode}_speed"), getattr(section, f"{mode}_speed_uncertainty")


def speed_of(inputs: Inputs, mode: Mode, where: str = "pipe", *, bounded: bool = True) -> float:
    """A speed of the wall or its lining, without making it the one the job works on.

    Args:
        bounded: the middle of what it lies between serves, where estimates are accepted and nothing else is known.

    Raises:
        Problem: it is neither given nor in the release.
    """
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    assert section is not None  # noqa: S101 - linings are asked for where there is one
    given = getattr(section, f"{mode}_speed")
    found = solid(inputs, section.material, f"{mode}_speed", given, f"{where}.{mode}_speed", bounded=bounded)
    return number_of(found)
