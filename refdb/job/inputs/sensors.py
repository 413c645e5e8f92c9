"""The sensors of a job, and what the place adds to the uncertainty."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from refdb.constants import ROOM_CELSIUS
from refdb.job.quantities import number, positive
from refdb.problems import BadParameter

if TYPE_CHECKING:
    pass

from refdb.job.inputs.held import Inputs, JobInput, uncertainty_of
from refdb.job.inputs.place import installation


def read_sensors(inputs: Inputs) -> None:
    """Keep what is told of the sensors, and what the installation adds.

    Raises:
        Problem: a quantity is wrong, or the wedge cannot have such a speed.
    """
    sensors = inputs.job.sensors
    angle = positive(sensors.angle, "angle", "sensors.angle")
    if angle >= math.pi / 2:
        raise BadParameter(
            "sensors.angle: must be below 90 deg; it is counted from the normal.", parameter="sensors.angle"
        )
    uncertainty = uncertainty_of(inputs, "sensors.angle", sensors.angle_uncertainty, "angle", angle)
    inputs.keep(JobInput("wedge angle", angle, uncertainty, "angle", "given"))
    _wedge_speed(inputs)
    for name, dimension in (("offset", "length"), ("delay", "time")):
        text = getattr(sensors, name)
        value = number(text, dimension, f"sensors.{name}") if text is not None else 0.0
        uncertainty = uncertainty_of(
            inputs, f"sensors.{name}", getattr(sensors, f"{name}_uncertainty"), dimension, value
        )
        inputs.keep(JobInput(name, value, uncertainty, dimension, "given" if text is not None else "default"))
    spacing_uncertainty = uncertainty_of(inputs, "sensors.spacing", sensors.spacing_uncertainty, "length", 0.0)
    inputs.keep(
        JobInput("spacing as set", 0.0, spacing_uncertainty, "length", "given", "deviation from what was entered")
    )
    time_uncertainty = uncertainty_of(inputs, "sensors.time", sensors.time_uncertainty, "time", 0.0)
    inputs.keep(JobInput("transit time", 0.0, time_uncertainty, "time", "given", "error of the instrument"))
    inputs.keep(_zero(inputs))
    calibrated = sensors.calibration_uncertainty
    relative = uncertainty_of(inputs, "sensors.calibration", calibrated, "dimensionless", 1.0)
    inputs.keep(JobInput("calibration", 1.0, relative, "dimensionless", "given"))
    inputs.keep(
        JobInput("frequency", positive(sensors.frequency, "frequency", "sensors.frequency"), 0.0, "frequency", "given")
    )
    inputs.keep(installation(inputs))


def _wedge_speed(inputs: Inputs) -> None:
    sensors = inputs.job.sensors
    speed = positive(sensors.speed, "speed", "sensors.speed")
    uncertainty = uncertainty_of(inputs, "sensors.speed", sensors.speed_uncertainty, "speed", speed)
    if sensors.speed_slope is not None:
        per_kelvin = number(sensors.speed_slope, "speed_per_temperature", "sensors.speed_slope")
        stated = sensors.speed_temperature or f"{ROOM_CELSIUS} degC"
        wedge = inputs["wedge temperature"]
        speed += per_kelvin * (wedge.value - number(stated, "temperature", "sensors.speed_temperature"))
        uncertainty = math.hypot(uncertainty, per_kelvin * wedge.uncertainty)
    else:
        inputs.assumptions.append(
            "sensors.speed_slope not given: the speed is taken as that at the wedge's temperature"
        )
    if speed <= 0.0:
        raise BadParameter(
            f"sensors.speed_slope: leaves the wedge {speed:.4g} m/s at its temperature; check the slope, sensors.speed "
            "and both temperatures.",
            parameter="sensors.speed_slope",
        )
    inputs.keep(JobInput("wedge speed", speed, uncertainty, "speed", "given", "at the wedge's temperature"))


def _zero(inputs: Inputs) -> JobInput:
    """The time difference at rest: its stability, and what was measured of it unless the instrument takes it off."""
    stability = uncertainty_of(inputs, "sensors.zero_stability", inputs.job.sensors.zero_stability, "time", 0.0)
    told = inputs.job.mounted
    if told is None or told.zero_difference is None or told.zero_corrected == "yes":
        return JobInput("zero", 0.0, stability, "time", "given", "time difference at rest")
    shown = number(told.zero_difference, "time", "mounted.zero_difference")
    inputs.assumptions.append(
        f"mounted.zero_difference: {1e9 * shown:+.3g} ns at rest, and not told to be taken off by the instrument: its "
        "whole size counts, as the half width of a rectangle"
    )
    uncertainty = math.hypot(stability, shown / math.sqrt(3.0))
    return JobInput("zero", 0.0, uncertainty, "time", "given", f"{1e9 * shown:+.3g} ns at rest were shown")
