"""Rule `solid-temperature/1`: a solid's speeds and density at its own temperature, from their rows at 20 degC.

A row that the rules of consensus, of derivation or of estimation give holds at 20 degC. Here it gets the slope that is
known, with its uncertainty, and the range in which that slope is followed. A density falls by three times the linear
expansion. Where not even the sign of a slope is known the value stays, and its uncertainty grows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from refdb.constants import ROOM_CELSIUS
from refdb.exact.sums import root_sum_square
from refdb.recommend.evidence import AT_ROOM_TEMPERATURE, SPEEDS
from refdb.recommend.solids.slopes import Slopes, SolidSlope
from refdb.recommend.temperature_policy import TemperatureGroup, TemperaturePolicy
from refdb.records import number_text
from refdb.records.models import Input, PrintedInterval, RecommendedValue, Subject
from refdb.records.rules import SOLID_TEMPERATURE

AT_TEMPERATURES = (*SPEEDS, "density")
VOLUME = 3.0
"""A volume expands by three times what a length does."""


class Temperatures:
    """Applies the rule to rows of solids."""

    def __init__(self, slopes: Slopes, policy: TemperaturePolicy) -> None:
        self._slopes = slopes
        self._policy = policy

    def applied(self, subject: Subject, rows: Mapping[str, RecommendedValue]) -> Iterator[RecommendedValue]:
        """The rows of a solid that the rule changes."""
        group = self._policy.group(subject.family)
        if group is None or self._policy.is_untold(subject.id):
            return
        reach, reason = self._policy.reach(subject.id, group)
        for row in rows.values():
            if row.property in AT_TEMPERATURES and row.form["name"] in AT_ROOM_TEMPERATURE:
                if row.property == "density":
                    yield _moved(row, self._of_density(subject, group, reach), reach, reason, self._room)
                else:
                    yield self._speed(row, self._slopes.of(subject, row.property), group, reach, reason)

    def rests_on(self, subject: Subject) -> list[Any]:
        """Slopes and policy that the rows of a solid are told by, as plain values."""
        group = self._policy.group(subject.family)
        if group is None or self._policy.is_untold(subject.id):
            return []
        slopes = [self._slopes.of(subject, property_id) for property_id in SPEEDS]
        reach, reason = self._policy.reach(subject.id, group)
        found: list[Any] = [group.model_dump(mode="json"), reach.model_dump(mode="json"), reason]
        for slope in (*slopes, self._of_density(subject, group, reach)):
            if slope is not None:
                found.append([number_text(slope.relative, 6), number_text(slope.uncertainty, 6), slope.words])
                found.append([entry.model_dump(mode="json", exclude_none=True) for entry in slope.inputs()])
        return found

    @property
    def _room(self) -> float:
        return float(self._policy.widths.room)

    def _speed(
        self,
        row: RecommendedValue,
        slope: SolidSlope | None,
        group: TemperatureGroup,
        reach: PrintedInterval,
        reason: str,
    ) -> RecommendedValue:
        if slope is not None:
            return _moved(row, slope, reach, reason, self._room)
        per_kelvin = float(group.slope_uncertainty or "0") * float(row.form["coefficients"]["c0"])
        uncertainty = {"per_kelvin": number_text(per_kelvin, 2)}
        number = root_sum_square(float(row.uncertainty.number), self._room * per_kelvin)
        working = _told(row, f"no slope is known, not even its sign: {group.reason}", 0.0, self._room * per_kelvin)
        return _changed(row, row.form, reach, number, uncertainty, working, [])

    def _of_density(self, subject: Subject, group: TemperatureGroup, reach: PrintedInterval) -> SolidSlope:
        expansion = self._slopes.linear(subject.id, group)
        farthest = max(abs(float(end) - ROOM_CELSIUS) for end in (reach.low, reach.high))
        width = root_sum_square(expansion.uncertainty, expansion.rise * farthest)
        return SolidSlope(
            -VOLUME * expansion.value, VOLUME * width, f"three times {expansion.words}", rows=expansion.rows
        )


def _moved(
    row: RecommendedValue, slope: SolidSlope, reach: PrintedInterval, reason: str, room: float
) -> RecommendedValue:
    value = float(row.form["coefficients"]["c0"])
    form = {
        "name": "temperature-coefficient/1",
        "variable": {"name": "temperature", "unit": "degC"},
        "coefficients": {
            "c0": row.form["coefficients"]["c0"],
            "c1": number_text(slope.relative * value, 4),
            "t0": f"{ROOM_CELSIUS:g}",
        },
    }
    # Readings said to be at room temperature were taken some kelvin from 20 degC.
    of_room = abs(slope.relative) * value * room
    number = root_sum_square(float(row.uncertainty.number), of_room)
    uncertainty = {"per_kelvin": number_text(slope.uncertainty * value, 2)}
    working = _told(row, slope.words, slope.relative, of_room) | {"range": reason}
    return _changed(row, form, reach, number, uncertainty, working, slope.inputs())


def _told(row: RecommendedValue, words: str, relative: float, of_room: float) -> dict[str, str]:
    known = {} if relative == 0.0 else {"slope": f"{number_text(100.0 * relative, 3)} % per kelvin, {words}"}
    told = known or {"slope": words}
    return {
        **(row.working or {}),
        **told,
        "slope_rule": f"{SOLID_TEMPERATURE.name}, {SOLID_TEMPERATURE.sentence}",
        "unstated_room_temperature": number_text(of_room, 2),
    }


def _changed(
    row: RecommendedValue,
    form: Mapping[str, Any],
    reach: PrintedInterval,
    number: float,
    uncertainty: Mapping[str, str],
    working: Mapping[str, str],
    inputs: Sequence[Input],
) -> RecommendedValue:
    known = {entry.id for entry in row.inputs}
    return row.model_copy(
        update={
            "form": dict(form),
            "domain": {"temperature": reach},
            "uncertainty": row.uncertainty.model_copy(update={"number": number_text(number, 2), **uncertainty}),
            "inputs": [*row.inputs, *(entry for entry in inputs if entry.id not in known)],
            "working": dict(working),
        }
    )
