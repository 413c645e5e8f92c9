"""The path of the sound that a job works on: one slowness along the pipe, one wave in each layer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from refdb.job.acoustics.spacing import Layer
from refdb.job.acoustics.waves import Mode, slowness, travels
from refdb.job.inputs.held import Inputs
from refdb.job.inputs.solid import solid, wave_speed
from refdb.problems import NotAvailable, OutsideRange, Problem


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


def ray(inputs: Inputs) -> Ray:
    """The path of the chosen arrival, its speeds put among the inputs.

    Raises:
        OutsideRange: the liquid or a layer lets no such wave through.
        Problem: a speed is neither given nor in the release.
    """
    pipe = inputs.job.pipe
    along = float(slowness(inputs.value("wedge angle"), inputs.value("wedge speed")))
    if not travels(inputs.value("sound speed"), along):
        raise OutsideRange(
            f"sensors.angle: no sound enters the liquid: its speed {inputs.value('sound speed'):.0f} m/s is above "
            f"{1.0 / along:.0f} m/s, where the critical angle is reached; take sensors of a smaller angle.",
            parameter="sensors.angle",
        )
    labels = [("wall", "wall speed")]
    wall = _choose(inputs, "pipe", pipe.material, pipe.wave, along, "wall speed")
    lining: Mode | None = None
    if pipe.lining is not None:
        lining = _choose(inputs, "pipe.lining", pipe.lining.material, pipe.lining.wave, along, "lining speed")
        labels.append(("lining thickness", "lining speed"))
    for thickness, speed, where in (
        ("coating", "coating speed", "pipe.coating_speed"),
        ("deposits", "deposits speed", "pipe.deposits_speed"),
    ):
        if speed in inputs.found:
            labels.append((thickness, speed))
            if not travels(inputs.value(speed), along):
                raise _beyond(where, "told", inputs.value(speed), along)
    return Ray(along, wall, lining, tuple(labels))


def _given(inputs: Inputs, where: str, mode: Mode) -> tuple[str | None, str | None]:
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    return getattr(section, f"{mode}_speed"), getattr(section, f"{mode}_speed_uncertainty")


def _choose(inputs: Inputs, where: str, material: str | None, wanted: Mode | None, along: float, label: str) -> Mode:
    """The mode a layer is crossed by: the one asked for, or shear, or longitudinal where there is no shear speed."""
    tried: list[Mode] = [wanted] if wanted is not None else ["shear", "longitudinal"]
    problem: Problem | None = None
    for mode in tried:
        try:
            speed = wave_speed(inputs, label, material, mode, _given(inputs, where, mode), where)
        except NotAvailable as refused:
            problem = problem or refused
            continue
        if travels(speed.value, along):
            if wanted is None:
                inputs.assumptions.append(f"{where}.wave not given: {mode} is worked on; other arrivals are listed")
            return mode
        problem = problem or _beyond(where, mode, speed.value, along)
    assert problem is not None  # noqa: S101 - at least one mode was tried
    raise problem


def _beyond(where: str, mode: str, speed: float, along: float) -> OutsideRange:
    where = where if where.endswith("_speed") else f"{where}.wave"
    return OutsideRange(
        f"{where}: a {mode} wave at {speed:.0f} m/s does not travel here: only speeds below {1.0 / along:.0f} m/s "
        "do with these sensors; take the other wave or sensors of another angle.",
        parameter=where,
    )


def speed_of(inputs: Inputs, mode: Mode, where: str = "pipe") -> float:
    """A speed of the wall or its lining, without making it the one the job works on.

    Raises:
        Problem: it is neither given nor in the release.
    """
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    assert section is not None  # noqa: S101 - linings are asked for where there is one
    given = getattr(section, f"{mode}_speed")
    found = solid(inputs, section.material, f"{mode}_speed", given, f"{where}.{mode}_speed")
    return found if isinstance(found, float | int) else float(found.magnitude)
