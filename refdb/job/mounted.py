"""After mounting: the measured sound speed against the expected one, the zero, two meters in one line."""

from __future__ import annotations

import math
from typing import Any

from refdb.answer import LiquidQuestion
from refdb.job.acoustics import Ray
from refdb.job.inputs import Inputs, difference, nominal_bore, number, positive, slope
from refdb.job.spacing import path_velocity, time_in_liquid
from refdb.job.uncertainty import normalised_error
from refdb.job.waves import angle_in
from refdb.problems import MissingState, Problem

MEASURED_SPEED = 0.005
AGREES = 2.0
WEAK_SIGNAL = (
    "couplant: renew it, on bare clean metal",
    "place: move along and around the pipe, off seams, dents and loose paint",
    "spacing: check it against the sheet, then move by a few millimetres for the strongest signal",
    "passes: take fewer",
    "frequency: take a lower one",
    "liquid: look for gas and for a pipe that does not run full",
    "lining and deposits: try another stretch of pipe",
)
"""What to try, in this order, when the signal is weak (common practice, no source)."""


def mounted_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """What the instrument's own figures say about the job.

    Raises:
        MissingState: nothing was read after mounting.
    """
    told = inputs.job.mounted
    if told is None:
        raise MissingState("mounted: is not given; tell what the instrument showed.", parameter="mounted")
    return {
        "sound_speed": _sound_speed(inputs, path) if told.sound_speed is not None else None,
        "zero": _zero(inputs, path) if told.zero_difference is not None else None,
        "meters": _meters(inputs) if told.other_flow is not None else None,
        "when_the_signal_is_weak": list(WEAK_SIGNAL),
    }


def _sound_speed(inputs: Inputs, path: Ray) -> dict[str, Any]:
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.sound_speed is not None  # noqa: S101 - the caller looked
    measured = positive(told.sound_speed, "speed", "mounted.sound_speed")
    text = told.sound_speed_uncertainty
    doubt = difference(text, "speed", "mounted.sound_speed_uncertainty") if text else MEASURED_SPEED * measured
    expected = inputs["sound speed"]
    warmth = slope(inputs, "sound speed") * inputs["liquid temperature"].uncertainty
    apart = measured - expected.value
    joint = math.hypot(doubt, expected.uncertainty, warmth)
    agrees = abs(apart) <= AGREES * joint
    causes = [] if agrees else _causes(inputs, path, measured, doubt)
    return {
        "expected": {"magnitude": expected.value, "unit": "m/s"},
        "measured": {"magnitude": measured, "unit": "m/s"},
        "difference": {"magnitude": apart, "unit": "m/s"},
        "standard_uncertainty_of_difference": {"magnitude": joint, "unit": "m/s"},
        "agrees": agrees,
        "explanations": causes,
        "text": "agrees with what was expected"
        if agrees
        else "differs; each explanation alone would do, and this one reading cannot tell them apart",
    }


def _causes(inputs: Inputs, path: Ray, measured: float, doubt: float) -> list[dict[str, Any]]:
    """What would explain the difference, each by itself."""
    expected = inputs.value("sound speed")
    cosine = math.cos(angle_in(expected, path.along)) ** 2
    # At a fixed spacing dc/c = cos²θ dD/D, so that this change of bore gives the speed that was read.
    change = (measured - expected) / expected / cosine * nominal_bore(inputs)
    causes: list[dict[str, Any]] = [
        {"cause": "bore", "text": f"a bore {1000 * change:+.2f} mm from the one entered"},
        {"cause": "wall", "text": f"a wall {-500 * change:+.2f} mm from the one entered"},
    ]
    substance = inputs.job.liquid.substance
    if substance is None:
        return causes
    speed = {"sound_speed": f"{measured!r} m/s", "sound_speed_uncertainty": f"{doubt!r} m/s"}
    liquid = inputs.job.liquid
    held = {"pressure": liquid.pressure, "salinity": liquid.salinity, "strength": liquid.strength}
    asked = [("temperature", LiquidQuestion(liquid=substance, **speed, **held))]
    if liquid.strength or liquid.salinity:
        strength = LiquidQuestion(solution=substance, temperature=liquid.temperature, pressure=liquid.pressure, **speed)
        asked.append(("strength", strength))
    for cause, question in asked:
        try:
            match = inputs.database.match_liquid(question, options=inputs.options, release=inputs.release)
        except Problem as problem:
            causes.append({"cause": cause, "text": problem.detail})
        else:
            causes.append({"cause": cause, "text": "see the states that have this speed", "match": match.document()})
    return causes


def _zero(inputs: Inputs, path: Ray) -> dict[str, Any]:
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.zero_difference is not None  # noqa: S101 - the caller looked
    rest = number(told.zero_difference, "time", "mounted.zero_difference")
    passes, speed = inputs.job.sensors.passes, inputs.value("sound speed")
    in_liquid = time_in_liquid(passes, nominal_bore(inputs), speed, path.along)
    velocity = float(path_velocity(rest, path.along, in_liquid))
    return {
        "residual_velocity": {"magnitude": velocity, "unit": "m/s"},
        "text": f"at rest the instrument would show {1000 * velocity:.2f} mm/s along the path",
    }


def _meters(inputs: Inputs) -> dict[str, Any]:
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    texts = {
        "flow": told.flow,
        "flow_expanded_uncertainty": told.flow_expanded_uncertainty,
        "other_flow": told.other_flow,
        "other_flow_expanded_uncertainty": told.other_flow_expanded_uncertainty,
    }
    for name, text in texts.items():
        if text is None:
            raise MissingState(
                f"mounted.{name}: is needed to compare two meters; give it.", parameter=f"mounted.{name}"
            )
    return compare_document(**{name: str(text) for name, text in texts.items()})


def compare_document(
    flow: str, flow_expanded_uncertainty: str, other_flow: str, other_flow_expanded_uncertainty: str
) -> dict[str, Any]:
    """Two meters in one line, by |E_n| of ISO/IEC 17043."""
    values = (number(flow, "volume_flow", "flow"), number(other_flow, "volume_flow", "other_flow"))
    doubts = (
        positive(flow_expanded_uncertainty, "volume_flow", "flow_expanded_uncertainty"),
        positive(other_flow_expanded_uncertainty, "volume_flow", "other_flow_expanded_uncertainty"),
    )
    error = normalised_error(values[0], doubts[0], values[1], doubts[1])
    return {"normalised_error": error, "agree": error <= 1.0, "standard": "ISO/IEC 17043"}
