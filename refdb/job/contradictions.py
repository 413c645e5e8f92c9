"""Members of a job's document that contradict each other, refused by name before anything is worked out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from statistics import fmean
from typing import TYPE_CHECKING, Protocol

from refdb.job.quantities import celsius, number, positive
from refdb.problems import BadParameter

if TYPE_CHECKING:
    from refdb.job.models import Job

DIAMETERS_APART = (0.001, 0.01)
"""m, and of the diameter: by how much tape and calipers may differ, an oval pipe allowed for (judgement)."""
METER_APART = 5.0
"""K: by how much the liquid may differ from the line of the circuit in which the meter is (judgement)."""


def check_document(job: Job) -> None:
    """Raises BadParameter, naming the member that contradicts another one."""
    for check in (_flow, _diameters, _viscosity, _passes, _sensor_range, _heat, _needs, _file):
        check(job)


def _flow(job: Job) -> None:
    if job.flow is None:
        return
    names = [name for name in ("minimum", "normal", "maximum") if getattr(job.flow, name) is not None]
    amounts = [positive(getattr(job.flow, name), "volume_flow", f"flow.{name}") for name in names]
    for lower, upper, small, large in zip(names, names[1:], amounts, amounts[1:], strict=False):
        if small > large:
            raise BadParameter(
                f"flow.{lower}: is above flow.{upper}; exchange them or correct one.", parameter=f"flow.{lower}"
            )


def _diameters(job: Job) -> None:
    pipe = job.pipe
    if pipe.circumference is None or pipe.outside_diameter is None:
        return
    tape = number(pipe.tape_thickness, "length", "pipe.tape_thickness") if pipe.tape_thickness else 0.0
    around = _mean(pipe.circumference, "pipe.circumference") / math.pi - tape
    across = _mean(pipe.outside_diameter, "pipe.outside_diameter")
    if abs(around - across) > DIAMETERS_APART[0] + DIAMETERS_APART[1] * across:
        raise BadParameter(
            f"pipe.circumference: gives a diameter of {1000 * around:.1f} mm, pipe.outside_diameter is "
            f"{1000 * across:.1f} mm; measure again, or leave the worse of the two out.",
            parameter="pipe.circumference",
        )


def _viscosity(job: Job) -> None:
    if job.liquid.kinematic_viscosity is not None and job.liquid.dynamic_viscosity is not None:
        raise BadParameter(
            "liquid.kinematic_viscosity: stands beside liquid.dynamic_viscosity; leave one of the two out.",
            parameter="liquid.kinematic_viscosity",
        )


def _file(job: Job) -> None:
    if job.sensors.file is not None:
        raise BadParameter(
            "sensors.file: names a file, which only the command line reads; give the members of the sensors here.",
            parameter="sensors.file",
        )


def _mean(given: str | list[str], where: str) -> float:
    """Of one reading or several, in metres."""
    return fmean(positive(each, "length", where) for each in (given if isinstance(given, list) else [given]))


def _passes(job: Job) -> None:
    sensors = job.sensors
    if sensors.spacing_set is not None and "passes" not in sensors.model_fields_set:
        raise BadParameter(
            "sensors.spacing_set: means nothing without sensors.passes; give for how many passes it was set.",
            parameter="sensors.spacing_set",
        )


def _sensor_range(job: Job) -> None:
    sensors = job.sensors
    for kind in ("", "couplant_"):
        texts = [getattr(sensors, f"{kind}{end}_temperature") for end in ("least", "greatest")]
        if None in texts:
            continue
        low, high = (number(text, "temperature", f"sensors.{kind}temperature") for text in texts)
        if low > high:
            raise BadParameter(
                f"sensors.{kind}least_temperature: is above sensors.{kind}greatest_temperature; exchange them.",
                parameter=f"sensors.{kind}least_temperature",
            )


def _heat(job: Job) -> None:
    heat = job.heat
    if heat is None:
        return
    supply, back = (
        number(text, "temperature", f"heat.{name}")
        for name, text in (("supply", heat.supply), ("return", heat.return_))
    )
    if supply == back:
        raise BadParameter("heat.supply: is that of the return; no heat is carried.", parameter="heat.supply")
    told = "heating" if supply > back else "cooling"
    if heat.service is not None and heat.service != told:
        raise BadParameter(
            f"heat.service: is {heat.service}, and a supply {'above' if supply > back else 'below'} the return is "
            f"{told}; exchange supply and return, or correct the service.",
            parameter="heat.service",
        )
    liquid = number(job.liquid.temperature, "temperature", "liquid.temperature")
    at_meter = supply if heat.meter_in == "supply" else back
    if abs(liquid - at_meter) > METER_APART:
        raise BadParameter(
            f"heat.meter_in: the meter is in the {heat.meter_in} at {celsius(at_meter):.1f} degC, and "
            f"liquid.temperature is {celsius(liquid):.1f} degC; give there the one where the meter stands.",
            parameter="heat.meter_in",
        )


_NEEDED = (
    ("sensors", "speed_temperature", "speed_slope"),
    ("sensors", "rail_first", "rail_step"),
    ("pipe", "coating_speed", "coating"),
    ("pipe", "deposits_speed", "deposits"),
    ("pipe", "deposits_uncertainty", "deposits"),
    ("pipe", "designation", "size"),
    ("liquid", "absorption_uncertainty", "absorption"),
    ("liquid", "atmosphere", "pressure"),
    ("mounted", "sound_speed_uncertainty", "sound_speed"),
)
"""Members that say something of another one, which must then be there."""


def _needs(job: Job) -> None:
    sections = {"sensors": job.sensors, "pipe": job.pipe, "liquid": job.liquid, "mounted": job.mounted}
    for section, name, needed in _NEEDED:
        part = sections[section]
        if part is not None and getattr(part, name) is not None and getattr(part, needed) is None:
            raise BadParameter(
                f"{section}.{name}: says something of {section}.{needed}, which is missing; give both or neither.",
                parameter=f"{section}.{name}",
            )


class _Numbers(Protocol):
    """What is read once the numbers are there."""

    job: Job

    def value(self, name: str) -> float: ...


FASTEST, FAST = 60.0, 15.0
"""m/s: no liquid flows faster in a pipe, and few as fast (judgement)."""
ROUGHEST = 0.05
"""Of the bore: the law of friction in rough pipes ends here (range of Moody's chart, by memory)."""


def check_flow(flows: Mapping[str, float], bore: float, roughness: float) -> list[str]:
    """What is to be minded of velocity and roughness.

    Raises:
        BadParameter: a flow is faster than liquids flow, or the roughness fills the bore.
    """
    if roughness > ROUGHEST * bore:
        raise BadParameter(
            f"pipe.roughness: {1000 * roughness:.4g} mm is more than {100 * ROUGHEST:g} % of the bore of "
            f"{1000 * bore:.4g} mm, where no law of friction holds; check number and unit.",
            parameter="pipe.roughness",
        )
    minded = []
    for name, amount in flows.items():
        velocity = amount / (math.pi / 4.0 * bore * bore)
        if velocity > FASTEST:
            raise BadParameter(
                f"flow.{name}: is {velocity:.4g} m/s in a bore of {1000 * bore:.4g} mm, and no liquid flows so fast; "
                "check the flow, its unit and the diameter.",
                parameter=f"flow.{name}",
            )
        if velocity > FAST:
            minded.append(f"flow.{name}: {velocity:.3g} m/s is faster than liquids usually flow: check its unit.")
    return minded


def check_temperatures(inputs: _Numbers) -> None:
    """Raises BadParameter where the wedge is colder or hotter than the sensors bear."""
    sensors = inputs.job.sensors
    wedge = inputs.value("wedge temperature")
    limits: Mapping[str, float] = {"least_temperature": -1.0, "greatest_temperature": 1.0}
    for name, sign in limits.items():
        text = getattr(sensors, name)
        if text is None:
            continue
        limit = number(text, "temperature", f"sensors.{name}")
        if sign * (wedge - limit) > 0.0:
            raise BadParameter(
                f"sensors.{name}: is {celsius(limit):.1f} degC, and the wedge is at {celsius(wedge):.1f} degC; take "
                "sensors for this temperature, or give sensors.temperature where it is not that of the wall.",
                parameter=f"sensors.{name}",
            )
