"""The waves of a job: which travel in each layer, what they lose, where the sensors go."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from refdb.forms.absorption import classical_absorption
from refdb.job.inputs import ABSORPTION, Inputs, nominal_bore, positive, solid, wave_speed
from refdb.job.spacing import (
    MOST_PASSES,
    Layer,
    nearest_setting,
    spacing,
    time_difference,
    time_in_layers,
    time_in_liquid,
    total_time,
)
from refdb.job.uncertainty import propagate
from refdb.job.waves import (
    MUCH_TOO_THIN,
    THIN_WALL,
    Medium,
    Mode,
    angle_in,
    decibels,
    scatter,
    slowness,
    travels,
)
from refdb.problems import BadParameter, NotAvailable, OutsideRange, Problem

MODES: tuple[Mode, Mode] = ("longitudinal", "shear")
PLATE_SOURCE = (
    "Viktorov 1967, Rayleigh and Lamb Waves; plate modes in clamp-on metering: Massaad et al. 2020, JASA 147(4)"
)


@dataclass(frozen=True, slots=True)
class Ray:
    """The path that a job works on.

    Attributes:
        along: slowness along the pipe, s/m.
        modes: of each layer, from outside to inside.
        labels: the inputs that hold each layer's thickness and speed.
    """

    along: float
    modes: tuple[Mode, ...]
    labels: tuple[tuple[str, str], ...]

    def layers(self, numbers: Any) -> list[Layer]:
        """The layers with thicknesses and speeds from a mapping of names to numbers."""
        return [Layer(numbers[thickness], numbers[speed]) for thickness, speed in self.labels]


def ray(inputs: Inputs) -> Ray:
    """The path of the chosen arrival, its speeds put among the inputs.

    Raises:
        OutsideRange: the liquid or a layer lets no such wave through.
        Problem: a speed is neither given nor in the release.
    """
    pipe = inputs.job.pipe
    along = float(slowness(inputs.value("wedge angle"), inputs.value("wedge speed")))
    if not travels(inputs.value("sound speed"), along):
        raise OutsideRange(
            f"sensors.angle: no sound enters the liquid: its speed {inputs.value('sound speed'):.0f} m/s is above "
            f"{1.0 / along:.0f} m/s, where the critical angle is reached; take sensors of a smaller angle.",
            parameter="sensors.angle",
        )
    modes, labels = [], [("wall", "wall speed")]
    modes.append(_choose(inputs, "pipe", pipe.material, pipe.wave, along, "wall speed"))
    if pipe.lining is not None:
        modes.append(_choose(inputs, "pipe.lining", pipe.lining.material, pipe.lining.wave, along, "lining speed"))
        labels.append(("lining thickness", "lining speed"))
    return Ray(along, tuple(modes), tuple(labels))


def _given(inputs: Inputs, where: str, mode: Mode) -> tuple[str | None, str | None]:
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    return getattr(section, f"{mode}_speed"), getattr(section, f"{mode}_speed_uncertainty")


def _choose(inputs: Inputs, where: str, material: str | None, wanted: Mode | None, along: float, label: str) -> Mode:
    """The mode a layer is crossed by: the one asked for, or shear, or longitudinal where there is no shear speed."""
    tried: list[Mode] = [wanted] if wanted is not None else ["shear", "longitudinal"]
    problem: Problem | None = None
    for mode in tried:
        try:
            speed = wave_speed(inputs, label, material, mode, _given(inputs, where, mode), where)
        except NotAvailable as refused:
            problem = problem or refused
            continue
        if travels(speed.value, along):
            if wanted is None:
                inputs.assumptions.append(f"{where}.wave not given: {mode} is worked on; other arrivals are listed")
            return mode
        problem = problem or _beyond(where, mode, speed.value, along)
    assert problem is not None  # noqa: S101 - at least one mode was tried
    raise problem


def _beyond(where: str, mode: Mode, speed: float, along: float) -> OutsideRange:
    return OutsideRange(
        f"{where}.wave: a {mode} wave at {speed:.0f} m/s does not travel here: only speeds below {1.0 / along:.0f} m/s "
        "do with these sensors; take the other wave or sensors of another angle.",
        parameter=f"{where}.wave",
    )


def waves_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """Angles, arrivals with their transmission, the plate-wave check."""
    liquid_angle = angle_in(inputs.value("sound speed"), path.along)
    arrivals = [_arrival(inputs, path, mode) for mode in MODES]
    told = [arrival for arrival in arrivals if arrival is not None]
    warnings = []
    if sum(arrival["travels"] for arrival in told) > 1:
        warnings.append("Two arrivals cross the wall; find out which one the sensors time: their spacings differ.")
    warnings += _plate(inputs)["warnings"]
    return {
        "slowness": {"magnitude": path.along, "unit": "s/m"},
        "slowest_speed_beyond": {"magnitude": 1.0 / path.along, "unit": "m/s"},
        "liquid_angle": {"magnitude": math.degrees(liquid_angle), "unit": "deg"},
        "layers": [
            {
                "layer": thickness.removesuffix(" thickness"),
                "mode": mode,
                "angle": {"magnitude": math.degrees(angle_in(inputs.value(speed), path.along)), "unit": "deg"},
            }
            for (thickness, speed), mode in zip(path.labels, path.modes, strict=True)
        ],
        "arrivals": told,
        "thickness_by_wavelength": _plate(inputs)["ratio"],
        "warnings": warnings,
    }


def _plate(inputs: Inputs) -> dict[str, Any]:
    """Wall thickness times frequency over shear speed, and what it means."""
    try:
        shear = _speed_of(inputs, "shear")
    except Problem:
        return {"ratio": None, "warnings": []}
    ratio = inputs.value("wall") * inputs.value("frequency") / shear
    if ratio > 1.2 * THIN_WALL:
        return {"ratio": ratio, "warnings": []}
    words = (
        f"The wall is {ratio:.2f} shear wavelengths thick: it carries plate waves. The angle in the liquid holds, the "
        f"delay and the shift in the wall do not ({PLATE_SOURCE})."
    )
    return {"ratio": ratio, "warnings": [words]}


def _speed_of(inputs: Inputs, mode: Mode) -> float:
    """A speed of the wall, without making it the one the job works on."""
    found = solid(
        inputs, inputs.job.pipe.material, f"{mode}_speed", _given(inputs, "pipe", mode)[0], f"pipe.{mode}_speed"
    )
    return found if isinstance(found, float) else float(found.magnitude)


def _density_of(inputs: Inputs) -> float:
    found = solid(inputs, inputs.job.pipe.material, "density", inputs.job.pipe.density, "pipe.density")
    return found if isinstance(found, float) else float(found.magnitude)


def _arrival(inputs: Inputs, path: Ray, mode: Mode) -> dict[str, Any] | None:
    """One mode of the wall: whether it travels, its angle, its spacing and the energy it brings; None if unknown."""
    try:
        speed = _speed_of(inputs, mode)
    except Problem:
        return None
    through = travels(speed, path.along)
    told: dict[str, Any] = {
        "wall_wave": mode,
        "speed": {"magnitude": speed, "unit": "m/s"},
        "travels": through,
        "worked_on": mode == path.modes[0],
        "angle": None,
        "spacing": None,
        "transmission": None,
    }
    if not through:
        return told
    numbers = {name: item.value for name, item in inputs.found.items()} | {"wall speed": speed}
    told["angle"] = {"magnitude": math.degrees(angle_in(speed, path.along)), "unit": "deg"}
    if not much_too_thin(inputs):
        passes = inputs.job.sensors.passes
        set_at = spacing(
            passes, nominal_bore(inputs), numbers["sound speed"], path.layers(numbers), path.along, numbers["offset"]
        )
        told["spacing"] = {"magnitude": 1000.0 * float(set_at), "unit": "mm"}
    told["transmission"] = _transmission(inputs, path, mode)
    return told


def much_too_thin(inputs: Inputs) -> bool:
    """Whether the wall is so thin that rays in it mean nothing."""
    ratio = _plate(inputs)["ratio"]
    return ratio is not None and ratio < MUCH_TOO_THIN


def _media(inputs: Inputs) -> tuple[Medium | None, Medium, Medium]:
    """The wedge, where its data are given; the wall; the liquid."""
    sensors = inputs.job.sensors
    wall = Medium(_speed_of(inputs, "longitudinal"), _speed_of(inputs, "shear"), _density_of(inputs))
    liquid = Medium(inputs.value("sound speed"), None, inputs.value("density"))
    if sensors.density is None or sensors.other_speed is None:
        return None, wall, liquid
    own, other = inputs.value("wedge speed"), positive(sensors.other_speed, "speed", "sensors.other_speed")
    first, second = (own, other) if sensors.wave == "longitudinal" else (other, own)
    if second >= first:
        raise BadParameter(
            "sensors.other_speed: the shear speed of a solid is below its longitudinal one; exchange them or `wave`.",
            parameter="sensors.other_speed",
        )
    return Medium(first, second, positive(sensors.density, "density", "sensors.density")), wall, liquid


def _transmission(inputs: Inputs, path: Ray, mode: Mode) -> dict[str, Any] | None:
    """The part of the energy that passes each interface once, in its direction; linings are left out."""
    try:
        wedge, wall, liquid = _media(inputs)
    except (NotAvailable, OutsideRange):
        return None
    inward = scatter(wall, liquid, mode, path.along)
    outward = scatter(liquid, wall, "longitudinal", path.along)
    entered = scatter(wedge, wall, inputs.job.sensors.wave, path.along).transmitted[mode] if wedge else None
    return {
        "wedge_to_wall": entered,
        "wall_to_liquid": inward.transmitted["longitudinal"],
        "liquid_to_wall": outward.transmitted[mode],
        "reflected_in_liquid": outward.reflected["longitudinal"],
    }


def spacing_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The spacing for one to six passes, times, and what the signal loses.

    Raises:
        OutsideRange: the wall is much too thin for rays.
    """
    if much_too_thin(inputs):
        raise OutsideRange(
            f"pipe.wall: the wall is {_plate(inputs)['ratio']:.2f} shear wavelengths thick, well below one: it carries "
            "plate waves, and a spacing from rays would be wrong; set the sensors by the best signal at the liquid's "
            f"angle, or take a higher frequency ({PLATE_SOURCE}).",
            parameter="pipe.wall",
        )
    return {"passes": [_passes(inputs, path, passes) for passes in range(1, MOST_PASSES + 1)]}


def _passes(inputs: Inputs, path: Ray, passes: int) -> dict[str, Any]:
    numbers = {name: item.value for name, item in inputs.found.items()}
    bore, liquid_speed, layers = nominal_bore(inputs), numbers["sound speed"], path.layers(numbers)
    budget = propagate(lambda x: _spacing_of(x, path, passes), _geometry(inputs, path))
    in_liquid = float(time_in_liquid(passes, bore, liquid_speed, path.along))
    exit_spacing = budget.value - numbers["offset"]
    set_at, setting = budget.value, None
    step = inputs.job.sensors.rail_step
    if step is not None:
        set_at = nearest_setting(budget.value, positive(step, "length", "sensors.rail_step"))
        setting = {"magnitude": 1000.0 * set_at, "unit": "mm"}
    told = inputs.job.sensors.spacing_set
    if told is not None and passes == inputs.job.sensors.passes:
        set_at = positive(told, "length", "sensors.spacing_set")
    arrangement = (passes, bore, liquid_speed, layers, path.along)
    total = total_time(*arrangement, set_at - numbers["offset"], numbers["delay"])
    return {
        "passes": passes,
        "spacing": {"magnitude": 1000.0 * budget.value, "unit": "mm"},
        "standard_uncertainty": {"magnitude": 1000.0 * budget.uncertainty, "unit": "mm"},
        "between_exit_points": {"magnitude": 1000.0 * exit_spacing, "unit": "mm"},
        "nearest_setting": setting,
        "time_in_liquid": {"magnitude": 1e6 * in_liquid, "unit": "us"},
        "time_in_layers": {"magnitude": 1e6 * float(time_in_layers(layers, path.along)), "unit": "us"},
        "total_time": {"magnitude": 1e6 * float(total), "unit": "us"},
        "time_difference_per_velocity": {
            "magnitude": 1e9 * float(time_difference(1.0, path.along, in_liquid)),
            "unit": "ns per m/s",
        },
        "error_of_1_mm_not_entered": {"magnitude": 100.0 * path.along * 0.001 / in_liquid, "unit": "%"},
        "loss": _loss(inputs, path, passes),
        "remark": _remark(inputs, budget.value, passes),
    }


def _geometry(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The inputs that decide the spacing."""
    names = [
        "outside diameter",
        "wall",
        "deposits",
        "wedge angle",
        "wedge speed",
        "sound speed",
        "wall speed",
        "offset",
    ]
    names += [name for label in path.labels for name in label if name not in names]
    return {name: inputs[name].variable for name in names}


def bore_of(numbers: Any) -> Any:
    """The bore from a mapping of names to numbers, in metres."""
    inside = numbers["wall"] + numbers["deposits"] + numbers.get("lining thickness", 0.0)
    return numbers["outside diameter"] - 2.0 * inside


def _spacing_of(numbers: Any, path: Ray, passes: int) -> Any:
    along = slowness(numbers["wedge angle"], numbers["wedge speed"])
    return spacing(passes, bore_of(numbers), numbers["sound speed"], path.layers(numbers), along, numbers["offset"])


def _remark(inputs: Inputs, value: float, passes: int) -> str | None:
    if value < 0.0:
        return "the sensors would cross over: take more passes"
    length = inputs.job.sensors.housing_length
    # On one side the housings stand in line; with odd pass counts they face each other and may overlap.
    if passes % 2 == 0 and length is not None and value < positive(length, "length", "sensors.housing_length"):
        return "shorter than the housings: take more passes"
    return None


def _loss(inputs: Inputs, path: Ray, passes: int) -> dict[str, Any] | None:
    """What the signal loses, least and most, in dB; None where the wall's data are unknown."""
    told = _transmission(inputs, path, path.modes[0])
    if told is None:
        return None
    crossing = decibels(told["wall_to_liquid"]) + decibels(told["liquid_to_wall"])
    if told["wedge_to_wall"] is not None:
        crossing += 2.0 * decibels(told["wedge_to_wall"])
    reflections = (passes - 1) * decibels(told["reflected_in_liquid"])
    length = passes * nominal_bore(inputs) / math.cos(angle_in(inputs.value("sound speed"), path.along))
    absorption, basis = _absorption(inputs)
    absorbed = [amount * length * 20.0 / math.log(10.0) for amount in absorption]
    spread = _spreading(inputs, length)
    low, high = crossing + reflections + absorbed[0], crossing + reflections + absorbed[1] + spread
    return {
        "low": {"magnitude": low, "unit": "dB"},
        "high": {"magnitude": high, "unit": "dB"},
        "transmission": {"magnitude": crossing, "unit": "dB"},
        "reflections": {"magnitude": reflections, "unit": "dB"},
        "absorption": [{"magnitude": amount, "unit": "dB"} for amount in absorbed],
        "absorption_from": basis,
        "spreading_at_most": {"magnitude": spread, "unit": "dB"},
    }


MOST_OF_BOUND = 10.0
"""Times the classical lower bound up to which a loss is told: judgement; benzene and its like absorb even more."""


def _absorption(inputs: Inputs) -> tuple[tuple[float, float], str]:
    """Least and most absorption at the sensors' frequency in Np/m, and where they come from.

    First what the job gives, then what is published of the liquid, then the classical lower bound and what bulk
    viscosity may add to it.
    """
    if "absorption" in inputs.found:
        given = inputs["absorption"]
        return (given.value - given.uncertainty, given.value + given.uncertainty), "given"
    squared = inputs.value("frequency") ** 2
    item = inputs.found.get(ABSORPTION)
    row = item.answer if item is not None else None
    if item is not None and row is not None and row.bound is None:
        low, high = item.value - item.uncertainty, item.value + item.uncertainty
        return (low * squared, high * squared), f"published: row {row.row}"
    if item is not None and row is not None:
        least, words = item.value, f"row {row.row}"
    else:
        viscosity = inputs.value("dynamic viscosity") / inputs.value("density")
        least = classical_absorption(viscosity, inputs.value("sound speed"))
        words = "from the viscosity, density and sound speed of the job"
    ends = (least * squared, MOST_OF_BOUND * least * squared)
    return ends, f"lower bound: {words}; up to {MOST_OF_BOUND:g} times as much is assumed"


def _spreading(inputs: Inputs, length: float) -> float:
    """Spreading beyond the near field of the element, dB; 0 where its width is not given."""
    width = inputs.job.sensors.width
    if width is None:
        return 0.0
    near = (
        positive(width, "length", "sensors.width") ** 2
        * inputs.value("frequency")
        / (4.0 * inputs.value("sound speed"))
    )
    return 20.0 * math.log10(max(1.0, length / near))
