"""Whether the place suits: each remark with its reason, and its source or "common practice"."""

from __future__ import annotations

import math
from typing import Literal

from refdb.job.acoustics.arrivals import much_too_thin, spacing_at
from refdb.job.acoustics.ray import Ray
from refdb.job.acoustics.signal import lining_loss
from refdb.job.acoustics.spacing import MOST_PASSES
from refdb.job.inputs.held import Inputs
from refdb.job.inputs.place import STUDY, straight, words_of
from refdb.job.quantities import celsius, number, positive
from refdb.units.sizes import NO_SOURCE

# What was seen of each: scope and table of contents of the two standards, the summary of the guidelines, the summary of
# the study. Where none of these says the sentence itself, it is common practice, and the remark says where to read on.
ISO_24062 = f"{NO_SOURCE}; see ISO 24062:2023 (scope: single-phase, or small quantities of other phases)"
ISO_12242 = f"{NO_SOURCE}; see ISO 12242:2012"
GUIDELINES = f"{NO_SOURCE}; see Sanderson and Yeung 2002, Flow Measurement and Instrumentation 13(4), 125-142"
BEND_STRAIGHT = 8.0
PROFILE_STRAIGHT, CROSS_FLOW_STRAIGHT = 10.0, 20.0
DOWNSTREAM_STRAIGHT = 5.0
SWIRLING = ("two bends out of plane", "pump")
SETTLED = {"two bends out of plane": 50.0, "pump": 50.0}
"""Diameters after which swirl is taken to have died away; after anything else 20 (judgement)."""
MUCH_LOST = 10.0
"""dB that a lining may absorb before it is warned of (judgement)."""
CAVITATION_MARGIN = 5e4
"""Pa above the vapour pressure: below it the remark warns (judgement)."""
OLD = 20.0
"""Years from which on a pipe's inside is looked at (judgement)."""
Verdict = Literal["good", "unknown", "mind", "bad"]
CAUTIONS = (
    "Local codes, site rules and licensed practice come first; this sheet replaces none of them.",
    "Surfaces may be hot, lines are under pressure and liquids may be hazardous: nothing is opened or cut.",
    "Work at heights and near traffic or machinery needs its own permit.",
    "Dimensions serve flow measurement and not pressure design.",
)


def suitability(inputs: Inputs, path: Ray) -> list[dict[str, str]]:
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
        _downstream(inputs),
        _planes(inputs),
        _passes(inputs),
        _housings(inputs, path),
        _opposite(inputs),
        _seam(inputs),
        _where_around(inputs),
        _cavitation(inputs),
        _couplant(inputs),
    ]
    return remarks + [remark for remark in (_lining(inputs, path), _inside(inputs)) if remark is not None]


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
    access, upstream = inputs.job.access, straight(inputs, "upstream")
    if upstream is None:
        source = f"{ISO_12242}, straight pipe length requirements"
        return _remark("straight length", "unknown", "measure the straight length upstream and downstream", source)
    after = f"{upstream:.3g} D after {words_of(access.disturbance)}"
    if access.disturbance == "bend" and upstream < BEND_STRAIGHT:
        text = f"{after} is short: from 8 D one meter was within 2 %, nearer up to 10.8 % off, reading low"
        return _remark("straight length", "bad", text, STUDY)
    if access.disturbance == "none":
        return _remark("straight length", "good", f"{upstream:.3g} D upstream, undisturbed", NO_SOURCE)
    if upstream < PROFILE_STRAIGHT:
        return _remark("straight length", "bad", f"{after} is short: go elsewhere", NO_SOURCE)
    if upstream < SETTLED.get(access.disturbance, CROSS_FLOW_STRAIGHT):
        return _remark("straight length", "mind", f"{after}: the profile has not settled", NO_SOURCE)
    return _remark("straight length", "good", after, NO_SOURCE)


def _downstream(inputs: Inputs) -> dict[str, str]:
    length = straight(inputs, "downstream")
    if length is None:
        text = "measure the straight length downstream"
        return _remark("straight length downstream", "unknown", text, NO_SOURCE)
    if length < DOWNSTREAM_STRAIGHT:
        text = f"{length:.3g} D downstream is short: {DOWNSTREAM_STRAIGHT:g} D keep what follows out of the profile"
        return _remark("straight length downstream", "mind", text, NO_SOURCE)
    return _remark("straight length downstream", "good", f"{length:.3g} D downstream", NO_SOURCE)


def _planes(inputs: Inputs) -> dict[str, str]:
    access, upstream = inputs.job.access, straight(inputs, "upstream")
    settled = upstream is not None and upstream >= CROSS_FLOW_STRAIGHT
    if access.disturbance == "none" or (settled and access.disturbance not in SWIRLING):
        return _remark("planes", "good", "one plane will do: the profile is the same from all sides", NO_SOURCE)
    text = f"after {words_of(access.disturbance)} the profile leans: take the mean of two planes at right angles"
    if access.disturbance in SWIRLING:
        text += "; swirl lasts for many diameters: take an even number of passes"
    return _remark("planes", "unknown" if access.disturbance == "unknown" else "mind", text, NO_SOURCE)


def _passes(inputs: Inputs) -> dict[str, str]:
    passes = inputs.job.sensors.passes
    if passes % 2 == 0:
        return _remark("passes", "good", "an even number of passes cancels cross flow", GUIDELINES)
    text = "an odd number of passes does not cancel cross flow: an even one does, or two planes"
    return _remark("passes", "mind", text, GUIDELINES)


def _housings(inputs: Inputs, path: Ray) -> dict[str, str]:
    """Whether both sensors find room at the spacing."""
    passes = inputs.job.sensors.passes
    if much_too_thin(inputs):
        text = "the wall is too thin for a spacing from rays: see what is refused"
        return _remark("room for the sensors", "unknown", text, NO_SOURCE)
    fitting = [number for number in range(1, MOST_PASSES + 1) if _room(inputs, path, number)]
    if passes in fitting:
        return _remark("room for the sensors", "good", "the spacing leaves room for both", NO_SOURCE)
    text = "the sensors would cross over or stand in each other at this spacing"
    text += f": take {' or '.join(map(str, fitting))} passes" if fitting else ": take smaller sensors or another angle"
    return _remark("room for the sensors", "bad", text, NO_SOURCE)


def _room(inputs: Inputs, path: Ray, passes: int) -> bool:
    """On one side the housings stand in line and need their length; on opposite sides they only must not cross over."""
    place = spacing_at(inputs, path, passes)
    text = inputs.job.sensors.housing_length
    if passes % 2 or text is None:
        return place > 0.0
    return place >= positive(text, "length", "sensors.housing_length")


def _opposite(inputs: Inputs) -> dict[str, str]:
    if inputs.job.sensors.passes % 2 == 0:
        return _remark("access", "good", "an even number of passes needs one side of the pipe only", NO_SOURCE)
    opposite = inputs.job.access.opposite_side
    verdicts: dict[str, Verdict] = {"yes": "good", "no": "bad"}
    text = "an odd number of passes needs the opposite side of the pipe"
    if opposite == "no":
        text += ", which cannot be reached: take an even number"
    return _remark("access", verdicts.get(opposite, "unknown"), text, NO_SOURCE)


def _seam(inputs: Inputs) -> dict[str, str]:
    seam = inputs.job.pipe.seam
    if seam == "none":
        return _remark("seam", "good", "none", NO_SOURCE)
    text = "keep sensors and the points where sound is reflected off the seam"
    if seam == "spiral":
        text += "; a spiral seam crosses every line along the pipe: fit the pair between two of its turns"
    return _remark("seam", "unknown" if seam == "unknown" else "mind", text, NO_SOURCE)


def _where_around(inputs: Inputs) -> dict[str, str]:
    if inputs.job.access.orientation in {"upward", "downward", "vertical"}:
        return _remark(
            "where around", "good", "anywhere around a vertical pipe, off the plane of the last bend", NO_SOURCE
        )
    text = "within 45 degrees of the horizontal diameter: gas gathers on top, sediment at the bottom"
    if inputs.job.access.orientation == "unknown":
        text = f"not told whether the pipe lies; if it does, {text}"
    return _remark("where around", "mind", text, NO_SOURCE)


def _lining(inputs: Inputs, path: Ray) -> dict[str, str] | None:
    lining = inputs.job.pipe.lining
    if lining is None or path.lining_mode is None:
        return None
    if lining.bonded == "yes":
        low, high = lining_loss(inputs, path.along, path.lining_mode)
        if high < MUCH_LOST:
            return _remark(
                "lining", "good", f"bonded: sound passes, {low:.0f} dB to {high:.0f} dB are lost", GUIDELINES
            )
        text = f"bonded, but it absorbs {low:.0f} dB to {high:.0f} dB in both walls together; try before relying on it"
        return _remark("lining", "bad" if low > MUCH_LOST else "mind", text, GUIDELINES)
    verdict: Verdict = "bad" if lining.bonded == "no" else "unknown"
    return _remark("lining", verdict, "a gap behind a lining stops all sound; knock, or try", GUIDELINES)


def _inside(inputs: Inputs) -> dict[str, str] | None:
    """What age has done inside; None for a pipe of which neither age nor deposits are told."""
    pipe = inputs.job.pipe
    if pipe.deposits is not None:
        text = "deposits narrow the bore, roughen it and may stop the sound; look inside where a flange is open"
        return _remark("deposits", "mind", text, NO_SOURCE)
    if pipe.age is None or pipe.age < OLD:
        return None
    text = f"{pipe.age:g} years in service: measure the wall at several points, and reckon with deposits and roughness"
    return _remark("age", "mind", text, NO_SOURCE)


def _cavitation(inputs: Inputs) -> dict[str, str]:
    if "saturation pressure" not in inputs.found:
        text = "the vapour pressure is not known: give liquid.saturation_pressure, or look out for bubbles"
        return _remark("cavitation", "unknown", text, NO_SOURCE)
    margin = inputs.value("pressure") - inputs.value("saturation pressure")
    if margin <= 0.0:
        return _remark("cavitation", "bad", "the liquid boils at this pressure and temperature", NO_SOURCE)
    verdict: Verdict = "mind" if margin < CAVITATION_MARGIN else "good"
    text = f"{margin / 1000.0:.0f} kPa above the vapour pressure"
    if verdict == "mind":
        text += ": bubbles may form behind valves, bends and pumps"
    return _remark("cavitation", verdict, text, NO_SOURCE)


def _couplant(inputs: Inputs) -> dict[str, str]:
    sensors, wall = inputs.job.sensors, inputs.value("wall temperature")
    texts = (sensors.couplant_least_temperature, sensors.couplant_greatest_temperature)
    if texts == (None, None):
        text = f"find out whether the couplant bears {celsius(wall):.0f} degC without drying out or freezing"
        return _remark("couplant", "unknown", text, f"{ISO_12242}, acoustic couplant")
    low, high = (
        number(text, "temperature", "sensors.couplant_temperature") if text is not None else otherwise
        for text, otherwise in zip(texts, (0.0, math.inf), strict=True)
    )
    if low <= wall <= high:
        return _remark("couplant", "good", "the wall is within the range of the couplant", "couplant data")
    return _remark(
        "couplant", "bad", "the wall is outside the range of the couplant: take another one", "couplant data"
    )
