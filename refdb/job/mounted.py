"""After mounting: the measured sound speed against the expected one, the zero, two meters in one line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from refdb.job.acoustics.ray import Ray
from refdb.job.acoustics.spacing import path_velocity, time_in_liquid
from refdb.job.acoustics.waves import across
from refdb.job.flow.metering import area, profile_at
from refdb.job.flow.profile import mean_interval, profile_of_path
from refdb.job.inputs.flow import flows
from refdb.job.inputs.held import Inputs, bore_uncertainty, nominal_bore, slope
from refdb.job.inputs.liquid import liquid_state
from refdb.job.inputs.place import straight
from refdb.job.quantities import celsius, difference, number, positive
from refdb.job.uncertainty import normalised_error
from refdb.liquids.question import LiquidQuestion
from refdb.problems import MissingState, Problem

if TYPE_CHECKING:
    from refdb.liquids.documents import RootDocument


MEASURED_SPEED = 0.005
"""Of a sound speed that an instrument shows, where no uncertainty is given (judgement)."""
SAME_READING = 0.005
"""Of a flow: what two readings of one instrument, of flow and of time difference, may be apart by (judgement)."""
ZERO_MATTERS = 0.5
"""% of the normal flow from which on a zero is to be taken off (judgement)."""
AGREES, LIKELY = 2.0, 3.0
"""Standard uncertainties within which a speed agrees, and a cause is likely (judgement)."""
STATE_UNITS = {"temperature": "degC", "strength": "kg/kg"}
TELL_APART = {
    "bore": "a tape around the pipe and a gauge tell of the bore",
    "wall": "a gauge tells of the wall",
    "spacing": "a rule tells of the spacing",
    "temperature": "a thermometer tells of the temperature",
    "strength": "a sample, or its density, tells of the strength",
}
"""What to measure to find out about each cause."""
WEAK_SIGNAL = (
    "couplant: renew it, on bare clean metal",
    "place: move along and around the pipe, off seams, dents and loose paint",
    "spacing: check it against the sheet; move by a few millimetres only, and keep the first arrival at the time that "
    "the sheet tells: the strongest signal may be an echo inside the wall",
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
    speed = _sound_speed(inputs, path) if told.sound_speed is not None else None
    zero = _zero(inputs, path) if told.zero_difference is not None else None
    flow = _flow(inputs, path) if told.time_difference is not None else None
    shown = _against_shown(inputs, flow) if flow is not None and told.flow is not None else None
    meters = _meters(inputs) if told.other_flow is not None else None
    return {
        "sound_speed": speed,
        "zero": zero,
        "flow": flow,
        "flow_shown": shown,
        "meters": meters,
        "when_the_signal_is_weak": list(WEAK_SIGNAL),
        "warnings": _warnings(speed, zero, shown, meters),
    }


def _warnings(
    speed: Mapping[str, Any] | None,
    zero: Mapping[str, Any] | None,
    shown: Mapping[str, Any] | None,
    meters: Mapping[str, Any] | None,
) -> list[str]:
    """What was shown after mounting and does not agree with the job."""
    found = []
    if speed is not None and not speed["agrees"]:
        apart = f"{speed['measured']['magnitude']:.1f} m/s is shown, {speed['expected']['magnitude']:.1f} m/s expected"
        found.append(f"The sound speed does not agree: {apart}.")
    if zero is not None and zero["matters"]:
        found.append(f"The zero matters: {zero['text']}.")
    if shown is not None and not shown["agree"]:
        found.append(f"The flow does not agree: {shown['text']}.")
    if meters is not None and not meters["agree"]:
        found.append("The two meters do not agree within their uncertainties.")
    return found


def _sound_speed(inputs: Inputs, path: Ray) -> dict[str, Any]:
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.sound_speed is not None  # noqa: S101 - the caller looked
    measured = positive(told.sound_speed, "speed", "mounted.sound_speed")
    text = told.sound_speed_uncertainty
    uncertainty = difference(text, "speed", "mounted.sound_speed_uncertainty") if text else MEASURED_SPEED * measured
    expected = inputs["sound speed"]
    warmth = slope(inputs, "sound speed") * inputs["liquid temperature"].uncertainty
    apart = measured - expected.value
    joint = math.hypot(uncertainty, expected.uncertainty, warmth)
    agrees = abs(apart) <= AGREES * joint
    causes = [] if agrees else causes_of(inputs, path, measured, uncertainty)
    return {
        "expected": {"magnitude": expected.value, "unit": "m/s"},
        "measured": {"magnitude": measured, "unit": "m/s"},
        "difference": {"magnitude": apart, "unit": "m/s"},
        "standard_uncertainty_of_difference": {"magnitude": joint, "unit": "m/s"},
        "agrees": agrees,
        "explanations": [cause.document() for cause in causes],
        "text": "agrees with what was expected" if agrees else _verdict(causes),
    }


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that would explain a sound speed by itself.

    Attributes:
        roots: every value of it that gives the speed that was read, in `unit`.
        deviation: how many standard uncertainties the nearest root lies from what was entered; None where the input
            carries no uncertainty, or nothing of this kind gives the speed.
    """

    name: str
    unit: str
    roots: tuple[float, ...]
    entered: float
    deviation: float | None
    words: str

    @property
    def likely(self) -> bool:
        """Whether it could well be: within three standard uncertainties, or of an uncertainty nobody told."""
        return bool(self.roots) and (self.deviation is None or self.deviation <= LIKELY)

    def document(self) -> dict[str, Any]:
        """The cause as plain JSON values."""
        return {
            "cause": self.name,
            "entered": {"magnitude": self.entered, "unit": self.unit},
            "roots": [{"magnitude": root, "unit": self.unit} for root in self.roots],
            "deviation": self.deviation,
            "likely": self.likely,
            "text": self.words,
        }


def _verdict(causes: list[Cause]) -> str:
    """What one reading can say of its causes."""
    likely = [cause.name for cause in causes if cause.likely]
    if not likely:
        return (
            "differs, and none of the explanations alone is within what the inputs leave open: look for a wrong number "
            "of passes, another liquid or gas in it"
        )
    if len(likely) == 1:
        return f"differs; of what was looked at, only the {likely[0]} explains it within its uncertainty: check it"
    return (
        f"differs; {', '.join(likely[:-1])} and {likely[-1]} each would explain it, and this one reading cannot tell "
        "them apart: " + "; ".join(TELL_APART[name] for name in likely)
    )


def causes_of(inputs: Inputs, path: Ray, measured: float, uncertainty: float) -> list[Cause]:
    """What would explain a speed, each by itself."""
    return [*_geometries(inputs, path, measured, uncertainty), *_states(inputs, measured, uncertainty)]


def _geometries(inputs: Inputs, path: Ray, measured: float, uncertainty: float) -> list[Cause]:
    """The bore, the wall and the spacing with which the time that was read belongs to the expected speed.

    The instrument finds c in n D q(c) + 2 t q_w = T - sigma s - T0 with bore, wall and spacing as they were entered.
    The true ones satisfy the same with the expected speed. Near it that is dc/c = cos2(theta) dD/D, with dD the bore
    entered less the true one.
    """
    found = _roots(inputs, path, measured)
    if found is None:
        words = "no bore or wall: sound of the speed that was read would not enter the liquid at all"
        return [Cause("bore", "mm", (), 1000.0 * nominal_bore(inputs), None, words)]
    # How far the roots move with the reading and with the expected speed.
    moved = _roots(inputs, path, measured - math.hypot(uncertainty, inputs["sound speed"].uncertainty)) or found
    uncertainties = {
        "bore": bore_uncertainty(inputs),
        "wall": inputs["wall"].uncertainty,
        "spacing": inputs["spacing as set"].uncertainty,
    }
    entered = {"bore": nominal_bore(inputs), "wall": inputs.value("wall"), "spacing": 0.0}
    room = entered["bore"] + 2.0 * entered["wall"]
    causes = []
    for name, root in found.items():
        possible = name != "wall" or 0.0 < root < 0.5 * room
        spread = math.hypot(uncertainties[name], moved[name] - root)
        words = f"a {name} {1000.0 * (root - entered[name]):+.2f} mm from the one entered"
        causes.append(
            Cause(
                name,
                "mm",
                (1000.0 * root,) if possible else (),
                1000.0 * entered[name],
                abs(root - entered[name]) / spread if possible and spread > 0.0 else None,
                words if possible else f"no {name} would",
            )
        )
    return causes


def _roots(inputs: Inputs, path: Ray, measured: float) -> dict[str, float] | None:
    """Bore, wall and shift of the spacing that explain a speed, in metres; None where no sound enters such a liquid."""
    expected, shown = (float(across(speed, path.along)) for speed in (inputs.value("sound speed"), measured))
    if math.isnan(shown):
        return None
    bore, wall, passes = nominal_bore(inputs), inputs.value("wall"), inputs.job.sensors.passes
    in_wall = float(across(inputs.value("wall speed"), path.along))
    room, slope_of_wall = bore + 2.0 * wall, 2.0 * in_wall - 2.0 * passes * expected
    observed = passes * bore * shown + 2.0 * wall * in_wall
    return {
        "bore": bore * shown / expected,
        "wall": (observed - passes * room * expected) / slope_of_wall if slope_of_wall else math.inf,
        "spacing": passes * bore * (shown - expected) / path.along,
    }


def _states(inputs: Inputs, measured: float, uncertainty: float) -> list[Cause]:
    """Every temperature, and every strength, at which the liquid of the database has the speed that was read."""
    liquid = inputs.job.liquid
    if liquid.substance is None:
        return []
    speed = {"sound_speed": f"{measured!r} m/s", "sound_speed_uncertainty": f"{uncertainty!r} m/s"}
    pressure = f"{inputs.value('pressure')!r} Pa" if liquid.pressure else None
    held = {"pressure": pressure, "salinity": liquid.salinity, "strength": liquid.strength}
    warmth = inputs["liquid temperature"]
    causes = [
        _state(
            inputs,
            "temperature",
            LiquidQuestion(liquid=liquid.substance, **speed, **held),
            celsius(warmth.value),
            warmth.uncertainty,
        )
    ]
    if liquid.strength is not None:
        asked = LiquidQuestion(solution=liquid.substance, temperature=liquid.temperature, pressure=pressure, **speed)
        subject = inputs.database.subject(liquid.substance, inputs.release, "liquid")
        state = liquid_state(inputs, liquid.temperature)
        share = float(inputs.database.reader.with_mass_fraction(subject, state, inputs.release).strength)
        causes.append(_state(inputs, "strength", asked, share, None))
    return causes


def _state(inputs: Inputs, name: str, asked: LiquidQuestion, entered: float, uncertainty: float | None) -> Cause:
    try:
        told = inputs.database.match_liquid(asked, options=inputs.options, release=inputs.release).document()
    except Problem as problem:
        return Cause(name, STATE_UNITS[name], (), entered, None, problem.detail)
    assert told["sought"] != "liquid"  # noqa: S101 - the question names one
    roots = tuple(root["at"]["magnitude"] for stretch in told["items"] for root in stretch["roots"])
    spreads = [_spread(root, uncertainty) for stretch in told["items"] for root in stretch["roots"]]
    deviations = [abs(root - entered) / spread for root, spread in zip(roots, spreads, strict=True) if spread]
    deviation = min(deviations) if deviations else None
    return Cause(name, STATE_UNITS[name], roots, entered, deviation, " ".join(told["advice"]))


def _zero(inputs: Inputs, path: Ray) -> dict[str, Any]:
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.zero_difference is not None  # noqa: S101 - the caller looked
    rest = number(told.zero_difference, "time", "mounted.zero_difference")
    passes, speed = inputs.job.sensors.passes, inputs.value("sound speed")
    in_liquid = time_in_liquid(passes, nominal_bore(inputs), speed, path.along)
    velocity = float(path_velocity(rest, path.along, in_liquid))
    of_flow: float | None = None
    if inputs.job.flow is not None:
        shape = profile_at(inputs, flows(inputs)["normal"])
        along_path = flows(inputs)["normal"] / area(nominal_bore(inputs)) / shape.factor
        of_flow = 100.0 * velocity / along_path
    taken_off = inputs.job.mounted is not None and inputs.job.mounted.zero_corrected == "yes"
    matters = not taken_off and of_flow is not None and abs(of_flow) > ZERO_MATTERS
    text = f"at rest the instrument would show {1000 * velocity:.2f} mm/s along the path"
    if of_flow is not None:
        text += f", {of_flow:+.2g} % of the normal flow"
    if matters:
        text += ": have it taken off with the line shut and full"
    return {
        "residual_velocity": {"magnitude": velocity, "unit": "m/s"},
        "of_normal_flow": {"magnitude": of_flow, "unit": "%"} if of_flow is not None else None,
        "matters": matters,
        "text": text,
    }


def _spread(root: RootDocument, uncertainty: float | None) -> float | None:
    """The uncertainty of a root together with that of what was entered; None where nobody told the latter."""
    if uncertainty is None:
        return None
    own = root["standard_uncertainty"]
    return math.hypot(uncertainty, own["magnitude"]) if own else uncertainty


def _flow(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The flow that a time difference stands for: its profile is found from the velocity along the path."""
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.time_difference is not None  # noqa: S101 - the caller looked
    shown = number(told.time_difference, "time", "mounted.time_difference")
    if told.zero_difference is not None and told.zero_corrected != "yes":
        shown -= number(told.zero_difference, "time", "mounted.zero_difference")
    bore, passes = nominal_bore(inputs), inputs.job.sensors.passes
    in_liquid = float(time_in_liquid(passes, bore, inputs.value("sound speed"), path.along))
    velocity = float(path_velocity(shown, path.along, in_liquid))
    viscosity = inputs.value("dynamic viscosity") / inputs.value("density")
    found = (velocity, bore, viscosity, inputs.value("roughness"), straight(inputs, "upstream"))
    shape = profile_of_path(*found)
    hourly = 3600.0 * area(bore)
    return {
        "path_velocity": {"magnitude": velocity, "unit": "m/s"},
        "regime": shape.regime,
        "reynolds": shape.reynolds,
        "profile_factor": shape.factor,
        "profile_factor_uncertainty": shape.uncertainty,
        "volume_flow": {"magnitude": hourly * shape.factor * velocity, "unit": "m3/h"},
        "volume_flow_interval": [{"magnitude": hourly * end, "unit": "m3/h"} for end in mean_interval(*found)],
    }


def _against_shown(inputs: Inputs, computed: Mapping[str, Any]) -> dict[str, Any]:
    """The flow that the instrument shows against the one that its time difference stands for in this job.

    Both share pipe and liquid where they were entered alike; profile, zero and the reading are left to differ.
    """
    told = inputs.job.mounted
    assert told is not None  # noqa: S101 - the caller looked
    assert told.flow is not None  # noqa: S101 - the caller looked
    assert told.time_difference is not None  # noqa: S101 - the caller looked
    shown = 3600.0 * number(told.flow, "volume_flow", "mounted.flow")
    own = float(computed["volume_flow"]["magnitude"])
    at_all = abs(number(told.time_difference, "time", "mounted.time_difference"))
    parts = [computed["profile_factor_uncertainty"] / computed["profile_factor"], SAME_READING]
    if at_all > 0.0:
        parts.append(inputs["zero"].uncertainty / at_all)
    joint = abs(own) * math.hypot(*parts)
    agree = abs(shown - own) <= AGREES * joint
    relative = 100.0 * (shown / own - 1.0) if own else None
    text = f"{shown:.4g} m3/h is shown, and the time difference stands for {own:.4g} m3/h in this pipe"
    if not agree:
        text += ": look whether diameter, wall, liquid, spacing and passes were entered as they are here"
    return {
        "shown": {"magnitude": shown, "unit": "m3/h"},
        "computed": {"magnitude": own, "unit": "m3/h"},
        "difference": {"magnitude": shown - own, "unit": "m3/h"},
        "standard_uncertainty_of_difference": {"magnitude": joint, "unit": "m3/h"},
        "relative": {"magnitude": relative, "unit": "%"} if relative is not None else None,
        "agree": agree,
        "text": text,
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
    uncertainties = (
        positive(flow_expanded_uncertainty, "volume_flow", "flow_expanded_uncertainty"),
        positive(other_flow_expanded_uncertainty, "volume_flow", "other_flow_expanded_uncertainty"),
    )
    error = normalised_error(values[0], uncertainties[0], values[1], uncertainties[1])
    return {"normalised_error": error, "agree": error <= 1.0, "standard": "ISO/IEC 17043"}
