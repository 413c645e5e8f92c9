"""Flow: Reynolds number, profile factor, what the instrument will show, and the uncertainty of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from refdb.job.acoustics.arrivals import bore_of
from refdb.job.acoustics.ray import Ray
from refdb.job.acoustics.spacing import path_velocity, time_difference, time_in_layers, time_in_liquid
from refdb.job.acoustics.waves import slowness
from refdb.job.flow.correlations import correlations_of
from refdb.job.flow.profile import (
    ENTRANCE,
    ONSET,
    TRANSITION_UNCERTAINTY,
    TURBULENT_FROM,
    Profile,
    entrance_length,
    mean_velocity,
    profile,
)
from refdb.job.flow.profile_evidence import DOCUMENTS, WORDS
from refdb.job.inputs.flow import flows
from refdb.job.inputs.held import Inputs, bore_uncertainty, nominal_bore, slope
from refdb.job.inputs.place import straight
from refdb.job.uncertainty import COVERAGE_FACTOR, Budget, Model, Variable, propagate, simulate

DRAWS_NEAR_TRANSITION = 4000
"""Of a Monte Carlo that is made unasked where the Reynolds number may lie in the transition."""

ADVICE = {
    "outside diameter": "measure the outside diameter better: a tape in several places, paint taken off",
    "wall": "measure the wall at more points around the pipe, with the gauge set to the pipe's own material",
    "lining thickness": "find out the lining's thickness from the pipe's papers or a removed piece",
    "deposits": "look inside, or measure the deposits; they narrow the bore unseen",
    "wedge angle": "have the sensors calibrated, or fit them on a pipe that is known",
    "wedge speed": "measure the wedge's temperature, or have the sensors calibrated",
    "wedge temperature": "measure the wedge's temperature",
    "sound speed": "let the instrument measure the time in the liquid, or measure the liquid's sound speed",
    "liquid temperature": "measure the liquid's temperature",
    "dynamic viscosity": "measure the viscosity",
    "delay": "find out the delay in wedges and cables",
    "spacing as set": "set the spacing more carefully and enter what was set",
    "transit time": "take more passes, for a longer time in the liquid",
    "zero": "check the zero with the line shut and full, or take more passes",
    "calibration": "have the pair of sensors calibrated",
    "installation": "go further away from bends and valves, or measure in two planes",
    "profile": "the profile factor itself limits; calibrate in place",
    "transition": "the flow is laminar and turbulent by turns: work at another flow, or calibrate in place",
    "wall speed": "measure the wall's sound speed",
    "lining speed": "measure the lining's sound speed",
    "roughness": "look at the surface inside",
}
"""What to go and measure better, by the input that contributes most."""


def flow_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """Every flow of the range: velocity, Reynolds number, regime, profile factor, time difference.

    Raises:
        MissingState: no flow is given.
    """
    points = [_point(inputs, path, name, amount) for name, amount in flows(inputs).items()]
    return {
        "bore": {"magnitude": 1000.0 * nominal_bore(inputs), "unit": "mm"},
        "area": {"magnitude": area(nominal_bore(inputs)), "unit": "m2"},
        "points": points,
        "profile": {"text": WORDS, "documents": list(DOCUMENTS)},
        "sensitivity": {
            "bore": "2: 1 % of bore is 2 % of flow"
            if inputs.job.time_in_liquid == "measured"
            else "1: 1 % of bore is 1 % of flow",
            "time_in_liquid": inputs.job.time_in_liquid,
        },
    }


def area(bore: float) -> float:
    """The cross-section of the bore."""
    return math.pi / 4.0 * bore * bore


def profile_at(inputs: Inputs, volume_flow: float) -> Profile:
    """The profile of developed flow in the job's pipe."""
    bore = nominal_bore(inputs)
    reynolds = volume_flow / area(bore) * bore * inputs.value("density") / inputs.value("dynamic viscosity")
    return profile(reynolds, inputs.value("roughness") / bore, straight(inputs, "upstream"))


def _point(inputs: Inputs, path: Ray, name: str, volume_flow: float) -> dict[str, Any]:
    bore = nominal_bore(inputs)
    shape = profile_at(inputs, volume_flow)
    velocity = volume_flow / area(bore)
    in_liquid = float(time_in_liquid(inputs.job.sensors.passes, bore, inputs.value("sound speed"), path.along))

    def difference(factor: float) -> float:
        return 1e9 * float(time_difference(velocity / factor, path.along, in_liquid))

    return {
        "name": name,
        "volume_flow": {"magnitude": 3600.0 * volume_flow, "unit": "m3/h"},
        "mass_flow": {"magnitude": volume_flow * inputs.value("density"), "unit": "kg/s"},
        "velocity": {"magnitude": velocity, "unit": "m/s"},
        "reynolds": shape.reynolds,
        "reynolds_uncertainty": shape.reynolds * _reynolds_uncertainty(inputs),
        "regime": shape.regime,
        "turbulent_share": shape.share,
        "profile_factor": shape.factor,
        "profile_factor_uncertainty": shape.uncertainty,
        "profile_factor_interval": list(shape.interval),
        "friction_factor": shape.friction,
        "relative_roughness": inputs.value("roughness") / bore,
        "time_difference": {"magnitude": difference(shape.factor), "unit": "ns"},
        "time_difference_interval": sorted(difference(end) for end in shape.interval),
        "entrance_length": {"magnitude": entrance_length(shape.reynolds, bore), "unit": "m"}
        if shape.regime == "laminar"
        else None,
        "text": _profile_words(shape),
    }


def _reynolds_uncertainty(inputs: Inputs) -> float:
    """The relative standard uncertainty of a Reynolds number at a given flow, 4 Q ρ/(π D µ)."""
    warmth = inputs["liquid temperature"].uncertainty
    parts = [bore_uncertainty(inputs) / nominal_bore(inputs)]
    for label in ("density", "dynamic viscosity"):
        parts += [inputs[label].uncertainty / inputs.value(label), slope(inputs, label) * warmth / inputs.value(label)]
    return math.hypot(*parts)


def _profile_words(shape: Profile) -> str | None:
    if shape.regime == "transitional":
        low, high = shape.interval
        return (
            "Between laminar and turbulent the flow is by turns one and the other, turbulent for "
            f"{100 * shape.share:.3g} % of the time. How soon it turns depends on the inlet of the pipe: the factor is "
            f"{low:.3f} to {high:.3f}, and what is shown is unsteady."
        )
    if not shape.developed:
        return (
            f"Laminar flow develops over {ENTRANCE * shape.reynolds:.0f} diameters, more than there are straight: the "
            "factor is not yet 3/4, and the uncertainty holds what may be missing."
        )
    return None


def metering_model(inputs: Inputs, path: Ray, volume_flow: float) -> tuple[Model, dict[str, Variable]]:
    """What the instrument makes of its times, as a function of every input; and the inputs.

    The times are those that the nominal pipe gives at the flow; they then stand as observed, and the inputs vary.
    """
    shape = profile_at(inputs, volume_flow)
    names = [
        *("outside diameter", "wall", "deposits", "wedge angle", "wedge speed", "sound speed", "liquid temperature"),
        *("density", "dynamic viscosity", "roughness", "wall speed", "delay", "spacing as set", "transit time"),
        *("zero", "calibration", "installation"),
    ]
    names += [name for label in path.labels for name in label if name not in names]
    variables = {name: inputs[name].variable for name in names}
    variables["profile"] = Variable(1.0, shape.shape_uncertainty / shape.factor)
    if shape.transition_uncertainty > 0.0:
        variables["transition"] = Variable(0.0, TRANSITION_UNCERTAINTY)
    nominal = {name: variable.value for name, variable in variables.items()}
    warmth = inputs.value("liquid temperature")
    slopes = {label: slope(inputs, label) for label in ("sound speed", "density", "dynamic viscosity")}
    passes, measured = inputs.job.sensors.passes, inputs.job.time_in_liquid == "measured"
    in_liquid = float(time_in_liquid(passes, bore_of(nominal), nominal["sound speed"], path.along))
    total = in_liquid + float(time_in_layers(path.layers(nominal), path.along)) + nominal["delay"]
    velocity = volume_flow / area(bore_of(nominal))
    observed = float(time_difference(velocity / shape.factor, path.along, in_liquid))

    def model(x: Mapping[str, Any]) -> Any:
        along = slowness(x["wedge angle"], x["wedge speed"])
        at = {label: x[label] + slopes[label] * (x["liquid temperature"] - warmth) for label in slopes}
        bore = bore_of(x)
        if measured:
            # A spacing that was mis-set and not entered shifts the whole time.
            shifts = x["delay"] + along * x["spacing as set"] + x["transit time"]
            time = total - shifts - time_in_layers(path.layers(x), along)
        else:
            time = time_in_liquid(passes, bore, at["sound speed"], along)
        along_path = path_velocity(observed - x["zero"], along, time)
        kinematic = at["dynamic viscosity"] / at["density"]
        # A factor that is off moves the Reynolds number, and with it the factor itself: it belongs inside.
        along_path = x["profile"] * along_path
        mean = mean_velocity(along_path, bore, kinematic, x["roughness"], x.get("transition", 0.0))
        return x["calibration"] * x["installation"] * mean * math.pi / 4.0 * bore * bore

    return model, variables


def budget_of(inputs: Inputs, path: Ray, volume_flow: float) -> Budget:
    """The linear budget of the flow."""
    return propagate(*metering_model(inputs, path, volume_flow), correlations_of(inputs))


def _interval(inputs: Inputs, budget: Budget) -> tuple[float, float]:
    """Where the true flow lies, 95 %: wider to the side to which alone the place can make the reading err."""
    half = COVERAGE_FACTOR * budget.uncertainty
    if inputs.place is None or not inputs.place.one_sided:
        return budget.value - half, budget.value + half
    share = sum(item.amount**2 for item in budget.contributions if item.name == "installation")
    cross = (inputs.place.cross / math.sqrt(3.0) * budget.value) ** 2
    other = COVERAGE_FACTOR * math.sqrt(max(budget.uncertainty**2 - share + cross, 0.0))
    return budget.value - other, budget.value + half


def _near_transition(inputs: Inputs, volume_flow: float) -> bool:
    """Whether the Reynolds number may lie where laminar and turbulent flow alternate: nothing is linear there."""
    shape = profile_at(inputs, volume_flow)
    spread = COVERAGE_FACTOR * _reynolds_uncertainty(inputs) * shape.reynolds
    return shape.reynolds + spread > ONSET and shape.reynolds - spread < TURBULENT_FROM


def budget_document(inputs: Inputs, path: Ray, draws: int = 0) -> dict[str, Any]:
    """The budget at the normal flow, the largest contribution first, with the Monte Carlo result where asked for."""
    volume_flow = flows(inputs)["normal"]
    model, variables = metering_model(inputs, path, volume_flow)
    correlations = correlations_of(inputs)
    budget = propagate(model, variables, correlations)
    relative = budget.uncertainty / budget.value
    largest = [item.name for item in budget.contributions[:3]]
    told: dict[str, Any] = {
        "flow": {"magnitude": 3600.0 * budget.value, "unit": "m3/h"},
        "standard_uncertainty": {"magnitude": 3600.0 * budget.uncertainty, "unit": "m3/h"},
        "expanded_uncertainty": {"magnitude": 3600.0 * COVERAGE_FACTOR * budget.uncertainty, "unit": "m3/h"},
        "interval_95": [{"magnitude": 3600.0 * end, "unit": "m3/h"} for end in _interval(inputs, budget)],
        "relative_expanded_uncertainty": {"magnitude": 100.0 * COVERAGE_FACTOR * relative, "unit": "%"},
        "coverage_factor": COVERAGE_FACTOR,
        "method": "JCGM 100:2008, linear, with the correlations that are listed; both walls share one error, and the "
        "properties of the liquid share that of its temperature",
        "correlations": [
            {"inputs": list(pair), "coefficient": coefficient} for pair, coefficient in correlations.items()
        ],
        "contributions": [
            {
                "input": item.name,
                "relative": {"magnitude": 100.0 * item.amount / budget.value, "unit": "%"},
                "share": budget.share(item),
                "elasticity": item.sensitivity * variables[item.name].value / budget.value,
            }
            for item in budget.contributions
        ],
        "advice": [ADVICE[name] for name in largest if name in ADVICE],
        "monte_carlo": None,
    }
    draws = draws or (DRAWS_NEAR_TRANSITION if _near_transition(inputs, volume_flow) else 0)
    if draws:
        drawn = simulate(model, variables, correlations, draws=draws)
        told["monte_carlo"] = {
            "method": "JCGM 101:2008",
            "draws": drawn.draws,
            "mean": {"magnitude": 3600.0 * drawn.mean, "unit": "m3/h"},
            "standard_uncertainty": {"magnitude": 3600.0 * drawn.uncertainty, "unit": "m3/h"},
            "interval_95": [{"magnitude": 3600.0 * end, "unit": "m3/h"} for end in (drawn.low, drawn.high)],
        }
    return told
