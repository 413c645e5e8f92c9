"""The speed of a plastic at the sensors' frequency: rows tell it at one, and by how much it rises a decade."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from refdb.job.inputs.held import Inputs, JobInput
from refdb.job.quantities import positive
from refdb.units import units

ITS_OWN = 0.5
"""Of the shift: how well the rise a decade is known, as a standard uncertainty (judgement; polyethylene of pipes rises
by 2.7 % a decade where its absorption lets expect 1.6 to 2.4 %: Mažeika and others, Ultragarsas, 2010)."""


def shift(inputs: Inputs, body: dict[str, Any]) -> float:
    """By what part a row's speed is higher at the sensors' frequency than where it is told; zero for most rows."""
    told = body.get("frequency")
    if told is None:
        return 0.0
    at = float(units().find(told["unit"], "frequency").to(float(told["number"]), units().si("frequency")))
    own = positive(inputs.job.sensors.frequency, "frequency", "sensors.frequency")
    return float(told["per_decade"]) / 100.0 * math.log10(own / at)


def at_own_frequency(inputs: Inputs, found: JobInput) -> JobInput:
    """A speed from a row at the sensors' frequency, and less certain by half of what it was moved by."""
    if found.answer is None:
        return found
    body = found.answer.text.row.body
    part = shift(inputs, body)
    if part == 0.0:
        return found
    told = body["frequency"]
    return replace(
        found,
        value=found.value * (1.0 + part),
        uncertainty=math.hypot(found.uncertainty, ITS_OWN * part * found.value),
        words=f"{found.words} at {told['number']} {told['unit']}, and {100.0 * part:+.1f} % at the sensors' frequency",
    )
