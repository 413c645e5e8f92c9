"""By how much a job's pipe is larger at the temperature at which it runs than where its dimensions hold."""

from __future__ import annotations

import math
from dataclasses import dataclass

from refdb.constants import KELVIN_AT_0_CELSIUS, ROOM_CELSIUS
from refdb.job.inputs.held import Inputs, JobInput, from_row
from refdb.job.quantities import celsius, number
from refdb.lookup.find import subject_named
from refdb.lookup.state import read_state
from refdb.problems import MissingState, NotAvailable, OutsideRange, Problem

LIKE_ROOM = 1.0
"""K: a pipe within this of the temperature at which its dimensions hold has not grown."""
GIVEN_UNCERTAINTY = 0.05
"""Of a coefficient of expansion that is given (judgement)."""
MOST_EXPANSION = {"thermoplastic": 2.5e-4, "fluoropolymer": 2.5e-4, "elastomer": 3e-4, "thermoset": 1e-4}
"""1/K, by family: what no pipe material of it is above, where neither the job nor the release tells (judgement)."""
MOST_EXPANSION_OTHERWISE = 3e-5
"""1/K: the same of metals, glasses and minerals; lead, which expands most of them, has 2.9e-5 (by memory)."""


@dataclass(frozen=True, slots=True)
class Growth:
    """What a length is multiplied by, and its standard uncertainty."""

    factor: float
    uncertainty: float


SAME = Growth(1.0, 0.0)


def growth(inputs: Inputs, measured_at: float = KELVIN_AT_0_CELSIUS + ROOM_CELSIUS) -> Growth:
    """By what a length grows from the temperature in kelvin at which it holds to that of the wall.

    Where neither the job nor the release tells the expansion, a rectangle from none to the most that its family has
    stands in: its cost is in the uncertainty of the diameter.
    """
    rise = inputs.value("wall temperature") - measured_at
    if abs(rise) <= LIKE_ROOM:
        return SAME
    item = _expansion(inputs)
    inputs.keep(item)
    found = Growth(1.0 + item.value * rise, abs(rise) * item.uncertainty)
    inputs.growth = found.factor
    return found


def _expansion(inputs: Inputs) -> JobInput:
    pipe = inputs.job.pipe
    if pipe.thermal_expansion is not None:
        value = number(pipe.thermal_expansion, "per_temperature", "pipe.thermal_expansion")
        return JobInput("thermal expansion", value, GIVEN_UNCERTAINTY * abs(value), "per_temperature", "given")
    at = read_state(f"{celsius(inputs.value('wall temperature')):.12g} degC")
    try:
        found = inputs.database.values(
            pipe.material,
            ["thermal_expansion"],
            state=at,
            options=inputs.options,
            release=inputs.release,
            kind="material",
        )
        return from_row("thermal expansion", found.values[0], "per_temperature")
    except (NotAvailable, MissingState, OutsideRange):
        pass
    most = _most(inputs, pipe.material)
    inputs.assumptions.append(
        f"pipe.thermal_expansion not given and not in the release: between 0 and {most:g} 1/K (judgement)"
    )
    return JobInput(
        "thermal expansion",
        0.5 * most,
        0.5 * most / math.sqrt(3.0),
        "per_temperature",
        "default",
        "between none and the most of its kin",
        distribution="rectangular",
    )


def _most(inputs: Inputs, material: str) -> float:
    try:
        family = subject_named(inputs.database.store, material, inputs.release, "material").body.get("family")
    except Problem:
        return MOST_EXPANSION["elastomer"]
    return MOST_EXPANSION.get(str(family), MOST_EXPANSION_OTHERWISE)
