"""A matched liquid in plain words: whether it is the only one, and what would tell it from the others."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

from refdb.liquids.inversion import COVERAGE, pressed, warming
from refdb.liquids.outcomes import LiquidMatchItem, LiquidOutcomes
from refdb.problems import Problem
from refdb.units import units

MOST_COMPARED = 30
"""Liquids among which a second measurement is looked for, the likeliest."""
MOST_NAMED = 6
FARTHEST = 60
"""K: how far from the first temperature a second one is looked for, in steps of 5 K."""
STEP = 5
TELLING_DENSITY = 0.005
"""Of a density that is measured on site, standard: common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Second:
    """A second measurement: how many pairs of liquids it would tell apart, and what they would show."""

    told: int
    shown: dict[str, float]


def advice(match: LiquidOutcomes) -> list[str]:
    """Whether the answer is unique, and what would tell the liquids apart."""
    count = len(match.items)
    if count == 0:
        return [_none_words(match)]
    if count == 1:
        return [
            f"Of the liquids that this release can answer at this state, only {match.items[0].name} agrees; what is "
            "not in the release, or is a mixture, was not compared."
        ]
    lines = [f"{count} liquids agree; sound speed alone cannot tell them apart: {_names(match.items)}."]
    compared = match.items[:MOST_COMPARED]
    pairs = len(compared) * (len(compared) - 1) // 2
    among = f" among the {MOST_COMPARED} likeliest" if count > MOST_COMPARED else ""
    lines.append(_temperature_words(match, compared, pairs, among))
    lines.append(_density_words(match, compared, pairs, among))
    return [line for line in lines if line]


def _none_words(match: LiquidOutcomes) -> str:
    nearest = f"; the nearest are {_names(match.near)}" if match.near else ""
    return (
        f"No liquid of this release agrees at this state{nearest}. A mixture, gas bubbles, a wrong bore or wall, or a "
        "wrong temperature would do that: check them before looking for another liquid."
    )


def _names(items: list[LiquidMatchItem]) -> str:
    more = f" and {len(items) - MOST_NAMED} more" if len(items) > MOST_NAMED else ""
    return "; ".join(item.name for item in items[:MOST_NAMED]) + more


def _temperature_words(match: LiquidOutcomes, compared: list[LiquidMatchItem], pairs: int, among: str) -> str:
    first = match.measured.state.celsius
    offsets = [offset for offset in range(-FARTHEST, FARTHEST + 1, STEP) if offset]
    best: tuple[_Second, float] | None = None
    for offset in sorted(offsets, key=abs):
        second = _at(match, compared, first + offset)
        if best is None or second.told > best[0].told:
            best = second, first + offset
    if best is None or best[0].told == 0:
        return "No second temperature within 60 K would tell any of them apart by sound speed."
    second, celsius = best
    unit = match.options.unit_for("sound_speed", units().find("m/s", "speed"))
    return (
        f"A second sound speed at {celsius:g} degC would tell {second.told} of {pairs} pairs{among} apart: "
        f"{_shown(second.shown, unit, 'm/s')}."
    )


def _at(match: LiquidOutcomes, compared: list[LiquidMatchItem], celsius: float) -> _Second:
    """What the liquids would show at another temperature, at the pressure asked for."""
    shown: dict[str, tuple[float, float]] = {}
    for item in compared:
        row = item.answer.text.row
        here = item.answer.evaluated.state
        state = replace(here, celsius=celsius, pascals=match.measured.state.pascals, assumptions=())
        try:
            pressed_state, saturated = pressed(row, state)
            found = row.evaluate(pressed_state, needs_temperature=True)
        except Problem:
            continue
        metres = float(row.unit.difference_to(1.0, units().find("m/s", "speed")))
        warm = warming(found, saturated) * match.measured.kelvin
        row_and_state = math.hypot(float(found.standard_uncertainty), warm) * metres
        shown[item.name] = float(found.value) * metres, math.hypot(row_and_state, match.measured.uncertainty)
    return _Second(_apart(shown), {name: value for name, (value, _) in shown.items()})


def _density_words(match: LiquidOutcomes, compared: list[LiquidMatchItem], pairs: int, among: str) -> str:
    shown: dict[str, tuple[float, float]] = {}
    own = units().find("kg/m3", "density")
    for item in compared:
        try:
            row = match.density(item.answer.subject).row
            state = replace(item.answer.evaluated.state, pascals=match.measured.state.pascals, assumptions=())
            found = row.evaluate(pressed(row, state)[0], needs_temperature=True)
        except Problem:
            continue
        value = float(row.unit.to(found.value, own))
        uncertainty = float(row.unit.difference_to(found.standard_uncertainty, own))
        shown[item.name] = value, math.hypot(uncertainty, TELLING_DENSITY * value)
    told = _apart(shown)
    if not told:
        return "The density, as far as it is known here, would not tell them apart."
    unit = match.options.unit_for("density", own)
    values = {name: value for name, (value, _) in shown.items()}
    return (
        f"Their density, measured to {TELLING_DENSITY:.1%}, would tell {told} of {pairs} pairs{among} apart: "
        f"{_shown(values, unit, 'kg/m3')}."
    )


def _apart(shown: dict[str, tuple[float, float]]) -> int:
    """How many pairs differ by more than the coverage."""
    return sum(
        abs(one - other) > COVERAGE * math.hypot(uncertainty, other_uncertainty)
        for (one, uncertainty), (other, other_uncertainty) in combinations(shown.values(), 2)
    )


def _shown(values: dict[str, float], unit: Any, own: str) -> str:
    """The values of a few liquids, the least first."""
    source = units().find(own, unit.dimension)
    ranked = sorted(values.items(), key=lambda entry: entry[1])
    if len(ranked) > MOST_NAMED:
        ranked = [*ranked[: MOST_NAMED // 2], *ranked[-(MOST_NAMED // 2) :]]
    return "; ".join(f"{name} {float(source.to(value, unit)):.4g} {unit.symbol}" for name, value in ranked)
