"""The liquid of a job: its temperatures, and its properties at its state, given or from rows of the database."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.job.quantities import number, positive, steady
from refdb.lookup.state import State, read_state
from refdb.problems import BadParameter, MissingState, NotAvailable, OutsideRange
from refdb.units import parse_quantity

if TYPE_CHECKING:
    pass

from refdb.job.inputs.bounds import bound_of_liquid, bounded_input
from refdb.job.inputs.held import RELATIVE_DEFAULTS, Inputs, JobInput, from_row, origin_of, uncertainty_of

CELSIUS_PLACES = 11
ABSORPTION = "absorption over frequency squared"
"""The label of the input that a row of the release gives where no absorption is given."""
_LIQUID = {
    "sound_speed": "speed",
    "density": "density",
    "dynamic_viscosity": "dynamic_viscosity",
}


def read_temperatures(inputs: Inputs) -> None:
    """Keep the temperatures of liquid, wall and wedge, each that of the one before where it is not given."""
    job = inputs.job
    liquid = number(job.liquid.temperature, "temperature", "liquid.temperature")
    uncertainty = uncertainty_of(
        inputs, "liquid.temperature", job.liquid.temperature_uncertainty, "temperature", liquid
    )
    inputs.keep(JobInput("liquid temperature", liquid, uncertainty, "temperature", "given"))
    wall, origin = liquid, "default"
    if job.pipe.wall_temperature is not None:
        wall, origin = number(job.pipe.wall_temperature, "temperature", "pipe.wall_temperature"), "given"
    else:
        inputs.assumptions.append("pipe.wall_temperature not given: that of the liquid")
    inputs.keep(JobInput("wall temperature", wall, uncertainty, "temperature", origin_of(origin)))
    wedge, origin = wall, "default"
    if job.sensors.temperature is not None:
        wedge, origin = number(job.sensors.temperature, "temperature", "sensors.temperature"), "given"
    else:
        inputs.assumptions.append("sensors.temperature not given: that of the wall")
    wedge_uncertainty = uncertainty_of(
        inputs, "sensors.temperature", job.sensors.temperature_uncertainty, "temperature", wedge
    )
    inputs.keep(JobInput("wedge temperature", wedge, wedge_uncertainty, "temperature", origin_of(origin)))


def read_liquid(inputs: Inputs) -> None:
    """Keep what is needed of the liquid at its state.

    Raises:
        Problem: a property is wrong, or neither given nor in the release.
    """
    job = inputs.job.liquid
    state = liquid_state(inputs, job.temperature)
    for name, dimension in _LIQUID.items():
        _liquid_property(inputs, name, dimension, state)
    for name, dimension in (("specific_heat", "specific_heat"), ("saturation_pressure", "pressure")):
        try:
            _liquid_property(inputs, name, dimension, state)
        except (NotAvailable, MissingState, OutsideRange):
            inputs.assumptions.append(f"liquid.{name}: not given and not in the release; what needs it is left out")
    inputs.keep(
        JobInput(
            "pressure", state.pascals or STANDARD_ATMOSPHERE, 0.0, "pressure", "given" if job.pressure else "default"
        )
    )
    inputs.assumptions += [text for text in state.assumptions if text not in inputs.assumptions]
    if job.absorption is not None:
        absorption = positive(job.absorption, "absorption", "liquid.absorption")
        uncertainty = uncertainty_of(inputs, "liquid.absorption", job.absorption_uncertainty, "absorption", absorption)
        inputs.keep(JobInput("absorption", absorption, uncertainty, "absorption", "given"))
    elif job.substance is not None and job.dynamic_viscosity is None:
        # What is as viscous as the engineer says is not the liquid that the release knows.
        _absorption_of_row(inputs, job.substance, state)


def liquid_state(inputs: Inputs, temperature: str) -> State:
    """The state of the job's liquid at a temperature; gauge pressures count from the told atmosphere."""
    job = inputs.job.liquid
    state = _steady(read_state(temperature, job.pressure, job.salinity, job.strength))
    if job.atmosphere is None or job.pressure is None or state.pascals is None:
        return state
    if not parse_quantity(job.pressure, "pressure", "liquid.pressure").unit.offset:
        raise BadParameter(
            "liquid.atmosphere: is of use with a gauge pressure only, and liquid.pressure is absolute; leave it out.",
            parameter="liquid.atmosphere",
        )
    air = positive(job.atmosphere, "pressure", "liquid.atmosphere")
    return replace(state, pascals=state.pascals - STANDARD_ATMOSPHERE + air, assumptions=())


def _steady(state: State) -> State:
    """The state without the last bits of converting its temperature and pressure."""
    if state.pascals is not None:
        state = replace(state, pascals=steady(state.pascals))
    # Degrees Celsius are a difference of kelvins, whose last bits weigh the more the nearer they are to zero.
    return replace(state, celsius=round(state.celsius, CELSIUS_PLACES))


def _absorption_of_row(inputs: Inputs, substance: str, state: State) -> None:
    """What the release says of the absorption: published, or a lower bound that the row's warning tells as one."""
    name = ABSORPTION.replace(" ", "_")
    try:
        found = inputs.database.values(
            substance, [name], state=state, options=inputs.options, release=inputs.release, kind="liquid"
        )
    except (NotAvailable, MissingState, OutsideRange):
        return
    inputs.keep(from_row(ABSORPTION, found.values[0], "absorption_per_frequency_squared"))


def _from_kinematic(inputs: Inputs, text: str) -> None:
    """A viscosity told in mm2/s or cSt, times the density, which is known before it."""
    density = inputs["density"]
    value = positive(text, "kinematic_viscosity", "liquid.kinematic_viscosity") * density.value
    uncertainty = uncertainty_of(inputs, "liquid.dynamic_viscosity", None, "dynamic_viscosity", value)
    words = f"{text} times the density"
    inputs.keep(JobInput("dynamic viscosity", value, uncertainty, "dynamic_viscosity", "given", words))


def _liquid_property(inputs: Inputs, name: str, dimension: str, state: State) -> None:
    job = inputs.job.liquid
    given = getattr(job, name)
    label = name.replace("_", " ")
    if name == "dynamic_viscosity" and job.kinematic_viscosity is not None:
        _from_kinematic(inputs, job.kinematic_viscosity)
        return
    if given is not None:
        value = positive(given, dimension, f"liquid.{name}")
        text = getattr(job, f"{name}_uncertainty", None)
        known = f"liquid.{name}" in RELATIVE_DEFAULTS
        uncertainty = uncertainty_of(inputs, f"liquid.{name}", text, dimension, value) if known else 0.0
        inputs.keep(JobInput(label, value, uncertainty, dimension, "given"))
        return
    if job.substance is None:
        raise MissingState(
            f"liquid.{name}: is not given, and no substance of the database is named; give one of the two.",
            parameter=f"liquid.{name}",
        )
    try:
        found = inputs.database.values(
            job.substance, [name], state=state, options=inputs.options, release=inputs.release, kind="liquid"
        )
    except OutsideRange as problem:
        bound = bound_of_liquid(inputs, job.substance, name, problem) if inputs.options.estimates else None
        if bound is None:
            raise
        inputs.keep(bounded_input(label, bound, dimension))
        return
    inputs.keep(from_row(label, found.values[0], dimension))
