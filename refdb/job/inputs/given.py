"""The unit in which the user gave an input: it is shown in that unit, whatever the sheet's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.job.inputs.held import JobInput
from refdb.units import parse_quantity

if TYPE_CHECKING:
    from refdb.job.models import Job

_MEMBERS = {
    "liquid temperature": ("liquid", "temperature"),
    "wall temperature": ("pipe", "wall_temperature"),
    "wedge temperature": ("sensors", "temperature"),
    "sound speed": ("liquid", "sound_speed"),
    "density": ("liquid", "density"),
    "dynamic viscosity": ("liquid", "dynamic_viscosity"),
    "specific heat": ("liquid", "specific_heat"),
    "saturation pressure": ("liquid", "saturation_pressure"),
    "pressure": ("liquid", "pressure"),
    "absorption": ("liquid", "absorption"),
    "wall": ("pipe", "wall"),
    "outside diameter": ("pipe", "outside_diameter"),
    "deposits": ("pipe", "deposits"),
    "coating": ("pipe", "coating"),
    "roughness": ("pipe", "roughness"),
    "thermal expansion": ("pipe", "thermal_expansion"),
    "wedge angle": ("sensors", "angle"),
    "wedge speed": ("sensors", "speed"),
    "offset": ("sensors", "offset"),
    "delay": ("sensors", "delay"),
    "frequency": ("sensors", "frequency"),
}
"""The member that gives each input."""


def own_unit(job: Job, item: JobInput) -> str | None:
    """The symbol of the unit that the user gave an input in; None for what comes from elsewhere."""
    if item.origin != "given" or item.name not in _MEMBERS:
        return None
    section, member = _MEMBERS[item.name]
    told = getattr(getattr(job, section), member)
    text = told[0] if isinstance(told, list) and told else told
    if not isinstance(text, str):
        return None
    return parse_quantity(text, item.dimension, f"{section}.{member}").unit.symbol
