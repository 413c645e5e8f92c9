"""What a technician measured on a pipe, as an outside diameter and a wall with standard uncertainties.

Outside diameter from a tape: D = C / pi - tape - 2 x coating. From calipers: the mean of the readings - 2 x coating.
Wall from a gauge: t = reading x actual speed / speed the gauge was set to.

Defaults where nothing is told, all standard uncertainties. The tape's scale: the maximum permissible error of a tape of
accuracy class II, 0.3 mm + 0.2 mm per metre begun (Directive 2014/32/EU, Annex X, table 1, as Schedule 1I of the United
Kingdom's Measuring Instruments Regulations 2016 prints it), taken as rectangular. Everything else is common practice,
no source: see the constants.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from refdb.constants import ROOM_CELSIUS
from refdb.lookup.state import read_state
from refdb.pipes.question import PipeQuestion
from refdb.problems import BadParameter, MissingState, OutsideRange
from refdb.units import Quantity, printable, whole_number
from refdb.units.sizes import NO_SOURCE, Given, positive_number

Speed = Callable[[str, float | None], tuple[float, float, str]]
"""Material and degrees Celsius to its longitudinal speed in m/s, the standard uncertainty, and where it is from."""

TAPE_READING = 0.5
"""mm: laying the tape straight and reading it."""
TAPE_SCALE = (0.3, 0.2)
"""mm, and mm per metre begun: the limits of a tape of class II."""
UNTOLD_TAPE = 0.2
"""mm: a steel tape is thinner than this."""
TOLD_TAPE = 0.02
"""mm: how well a told tape thickness is known."""
CALIPER = 0.1
"""mm: one reading of calipers."""
CALIPER_RELATIVE = 0.0005
OVALITY = 0.003
"""Of the diameter: what one reading may miss where the pipe is oval."""
LEAST_OVALITY = 0.001
"""Of the diameter: taken where several readings spread less."""
MOST_POINTS = 1000
"""Of a mean wall."""
GAUGE_ZERO = 0.05
"""mm: the zero of a thickness gauge, the same at every point."""
GAUGE_POINT = 0.1
"""mm: coupling and surface, different at every point."""
UNTOLD_SPEED = 0.01
"""Of the wall: a gauge that is taken as set to the pipe's own material."""
TOLD_SPEED = 0.005
"""Of a speed that is told for the pipe's material."""
WARMING = {"metal": 0.0002, "mineral": 0.0002, "plastic": 0.002}
"""Of the speed, per kelvin away from 20 degC: how much it may change where nobody published by how much it does."""
THICKNESS = 0.2
"""Of a told coating or lining."""
COATING_SPEED = (2400.0, 200.0)
"""m/s, with its standard uncertainty: of paint and plastic coatings."""
SMALLEST, LARGEST = 1.5, 5000.0
"""mm: the outside diameters that are matched."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A length in millimetres with its standard uncertainty."""

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class PipeMeasurement:
    """The outside diameter and, where they are known, the wall and the lining; with everything taken for granted."""

    outside_diameter: Measured
    wall: Measured | None
    lining: Measured | None
    assumptions: tuple[str, ...]

    @property
    def bore(self) -> Measured | None:
        """What the measurement makes of the bore; None without a wall."""
        if self.wall is None:
            return None
        lining = self.lining or Measured(0.0, 0.0)
        uncertainty = math.hypot(
            self.outside_diameter.uncertainty, 2.0 * self.wall.uncertainty, 2.0 * lining.uncertainty
        )
        return Measured(self.outside_diameter.value - 2.0 * (self.wall.value + lining.value), uncertainty)


def read_measurement(
    asked: PipeQuestion,
    material: str | None,
    material_class: str | None,
    speed: Speed,
    taken: tuple[str, ...] = (),
) -> PipeMeasurement:
    """The measurement that a question tells.

    Args:
        material: the id of the material, where it is known.
        material_class: `metal`, `plastic` or `mineral`.
        speed: finds a material's longitudinal speed.
        taken: what was taken for granted already.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one.
        BadParameter: parts are missing or contradict each other.
        OutsideRange: no pipe has such dimensions.
        MissingState: a speed is needed for a material that was not told.
    """
    _check_parts(asked)
    notes = list(taken)
    coating = _coating(asked, notes)
    outside = _outside_diameter(asked, coating, notes)
    wall = _Wall(asked, material, material_class or "metal", speed, notes).measured(coating)
    lining = _lining(asked, notes)
    _check_dimensions(outside, wall, lining)
    return PipeMeasurement(outside, wall, lining, tuple(notes))


_NEEDS = {
    "tape_thickness": "circumference",
    "circumference_uncertainty": "circumference",
    "outside_diameter_uncertainty": "outside_diameter",
    "wall_points": "wall",
    "wall_uncertainty": "wall",
    "gauge_speed": "wall",
    "material_speed": "gauge_speed",
    "gauge_reads_coating": "coating",
    "temperature": "wall",
}


def _check_parts(asked: PipeQuestion) -> None:
    if (asked.circumference is None) == (not _readings(asked.outside_diameter)):
        fault = "is missing" if asked.circumference is None else "is given together with outside_diameter"
        raise BadParameter(
            f"circumference: {fault}; give the circumference that a tape reads, as in '690 mm', or the "
            "outside_diameter that calipers read.",
            parameter="circumference",
        )
    for name, needed in _NEEDS.items():
        if getattr(asked, name) is not None and getattr(asked, needed) is None:
            raise BadParameter(f"{name}: says how to read {needed}, which is missing; give it too.", parameter=name)


def _readings(given: Given | Sequence[Given] | None) -> list[Given]:
    if given is None:
        return []
    return [given] if isinstance(given, (str, Quantity)) else list(given)


def _length(given: Given, field: str) -> float:
    return positive_number(given, field, "length", "mm")


def _coating(asked: PipeQuestion, notes: list[str]) -> Measured:
    if asked.coating is None:
        notes.append(
            "coating not told: taken as none; paint or tape makes the pipe read thicker by twice its thickness"
        )
        return Measured(0.0, 0.0)
    thickness = _length(asked.coating, "coating")
    notes.append(f"coating: known to {THICKNESS:.0%} ({NO_SOURCE})")
    return Measured(thickness, THICKNESS * thickness)


def _lining(asked: PipeQuestion, notes: list[str]) -> Measured | None:
    if asked.lining is None:
        return None
    thickness = _length(asked.lining, "lining")
    notes.append(f"lining: known to {THICKNESS:.0%} ({NO_SOURCE}); the wall is taken as read without it")
    return Measured(thickness, THICKNESS * thickness)


def _outside_diameter(asked: PipeQuestion, coating: Measured, notes: list[str]) -> Measured:
    bare = _taped(asked, notes) if asked.circumference is not None else _calipered(asked, notes)
    uncertainty = math.hypot(bare.uncertainty, 2.0 * coating.uncertainty)
    return Measured(bare.value - 2.0 * coating.value, uncertainty)


def _taped(asked: PipeQuestion, notes: list[str]) -> Measured:
    assert asked.circumference is not None  # noqa: S101 - for the type checkers; the caller has looked
    around = _length(asked.circumference, "circumference")
    if asked.circumference_uncertainty is not None:
        reading = _length(asked.circumference_uncertainty, "circumference_uncertainty")
    else:
        scale = (TAPE_SCALE[0] + TAPE_SCALE[1] * math.ceil(around / 1000.0)) / math.sqrt(3.0)
        reading = math.hypot(TAPE_READING, scale)
        notes.append(
            f"circumference: standard uncertainty {reading:.2g} mm, {TAPE_READING} mm for laying and reading the tape "
            f"({NO_SOURCE}) and the limits of a tape of class II (Directive 2014/32/EU, Annex X)"
        )
    if asked.tape_thickness is not None:
        tape = Measured(_length(asked.tape_thickness, "tape_thickness"), TOLD_TAPE)
    else:
        tape = Measured(UNTOLD_TAPE / 2.0, UNTOLD_TAPE / math.sqrt(12.0))
        notes.append(f"tape thickness not told: 0 to {UNTOLD_TAPE} mm ({NO_SOURCE})")
    return Measured(around / math.pi - tape.value, math.hypot(reading / math.pi, tape.uncertainty))


def _calipered(asked: PipeQuestion, notes: list[str]) -> Measured:
    readings = [_length(given, "outside_diameter") for given in _readings(asked.outside_diameter)]
    mean, count = fmean(readings), len(readings)
    if asked.outside_diameter_uncertainty is not None:
        return Measured(mean, _length(asked.outside_diameter_uncertainty, "outside_diameter_uncertainty"))
    oval = OVALITY * mean if count == 1 else max(stdev(readings), LEAST_OVALITY * mean) / math.sqrt(count)
    uncertainty = math.hypot(CALIPER + CALIPER_RELATIVE * mean, oval)
    spread = (
        f"one reading, ovality {OVALITY:.1%} of it" if count == 1 else f"{count} readings, ovality from their spread"
    )
    notes.append(f"outside diameter: standard uncertainty {uncertainty:.2g} mm, {spread} ({NO_SOURCE})")
    return Measured(mean, uncertainty)


class _Wall:
    """The reading of a thickness gauge put right."""

    def __init__(
        self, asked: PipeQuestion, material: str | None, material_class: str, speed: Speed, notes: list[str]
    ) -> None:
        self._asked, self._material, self._class = asked, material, material_class
        self._speed, self._notes = speed, notes

    def measured(self, coating: Measured) -> Measured | None:
        """The wall without its coating; None where none was read."""
        readings = [_length(given, "wall") for given in _readings(self._asked.wall)]
        if not readings:
            return None
        reading = self._reading(readings)
        ratio, actual, relative = self._speeds()
        value, uncertainty = reading.value * ratio, reading.uncertainty * ratio
        if self._includes_coating():
            metal, standard_uncertainty = self._without_coating(coating, actual)
            value, uncertainty = value - metal, math.hypot(uncertainty, standard_uncertainty)
        return Measured(value, math.hypot(uncertainty, relative * value))

    def _reading(self, readings: list[float]) -> Measured:
        asked, mean, count = self._asked, fmean(readings), len(readings)
        points = self._points(count)
        if asked.wall_uncertainty is not None:
            return Measured(mean, _length(asked.wall_uncertainty, "wall_uncertainty"))
        each = max(stdev(readings), GAUGE_POINT) if count > 1 else GAUGE_POINT
        uncertainty = math.hypot(GAUGE_ZERO, each / math.sqrt(points))
        self._notes.append(
            f"wall: standard uncertainty of the reading {uncertainty:.2g} mm, {points} point(s) ({NO_SOURCE})"
        )
        return Measured(mean, uncertainty)

    def _points(self, count: int) -> int:
        given = self._asked.wall_points
        if given is None:
            return count
        points = whole_number(given) if isinstance(given, str) else given
        if count > 1 or points is None or not 1 <= points <= MOST_POINTS:
            shown = printable(str(given))
            fault = "is for one wall reading that is a mean" if count > 1 else f"'{shown}' is not 1 to {MOST_POINTS}"
            raise BadParameter(
                f"wall_points: {fault}; give the mean and of how many points it is, or every reading as wall.",
                parameter="wall_points",
                given=shown,
            )
        return points

    def _speeds(self) -> tuple[float, float | None, float]:
        """Actual speed by set speed, the actual speed where it is known, and how far the wall may be off, relative."""
        asked, warming = self._asked, self._warming()
        if asked.gauge_speed is None:
            self._notes.append(
                f"gauge_speed not told: the gauge is taken as set to the speed of the pipe's own material, within "
                f"{UNTOLD_SPEED:.0%} ({NO_SOURCE})"
            )
            return 1.0, None, math.hypot(UNTOLD_SPEED, warming)
        set_speed = positive_number(asked.gauge_speed, "gauge_speed", "speed", "m/s")
        if asked.material_speed is not None:
            actual = positive_number(asked.material_speed, "material_speed", "speed", "m/s")
            words, relative = f"the told {actual:g} m/s, within {TOLD_SPEED:.1%} ({NO_SOURCE})", TOLD_SPEED
        elif self._material is not None:
            actual, uncertainty, where = self._speed(self._material, self._celsius())
            words, relative = where, math.hypot(uncertainty / actual, warming)
        else:
            raise MissingState(
                "gauge_speed: correcting the wall needs the pipe's own speed; name the material, or give "
                "material_speed.",
                parameter="material",
            )
        self._notes.append(
            f"wall corrected by {actual / set_speed:.4f}: {words}, against {set_speed:g} m/s of the gauge"
        )
        return actual / set_speed, actual, relative

    def _celsius(self) -> float | None:
        return read_state(self._asked.temperature).celsius if self._asked.temperature is not None else None

    def _warming(self) -> float:
        """How far the speed may be off at a temperature, relative."""
        celsius = self._celsius()
        if celsius is None or self._asked.material_speed is not None:
            return 0.0
        uncertainty = WARMING[self._class] * abs(celsius - ROOM_CELSIUS)
        self._notes.append(
            f"temperature: how the speed changes with it is not published for the material; the wall may be off by "
            f"{uncertainty:.1%} for that ({NO_SOURCE})"
        )
        return uncertainty

    def _includes_coating(self) -> bool:
        given = self._asked.gauge_reads_coating
        if given not in {None, "yes", "no"}:
            raise BadParameter(
                f"gauge_reads_coating: '{str(given)[:20]}' is not offered; write yes or no.",
                parameter="gauge_reads_coating",
                given=str(given)[:20],
                accepted=["yes", "no"],
            )
        if given is None and self._asked.coating is not None:
            self._notes.append("the gauge is taken as reading through the coating: the wall is the pipe's alone")
        return given == "yes"

    def _without_coating(self, coating: Measured, actual: float | None) -> tuple[float, float]:
        """What the coating adds to the reading, in millimetres of the pipe's material."""
        if actual is None:
            raise MissingState(
                "gauge_reads_coating: what the coating adds depends on the speeds; give gauge_speed too.",
                parameter="gauge_speed",
            )
        slow, uncertainty = COATING_SPEED
        added = coating.value * actual / slow
        self._notes.append(f"the reading holds the coating, at {slow:g} m/s ± {uncertainty:g} m/s ({NO_SOURCE})")
        return added, added * math.hypot(uncertainty / slow, THICKNESS)


def _check_dimensions(outside: Measured, wall: Measured | None, lining: Measured | None) -> None:
    if not SMALLEST <= outside.value <= LARGEST:
        raise OutsideRange(
            f"outside_diameter: the measurement gives {outside.value:.4g} mm; pipes from {SMALLEST:g} mm to "
            f"{LARGEST:g} mm are matched.",
            parameter="outside_diameter",
            valid_range={"outside_diameter": [f"{SMALLEST:g} mm", f"{LARGEST:g} mm"]},
        )
    inside = (wall.value if wall is not None else 0.0) + (lining.value if lining is not None else 0.0)
    if (wall is not None and wall.value <= 0.0) or 2.0 * inside >= outside.value:
        raise OutsideRange(
            f"wall: {inside:.4g} mm leaves no bore in an outside diameter of {outside.value:.4g} mm; check both "
            "readings.",
            parameter="wall",
        )
