"""The document that describes a job, ordered as an engineer asks; `shared/schemas/job-v1.schema.json` is its schema.

Every quantity is a text of a number and a unit (`219.1 mm`). What ends in `_uncertainty` is the standard uncertainty of
what it is named after; where it is left out, a default stands in and the answer says so. pydantic checks the shape
here; `refdb.job.limits` says what the numbers may be, and `refdb.job.inputs` reads them.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from refdb.pipes.question import PipeQuestion
from refdb.questions import fields_of

Text = Annotated[str, Field(max_length=200)]
Quantity = Annotated[str, Field(max_length=64)]
YesNo = Literal["yes", "no", "unknown"]
Straight = Annotated[float, Field(strict=True, ge=0, le=10_000)] | Quantity
Readings = Quantity | Annotated[list[Quantity], Field(min_length=1, max_length=100)]
"""One reading, or a list of several."""


class Section(BaseModel):
    """A part of the document; a member that is not known is refused by name."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class FlowRange(Section):
    """How much flows."""

    minimum: Quantity | None = Field(None, description="Least volume flow that matters.")
    normal: Quantity = Field(description="Volume flow at which the job is worked out, such as 40 m3/h.")
    maximum: Quantity | None = Field(None, description="Greatest volume flow.")
    accuracy: Quantity | None = Field(
        None, description="Wanted: expanded uncertainty (k = 2) as a part of the flow, such as 3 %."
    )


class Liquid(Section):
    """What flows: a liquid of the database, or one described by its own data."""

    substance: Text | None = Field(None, description="Exact name in the database; none where all data are given.")
    name: Text | None = Field(None, description="What to call it on the sheet.")
    strength: Quantity | None = None
    salinity: Quantity | None = None
    temperature: Quantity
    temperature_uncertainty: Quantity | None = None
    pressure: Quantity | None = Field(None, description="Absolute, or gauge as in 3 bar(g); 1 atm when not given.")
    sound_speed: Quantity | None = None
    sound_speed_uncertainty: Quantity | None = None
    density: Quantity | None = None
    density_uncertainty: Quantity | None = None
    dynamic_viscosity: Quantity | None = None
    dynamic_viscosity_uncertainty: Quantity | None = None
    kinematic_viscosity: Quantity | None = Field(None, description="In its place, such as 3 cSt.")
    specific_heat: Quantity | None = None
    specific_heat_uncertainty: Quantity | None = None
    saturation_pressure: Quantity | None = None
    absorption: Quantity | None = Field(None, description="Sound absorption at the sensors' frequency.")
    absorption_uncertainty: Quantity | None = None
    atmosphere: Quantity | None = Field(None, description="Air pressure that gauge pressures count from; 1 atm.")
    gas_bubbles: YesNo = "unknown"
    solids: YesNo = "unknown"


class Lining(Section):
    """A layer inside the wall, deposits included."""

    material: Text | None = None
    thickness: Quantity
    thickness_uncertainty: Quantity | None = None
    wave: Literal["longitudinal", "shear"] | None = None
    longitudinal_speed: Quantity | None = None
    longitudinal_speed_uncertainty: Quantity | None = None
    shear_speed: Quantity | None = None
    shear_speed_uncertainty: Quantity | None = None
    density: Quantity | None = Field(None, description="For transmission.")
    longitudinal_absorption: Quantity | None = Field(None, description="Of that wave, at the sensors' frequency.")
    shear_absorption: Quantity | None = None
    bonded: YesNo = "unknown"


def _measured(name: str) -> Any:
    """A member that a measured pipe is asked with, in the words of its declaration."""
    return Field(None, description=next(field.words for field in fields_of(PipeQuestion) if field.name == name))


class Pipe(Section):
    """The pipe as found: measured, or by its designation, or both."""

    system: Text | None = None
    size: Text | None = None
    designation: Text | None = None
    circumference: Readings | None = _measured("circumference")
    outside_diameter: Readings | None = _measured("outside_diameter")
    circumference_uncertainty: Quantity | None = _measured("circumference_uncertainty")
    outside_diameter_uncertainty: Quantity | None = _measured("outside_diameter_uncertainty")
    wall: Readings | None = _measured("wall")
    wall_uncertainty: Quantity | None = _measured("wall_uncertainty")
    wall_points: Annotated[int, Field(strict=True, ge=1, le=100)] | None = _measured("wall_points")
    gauge_speed: Quantity | None = _measured("gauge_speed")
    gauge_reads_coating: Literal["yes", "no"] | None = _measured("gauge_reads_coating")
    tape_thickness: Quantity | None = _measured("tape_thickness")
    coating: Quantity | None = _measured("coating")
    coating_speed: Quantity | None = Field(
        None, description="Of the wave that crosses it where the sensors stand on it; not given: taken off there."
    )
    material: Text
    measured_at: Quantity | None = Field(None, description="Temperature when it was measured; else the wall's.")
    age: Annotated[float, Field(strict=True, ge=0, le=500)] | None = Field(None, description="Years in service.")
    wall_temperature: Quantity | None = Field(None, description="The liquid's when not given.")
    wave: Literal["longitudinal", "shear"] | None = Field(None, description="The arrival the sensors work on.")
    longitudinal_speed: Quantity | None = None
    longitudinal_speed_uncertainty: Quantity | None = None
    shear_speed: Quantity | None = None
    shear_speed_uncertainty: Quantity | None = None
    density: Quantity | None = None
    longitudinal_absorption: Quantity | None = Field(None, description="Of that wave, at the sensors' frequency.")
    shear_absorption: Quantity | None = None
    thermal_expansion: Quantity | None = Field(None, description="Linear, per kelvin, such as 12e-6 1/K.")
    lining: Lining | None = None
    deposits: Quantity | None = Field(None, description="Thickness of deposits; they narrow the bore.")
    deposits_uncertainty: Quantity | None = None
    deposits_speed: Quantity | None = Field(None, description="Of the wave that crosses them; else the liquid's.")
    ovality: Quantity | None = Field(None, description="(largest - smallest) / mean diameter, such as 0.5 %.")
    seam: Literal["none", "longitudinal", "spiral", "unknown"] = "unknown"
    roughness: Quantity | None = None
    surface: Text | None = Field(None, description="A surface of `refdb roughness`.")


class Access(Section):
    """Where the sensors can go."""

    upstream: Straight | None = Field(
        default=None, description="In diameters, as 12 or '12 D', or a length, as '3.5 m'."
    )
    downstream: Straight | None = Field(default=None, description="The same after the sensors.")
    disturbance: Literal["none", "bend", "two bends out of plane", "tee", "valve", "pump", "reducer", "unknown"] = (
        "unknown"
    )
    orientation: Literal["horizontal", "vertical", "upward", "downward", "unknown"] = Field(
        default="unknown", description="`vertical` where the direction of the flow is not known."
    )
    full: YesNo = "unknown"
    opposite_side: YesNo = "unknown"
    pulsation: YesNo = "unknown"
    outdoors: YesNo = "unknown"
    installation_uncertainty: Quantity | None = Field(
        default=None, description="Of the profile at the place, such as 1 %."
    )


class Sensors(Section):
    """One pair of sensors, described by their own data."""

    file: Text | None = Field(
        None,
        description="On the command line: a TOML file beside the job's with these members; the job's go first.",
    )
    angle: Quantity = Field(description="Of the sound in the wedge, from the normal of the wall.")
    angle_uncertainty: Quantity | None = None
    speed: Quantity = Field(description="Of that wave in the wedge, at `speed_temperature`.")
    speed_uncertainty: Quantity | None = None
    speed_temperature: Quantity | None = None
    speed_slope: Quantity | None = Field(None, description="Change of the speed per kelvin, such as -2.5 m/(s.K).")
    temperature: Quantity | None = Field(None, description="Of the wedge; the wall's when not given.")
    temperature_uncertainty: Quantity | None = None
    frequency: Quantity
    wave: Literal["longitudinal", "shear"] = "longitudinal"
    density: Quantity | None = None
    other_speed: Quantity | None = Field(None, description="Speed of the wedge's other wave, for transmission.")
    width: Quantity | None = Field(None, description="Of the active element, for the spreading of the beam.")
    offset: Quantity | None = Field(None, description="s0, from sound exit points to the marks; 0 when not given.")
    offset_uncertainty: Quantity | None = None
    delay: Quantity | None = Field(None, description="T0, in wedges, cables and electronics; 0 when not given.")
    delay_uncertainty: Quantity | None = None
    housing_length: Quantity | None = None
    passes: Annotated[int, Field(strict=True, ge=1, le=6)] = 2
    spacing_set: Quantity | None = Field(None, description="The spacing that was really set.")
    spacing_entered: Literal["yes", "no"] = Field("yes", description="Whether the instrument was told `spacing_set`.")
    spacing_uncertainty: Quantity | None = None
    rail_step: Quantity | None = None
    rail_first: Quantity | None = Field(None, description="Spacing at the first hole of the rail; 0 when not given.")
    time_uncertainty: Quantity | None = None
    zero_stability: Quantity | None = Field(None, description="Standard uncertainty of the time difference at rest.")
    calibration_uncertainty: Quantity | None = None
    least_temperature: Quantity | None = None
    greatest_temperature: Quantity | None = None
    couplant_least_temperature: Quantity | None = None
    couplant_greatest_temperature: Quantity | None = None


class Heat(Section):
    """For cooling and heating: the other temperature of the circuit."""

    service: Literal["heating", "cooling"] | None = Field(None, description="As the temperatures say if not given.")
    supply: Quantity
    return_: Quantity = Field(alias="return")
    supply_uncertainty: Quantity | None = None
    return_uncertainty: Quantity | None = None
    correlation: Annotated[float, Field(strict=True, ge=-1, le=1)] = Field(
        0.0, description="Of the errors of the two sensors."
    )
    meter_in: Literal["supply", "return"]


class Mounted(Section):
    """What the instrument showed after mounting."""

    sound_speed: Quantity | None = None
    sound_speed_uncertainty: Quantity | None = None
    zero_difference: Quantity | None = Field(None, description="Time difference at rest, such as 0.3 ns.")
    zero_corrected: YesNo = Field("unknown", description="Whether the instrument takes `zero_difference` off.")
    time_difference: Quantity | None = Field(None, description="As the instrument shows it in flow.")
    flow: Quantity | None = None
    flow_expanded_uncertainty: Quantity | None = None
    other_flow: Quantity | None = Field(None, description="Of a second meter in the same line.")
    other_flow_expanded_uncertainty: Quantity | None = None


class Job(Section):
    """One pipe, one liquid, one pair of sensors."""

    title: Text = "Job"
    purpose: Text | None = None
    setting: Text | None = Field(None, description="Where; `invented` settings say so.")
    time_in_liquid: Literal["measured", "computed"] = "measured"
    accept: Literal["estimates"] | None = None
    layers: Literal["release", "house,release"] = Field(
        "release", description="With `house,release` the organisation's own values come first."
    )
    release: Text | None = None
    units: Literal["si", "us"] = "si"
    flow: FlowRange | None = None
    liquid: Liquid
    pipe: Pipe
    access: Access = Access()
    sensors: Sensors
    heat: Heat | None = None
    mounted: Mounted | None = None


class KnownSpacing(Section):
    """A spacing that is known to be right, on a known pipe."""

    spacing: Quantity
    passes: Annotated[int, Field(strict=True, ge=1, le=6)]
    bore: Quantity
    sound_speed: Quantity
    wall: Quantity
    wall_speed: Quantity = Field(description="Of the wave that crosses the wall.")
    lining: Quantity | None = Field(None, description="Thickness of a lining.")
    lining_speed: Quantity | None = Field(None, description="Of the wave that crosses the lining.")
    spacing_uncertainty: Quantity | None = Field(None, description="Standard uncertainty; 0.5 mm when not given.")


class FitQuestion(Section):
    """Sensors whose data nobody has, with spacings that are known."""

    known: Annotated[list[KnownSpacing], Field(min_length=2, max_length=50)]


class CompareQuestion(Section):
    """Two meters in one line."""

    first: Quantity
    first_expanded_uncertainty: Quantity
    second: Quantity
    second_expanded_uncertainty: Quantity


class AgainstQuestion(Section):
    """A job, and the release that it is compared on."""

    job: Job
    release: Text
