"""Where a row has a value that was measured: along one part of the state, every place, with uncertainty.

The part (temperature, salinity or strength) is scanned over the row's range; turning points are refined, so that the
value is monotone between knots; roots are found by Brent's method. A measured value y agrees with the row's value c(x)
where |y - c(x)| <= k u(x), u² = u_y² + u_c² + (dc/dT u_T)², k = 2 (JCGM 100:2008, 6.2.1). The stretches of x that agree
are the answer: round a simple root a stretch is root ± k u / |dc/dx|; at a turning point that formula fails and the
stretch does not.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.forms.states import JUST_LIQUID
from refdb.lookup.evaluate import Evaluated, PreparedRow
from refdb.lookup.state import State
from refdb.problems import Problem

if TYPE_CHECKING:
    from refdb.liquids.documents import Content


COVERAGE = 2.0
"""k: values that differ by less than this many standard uncertainties of both agree."""
STEPS = 400
"""Parts into which a range is cut; two turning points within one part would be missed."""
SYMMETRY = 1.5
"""A stretch whose half width is within this factor of k u / |dc/dx| is that of a simple root."""

HALF_STEP = 0.01
"""K: over which the slope of the saturation pressure is taken."""

CONTENTS: tuple[Content, ...] = ("salinity", "strength")
PARTS = {"temperature": "celsius", "salinity": "salinity", "strength": "strength"}
"""Parts of the state along which a row can be inverted, and where a state holds them."""

Function = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Root:
    """A place where the row has exactly the measured value: the place, dc/dx, and u / |dc/dx|."""

    at: float
    slope: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """Places that agree with the measured value.

    Attributes:
        low, high: its ends.
        open_low, open_high: whether it ends because the row does.
        roots: none where the value only comes near.
        turns: the turning points inside.
    """

    low: float
    high: float
    open_low: bool
    open_high: bool
    roots: tuple[Root, ...]
    turns: tuple[float, ...]

    @property
    def simple(self) -> bool:
        """Whether one place and its standard uncertainty say everything."""
        if len(self.roots) != 1 or self.turns:
            return False
        wide = COVERAGE * self.roots[0].uncertainty
        return all(
            edge < SYMMETRY * wide and (open_end or edge > wide / SYMMETRY)
            for edge, open_end in (
                (self.roots[0].at - self.low, self.open_low),
                (self.high - self.roots[0].at, self.open_high),
            )
        )


@dataclass(frozen=True, slots=True)
class Inversion:
    """Everything that a row says of a measured value along one part of the state.

    Attributes:
        span: where the row answers at all.
        reached: the least and the greatest value there.
        turns: every turning point and the value there.
        problem: why nothing is answered; None where something is.
    """

    row: PreparedRow
    part: str
    span: tuple[float, float]
    reached: tuple[float, float]
    turns: tuple[tuple[float, float], ...]
    stretches: tuple[Stretch, ...]
    at_saturation: bool
    problem: Problem | None = None


def pressed(row: PreparedRow, state: State) -> tuple[State, bool]:
    """The state with a pressure where the row depends on one: as given, else 1 atm, else saturation where it boils.

    The second part says whether saturation was taken anywhere.
    """
    if row.pressure is None or state.pascals is not None:
        return state, False
    known = row.temperature is not None and state.celsius is not None
    if known and isinstance(state.celsius, float) and not _inside(row, state.celsius):
        # Refused by its temperature, before any pressure is looked at: the saturation line is known inside only.
        known = False
    boiling = row.saturation_pressure(state.celsius) if known else None
    if isinstance(boiling, float):
        taken = max(STANDARD_ATMOSPHERE, boiling * JUST_LIQUID)
        return replace(state, pascals=taken), taken > STANDARD_ATMOSPHERE
    if boiling is None:
        return replace(state, pascals=STANDARD_ATMOSPHERE), False
    import numpy as np

    taken = np.maximum(STANDARD_ATMOSPHERE, boiling * JUST_LIQUID)
    return replace(state, pascals=taken), bool((taken > STANDARD_ATMOSPHERE).any())


def _inside(row: PreparedRow, celsius: float) -> bool:
    return row.temperature is not None and row.temperature.least <= celsius <= row.temperature.most


def warming(found: Evaluated, saturated: bool) -> float:
    """dc/dT at a state; of a liquid that was taken at saturation, along saturation, since its pressure follows."""
    slopes = found.slopes()
    slope = float(slopes.get("temperature", 0.0))
    if not saturated:
        return slope
    above, below = (found.row.saturation_pressure(found.state.celsius + step) for step in (HALF_STEP, -HALF_STEP))
    return slope + float(slopes["pressure"]) * float(above - below) * JUST_LIQUID / (2.0 * HALF_STEP)


def along(state: State, part: str, place: Any) -> State:
    """The state with one of its parts elsewhere."""
    held: dict[str, Any] = {PARTS[part]: place}
    return replace(state, **held)


def root_between(curve: Function, low: float, high: float) -> float:
    """The place where a curve is zero, between two places where its signs differ, by Brent's method."""
    from scipy.optimize import brentq

    found: Any = brentq(curve, low, high)
    return float(found)


def invert(row: PreparedRow, part: str, state: State, value: float, uncertainty: float, kelvin: float) -> Inversion:
    """Where a row has a value along one part of the state.

    Args:
        part: a key of `PARTS` that the row depends on.
        state: the other parts.
        value, uncertainty: what was measured, in the row's unit.
        kelvin: the standard uncertainty of the temperature; 0 where it is the part.

    Raises:
        MissingState, BadParameter: another part of the state is missing, or is not one of the row's.
    """
    return _Scan(row, part, state, value, uncertainty, kelvin).inversion()


class _Scan:
    def __init__(
        self, row: PreparedRow, part: str, state: State, value: float, uncertainty: float, kelvin: float
    ) -> None:
        self._row, self._part, self._state = row, part, state
        self._value, self._uncertainty, self._kelvin = value, uncertainty, kelvin

    def inversion(self) -> Inversion:
        import numpy as np

        interval = self._row.intervals[self._part]
        places = np.linspace(interval.low, interval.high, STEPS + 1)
        state, saturated = pressed(self._row, self._at(places))
        each = self._row.evaluate_each(state, len(places), needs_temperature=True)
        valid = np.isfinite(each.value)
        if not valid.any():
            problem = each.refused[0][1]
            return Inversion(self._row, self._part, (math.nan, math.nan), (math.nan, math.nan), (), (), False, problem)
        segments = [self._refined(segment) for segment in _runs(places, valid)]
        turns = [turn for segment in segments for turn in self._turns(segment)]
        stretches = [stretch for segment in segments for stretch in self._stretches(segment, turns)]
        ends = [segment[0] for segment in segments] + [segment[-1] for segment in segments]
        reached = [self._curve(at) for at in (*ends, *turns)]
        return Inversion(
            self._row,
            self._part,
            (min(ends), max(ends)),
            (min(reached), max(reached)),
            tuple((turn, self._curve(turn)) for turn in turns),
            tuple(stretches),
            saturated,
        )

    def _at(self, place: Any) -> State:
        return along(self._state, self._part, place)

    def _evaluated(self, place: float) -> tuple[Evaluated, bool]:
        state, saturated = pressed(self._row, self._at(place))
        return self._row.evaluate(state, needs_temperature=True), saturated

    def _curve(self, place: float) -> float:
        return float(self._evaluated(place)[0].value)

    def _slope(self, place: float) -> float:
        found, saturated = self._evaluated(place)
        if self._part == "temperature":
            return warming(found, saturated)
        return float(found.slopes().get(self._part, 0.0))

    def _spread(self, place: float) -> float:
        """The combined standard uncertainty at a place."""
        found, saturated = self._evaluated(place)
        warm = warming(found, saturated) * self._kelvin if self._kelvin else 0.0
        return math.hypot(self._uncertainty, float(found.standard_uncertainty), warm)

    def _excess(self, place: float) -> float:
        """Below zero where the measured value agrees."""
        return abs(self._curve(place) - self._value) - COVERAGE * self._spread(place)

    def _refined(self, segment: list[float]) -> list[float]:
        """A segment that reaches as far as the row answers: the grid steps over the ends of a guard."""
        interval = self._row.intervals[self._part]
        step = (interval.high - interval.low) / STEPS
        low = self._edge(segment[0], max(segment[0] - step, interval.low))
        high = self._edge(segment[-1], min(segment[-1] + step, interval.high))
        return sorted({low, *segment, high})

    def _edge(self, inside: float, outside: float) -> float:
        """The last place that answers on the way out, by bisection."""
        if self._answers(outside):
            return outside
        for _ in range(40):
            middle = 0.5 * (inside + outside)
            inside, outside = (middle, outside) if self._answers(middle) else (inside, middle)
        return inside

    def _answers(self, place: float) -> bool:
        try:
            self._curve(place)
        except Problem:
            return False
        return True

    def _turns(self, segment: list[float]) -> list[float]:
        from scipy.optimize import minimize_scalar

        values = [self._curve(at) for at in segment]
        turns = []
        for place in range(1, len(segment) - 1):
            before, after = values[place] - values[place - 1], values[place + 1] - values[place]
            if before * after < 0.0 or (after == 0.0 and before != 0.0):
                sign = -1.0 if before > 0.0 else 1.0
                found: Any = minimize_scalar(
                    lambda at, sign=sign: sign * self._curve(float(at)),
                    bounds=(segment[place - 1], segment[place + 1]),
                    method="bounded",
                )
                turns.append(float(found.x))
        return turns

    def _stretches(self, segment: list[float], turns: list[float]) -> list[Stretch]:
        inside = [turn for turn in turns if segment[0] < turn < segment[-1]]
        knots = sorted({*segment, *inside})
        roots = _crossings(lambda at: self._curve(at) - self._value, knots)
        knots = sorted({*knots, *roots})
        agreeing = [self._excess(at) <= 0.0 for at in knots]
        stretches = []
        start = 0
        while start < len(knots):
            if not agreeing[start]:
                start += 1
                continue
            end = start
            while end + 1 < len(knots) and agreeing[end + 1]:
                end += 1
            stretches.append(self._stretch(knots, start, end, roots, inside))
            start = end + 1
        return stretches

    def _stretch(self, knots: list[float], start: int, end: int, roots: list[float], turns: list[float]) -> Stretch:
        low = root_between(self._excess, knots[start - 1], knots[start]) if start > 0 else knots[0]
        high = root_between(self._excess, knots[end], knots[end + 1]) if end + 1 < len(knots) else knots[-1]
        return Stretch(
            low,
            high,
            start == 0,
            end + 1 == len(knots),
            tuple(self._root(at) for at in roots if low <= at <= high),
            tuple(turn for turn in turns if low <= turn <= high),
        )

    def _root(self, at: float) -> Root:
        slope = self._slope(at)
        return Root(at, slope, self._spread(at) / abs(slope) if slope else math.inf)


def _runs(places: Any, valid: Any) -> list[list[float]]:
    """The unbroken runs of places that are answered."""
    runs: list[list[float]] = []
    for place, answered, before in zip(places.tolist(), valid.tolist(), [False, *valid.tolist()[:-1]], strict=True):
        if answered and not before:
            runs.append([])
        if answered:
            runs[-1].append(place)
    return runs


def _crossings(curve: Function, knots: list[float]) -> list[float]:
    """Every place where a curve is zero, one between two knots at most."""
    values = [curve(at) for at in knots]
    roots = [at for at, value in zip(knots, values, strict=True) if value == 0.0]
    for place in range(len(knots) - 1):
        if values[place] * values[place + 1] < 0.0:
            roots.append(root_between(curve, knots[place], knots[place + 1]))
    return sorted(roots)
