"""Heat from a volume flow and two temperatures.

The heat coefficient is the enthalpy difference per kelvin times the density where the meter stands: for water by
IAPWS-IF97 at 1.6 MPa through the library `seuif97`, for other liquids by their rows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from refdb.job.acoustics.ray import Ray
from refdb.job.flow.metering import budget_of
from refdb.job.inputs.flow import flows
from refdb.job.inputs.held import Inputs
from refdb.job.inputs.liquid import liquid_state
from refdb.job.quantities import celsius, difference, number
from refdb.job.uncertainty import Variable, propagate
from refdb.problems import MissingState
from refdb.units.sizes import NO_SOURCE

NODES = 5
"""Of Gauss's rule: exact for polynomials up to the ninth power, and cp of a liquid is a gentle curve."""
STANDARD_PRESSURE, MOST_CELSIUS = 1.6, 200.0
"""MPa, of the heat coefficient of EN 1434-1, and up to where water is taken as liquid there (both by memory: the
standard was not seen)."""
_STANDARD = "the method of EN 1434-1, with IAPWS-IF97 at 1.6 MPa; the standard itself was not seen"
_OTHERWISE = "density and mean specific heat of this liquid: EN 1434-1 gives a coefficient for water only"
PAIR_UNCERTAINTY = 0.15
"""K: of each temperature of the circuit, where none is given."""


def mean_specific_heat(specific_heat: Callable[[float], float], warm: float, cold: float) -> float:
    """The mean of cp between two temperatures, by Gauss's rule."""
    from numpy.polynomial.legendre import leggauss

    middle, half = 0.5 * (warm + cold), 0.5 * (warm - cold)
    nodes, weights = leggauss(NODES)
    return sum(
        float(weight) * specific_heat(middle + half * float(node)) for node, weight in zip(nodes, weights, strict=True)
    ) / float(weights.sum())


def heat_coefficient(density: float, mean_heat: float) -> float:
    """Heat per volume and kelvin, J/(m3 K): density where the meter stands times the mean specific heat."""
    return density * mean_heat


def heat_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The power at the normal flow, the heat coefficient and the part of the pair of temperatures.

    Raises:
        MissingState: the job tells no heat, or the specific heat is unknown.
    """
    asked = inputs.job.heat
    if asked is None:
        raise MissingState("heat: is not given; tell supply, return and where the meter is.", parameter="heat")
    supply, back = (number(text, "temperature", f"heat.{name}") for name, text in _pair(inputs))
    at_meter = supply if asked.meter_in == "supply" else back
    liquid = inputs.job.liquid
    by_hand = liquid.density is not None or liquid.specific_heat is not None
    by_standard = _is_water(inputs) and not by_hand and _within_standard(supply, back)
    if by_standard:
        coefficient = water_coefficient(supply, back, at_meter)
    else:
        density = _property(inputs, "density", at_meter)
        mean_heat = mean_specific_heat(lambda kelvin: _property(inputs, "specific_heat", kelvin), supply, back)
        coefficient = heat_coefficient(density, mean_heat)
    budget = budget_of(inputs, path, flows(inputs)["normal"])
    uncertainties = [
        difference(text, "temperature", f"heat.{name}_uncertainty") if text is not None else PAIR_UNCERTAINTY
        for name, text in (("supply", asked.supply_uncertainty), ("return", asked.return_uncertainty))
    ]
    variables = {
        "flow": Variable(budget.value, budget.uncertainty),
        "supply": Variable(supply, uncertainties[0]),
        "return": Variable(back, uncertainties[1]),
        "heat coefficient": Variable(coefficient, coefficient * _coefficient_uncertainty(inputs)),
    }
    power = propagate(
        lambda x: x["flow"] * x["heat coefficient"] * (x["supply"] - x["return"]),
        variables,
        {("supply", "return"): asked.correlation},
    )
    apart = [variables[name].uncertainty for name in ("supply", "return")]
    pair = math.sqrt(max(apart[0] ** 2 + apart[1] ** 2 - 2.0 * asked.correlation * apart[0] * apart[1], 0.0))
    return {
        "power": {"magnitude": power.value / 1000.0, "unit": "kW"},
        "standard_uncertainty": {"magnitude": power.uncertainty / 1000.0, "unit": "kW"},
        "service": "heating" if supply > back else "cooling",
        "text": "the circuit gives off this heat, to a load that is heated"
        if supply > back
        else "below zero: the circuit takes up this heat, from a load that is cooled",
        "difference": {"magnitude": supply - back, "unit": "K"},
        "uncertainty_of_difference": {"magnitude": pair, "unit": "K"},
        "correlation": asked.correlation,
        "energy_per_volume": {"magnitude": coefficient * (supply - back) / 3.6e6, "unit": "kW.h/m3"},
        "meter_in": asked.meter_in,
        "heat_coefficient": {"magnitude": coefficient / 1e6, "unit": "MJ/(m3.K)"},
        "standard": _STANDARD if by_standard else _OTHERWISE,
        "contributions": [
            {"input": item.name, "relative": {"magnitude": 100.0 * item.amount / power.value, "unit": "%"}}
            for item in power.contributions
        ],
        "assumptions": [
            f"temperatures: standard uncertainty {PAIR_UNCERTAINTY} K where none is given ({NO_SOURCE})",
            "heat coefficient: uncertain as density and specific heat of the liquid are",
        ],
    }


def water_coefficient(supply: float, back: float, at_meter: float) -> float:
    """Heat per volume and kelvin of water, J/(m3 K), by IAPWS-IF97 at 1.6 MPa: density at the meter times Δh over Δt.

    Args:
        supply, back: temperatures of the circuit, K, not equal.
        at_meter: the one where the meter stands, K.
    """
    # Compiled: its functions are not declared for type checkers.
    from seuif97 import pt2h, pt2v  # pyright: ignore[reportAttributeAccessIssue]

    warm, cold = celsius(supply), celsius(back)
    enthalpy = 1000.0 * (pt2h(STANDARD_PRESSURE, warm) - pt2h(STANDARD_PRESSURE, cold))
    return float(enthalpy / (warm - cold) / pt2v(STANDARD_PRESSURE, celsius(at_meter)))


def _within_standard(*kelvins: float) -> bool:
    """Whether water is liquid at the standard's pressure at these temperatures."""
    return all(0.0 <= celsius(each) <= MOST_CELSIUS for each in kelvins)


def _coefficient_uncertainty(inputs: Inputs) -> float:
    """Relative standard uncertainty: density and specific heat each count in full."""
    parts = [inputs[name].uncertainty / inputs[name].value for name in ("density", "specific heat")]
    return math.hypot(*parts)


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
    state = liquid_state(inputs, f"{kelvin:.12g} K")
    found = inputs.database.values(
        liquid.substance, [property_id], state=state, options=inputs.options, release=inputs.release, kind="liquid"
    )
    inputs.rows[found.values[0].row] = found.values[0].digest
    return float(found.values[0].magnitude)
