"""Measuring the sound speed of a liquid on site, where nobody has published it.

Over a path: between two positions of the probes, or two spools, whose paths differ by d, the travel times differ by t
and c = d / t; the delays of probes, walls and couplant cancel. Against water: in one vessel, at one temperature, first
with water and then with the liquid, c = c_w t_w / t; the path cancels and the delays must have been taken off. The
uncertainty is that of a product of independent inputs, JCGM 100:2008, 5.1.6.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from refdb.onsite.question import LiquidSpeedQuestion
from refdb.problems import BadParameter
from refdb.questions import fields_of
from refdb.units import Quantity, units, with_uncertainty
from refdb.units.sizes import read_size, relative
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.onsite.documents import LiquidInput, MeasuredLiquidSpeedDocument

PATH_METHOD = (
    "c = d / t: d is by how much two paths through the liquid differ, t by how much the travel times over them differ, "
    "so that the delays of probes, walls and couplant cancel. Standard uncertainty after JCGM 100:2008, 5.1.6: "
    "(u/c)² = (u_d/d)² + (u_t/t)²."
)
WATER_METHOD = (
    "c = c_w t_w / t: one vessel, one temperature, t_w with water in it and t with the liquid, both without the delays "
    "of probes, walls and couplant. Standard uncertainty after JCGM 100:2008, 5.1.6: (u/c)² = (u_cw/c_w)² + "
    "(u_tw/t_w)² + (u_t/t)² + (u_T dc_w/dT / c_w)²."
)
ADVICE = (
    "Use a spool or a beaker with parallel faces and a path of 50 mm or more; measure the path with a calliper, or by "
    "filling it with clean water first.",
    "Take the delay off: the difference between two paths, or between two echoes, has none; one travel time through "
    "probe and wall has.",
    "Let liquid and vessel stand until the temperature is steady, stir, let bubbles rise, and note the temperature: "
    "the speed belongs to it. Measure at two temperatures where the process has a range.",
    "Of a solution or a mixture take the sample from the running line, and note its density: it tells a later change.",
    "Hazardous liquids are sampled and handled by those who are licensed to, under the rules of the site and the "
    "safety data sheet; no open beaker of what is toxic, flammable, hot, under pressure or near its boiling point.",
)


Inputs = tuple[tuple["LiquidInput", Quantity, Quantity, float], ...]
"""Each input's name, value, standard uncertainty, and part of the relative uncertainty of the speed."""


@dataclass(frozen=True, slots=True)
class MeasuredLiquidSpeed:
    """A liquid's speed found on site, with what each input contributes to its standard uncertainty."""

    speed: Quantity
    standard_uncertainty: Quantity
    inputs: Inputs
    method: str
    water: Answer | None = None

    def document(self) -> MeasuredLiquidSpeedDocument:
        """The result as plain JSON values."""
        return {
            "speed": self.speed.document(),
            "standard_uncertainty": self.standard_uncertainty.document(),
            "water": self.water.document() if self.water is not None else None,
            "inputs": [
                {
                    "input": name,
                    "value": value.document(),
                    "standard_uncertainty": uncertainty.document(),
                    "contribution": Quantity(part * self.speed.magnitude, self.speed.unit).document(),
                }
                for name, value, uncertainty, part in self.inputs
            ],
            "method": self.method,
            "advice": list(ADVICE),
        }

    def __str__(self) -> str:
        return with_uncertainty(self.speed, self.standard_uncertainty)


_OF_PATH = ("travel_time", "travel_time_uncertainty", "path_uncertainty")
_OF_WATER = (
    "travel_time",
    "travel_time_uncertainty",
    "water_time_uncertainty",
    "temperature",
    "temperature_uncertainty",
)


def check_liquid_parts(asked: LiquidSpeedQuestion) -> None:
    """Whether a question is complete, for one of the two ways.

    Raises:
        BadParameter: a part is missing, or belongs to the other way.
    """
    if (asked.path is None) == (asked.water_time is None):
        fault = "is missing" if asked.path is None else "is given together with water_time"
        raise BadParameter(
            f"path: {fault}; give the path that a travel time belongs to, as in '100 mm', or the water_time of the "
            "same vessel.",
            parameter="path",
        )
    needed, other = (_OF_PATH, _OF_WATER) if asked.path is not None else (_OF_WATER, _OF_PATH)
    for field in fields_of(LiquidSpeedQuestion):
        if field.name in needed and getattr(asked, field.name) is None:
            raise BadParameter(f"{field.name}: is missing; give it, as in '{field.example}'.", parameter=field.name)
    for name in other:
        if name not in needed and getattr(asked, name) is not None:
            way = "path" if asked.path is not None else "water_time"
            raise BadParameter(f"{name}: is not used with {way}; leave it out.", parameter=name)


def refuse_solid_parts(given: Mapping[str, Any]) -> None:
    """Refuse the parts of an echo in a solid, where a liquid is asked about.

    Raises:
        BadParameter: one of them is given.
    """
    for name, text in given.items():
        if text is not None:
            raise BadParameter(
                f"{name}: belongs to an echo in a solid part; leave it out, or leave out what belongs to a liquid.",
                parameter=name,
            )


def speed_over_path(asked: LiquidSpeedQuestion, unit: str = "m/s") -> MeasuredLiquidSpeed:
    """The speed in a liquid from a known path: `path="100 mm"`, `travel_time="67.5 us"` give 1481 m/s.

    Raises:
        BadParameter: a part is missing or not above zero.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    check_liquid_parts(asked)
    path, path_uncertainty = _pair(asked, "path", "length")
    time, time_uncertainty = _pair(asked, "travel_time", "time")
    metres = float(path.unit.to(path.magnitude, units().si("length")))
    parts: Inputs = (
        ("path", path, path_uncertainty, relative(path, path_uncertainty)),
        ("travel_time", time, time_uncertainty, relative(time, time_uncertainty)),
    )
    return _measured(metres / _seconds(time), parts, PATH_METHOD, unit)


def speed_against_water(asked: LiquidSpeedQuestion, water: Answer, unit: str = "m/s") -> MeasuredLiquidSpeed:
    """The speed in a liquid from travel times through it and through water, in one vessel at one temperature.

    Args:
        water: the sound speed of water at the temperature.

    Raises:
        BadParameter: a part is missing or not above zero.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    check_liquid_parts(asked)
    time, time_uncertainty = _pair(asked, "travel_time", "time")
    reference, reference_uncertainty = _pair(asked, "water_time", "time")
    kelvin = read_size(asked.temperature_uncertainty, "temperature_difference", "temperature_uncertainty", or_zero=True)
    speed = float(water.value.unit.to(water.magnitude, units().si("speed")))
    warm = float(kelvin.unit.difference_to(kelvin.magnitude, units().find("delta_K", "temperature_difference")))
    of_temperature = abs(float(water.slopes["temperature"])) * warm / float(water.magnitude)
    temperature = Quantity(water.celsius, units().find("degC", "temperature"))
    parts: Inputs = (
        ("travel_time", time, time_uncertainty, relative(time, time_uncertainty)),
        ("water_time", reference, reference_uncertainty, relative(reference, reference_uncertainty)),
        ("water_speed", water.value, water.standard_uncertainty, relative(water.value, water.standard_uncertainty)),
        ("temperature", temperature, kelvin, of_temperature),
    )
    return _measured(speed * _seconds(reference) / _seconds(time), parts, WATER_METHOD, unit, water)


def _measured(
    speed: float,
    parts: Inputs,
    method: str,
    unit: str,
    water: Answer | None = None,
) -> MeasuredLiquidSpeed:
    si, target = units().si("speed"), units().find(unit, "speed", "unit")
    uncertainty = speed * math.hypot(*(part for *_, part in parts))
    return MeasuredLiquidSpeed(
        Quantity(si.to(speed, target), target),
        Quantity(si.difference_to(uncertainty, target), target),
        parts,
        method,
        water,
    )


def _pair(asked: LiquidSpeedQuestion, name: str, dimension: str) -> tuple[Quantity, Quantity]:
    value = read_size(getattr(asked, name), dimension, name)
    uncertainty = f"{name}_uncertainty"
    return value, read_size(getattr(asked, uncertainty), dimension, uncertainty, or_zero=True)


def _seconds(time: Quantity) -> float:
    return float(time.unit.to(time.magnitude, units().find("s", "time")))
