"""Whether the place suits: each remark with its reason, and its source or "common practice"."""

from __future__ import annotations

from typing import Literal

from refdb.job.inputs import NO_SOURCE, Inputs, number

# What was seen of each: scope and table of contents of the two standards, the summary of the guidelines, the summary of
# the study. Where none of these says the sentence itself, it is common practice, and the remark says where to read on.
ISO_24062 = f"{NO_SOURCE}; see ISO 24062:2023 (scope: single-phase, or small quantities of other phases)"
ISO_12242 = f"{NO_SOURCE}; see ISO 12242:2012"
GUIDELINES = f"{NO_SOURCE}; see Sanderson and Yeung 2002, Flow Measurement and Instrumentation 13(4), 125-142"
BEND_STUDY = "Synowiec et al. 2021, Sensors 21(3), 868"
BEND_STRAIGHT = 8.0
PROFILE_STRAIGHT, CROSS_FLOW_STRAIGHT = 10.0, 20.0
Verdict = Literal["good", "unknown", "mind", "bad"]
CAUTIONS = (
    "Local codes, site rules and licensed practice come first; this sheet replaces none of them.",
    "Surfaces may be hot, lines are under pressure and liquids may be hazardous: nothing is opened or cut.",
    "Work at heights and near traffic or machinery needs its own permit.",
    "Dimensions serve flow measurement and not pressure design.",
)


def suitability(inputs: Inputs) -> list[dict[str, str]]:
    """The remarks, in the order in which they are looked at on site."""
    remarks = [
        _full(inputs),
        _said(inputs.job.liquid.gas_bubbles, "gas", "gas bubbles scatter and block the sound", ISO_24062),
        _said(inputs.job.liquid.solids, "solids", "solids scatter the sound", ISO_24062),
        _said(
            inputs.job.access.pulsation,
            "pulsation",
            "pulsation aliases with the sampling",
            f"{ISO_12242}, non-steady flow",
        ),
        _straight(inputs),
        _passes(inputs),
        _seam(inputs),
        _where_around(inputs),
    ]
    remarks += [remark for remark in (_lining(inputs), _cavitation(inputs), _couplant(inputs)) if remark is not None]
    return remarks


def _remark(about: str, verdict: Verdict, text: str, source: str) -> dict[str, str]:
    return {"about": about, "verdict": verdict, "text": text, "source": source}


def _full(inputs: Inputs) -> dict[str, str]:
    access = inputs.job.access
    if access.full == "no":
        return _remark("full pipe", "bad", "the pipe does not run full; the area is unknown: go elsewhere", GUIDELINES)
    if access.orientation == "downward":
        text = "flow runs downward: the pipe may not run full; prefer a riser or a horizontal run under pressure"
        return _remark("full pipe", "mind", text, GUIDELINES)
    if access.full == "yes" or access.orientation == "upward":
        return _remark("full pipe", "good", "runs full, or rises", GUIDELINES)
    return _remark("full pipe", "unknown", "find out whether the pipe always runs full", GUIDELINES)


def _said(answer: str, about: str, reason: str, source: str) -> dict[str, str]:
    verdicts: dict[str, tuple[Verdict, str]] = {
        "yes": ("mind", f"{reason}: expect a weak or unsteady signal; fewer passes and a lower frequency help"),
        "no": ("good", "none told"),
    }
    verdict, text = verdicts.get(answer, ("unknown", f"find out: {reason}"))
    return _remark(about, verdict, text, source)


def _straight(inputs: Inputs) -> dict[str, str]:
    access = inputs.job.access
    if access.upstream is None:
        source = f"{ISO_12242}, straight pipe length requirements"
        return _remark("straight length", "unknown", "measure the straight length upstream and downstream", source)
    if access.disturbance == "bend" and access.upstream < BEND_STRAIGHT:
        text = (
            f"{access.upstream:g} D after a bend is short: from 8 D one meter was within 2 %, nearer up to 10.8 % off"
        )
        return _remark("straight length", "bad", text, BEND_STUDY)
    if access.upstream < PROFILE_STRAIGHT:
        text = f"{access.upstream:g} D upstream is short: measure in two planes and mean, or go elsewhere"
        return _remark("straight length", "bad", text, NO_SOURCE)
    if access.upstream < CROSS_FLOW_STRAIGHT and access.disturbance != "none":
        text = f"{access.upstream:g} D after a {access.disturbance}: measure in two planes at right angles"
        return _remark("straight length", "mind", text, NO_SOURCE)
    return _remark("straight length", "good", f"{access.upstream:g} D upstream", NO_SOURCE)


def _passes(inputs: Inputs) -> dict[str, str]:
    passes = inputs.job.sensors.passes
    if passes % 2 == 0:
        return _remark("passes", "good", "an even number of passes cancels cross flow", GUIDELINES)
    opposite = inputs.job.access.opposite_side
    verdict: Verdict = "bad" if opposite == "no" else "mind"
    text = "an odd number needs both sides of the pipe and does not cancel cross flow"
    return _remark("passes", verdict, text, GUIDELINES)


def _seam(inputs: Inputs) -> dict[str, str]:
    seam = inputs.job.pipe.seam
    if seam == "none":
        return _remark("seam", "good", "none", NO_SOURCE)
    text = "keep sensors and the points where sound is reflected off the seam"
    return _remark("seam", "unknown" if seam == "unknown" else "mind", text, NO_SOURCE)


def _where_around(inputs: Inputs) -> dict[str, str]:
    if inputs.job.access.orientation in {"upward", "downward"}:
        return _remark(
            "where around", "good", "anywhere around a vertical pipe, off the plane of the last bend", NO_SOURCE
        )
    text = "within 45 degrees of the horizontal diameter: gas gathers on top, sediment at the bottom"
    return _remark("where around", "mind", text, NO_SOURCE)


def _lining(inputs: Inputs) -> dict[str, str] | None:
    lining = inputs.job.pipe.lining
    if lining is None:
        return None
    if lining.bonded == "yes":
        return _remark("lining", "good", "bonded: sound passes", GUIDELINES)
    verdict: Verdict = "bad" if lining.bonded == "no" else "unknown"
    return _remark("lining", verdict, "a gap behind a lining stops all sound; knock, or try", GUIDELINES)


def _cavitation(inputs: Inputs) -> dict[str, str] | None:
    if "saturation pressure" not in inputs.found:
        return None
    margin = inputs.value("pressure") - inputs.value("saturation pressure")
    if margin <= 0.0:
        return _remark("cavitation", "bad", "the liquid boils at this pressure and temperature", NO_SOURCE)
    verdict: Verdict = "mind" if margin < 5e4 else "good"
    return _remark("cavitation", verdict, f"{margin / 1000.0:.0f} kPa above the vapour pressure", NO_SOURCE)


def _couplant(inputs: Inputs) -> dict[str, str] | None:
    sensors, wall = inputs.job.sensors, inputs.value("wall temperature")
    ends = [
        number(text, "temperature", f"sensors.{name}") if text is not None else None
        for name, text in (
            ("least_temperature", sensors.least_temperature),
            ("greatest_temperature", sensors.greatest_temperature),
        )
    ]
    if ends == [None, None]:
        return None
    low, high = (ends[0] if ends[0] is not None else 0.0), (ends[1] if ends[1] is not None else 1e9)
    if low <= wall <= high:
        return _remark("temperature", "good", "the wall is within the range of sensors and couplant", "sensor data")
    return _remark("temperature", "bad", "the wall is outside the range of sensors and couplant", "sensor data")
