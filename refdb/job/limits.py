"""What each quantity of a job may be: nothing that physics or any pipe forbids, and everything that exists.

Beyond a limit a number is refused, with the number and the way out. The limits are wide: liquid helium, molten sodium,
capillaries and penstocks lie inside. Those of one job against another number of it are in `refdb.job.contradictions`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from refdb.problems import Problem
from refdb.units import parse_quantity, units


class Allowed(NamedTuple):
    """The dimension of a member and what it may be, in its SI unit, both ends included, and why."""

    dimension: str
    low: float
    high: float
    why: str


_LENGTH, _SPEED, _TIME = "length", "speed", "time"
_SIZE = "no pipe is smaller or larger"
_SPREAD = "a standard uncertainty is above or at zero and of the size of an error"
_SOLID = "no solid carries sound slower or faster"
_LIQUID = "no liquid carries sound slower or faster"
_WARMTH = "no pipe is colder or hotter"
_FLOWING = "nothing thinner or thicker flows in pipes"
_DEAF = "nothing absorbs more and is still heard through"

LIMITS: dict[str, Allowed] = {
    **{
        f"flow.{name}": Allowed("volume_flow", 1e-10, 500.0, "no pipe carries less or more")
        for name in ("minimum", "normal", "maximum")
    },
    "flow.accuracy": Allowed("dimensionless", 1e-5, 1.0, "an accuracy is a part of the flow, such as 3 %"),
    "liquid.temperature": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "liquid.temperature_uncertainty": Allowed("temperature_difference", 0.0, 100.0, _SPREAD),
    "liquid.pressure": Allowed("pressure", 0.0, 1e9, "no line is below vacuum or above 10 000 bar"),
    "liquid.atmosphere": Allowed("pressure", 2e4, 1.2e5, "no place on earth has less or more"),
    "liquid.sound_speed": Allowed(_SPEED, 100.0, 5000.0, _LIQUID),
    "liquid.sound_speed_uncertainty": Allowed(_SPEED, 0.0, 1000.0, _SPREAD),
    "liquid.density": Allowed("density", 50.0, 25000.0, "no liquid is lighter or heavier"),
    "liquid.density_uncertainty": Allowed("density", 0.0, 5000.0, _SPREAD),
    "liquid.dynamic_viscosity": Allowed("dynamic_viscosity", 1e-9, 1e4, _FLOWING),
    "liquid.dynamic_viscosity_uncertainty": Allowed("dynamic_viscosity", 0.0, 1e4, _SPREAD),
    "liquid.kinematic_viscosity": Allowed("kinematic_viscosity", 1e-9, 10.0, _FLOWING),
    "liquid.specific_heat": Allowed("specific_heat", 100.0, 2e4, "no liquid takes up less or more heat"),
    "liquid.specific_heat_uncertainty": Allowed("specific_heat", 0.0, 5000.0, _SPREAD),
    "liquid.saturation_pressure": Allowed("pressure", 0.0, 5e7, "no liquid boils at a higher pressure"),
    "liquid.absorption": Allowed("absorption", 1e-9, 1e5, _DEAF),
    "liquid.absorption_uncertainty": Allowed("absorption", 0.0, 1e5, _SPREAD),
    "pipe.circumference": Allowed(_LENGTH, 0.005, 40.0, _SIZE),
    "pipe.outside_diameter": Allowed(_LENGTH, 0.0015, 13.0, _SIZE),
    "pipe.circumference_uncertainty": Allowed(_LENGTH, 0.0, 1.0, _SPREAD),
    "pipe.outside_diameter_uncertainty": Allowed(_LENGTH, 0.0, 0.5, _SPREAD),
    "pipe.wall": Allowed(_LENGTH, 1e-4, 1.0, "no wall is thinner or thicker"),
    "pipe.wall_uncertainty": Allowed(_LENGTH, 0.0, 0.1, _SPREAD),
    "pipe.gauge_speed": Allowed(_SPEED, 100.0, 2e4, _SOLID),
    "pipe.tape_thickness": Allowed(_LENGTH, 0.0, 0.005, "no tape is thicker"),
    "pipe.coating": Allowed(_LENGTH, 1e-6, 0.2, "no coating is thinner or thicker"),
    "pipe.coating_speed": Allowed(_SPEED, 20.0, 2e4, _SOLID),
    "pipe.measured_at": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "pipe.wall_temperature": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "pipe.longitudinal_speed": Allowed(_SPEED, 100.0, 2e4, _SOLID),
    "pipe.longitudinal_speed_uncertainty": Allowed(_SPEED, 0.0, 5000.0, _SPREAD),
    "pipe.shear_speed": Allowed(_SPEED, 20.0, 1.3e4, _SOLID),
    "pipe.shear_speed_uncertainty": Allowed(_SPEED, 0.0, 5000.0, _SPREAD),
    "pipe.density": Allowed("density", 20.0, 25000.0, "no solid is lighter or heavier"),
    "pipe.longitudinal_absorption": Allowed("absorption", 1e-9, 1e5, _DEAF),
    "pipe.shear_absorption": Allowed("absorption", 1e-9, 1e6, _DEAF),
    "pipe.thermal_expansion": Allowed("per_temperature", -2e-5, 1e-3, "no solid expands more"),
    "pipe.deposits": Allowed(_LENGTH, 0.0, 2.0, "no deposits are thicker"),
    "pipe.deposits_uncertainty": Allowed(_LENGTH, 0.0, 1.0, _SPREAD),
    "pipe.deposits_speed": Allowed(_SPEED, 20.0, 2e4, _SOLID),
    "pipe.ovality": Allowed("dimensionless", 0.0, 0.5, "no pipe is more oval"),
    "pipe.roughness": Allowed(_LENGTH, 0.0, 0.2, "no pipe is rougher"),
    "pipe.lining.thickness": Allowed(_LENGTH, 1e-5, 1.0, "no lining is thinner or thicker"),
    "pipe.lining.thickness_uncertainty": Allowed(_LENGTH, 0.0, 0.5, _SPREAD),
    "pipe.lining.longitudinal_speed": Allowed(_SPEED, 20.0, 2e4, _SOLID),
    "pipe.lining.longitudinal_speed_uncertainty": Allowed(_SPEED, 0.0, 5000.0, _SPREAD),
    "pipe.lining.shear_speed": Allowed(_SPEED, 20.0, 1.3e4, _SOLID),
    "pipe.lining.shear_speed_uncertainty": Allowed(_SPEED, 0.0, 5000.0, _SPREAD),
    "pipe.lining.density": Allowed("density", 20.0, 25000.0, "no solid is lighter or heavier"),
    "pipe.lining.longitudinal_absorption": Allowed("absorption", 1e-9, 1e6, _DEAF),
    "pipe.lining.shear_absorption": Allowed("absorption", 1e-9, 1e7, _DEAF),
    "access.installation_uncertainty": Allowed("dimensionless", 0.0, 0.5, _SPREAD),
    "sensors.angle": Allowed("angle", 0.017, 1.5, "sound in a wedge goes at 1 deg to 85 deg from the normal"),
    "sensors.angle_uncertainty": Allowed("angle", 0.0, 0.2, _SPREAD),
    "sensors.speed": Allowed(_SPEED, 200.0, 1e4, "no wedge carries sound slower or faster"),
    "sensors.speed_uncertainty": Allowed(_SPEED, 0.0, 1000.0, _SPREAD),
    "sensors.speed_temperature": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "sensors.speed_slope": Allowed("speed_per_temperature", -50.0, 50.0, "no wedge's speed changes so fast"),
    "sensors.temperature": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "sensors.temperature_uncertainty": Allowed("temperature_difference", 0.0, 200.0, _SPREAD),
    "sensors.frequency": Allowed("frequency", 1e4, 1.2e7, "sensors on pipes work between 10 kHz and 12 MHz"),
    "sensors.density": Allowed("density", 100.0, 25000.0, "no wedge is lighter or heavier"),
    "sensors.other_speed": Allowed(_SPEED, 100.0, 1.2e4, "no wedge carries sound slower or faster"),
    "sensors.width": Allowed(_LENGTH, 1e-4, 0.5, "no element is smaller or larger"),
    "sensors.offset": Allowed(_LENGTH, -1.0, 1.0, "marks stand on the housings"),
    "sensors.offset_uncertainty": Allowed(_LENGTH, 0.0, 0.1, _SPREAD),
    "sensors.delay": Allowed(_TIME, -1e-3, 1e-3, "sound is through wedges and cables in less than a millisecond"),
    "sensors.delay_uncertainty": Allowed(_TIME, 0.0, 1e-4, _SPREAD),
    "sensors.housing_length": Allowed(_LENGTH, 1e-3, 3.0, "no housing is smaller or larger"),
    "sensors.spacing_set": Allowed(_LENGTH, -2.0, 100.0, "no pair stands further apart"),
    "sensors.spacing_uncertainty": Allowed(_LENGTH, 0.0, 0.5, _SPREAD),
    "sensors.rail_step": Allowed(_LENGTH, 1e-4, 1.0, "no rail has smaller or larger steps"),
    "sensors.rail_first": Allowed(_LENGTH, -1.0, 5.0, "no rail begins further away"),
    "sensors.time_uncertainty": Allowed(_TIME, 0.0, 1e-4, _SPREAD),
    "sensors.zero_stability": Allowed(_TIME, 0.0, 1e-5, _SPREAD),
    "sensors.calibration_uncertainty": Allowed("dimensionless", 0.0, 0.5, _SPREAD),
    **{
        f"sensors.{name}_temperature": Allowed("temperature", 1.0, 1500.0, _WARMTH)
        for name in ("least", "greatest", "couplant_least", "couplant_greatest")
    },
    "heat.supply": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "heat.return": Allowed("temperature", 1.0, 1500.0, _WARMTH),
    "heat.supply_uncertainty": Allowed("temperature_difference", 0.0, 50.0, _SPREAD),
    "heat.return_uncertainty": Allowed("temperature_difference", 0.0, 50.0, _SPREAD),
    "mounted.sound_speed": Allowed(_SPEED, 100.0, 5000.0, _LIQUID),
    "mounted.sound_speed_uncertainty": Allowed(_SPEED, 0.0, 1000.0, _SPREAD),
    "mounted.zero_difference": Allowed(_TIME, -1e-5, 1e-5, "a time difference at rest is a few nanoseconds"),
    "mounted.time_difference": Allowed(_TIME, -1e-3, 1e-3, "no flow makes a greater time difference"),
    "mounted.flow": Allowed("volume_flow", -500.0, 500.0, "no pipe carries more"),
    "mounted.flow_expanded_uncertainty": Allowed("volume_flow", 1e-12, 500.0, _SPREAD),
    "mounted.other_flow": Allowed("volume_flow", -500.0, 500.0, "no pipe carries more"),
    "mounted.other_flow_expanded_uncertainty": Allowed("volume_flow", 1e-12, 500.0, _SPREAD),
}
"""By member; where a member may be a list, each of it."""
FREE = frozenset({"liquid.strength", "liquid.salinity", "access.upstream", "access.downstream"})
"""Quantities that are read elsewhere: strengths and lengths have forms of their own."""


def beyond(content: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Every quantity of a document that cannot be read, or is what nothing is: its member, and the words.

    Args:
        content: the document as it came; parts that are no quantities are passed over.
    """
    for where, item in _members(content, ""):
        limit = LIMITS.get(where)
        if limit is None:
            continue
        for text in item if isinstance(item, list) else [item]:
            if isinstance(text, str):
                words = _fault(text, where, limit)
                if words is not None:
                    yield where, words


def _members(content: Mapping[str, Any], where: str) -> Iterator[tuple[str, Any]]:
    for name, item in content.items():
        if isinstance(item, Mapping):
            yield from _members(item, f"{where}{name}.")
        else:
            yield f"{where}{name}", item


def _fault(text: str, where: str, limit: Allowed) -> str | None:
    try:
        quantity = parse_quantity(text, limit.dimension, where)
    except Problem as problem:
        return problem.detail.removeprefix(f"{where}: ").rstrip(".")
    unit, si = quantity.unit, units().si(limit.dimension)
    amount = float(unit.to(quantity.magnitude, si))
    if limit.low <= amount <= limit.high:
        return None
    low, high = (f"{float(si.to(end, unit)):.4g} {unit.symbol}" for end in (limit.low, limit.high))
    return f"{text} is not between {low} and {high}: {limit.why}; check the number and its unit"
