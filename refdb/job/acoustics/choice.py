"""Which arrival a job works on: the one that is asked for, else the strongest of those that travel."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from refdb.job.acoustics.ray import Ray, given_speed, speed_of
from refdb.job.acoustics.signal import received
from refdb.job.acoustics.spacing import time_in_layers, time_in_liquid
from refdb.job.acoustics.waves import Mode, slowness, travels
from refdb.job.inputs.held import Bound, Inputs, nominal_bore
from refdb.job.inputs.solid import wave_speed
from refdb.problems import MissingState, NotAvailable, OutsideRange, Problem

MUCH_STRONGER = 6.0
"""dB by which another arrival must be stronger than the one that is asked for to be warned of (judgement)."""
MOST_COST = 0.02
"""Of the flow, either way: what a bound of a wave's speed may cost; more is a slow wave in a thick wall (judgement)."""
SHEAR_FIRST: tuple[Mode, Mode] = ("shear", "longitudinal")
"""Of a wall whose strength of arrival cannot be told: in metals the longitudinal wave usually does not travel."""


@dataclass(frozen=True, slots=True)
class _Arrival:
    """A pair of waves that travel, and by how many dB it comes in weaker than it was sent; None where unknown."""

    wall: Mode
    lining: Mode | None
    lost: float | None

    def words(self) -> str:
        return self.wall if self.lining is None else f"{self.wall} in the wall and {self.lining} in the lining"


def ray(inputs: Inputs) -> Ray:
    """The path of the arrival that is worked on, its speeds put among the inputs.

    Raises:
        OutsideRange: the liquid or a layer lets no such wave through.
        Problem: a speed is neither given nor in the release.
    """
    along = float(slowness(inputs.value("wedge angle"), inputs.value("wedge speed")))
    if not travels(inputs.value("sound speed"), along):
        raise OutsideRange(
            f"sensors.angle: no sound enters the liquid: its speed {inputs.value('sound speed'):.0f} m/s is above "
            f"{1.0 / along:.0f} m/s, where the critical angle is reached; take sensors of a smaller angle.",
            parameter="sensors.angle",
        )
    chosen = _chosen(inputs, along)
    pipe = inputs.job.pipe
    labels = [("wall", "wall speed")]
    wave_speed(inputs, "wall speed", pipe.material, chosen.wall, given_speed(inputs, "pipe", chosen.wall), "pipe")
    if pipe.lining is not None and chosen.lining is not None:
        given = given_speed(inputs, "pipe.lining", chosen.lining)
        wave_speed(inputs, "lining speed", pipe.lining.material, chosen.lining, given, "pipe.lining")
        labels.append(("lining thickness", "lining speed"))
    for thickness, speed, where in (
        ("coating", "coating speed", "pipe.coating_speed"),
        ("deposits", "deposits speed", "pipe.deposits_speed"),
    ):
        if speed in inputs.found:
            labels.append((thickness, speed))
            if not travels(inputs.value(speed), along):
                raise _beyond(where, "told", inputs.value(speed), along)
    found = Ray(along, chosen.wall, chosen.lining, tuple(labels))
    for label, where, mode in (("wall speed", "pipe", chosen.wall), ("lining speed", "pipe.lining", chosen.lining)):
        if label in inputs.found and inputs[label].bound is not None:
            _check_bound(inputs, found, label, f"{where}.{mode}_speed")
    return found


def _check_bound(inputs: Inputs, path: Ray, label: str, where: str) -> None:
    """Raises NotAvailable where a bound leaves too much of the flow open."""
    bound = inputs[label].bound
    assert bound is not None  # noqa: S101 - the caller looked
    numbers = {name: item.value for name, item in inputs.found.items()}
    ends = [float(time_in_layers(path.layers(numbers | {label: end}), path.along)) for end in (bound.low, bound.high)]
    passes = inputs.job.sensors.passes
    in_liquid = float(time_in_liquid(passes, nominal_bore(inputs), numbers["sound speed"], path.along))
    cost = abs(ends[1] - ends[0]) / 2.0 / in_liquid
    if cost > MOST_COST:
        raise NotAvailable(
            f"{_told(bound, where)}: that leaves {100 * cost:.2g} % of the flow open either way; {_measured(where)}.",
            parameter=where,
            estimate_available=False,
        )


def _chosen(inputs: Inputs, along: float) -> _Arrival:
    """The arrival that is worked on, and why among the assumptions."""
    pipe = inputs.job.pipe
    walls = _travelling(inputs, "pipe", along)
    linings: list[Mode | None] = [None]
    if pipe.lining is not None:
        linings = list(_travelling(inputs, "pipe.lining", along))
    arrivals = [
        _Arrival(wall, lining, received(inputs, along, wall, lining))
        for wall, lining in itertools.product(walls, linings)
    ]
    wanted = (pipe.wave, pipe.lining.wave if pipe.lining is not None else None)
    allowed = [
        one
        for one in arrivals
        if wanted[0] in {None, one.wall} and (one.lining is None or wanted[1] in {None, one.lining})
    ]
    # Those of which nothing is known keep their order; a known one is never passed over for them.
    best = min(allowed, key=lambda one: one.lost if one.lost is not None else 1e9)
    _say(inputs, best, arrivals, asked=len(allowed) < len(arrivals) or wanted[0] is not None)
    return best


def _say(inputs: Inputs, chosen: _Arrival, arrivals: list[_Arrival], *, asked: bool) -> None:
    """Why this arrival is worked on, and whether another one is much stronger."""
    # Of the others, those whose strength is known, each with the decibels by which the chosen one comes in stronger.
    apart = {
        one: one.lost - chosen.lost
        for one in arrivals
        if one is not chosen and one.lost is not None and chosen.lost is not None
    }
    if asked:
        inputs.warnings += [
            f"pipe.wave: {chosen.words()} is asked for, and {one.words()} comes in {-by:.0f} dB stronger: the "
            "instrument may time that one."
            for one, by in apart.items()
            if by < -MUCH_STRONGER
        ]
        return
    if len(arrivals) == 1:
        why = "no other one is known to travel"
    elif not apart:
        why = "which one is stronger cannot be told, since data of the wall are missing"
    else:
        why = f"it comes in {min(apart.values()):.0f} dB stronger than the next one"
    inputs.assumptions.append(f"pipe.wave not given: {chosen.words()} is worked on: {why}")


def _travelling(inputs: Inputs, where: str, along: float) -> list[Mode]:
    """The waves of a layer that are known and travel.

    Raises:
        OutsideRange: none does.
        Problem: no speed is given or in the release.
    """
    wanted = inputs.job.pipe.wave if where == "pipe" else _lining_wave(inputs)
    found, refused = _known_to_travel(inputs, where, along, bounded=False)
    if inputs.options.estimates and (not found or wanted not in {None, *found}):
        found, refused = _known_to_travel(inputs, where, along, bounded=True)
    if wanted is not None and wanted not in found:
        raise refused[wanted]
    if not found:
        raise refused["shear"]
    return found


def _known_to_travel(
    inputs: Inputs, where: str, along: float, *, bounded: bool
) -> tuple[list[Mode], dict[Mode, Problem]]:
    """The waves that travel, and why the others are not among them."""
    found: list[Mode] = []
    refused: dict[Mode, Problem] = {}
    for mode in SHEAR_FIRST:
        try:
            speed = speed_of(inputs, mode, where, bounded=bounded)
        except (NotAvailable, MissingState, OutsideRange) as problem:
            refused[mode] = problem
            continue
        bound = _bound(inputs, where, mode) if bounded else None
        if bound is not None and travels(bound.low, along) and not travels(bound.high, along):
            refused[mode] = _undecided(bound, f"{where}.{mode}_speed")
        elif travels(speed, along):
            found.append(mode)
        else:
            refused[mode] = _beyond(where, mode, speed, along)
    return found, refused


def _bound(inputs: Inputs, where: str, mode: Mode) -> Bound | None:
    """What a speed lies between, where nothing else is known of it."""
    section = inputs.job.pipe if where == "pipe" else inputs.job.pipe.lining
    if section is None or section.material is None or getattr(section, f"{mode}_speed") is not None:
        return None
    return inputs.bounds.get((section.material, f"{mode}_speed"))


def _told(bound: Bound, where: str) -> str:
    return f"{where}: nobody tells it, and it lies between {bound.low:.0f} m/s and {bound.high:.0f} m/s ({bound.why})"


def _measured(where: str) -> str:
    return f"measure it (`refdb measure-speed`) and give {where}"


def _undecided(bound: Bound, where: str) -> NotAvailable:
    return NotAvailable(
        f"{_told(bound, where)}: whether the wave travels at all with these sensors depends on it; {_measured(where)}.",
        parameter=where,
        estimate_available=False,
    )


def _lining_wave(inputs: Inputs) -> Mode | None:
    lining = inputs.job.pipe.lining
    return lining.wave if lining is not None else None


def _beyond(where: str, mode: str, speed: float, along: float) -> OutsideRange:
    where = where if where.endswith("_speed") else f"{where}.wave"
    return OutsideRange(
        f"{where}: a {mode} wave at {speed:.0f} m/s does not travel here: only speeds below {1.0 / along:.0f} m/s "
        "do with these sensors; take the other wave or sensors of another angle.",
        parameter=where,
    )
