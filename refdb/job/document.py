"""A job as it is written down: one TOML or JSON document, in the order in which an engineer asks.

Every quantity is a number with a unit, `"45 degC"`, or a table with its own standard uncertainty,
`{value = "45 degC", standard_uncertainty = "0.5 K"}`. What is left out gets a default that the answer states.
"""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from refdb.problems import BadParameter

Model = TypeVar("Model", bound=BaseModel)
MOST_BYTES = 1024 * 1024


class Part(BaseModel):
    """A part of the document; members that are not known are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class WithUncertainty(Part):
    """A quantity with its own standard uncertainty."""

    value: str
    standard_uncertainty: str


Given = str | WithUncertainty


class Purpose(Part):
    """What the measurement is for."""

    title: str = ""
    flow: Given = Field(description="The usual flow by volume, such as '120 m3/h'.")
    least_flow: str | None = None
    greatest_flow: str | None = None
    wanted_uncertainty: str | None = Field(None, description="Expanded (k = 2) uncertainty wanted, such as '2 %'.")


class Liquid(Part):
    """The liquid and its state; what is given here goes before the database."""

    subject: str
    temperature: Given
    pressure: Given | None = Field(None, description="Absolute, '4 bar(a)', or gauge, '3 bar(g)'; 1 atm if left out.")
    strength: str | None = None
    salinity: str | None = None
    sound_speed: Given | None = None
    density: Given | None = None
    kinematic_viscosity: Given | None = None
    gas_or_solids: bool = Field(False, description="Whether gas or solids are expected in it.")


class Lining(Part):
    """The lining."""

    material: str
    thickness: Given
    bonded: bool = True
    wave: Literal["shear", "longitudinal"] | None = None
    speed: Given | None = None


class Pipe(Part):
    """The pipe as found."""

    material: str
    system: str | None = None
    size: str | None = None
    designation: str | None = None
    circumference: Given | None = None
    outside_diameter: Given | None = None
    wall: Given | None = None
    gauge_speed: str | None = Field(None, description="Longitudinal speed that the thickness gauge was set to.")
    coating: str | None = Field(None, description="Thickness of paint or coating; none if left out.")
    wall_temperature: Given | None = Field(None, description="The liquid's if left out.")
    wave: Literal["shear", "longitudinal"] | None = Field(None, description="The wave in the wall that is used.")
    wave_speed: Given | None = Field(None, description="Of that wave, where it is known better than by the material.")
    lining: Lining | None = None
    roughness: Given | None = None
    surface: str | None = Field(None, description="A surface of `refdb roughness`, such as 'steel-new'.")
    runs: Literal["horizontal", "upward", "downward"] = "horizontal"
    straight_upstream: str | None = Field(None, description="Straight length upstream, such as '2.5 m'.")
    seam: Literal["none", "longitudinal", "spiral", "unknown"] = "unknown"
    both_sides: bool = Field(True, description="Whether opposite sides of the pipe can be reached.")


class Sensors(Part):
    """A pair of sensors, by their own data or by spacings that are known."""

    wedge_angle: Given
    wedge_speed: Given = Field(description="In the wedge, at `wedge_temperature` unless a slope is given.")
    wedge_speed_at: str | None = Field(None, description="Temperature that `wedge_speed` holds at.")
    wedge_speed_slope: str | None = Field(None, description="Change with temperature, such as '-2.5 m/(s.K)'.")
    wedge_temperature: str | None = Field(None, description="The wall's if left out.")
    frequency: str
    offset: Given | None = Field(None, description="s0, exit points of the sound to the marks; 0 if left out.")
    delay: Given | None = Field(None, description="T0, in wedges and cables.")
    housing_length: str | None = None
    zero: str | None = Field(None, description="Standard uncertainty of the time difference at rest; 0.1 ns if not.")
    calibration: str | None = Field(None, description="Standard uncertainty of the pair's calibration; 0.5 % if not.")
    lowest_temperature: str | None = None
    highest_temperature: str | None = None


class Measurement(Part):
    """How it is measured."""

    passes: int = Field(2, ge=1, le=6)
    time_in_liquid: Literal["measured", "computed"] = "measured"
    spacing_error: str | None = Field(None, description="How well the set spacing is known; 1 mm if left out.")
    rail_step: str | None = Field(None, description="The rail's step, to find the nearest setting.")
    draws: int = Field(0, ge=0, le=1_000_000, description="Monte Carlo draws; none if 0.")
    seed: int = 1


class Heat(Part):
    """The temperatures of a heating or cooling circuit."""

    supply: Given
    back: Given = Field(alias="return")
    meter_in: Literal["supply", "return"]
    correlation: float = Field(0.0, ge=-1.0, le=1.0, description="Between the errors of the two temperatures.")


class Mounted(Part):
    """What was read after mounting."""

    sound_speed: Given | None = None
    zero_reading: str | None = Field(None, description="Time difference at rest, such as '0.2 ns'.")


class Job(Part):
    """One pipe, one liquid, one pair of sensors."""

    purpose: Purpose
    liquid: Liquid
    pipe: Pipe
    sensors: Sensors
    measurement: Measurement = Measurement()
    heat: Heat | None = None
    mounted: Mounted | None = None


def read_file(path: Path) -> Job:
    """The job in a TOML or JSON file.

    Raises:
        BadParameter: it cannot be read, or is not a job.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BadParameter(f"{path}: is larger than 1 MiB; a job is a page.", parameter="file")
        text = path.read_text(encoding="utf-8")
        document = json.loads(text) if path.suffix == ".json" else tomllib.loads(text)
    except (OSError, ValueError) as fault:
        raise BadParameter(
            f"{path}: cannot be read ({fault}); give a TOML or JSON file in UTF-8.", parameter="file"
        ) from None
    return read_job(document)


def read_job(document: Any) -> Job:
    """The job in a document.

    Raises:
        BadParameter: a member is missing, unknown or of the wrong kind, or two contradict each other.
    """
    job = checked(Job, document)
    _check_pipe(job.pipe)
    if job.measurement.passes % 2 and not job.pipe.both_sides:
        raise BadParameter(
            f"measurement.passes: {job.measurement.passes} needs sensors on opposite sides, and pipe.both_sides says "
            "that they cannot be reached; take an even number.",
            parameter="measurement.passes",
        )
    return job


def checked(model: type[Model], document: Any) -> Model:
    """The document as a model.

    Raises:
        BadParameter: it does not fit; the sentence names the first member that is wrong.
    """
    try:
        return model.model_validate(document)
    except ValidationError as fault:
        first = fault.errors()[0]
        # The names of a union's members are ours, not the user's.
        place = ".".join(str(step) for step in first["loc"] if step not in {"str", "WithUncertainty"}) or "document"
        words = {
            "missing": "is missing; give it",
            "extra_forbidden": "is not known; see shared/schemas/job-v1.schema.json",
        }.get(first["type"], first["msg"][:1].lower() + first["msg"][1:])
        raise BadParameter(f"{place}: {words}.", parameter=place) from None


def _check_pipe(pipe: Pipe) -> None:
    if pipe.circumference is not None and pipe.outside_diameter is not None:
        raise _contradiction("pipe.circumference", "pipe.outside_diameter", "give the one that was measured")
    if pipe.roughness is not None and pipe.surface is not None:
        raise _contradiction("pipe.roughness", "pipe.surface", "give one of them")
    measured = pipe.circumference is not None or pipe.outside_diameter is not None
    if measured and pipe.wall is None:
        raise BadParameter("pipe.wall: is missing; measure it, the bore rests on it.", parameter="pipe.wall")
    if not measured and (pipe.system is None or pipe.size is None):
        raise BadParameter(
            "pipe: give circumference or outside_diameter with wall as measured, or system, size and designation.",
            parameter="pipe",
        )
    if not measured and pipe.wall is not None:
        raise BadParameter(
            "pipe.wall: stands without circumference or outside_diameter; measure one of them too.",
            parameter="pipe.wall",
        )


def _contradiction(one: str, other: str, way_out: str) -> BadParameter:
    return BadParameter(f"{one}: contradicts {other}, since both say the same; {way_out}.", parameter=one)
