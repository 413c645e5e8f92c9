"""Which liquids have a measured sound speed at a temperature.

Every liquid of the release is evaluated at the state; it agrees where |c - c_row| <= 2 u with
u² = u_c² + (dc/dT u_T)² + u_row² (JCGM 100:2008, 5.1.2 and 6.2.1). Liquids are ranked by the normal likelihood of the
difference, all of equal weight: nobody counted which liquids run in pipes, so none of this is a probability.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from refdb.forms.states import CONTENTS
from refdb.liquids.inversion import PARTS, along, pressed, root_between, warming
from refdb.liquids.match_words import advice
from refdb.liquids.measurement import CAUTION, LiquidMeasurement
from refdb.liquids.outcomes import LiquidMatchItem, LiquidOutcomes, Row
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import MissingState, OutsideRange, Problem
from refdb.units import Quantity, Unit, significant, units
from refdb.values.options import Options
from refdb.values.value import Answer, RowText, answer

if TYPE_CHECKING:
    from refdb.liquids.documents import Content, LiquidMatchDocument, LiquidMatchItemDocument, Reason


NEAR = 4.0
"""Standard uncertainties: liquids that miss by no more are told as near misses."""
SOLUTION_STEPS = 100
"""Parts into which the strengths of a solution are cut, to find the one that fits best."""

MODEL = (
    "A liquid agrees where measured and recommended speed differ by at most 2 standard uncertainties of both, the "
    "temperature's through dc/dT included (JCGM 100:2008, k = 2). Ranked by the normal likelihood of the difference, "
    "all liquids of equal weight; a likelihood is no probability."
)

REASONS: dict[Reason, str] = {
    "no_speed": "no sound speed of theirs is published here",
    "estimate": "nobody published their sound speed; an estimate is given with accept=estimates",
    "outside_range": "the state lies outside the range of their row",
    "not_liquid": "they are not liquid at this state",
}


class LiquidMatch(LiquidOutcomes):
    """Liquids that have a measured speed, in words and as a document."""

    @cached_property
    def advice(self) -> list[str]:
        """Plain words: whether the answer is unique, and what would tell the liquids apart."""
        return advice(self)

    @property
    def assumptions(self) -> list[str]:
        """What was taken for granted: of the measurement, and of the liquids that are listed."""
        shown = (text for item in self.items[: self.limit] for text in item.answer.assumptions)
        return list(dict.fromkeys([*self.measured.assumptions, *shown]))

    def document(self) -> LiquidMatchDocument:
        """The match as plain JSON values."""
        unit = self.options.unit_for("sound_speed", units().find("m/s", "speed"))
        return {
            "release": self.release,
            "sought": "liquid",
            "measured": self.measured.document(unit),
            "model": MODEL,
            "agreeing": len(self.items),
            "items": [self._item(item, unit) for item in self.items[: self.limit]],
            "near_misses": {
                "count": len(self.near),
                "within": NEAR,
                "items": [self._item(item, unit) for item in self.near[: self.limit]],
            },
            "left_out": [
                {"reason": reason, "text": REASONS[reason], "count": len(ids), "subjects": ids}
                for reason, ids in self.left_out.items()
            ],
            "advice": self.advice,
            "assumptions": self.assumptions,
            "warnings": [CAUTION],
        }

    def _item(self, item: LiquidMatchItem, unit: Unit) -> LiquidMatchItemDocument:
        told = item.answer.document()
        own = units().find("m/s", "speed")
        return {
            "subject": told["subject"],
            "state": told["state"],
            "value": item.answer.value.document(),
            "standard_uncertainty": item.answer.standard_uncertainty.document(),
            "rung": told["rung"],
            "row": told["row"],
            "sources": told["sources"],
            "permalink": told["permalink"],
            "difference": Quantity(own.difference_to(item.difference, unit), unit).document(),
            "combined_uncertainty": Quantity(own.difference_to(item.spread, unit), unit).document(),
            "deviation": round(item.deviation, 3) + 0.0,
            "likelihood": significant(item.likelihood, 4),
            "agrees": item.agrees,
            "best_fitting": item.content,
            "assumptions": told["assumptions"],
        }


def match_liquid(
    release: str,
    measured: LiquidMeasurement,
    rows: dict[str, RowText | Reason],
    density: Row,
    options: Options,
    limit: int,
) -> LiquidMatch:
    """The liquids that have a measured speed.

    Args:
        rows: every liquid of the release: its row of the sound speed, or why it has none to be asked.
        density: finds a liquid's row of the density, to say whether that would tell liquids apart.
        limit: at most so many items and near misses are told.
    """
    items: list[LiquidMatchItem] = []
    left_out: dict[Reason, list[str]] = {}
    for subject, row in rows.items():
        found = row if isinstance(row, str) else _compared(row, measured, options)
        if isinstance(found, str):
            left_out.setdefault(found, []).append(subject)
        elif abs(found.deviation) <= NEAR:
            items.append(found)
    ranked = _ranked(items)
    return LiquidMatch(
        release,
        options,
        measured,
        [item for item in ranked if item.agrees],
        [item for item in ranked if not item.agrees],
        {reason: left_out[reason] for reason in REASONS if reason in left_out},
        density,
        limit,
    )


def _ranked(items: list[LiquidMatchItem]) -> list[LiquidMatchItem]:
    """The likeliest first, likelihoods relative to the best."""
    best = max((item.likelihood for item in items), default=1.0)
    return sorted(
        (replace(item, likelihood=item.likelihood / best) for item in items),
        key=lambda item: (-item.likelihood, item.answer.subject),
    )


def _compared(text: RowText, measured: LiquidMeasurement, options: Options) -> LiquidMatchItem | Reason:
    """A liquid at the state of the measurement, or why it cannot be there."""
    row = text.row
    speed = float(units().find("m/s", "speed").to(measured.speed, row.unit))
    try:
        state, saturated = pressed(row, _own_state(row, measured.state))
        content: Content | None = next(
            (name for name in CONTENTS if name in row.intervals and _missing(state, name)), None
        )
        if content is not None:
            state = _best_fitting(row, content, state, speed)
        evaluated = row.evaluate(state, needs_temperature=True)
    except (OutsideRange, MissingState) as problem:
        return _reason(row, measured.state, problem)
    notes = list(evaluated.state.assumptions)
    if measured.state.pascals is None and row.pressure is not None:
        boils = f"pressure not given: {row.body['subject']} boils at 1 atm and is taken just above saturation"
        notes.append(boils if saturated else "pressure not given: 1 atm")
    if content is not None:
        notes.append(f"{content} of {row.body['subject']} not given: taken where it fits best, which flatters it")
    evaluated = replace(evaluated, state=replace(evaluated.state, assumptions=tuple(notes)))
    found = answer(text, evaluated, options.unit_for("sound_speed", row.unit))
    return _item(found, speed, measured, content, saturated)


def _item(
    found: Answer, speed: float, measured: LiquidMeasurement, content: Content | None, saturated: bool
) -> LiquidMatchItem:
    evaluated, own = found.evaluated, units().find("m/s", "speed")
    to_metres = float(found.text.row.unit.difference_to(1.0, own))
    warm = warming(evaluated, saturated) * to_metres * measured.kelvin
    spread = math.hypot(measured.uncertainty, warm, float(evaluated.standard_uncertainty) * to_metres)
    # A root is found to the last bits only: what is left of a difference there is nobody's.
    difference = round((speed - float(evaluated.value)) * to_metres, 6) + 0.0
    likelihood = math.exp(-0.5 * (difference / spread) ** 2) / spread
    return LiquidMatchItem(found, difference, spread, likelihood, content)


def _own_state(row: PreparedRow, state: State) -> State:
    """The state with no contents but those that the liquid has: a salinity is told for what is salty."""
    return replace(
        state,
        salinity=state.salinity if "salinity" in row.intervals else None,
        strength=state.strength if "strength" in row.intervals else None,
        assumptions=(),
    )


def _missing(state: State, content: str) -> bool:
    return getattr(state, PARTS[content]) is None


def _best_fitting(row: PreparedRow, content: str, state: State, speed: float) -> State:
    """The state at the salinity or strength whose speed is nearest to the measured one, the lowest where several are.

    Raises:
        Problem: nothing is answered at any.
    """
    import numpy as np

    interval = row.intervals[content]
    places = np.linspace(interval.low, interval.high, SOLUTION_STEPS + 1)
    each = row.evaluate_each(along(state, content, places), len(places), needs_temperature=True)
    away = each.value - speed
    if np.isnan(away).all():
        raise each.refused[0][1]
    crossed = np.flatnonzero(away[:-1] * away[1:] < 0.0)
    if not crossed.size:
        return along(state, content, float(places[int(np.nanargmin(np.abs(away)))]))

    def apart(place: float) -> float:
        here = along(state, content, float(place))
        return float(row.evaluate(here, needs_temperature=True).value) - speed

    first = int(crossed[0])
    return along(state, content, root_between(apart, float(places[first]), float(places[first + 1])))


def _reason(row: PreparedRow, state: State, problem: Problem) -> Reason:
    """Why a liquid cannot be at a state: it boils or freezes there, or its row ends."""
    parameter, celsius = problem.extensions.get("parameter"), state.celsius
    if parameter == "pressure" and celsius is not None and state.pascals is not None:
        boiling = row.saturation_pressure(celsius)
        return "not_liquid" if boiling is not None and state.pascals < boiling else "outside_range"
    freezes = "freezes_at" in row.body or "freezing" in row.body["form"]
    cold = celsius is not None and row.temperature is not None and celsius <= row.temperature.high
    return "not_liquid" if parameter == "temperature" and freezes and cold else "outside_range"
