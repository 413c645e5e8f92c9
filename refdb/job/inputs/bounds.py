"""What a property lies between where nobody says what it is: asked for with accept = "estimates" alone.

A bound is no value. The job works with its middle and counts a rectangle over it; its cost in flow is a contribution of
its own, and the verdict is at best conditional.

- What the release tells in place of a value.
- Beyond the temperatures of a row, the row at the nearest one it holds for, with the most that such properties change.
"""

from __future__ import annotations

import math

from refdb.job.inputs.held import Bound, Inputs, JobInput
from refdb.job.quantities import celsius
from refdb.lookup.find import subject_named
from refdb.lookup.state import read_state
from refdb.problems import OutsideRange, Problem
from refdb.units import parse_quantity, units
from refdb.values.value import Answer

SLOPES: dict[str, float] = {"thermoplastic": 8e-3, "fluoropolymer": 8e-3, "elastomer": 1e-2, "thermoset": 5e-3}
"""1/K, by family: the most that a speed falls by with the temperature, as a part of it (judgement)."""
HARD_SLOPE = 4e-4
"""The same of metals, glasses and minerals: aluminium's shear wave has 3e-4, steels 1.4e-4 (by memory)."""
DENSITY_SLOPE = 1e-3
"""1/K: the most that a density changes by (judgement; a solid's is three times its expansion)."""
VISCOSITY_SLOPE = 0.06
"""1/K: the most that the logarithm of a liquid's viscosity falls by with the temperature (judgement)."""
HEAT_SLOPE = 5e-3
"""1/K: the most that a liquid's specific heat changes by (judgement)."""
FARTHEST = 100.0
"""K beyond a row's range up to which a bound is given (judgement)."""
COVERED = 2.0
"""Standard uncertainties by which the ends of a bound are moved outwards."""


def bound_of_answer(answer: Answer) -> Bound:
    """What the release tells a property lies between, in SI units.

    Args:
        answer: one that has limits.
    """
    assert answer.limits is not None  # noqa: S101 - its callers ask for that first
    low, high = (float(end.unit.to(end.magnitude, units().si(end.unit.dimension))) for end in answer.limits)
    return Bound(low, high, answer.text.fixed["uncertainty_basis"]["text"])


def bound_of_solid(inputs: Inputs, material: str, property_id: str, refused: OutsideRange) -> Bound | None:
    """Between what a property of the wall or lining lies beyond its row, in SI units; None where it is too far.

    Args:
        refused: why there is no value.
    """
    slope = DENSITY_SLOPE if property_id == "density" else SLOPES.get(_family(inputs, material), HARD_SLOPE)
    degrees = celsius(inputs.value("wall temperature"))
    return _beyond(inputs, material, property_id, degrees, slope, refused, "material")


def bound_of_liquid(inputs: Inputs, substance: str, property_id: str, refused: Problem) -> Bound | None:
    """The same of the job's liquid beyond the temperatures of its row; never of its sound speed, nor without a row."""
    slopes = {"density": DENSITY_SLOPE, "dynamic_viscosity": VISCOSITY_SLOPE, "specific_heat": HEAT_SLOPE}
    if property_id not in slopes or not isinstance(refused, OutsideRange):
        return None
    degrees = celsius(inputs.value("liquid temperature"))
    return _beyond(inputs, substance, property_id, degrees, slopes[property_id], refused, "liquid")


def _beyond(
    inputs: Inputs, subject: str, property_id: str, degrees: float, slope: float, refused: OutsideRange, kind: str
) -> Bound | None:
    nearest = refused.extensions.get("nearest")
    text = nearest.get("temperature") if isinstance(nearest, dict) else nearest
    if not isinstance(text, str):
        return None
    try:
        edge = parse_quantity(text, "temperature", "nearest")
        found = _answer(inputs, subject, property_id, text, kind)
    except Problem:
        return None
    at = float(edge.unit.to(edge.magnitude, units().find("degC", "temperature")))
    if abs(degrees - at) > FARTHEST:
        return None
    inputs.rows[found.row] = found.digest
    low, high = _ends(found, at, degrees, slope)
    if property_id == "specific_heat":
        low, high = min(low, 2.0 * _si(found)[0] - high), high
    why = f"row {found.row} ends at {at:.4g} degC; from there it changes by at most {100 * slope:.3g} % a kelvin"
    return Bound(low, high, why)


def _ends(found: Answer, at: float, degrees: float, slope: float) -> tuple[float, float]:
    """What a row tells at its end, moved outwards by its uncertainty and by what the temperature may do."""
    if found.limits is not None:
        bound = bound_of_answer(found)
        low, high = bound.low, bound.high
    else:
        value, spread = _si(found)
        low, high = value - COVERED * spread, value + COVERED * spread
    fall = math.exp(-slope * abs(degrees - at))
    # Everything here falls with the temperature, or does not change.
    return (low * fall, high) if degrees >= at else (low, high / fall)


def _si(answer: Answer) -> tuple[float, float]:
    unit = answer.value.unit
    si = units().si(unit.dimension)
    spread = float(unit.difference_to(answer.standard_uncertainty.magnitude, si))
    return float(unit.to(answer.value.magnitude, si)), spread


def _answer(inputs: Inputs, subject: str, property_id: str, temperature: str, kind: str) -> Answer:
    job = inputs.job.liquid
    state = read_state(temperature)
    if kind == "liquid":
        state = read_state(temperature, job.pressure, job.salinity, job.strength)
    found = inputs.database.values(
        subject, [property_id], state=state, options=inputs.options, release=inputs.release, kind=kind
    )
    return found.values[0]


def _family(inputs: Inputs, material: str) -> str:
    try:
        return str(subject_named(inputs.database.store, material, inputs.release, "material").body.get("family"))
    except Problem:
        return ""


def middle(bound: Bound) -> float:
    """What is worked with."""
    return 0.5 * (bound.low + bound.high)


def bounded_input(label: str, bound: Bound, dimension: str) -> JobInput:
    """A bound as an input of a job: its middle, with a rectangle over it."""
    spread = 0.5 * (bound.high - bound.low) / math.sqrt(3.0)
    told = "between bounds"
    return JobInput(label, middle(bound), spread, dimension, "default", told, distribution="rectangular", bound=bound)
