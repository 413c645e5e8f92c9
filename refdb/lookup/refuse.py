"""The words in which a state is refused: what a row's numbers cannot answer, as the project's problems."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.forms.state_function import Breach
from refdb.forms.states import Interval, place_of
from refdb.problems import BadParameter, MissingState, OutsideRange, Problem
from refdb.records.state_functions import AT_A_GUARD
from refdb.units import units
from refdb.vocabulary import STATE

EXAMPLES = {"salinity": "35 g/kg or 35 psu", "strength": "30 % mass"}


class RowRefusals:
    """Refuses states for one row, in its own words."""

    __slots__ = ("_body", "_id", "_intervals")

    def __init__(self, row_id: str, body: Mapping[str, Any], intervals: Mapping[str, Interval]) -> None:
        self._id = row_id
        self._body = body
        self._intervals = intervals

    @property
    def valid_range(self) -> dict[str, list[str]]:
        """The domain in its own words."""
        return {name: list(_range_words(printed)) for name, printed in self._body["domain"].items()}

    def no_temperature(self) -> Problem:
        """A liquid was asked about without its temperature."""
        return MissingState(
            f"temperature: {self._body['property']} of a liquid depends on it; give one, such as temperature=20 degC.",
            parameter="temperature",
        )

    def no_contents(self, name: str) -> Problem:
        """A liquid was asked about without its salinity or strength."""
        return MissingState(
            f"{name}: {self._body['property']} of {self._body['subject']} depends on it; give one, such as "
            f"{EXAMPLES[name]}.",
            parameter=name,
            valid_range=self.valid_range,
        )

    def has_no(self, name: str) -> Problem:
        """A salinity or a strength was given for a liquid that has none."""
        return BadParameter(
            f"{name}: {self._body['property']} of {self._body['subject']} does not depend on it; leave it out, or "
            "ask for the liquid that has one.",
            parameter=name,
        )

    def problem(self, breach: Breach, index: int, pressure_given: bool) -> Problem:
        """What is wrong with a state at one place.

        Args:
            index: the place, in an array of states.
        """
        if breach.kind == "outside":
            return self._outside(breach.part, place_of(breach.held, index))
        limit = place_of(breach.limit, index)
        if breach.kind == "frozen":
            return self._frozen(limit)
        if breach.kind == "may boil":
            # At 1 atm and above such a row is never refused: a pressure was given.
            return self._may_boil(limit, place_of(breach.held, index))
        return self._boils(limit, place_of(breach.held, index), pressure_given)

    def _outside(self, name: str, held: float) -> Problem:
        low, high = _range_words(self._body["domain"][name])
        unit = STATE[name].unit
        below = held < self._intervals[name].low
        nearest = low if below else high
        freezing = self._freezing_words() if below and name == "temperature" else ""
        return OutsideRange(
            f"{name}: {self._id} is valid from {low} to {high}, and {held:.6g} {unit} is outside{freezing}; the "
            f"nearest valid {name} is {nearest}.",
            parameter=name,
            given=f"{held:.12g} {unit}",
            valid_range=self.valid_range,
            nearest=nearest,
        )

    def _freezing_words(self) -> str:
        printed = self._body.get("freezes_at")
        if printed is None:
            return ""
        own, celsius = units().find(printed["unit"], "temperature"), units().find("degC", "temperature")
        return f" ({self._body['subject']} freezes at {own.to(float(printed['number']), celsius):.4g} degC at 1 atm)"

    def _frozen(self, point: float) -> Problem:
        return OutsideRange(
            f"temperature: {self._body['subject']} as given freezes at {point:.4g} degC; give a temperature above.",
            parameter="temperature",
            nearest=f"{point:.6g} degC",
            valid_range=self.valid_range,
        )

    def _may_boil(self, least: float, celsius: float) -> Problem:
        return OutsideRange(
            f"pressure: {self._body['subject']} at {celsius:.6g} degC is known to be liquid only above "
            f"{least / 1000.0:.4g} kPa absolute, where not even water boils; its own vapour pressure, which is lower, "
            "was not seen: give a higher pressure, or a lower temperature.",
            parameter="pressure",
            nearest=f"{least:.6g} Pa",
            valid_range=self.valid_range,
        )

    def _boils(self, needed: float, celsius: float, pressure_given: bool) -> Problem:
        """Told with the pressure that would keep it liquid."""
        words = (
            f"pressure: {self._body['subject']} at {celsius:.6g} degC is liquid only above "
            f"{needed / 1000.0:.4g} kPa absolute, its saturation pressure; "
            f"{'give a higher pressure' if pressure_given else 'give the pressure'}, or a lower temperature."
        )
        kind = OutsideRange if pressure_given else MissingState
        return kind(words, parameter="pressure", nearest=f"{needed:.6g} Pa", valid_range=self.valid_range)


def _range_words(printed: Mapping[str, str]) -> tuple[str, str]:
    """Both ends of an interval as the row prints it; a word for an end needs no unit."""
    low = printed["low"] if printed["low"] in AT_A_GUARD else f"{printed['low']} {printed['unit']}"
    return low, f"{printed['high']} {printed['unit']}"
