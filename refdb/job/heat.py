"""Heat from a volume flow and two temperatures.

The heat coefficient of EN 1434-1 is the enthalpy difference per kelvin times the density where the meter stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from refdb.job.acoustics import Ray
from refdb.job.inputs import Inputs, difference, number
from refdb.job.metering import budget_of, flows
from refdb.job.uncertainty import Variable, propagate
from refdb.lookup.state import read_state
from refdb.problems import BadParameter, MissingState

NODES = ((-math.sqrt(0.6), 5.0 / 9.0), (0.0, 8.0 / 9.0), (math.sqrt(0.6), 5.0 / 9.0))
"""Gauss's rule of three points: exact for the fifth power, and cp of a liquid is a gentle curve."""


def mean_specific_heat(specific_heat: Callable[[float], float], warm: float, cold: float) -> float:
    """The mean of cp between two temperatures, by Gauss's rule."""
    middle, half = 0.5 * (warm + cold), 0.5 * (warm - cold)
    return sum(weight * specific_heat(middle + half * node) for node, weight in NODES) / 2.0


def heat_coefficient(density: float, mean_heat: float) -> float:
    """Heat per volume and kelvin, J/(m3 K): density where the meter stands times the mean specific heat."""
    return density * mean_heat


def heat_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The power at the normal flow, the heat coefficient and the part of the pair of temperatures.

    Raises:
        MissingState: the job tells no heat, or the specific heat is unknown.
        BadParameter: supply and return are equal.
    """
    asked = inputs.job.heat
    if asked is None:
        raise MissingState("heat: is not given; tell supply, return and where the meter is.", parameter="heat")
    supply, back = (number(text, "temperature", f"heat.{name}") for name, text in _pair(inputs))
    if supply == back:
        raise BadParameter("heat: supply and return are equal; no heat is carried.", parameter="heat.supply")
    at_meter = supply if asked.meter_in == "supply" else back
    density = _property(inputs, "density", at_meter)
    mean_heat = mean_specific_heat(lambda kelvin: _property(inputs, "specific_heat", kelvin), supply, back)
    coefficient = heat_coefficient(density, mean_heat)
    budget = budget_of(inputs, path, flows(inputs)["normal"])
    doubts = [
        difference(text, "temperature", f"heat.{name}_uncertainty") if text is not None else 0.15
        for name, text in (("supply", asked.supply_uncertainty), ("return", asked.return_uncertainty))
    ]
    variables = {
        "flow": Variable(budget.value, budget.uncertainty),
        "supply": Variable(supply, doubts[0]),
        "return": Variable(back, doubts[1]),
        "heat coefficient": Variable(coefficient, 0.001 * coefficient if _is_water(inputs) else 0.02 * coefficient),
    }
    power = propagate(
        lambda x: x["flow"] * x["heat coefficient"] * (x["supply"] - x["return"]),
        variables,
        {("supply", "return"): asked.correlation},
    )
    return {
        "power": {"magnitude": power.value / 1000.0, "unit": "kW"},
        "standard_uncertainty": {"magnitude": power.uncertainty / 1000.0, "unit": "kW"},
        "service": "heating" if supply > back else "cooling",
        "meter_in": asked.meter_in,
        "heat_coefficient": {"magnitude": coefficient / 1e6, "unit": "MJ/(m3.K)"},
        "standard": "EN 1434-1, heat coefficient" if _is_water(inputs) else "outside EN 1434: the liquid is not water",
        "contributions": [
            {"input": item.name, "relative": {"magnitude": 100.0 * item.amount / power.value, "unit": "%"}}
            for item in power.contributions
        ],
        "assumptions": [
            "temperatures: standard uncertainty 0.15 K where none is given (common practice, no source)",
            "heat coefficient: 0.1 % for water, 2 % for other liquids (judgement)",
        ],
    }


def _pair(inputs: Inputs) -> list[tuple[str, str]]:
    asked = inputs.job.heat
    assert asked is not None  # noqa: S101 - the caller looked
    return [("supply", asked.supply), ("return", asked.return_)]


def _is_water(inputs: Inputs) -> bool:
    substance = inputs.job.liquid.substance
    return substance is not None and inputs.database.subject(substance, inputs.release, "liquid").id == "water"


def _property(inputs: Inputs, property_id: str, kelvin: float) -> float:
    """A property of the liquid at a temperature of the circuit; the given one where it was given by hand."""
    liquid = inputs.job.liquid
    label = property_id.replace("_", " ")
    if getattr(liquid, property_id) is not None:
        return inputs.value(label)
    if label not in inputs.found or liquid.substance is None:
        raise MissingState(f"liquid.{property_id}: is needed for heat; give it.", parameter=f"liquid.{property_id}")
    state = read_state(f"{kelvin:.12g} K", liquid.pressure, liquid.salinity, liquid.strength)
    found = inputs.database.values(
        liquid.substance, [property_id], state=state, options=inputs.options, release=inputs.release, kind="liquid"
    )
    inputs.rows[found.values[0].row] = found.values[0].digest
    return float(found.values[0].magnitude)
