"""The waves of a job: which travel in each layer, by which ways they arrive, where the sensors go."""

from __future__ import annotations

import itertools
import math
from typing import Any

from refdb.job.acoustics.loss import loss, loss_warnings, loss_words, way_through
from refdb.job.acoustics.ray import Ray, speed_of
from refdb.job.acoustics.signal import crossing, lost_in_layers, received
from refdb.job.acoustics.spacing import (
    MOST_PASSES,
    nearest_setting,
    spacing,
    time_difference,
    time_in_layers,
    time_in_liquid,
    total_time,
)
from refdb.job.acoustics.waves import (
    MUCH_TOO_THIN,
    NEARLY_THIN,
    Mode,
    angle_in,
    slowness,
    travels,
)
from refdb.job.inputs.held import Inputs, nominal_bore
from refdb.job.quantities import number, positive
from refdb.job.uncertainty import propagate
from refdb.problems import OutsideRange, Problem
from refdb.units.sizes import NO_SOURCE

ECHOING, ECHOES = 4.0, 3
"""Shear wavelengths of wall below which echoes inside it may come in stronger than the first arrival, and how many of
them are told: a layered wall of 6 to 13 mm of steel at 1 MHz has its strongest place up to three echoes away."""
MODES: tuple[Mode, Mode] = ("longitudinal", "shear")
PLATE_SOURCE = (
    "Massaad et al. 2020, J. Acoust. Soc. Am. 147(4), 2670: Lamb waves in a 1 mm wall disturb clamp-on metering; the "
    "limits of this ratio are judgement"
)


def waves_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """Angles, every arrival with its transmission and absorption, the plate-wave check."""
    liquid_angle = angle_in(inputs.value("sound speed"), path.along)
    arrivals = [_arrival(inputs, path, wall, lining) for wall, lining in _ways(inputs)]
    ratio = thickness_by_wavelength(inputs)
    modes = {"wall": path.wall_mode, "lining thickness": path.lining_mode}
    return {
        "slowness": {"magnitude": path.along, "unit": "s/m"},
        "slowest_speed_beyond": {"magnitude": 1.0 / path.along, "unit": "m/s"},
        "liquid_angle": {"magnitude": math.degrees(liquid_angle), "unit": "deg"},
        "layers": [
            {
                "layer": thickness.removesuffix(" thickness"),
                "mode": modes.get(thickness, "as told"),
                "angle": {"magnitude": math.degrees(angle_in(inputs.value(speed), path.along)), "unit": "deg"},
            }
            for thickness, speed in path.labels
        ],
        "arrivals": arrivals,
        "thickness_by_wavelength": ratio,
        "echoes": _echoes(inputs, path, ratio),
        "warnings": [*_arrival_words(arrivals), *_plate_words(ratio), *_gap_words(inputs)],
    }


def _ways(inputs: Inputs) -> list[tuple[Mode, Mode | None]]:
    """Every pair of waves in wall and lining by which the sound could come."""
    linings: tuple[Mode | None, ...] = MODES if inputs.job.pipe.lining is not None else (None,)
    return list(itertools.product(MODES, linings))


def _arrival_words(arrivals: list[dict[str, Any]]) -> list[str]:
    words = []
    if sum(arrival["travels"] is True for arrival in arrivals) > 1:
        words.append("Two arrivals cross the wall; find out which one the sensors time: their spacings differ.")
    unknown = [arrival for arrival in arrivals if arrival["travels"] is None]
    if unknown:
        waves = sorted({arrival["wall_wave"] for arrival in unknown})
        words.append(
            f"Not every speed of arrivals by a {' or '.join(waves)} wave in the wall is known: whether another one "
            "comes cannot be told; give the speed that is missing."
        )
    return words


def thickness_by_wavelength(inputs: Inputs) -> float | None:
    """Wall thickness times frequency over shear speed; None where no shear speed is known."""
    try:
        return inputs.value("wall") * inputs.value("frequency") / speed_of(inputs, "shear")
    except Problem:
        return None


def _plate_words(ratio: float | None) -> list[str]:
    if ratio is None:
        return ["No shear speed of the wall is known: whether the wall carries plate waves cannot be told; give it."]
    if ratio > NEARLY_THIN:
        return []
    return [
        f"The wall is {ratio:.2f} shear wavelengths thick: it carries plate waves. The angle in the liquid holds, the "
        f"delay in the wall and the spacing from bulk waves do not ({PLATE_SOURCE})."
    ]


def _echoes(inputs: Inputs, path: Ray, ratio: float | None) -> dict[str, Any] | None:
    """Where echoes inside the wall come out, beyond the spacing; None where the wall is thick beside the wavelength."""
    if ratio is None or not MUCH_TOO_THIN <= ratio < ECHOING:
        return None
    step = 2000.0 * inputs.value("wall") * math.tan(angle_in(inputs.value("wall speed"), path.along))
    places = [{"magnitude": number * step, "unit": "mm"} for number in range(1, ECHOES + 1)]
    return {
        "beyond_the_spacing": places,
        "text": (
            f"The wall is {ratio:.1f} shear wavelengths thick, and sound goes to and fro in it: each echo comes out "
            f"{step:.1f} mm further along. The strongest signal may be such an echo, up to {ECHOES * step:.0f} mm "
            "beyond the spacing; the right place is that of the first rise, within a few tenths of a microsecond of "
            "the total time. Do not move the sensors to the strongest signal without looking at the time."
        ),
    }


def _gap_words(inputs: Inputs) -> list[str]:
    lining = inputs.job.pipe.lining
    if lining is None or lining.bonded == "yes":
        return []
    if lining.bonded == "no":
        return [f"The lining is not bonded: where there is a gap, no sound reaches the liquid ({NO_SOURCE})."]
    return [f"pipe.lining.bonded not told: the path holds only where the lining is bonded ({NO_SOURCE})."]


def much_too_thin(inputs: Inputs) -> bool:
    """Whether the wall is so thin that rays in it mean nothing."""
    ratio = thickness_by_wavelength(inputs)
    return ratio is not None and ratio < MUCH_TOO_THIN


def _arrival(inputs: Inputs, path: Ray, wall: Mode, lining: Mode | None) -> dict[str, Any]:
    """One way through wall and lining: whether it travels, its angle, spacing, time and the energy it brings."""
    told: dict[str, Any] = {
        "wall_wave": wall,
        "lining_wave": lining,
        "speed": None,
        "travels": None,
        "worked_on": (wall, lining) == (path.wall_mode, path.lining_mode),
        "angle": None,
        "spacing": None,
        "total_time": None,
        "transmission": None,
        "absorption_in_walls": None,
        "weaker_by": None,
    }
    try:
        # Whether another arrival comes is not told from bounds.
        bounded = bool(told["worked_on"])
        speeds = {"wall speed": speed_of(inputs, wall, bounded=bounded)}
        if lining is not None:
            speeds["lining speed"] = speed_of(inputs, lining, "pipe.lining", bounded=bounded)
    except Problem:
        return told
    told["speed"] = {"magnitude": speeds["wall speed"], "unit": "m/s"}
    told["travels"] = all(travels(speed, path.along) for speed in speeds.values())
    if not told["travels"]:
        return told
    told["angle"] = {"magnitude": math.degrees(angle_in(speeds["wall speed"], path.along)), "unit": "deg"}
    if not much_too_thin(inputs):
        told |= _arrival_place(inputs, path, speeds)
    passed = crossing(inputs, path.along, wall, lining)
    told["transmission"] = passed.document() if passed else None
    ends = lost_in_layers(inputs, path.along, wall, lining)
    told["absorption_in_walls"] = [{"magnitude": end, "unit": "dB"} for end in ends]
    weaker = received(inputs, path.along, wall, lining)
    told["weaker_by"] = {"magnitude": weaker, "unit": "dB"} if weaker is not None else None
    return told


def _arrival_place(inputs: Inputs, path: Ray, speeds: dict[str, float]) -> dict[str, Any]:
    """The spacing of an arrival, and its time at the spacing of the arrival that is worked on."""
    numbers = {name: item.value for name, item in inputs.found.items()}
    passes, bore, liquid = inputs.job.sensors.passes, nominal_bore(inputs), numbers["sound speed"]
    worked_on = float(spacing(passes, bore, liquid, path.layers(numbers), path.along))
    layers = path.layers(numbers | speeds)
    place = float(spacing(passes, bore, liquid, layers, path.along, numbers["offset"]))
    time = float(total_time(passes, bore, liquid, layers, path.along, worked_on, numbers["delay"]))
    return {
        "spacing": {"magnitude": 1000.0 * place, "unit": "mm"},
        "total_time": {"magnitude": 1e6 * time, "unit": "us"},
    }


def spacing_document(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The spacing for one to six passes, times, and what the signal loses.

    Raises:
        OutsideRange: the wall is much too thin for rays.
    """
    if much_too_thin(inputs):
        raise OutsideRange(
            f"pipe.wall: the wall is {thickness_by_wavelength(inputs):.2f} shear wavelengths thick, well below one: it "
            "carries plate waves, and a spacing from rays would be wrong; set the sensors by the best signal at the "
            f"liquid's angle, or take a higher frequency ({PLATE_SOURCE}).",
            parameter="pipe.wall",
        )
    way = way_through(inputs, path)
    losses = [loss(inputs, path, way, passes) for passes in range(1, MOST_PASSES + 1)] if way is not None else []
    warnings = _plate_words(thickness_by_wavelength(inputs))
    if losses:
        warnings += loss_warnings(inputs, losses)
    return {
        "passes": [
            _passes(inputs, path, passes, losses[passes - 1] if losses else None)
            for passes in range(1, MOST_PASSES + 1)
        ],
        "as_set": _as_set(inputs, path),
        "text": loss_words(inputs, path, losses) if losses else [],
        "warnings": warnings,
    }


def _passes(inputs: Inputs, path: Ray, passes: int, lost: dict[str, Any] | None) -> dict[str, Any]:
    numbers = {name: item.value for name, item in inputs.found.items()}
    bore, liquid_speed, layers = nominal_bore(inputs), numbers["sound speed"], path.layers(numbers)
    budget = propagate(lambda x: _spacing_of(x, path, passes), _geometry(inputs, path))
    in_liquid = float(time_in_liquid(passes, bore, liquid_speed, path.along))
    setting = _setting(inputs, budget.value)
    really = budget.value if setting is None else setting
    if passes == inputs.job.sensors.passes:
        really = set_at(inputs, budget.value)
    total = total_time(passes, bore, liquid_speed, layers, path.along, really - numbers["offset"], numbers["delay"])
    return {
        "passes": passes,
        "spacing": {"magnitude": 1000.0 * budget.value, "unit": "mm"},
        "standard_uncertainty": {"magnitude": 1000.0 * budget.uncertainty, "unit": "mm"},
        "between_exit_points": {"magnitude": 1000.0 * (budget.value - numbers["offset"]), "unit": "mm"},
        "nearest_setting": {"magnitude": 1000.0 * setting, "unit": "mm"} if setting is not None else None,
        "time_in_liquid": {"magnitude": 1e6 * in_liquid, "unit": "us"},
        "time_in_layers": {"magnitude": 1e6 * float(time_in_layers(layers, path.along)), "unit": "us"},
        "total_time": {"magnitude": 1e6 * float(total), "unit": "us"},
        "time_difference_per_velocity": {
            "magnitude": 1e9 * float(time_difference(1.0, path.along, in_liquid)),
            "unit": "ns per m/s",
        },
        "error_of_1_mm_not_entered": {"magnitude": 100.0 * path.along * 0.001 / in_liquid, "unit": "%"},
        "loss": lost,
        "remark": _remark(inputs, budget.value, passes),
    }


def _setting(inputs: Inputs, wanted: float) -> float | None:
    """The nearest setting of the rail; None without a rail."""
    step = inputs.job.sensors.rail_step
    if step is None:
        return None
    first = inputs.job.sensors.rail_first
    start = number(first, "length", "sensors.rail_first") if first is not None else 0.0
    return nearest_setting(wanted, positive(step, "length", "sensors.rail_step"), start)


def set_at(inputs: Inputs, wanted: float) -> float:
    """The spacing at which the sensors really stand: as told, or the rail's nearest setting, or as computed."""
    told = inputs.job.sensors.spacing_set
    if told is not None:
        return number(told, "length", "sensors.spacing_set")
    setting = _setting(inputs, wanted)
    return wanted if setting is None else setting


def _as_set(inputs: Inputs, path: Ray) -> dict[str, Any] | None:
    """What it does that the sensors stand where they stand; None where no spacing was told."""
    sensors = inputs.job.sensors
    if sensors.spacing_set is None:
        return None
    numbers = {name: item.value for name, item in inputs.found.items()}
    wanted = spacing_at(inputs, path, sensors.passes)
    apart = set_at(inputs, wanted) - wanted
    in_liquid = float(time_in_liquid(sensors.passes, nominal_bore(inputs), numbers["sound speed"], path.along))
    # Sensors too far apart lengthen the whole time; who does not know it takes the liquid's time as too long.
    shifts = sensors.spacing_entered == "no" and inputs.job.time_in_liquid == "measured"
    error = -path.along * apart / in_liquid if shifts else 0.0
    return {
        "apart": {"magnitude": 1000.0 * apart, "unit": "mm"},
        "entered": sensors.spacing_entered,
        "shift_of_time": {"magnitude": 1e6 * path.along * apart, "unit": "us"},
        "error_of_flow": {"magnitude": 100.0 * error, "unit": "%"},
        "text": f"not entered: the flow reads {100.0 * error:+.2f} % off; enter the spacing that was set"
        if shifts
        else "entered, or the time in the liquid is computed: the flow is not shifted, only the signal may be weaker",
    }


def _geometry(inputs: Inputs, path: Ray) -> dict[str, Any]:
    """The inputs that decide the spacing."""
    names = ["outside diameter", "wall", "deposits", "wedge angle", "wedge speed", "sound speed", "offset"]
    names += [name for label in path.labels for name in label if name not in names]
    return {name: inputs[name].variable for name in names}


def bore_of(numbers: Any) -> Any:
    """The bore from a mapping of names to numbers, in metres."""
    inside = numbers["wall"] + numbers["deposits"] + numbers.get("lining thickness", 0.0)
    return numbers["outside diameter"] - 2.0 * inside


def spacing_at(inputs: Inputs, path: Ray, passes: int) -> float:
    """The spacing of the marks for a number of passes, m; negative where the sensors would cross over."""
    return float(_spacing_of({name: item.value for name, item in inputs.found.items()}, path, passes))


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
