"""The unit table: from exact spellings to plain factors.

The table itself is text (`shared/vocabulary/units.toml`); `refdb build` has pint turn each entry into a factor and an
offset to the SI unit of its dimension, once. Nothing here imports pint. The few units that are not proportional to
their SI unit name a pair of functions of `refdb.units.nonlinear`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from refdb.problems import UnknownUnit, WrongDimension
from refdb.units.nonlinear import CURVES
from refdb.vocabulary import vocabulary

LISTED_SPELLINGS = 12
SHOWN_CHARACTERS = 64


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `si = scale * magnitude + offset`, in the SI unit of its dimension.

    The offset of a gauge pressure includes the standard atmosphere. A unit with a `function` is not linear: the
    function is the name of its curve, and scale and offset are NaN, so that using them by mistake gives NaN.
    """

    symbol: str
    ucum: str
    dimension: str
    scale: float
    offset: float
    spellings: tuple[str, ...] = ()
    gauge: bool = False
    assume: str | None = None
    function: str | None = None

    def to(self, magnitude: Any, target: Unit) -> Any:
        """`magnitude` of this unit expressed in `target`; a float or a numpy array, as given.

        Raises:
            WrongDimension: the two units measure different things.
            OutsideRange: a unit with a function is not defined there.
        """
        if target is self or target.symbol == self.symbol:
            return magnitude
        if target.dimension != self.dimension:
            raise WrongDimension(
                f"{self.symbol} measures {self.dimension.replace('_', ' ')} and cannot be expressed in "
                f"{target.symbol}, which measures {target.dimension.replace('_', ' ')}."
            )
        if self.offset == target.offset:
            return magnitude * (self.scale / target.scale)
        if self.function is not target.function:
            return self._along_curves(magnitude, target)
        return (magnitude * self.scale + self.offset - target.offset) / target.scale

    def difference_to(self, magnitude: Any, target: Unit) -> Any:
        """A difference or an uncertainty in this unit expressed in `target`, without offsets.

        Raises:
            WrongDimension: one of the units has a function, so that differences have no constant factor.
        """
        factor = self.scale / target.scale
        if math.isnan(factor):
            raise _no_difference(self, target)
        return magnitude * factor

    def require(self, magnitude: Any, field: str) -> None:
        """Check that this unit is defined at a magnitude; a unit without a function is defined everywhere.

        Raises:
            OutsideRange: the function does not hold there.
        """
        if self.function is not None:
            CURVES[self.function].require(magnitude, field)

    def _along_curves(self, magnitude: Any, target: Unit) -> Any:
        if self.function is None:
            si = magnitude * self.scale + self.offset
        else:
            self.require(magnitude, "unit")
            si = CURVES[self.function].to_si(magnitude)
        if target.function is None:
            return (si - target.offset) / target.scale
        CURVES[target.function].require_si(si, "unit")
        return CURVES[target.function].from_si(si)


def _no_difference(unit: Unit, target: Unit) -> WrongDimension:
    curve = CURVES[unit.function or target.function or ""]
    return WrongDimension(f"unit: {curve.difference_words}.", parameter="unit", given=unit.symbol)


class UnitTable:
    """All accepted units, found by spelling and dimension."""

    def __init__(self, entries: Iterable[Unit], refused: Iterable[dict[str, Any]] = ()) -> None:
        self.entries = tuple(entries)
        self._by_spelling: dict[str, list[Unit]] = {}
        self._members: dict[str, list[Unit]] = {}
        # Symbols outrank other spellings, and those outrank UCUM codes: "bar" is plain bar, not gauge.
        for rank in (lambda u: (u.symbol,), lambda u: u.spellings, lambda u: (u.ucum,)):
            for unit in self.entries:
                for spelling in rank(unit):
                    self._by_spelling.setdefault(spelling, []).append(unit)
        for unit in self.entries:
            self._members.setdefault(unit.dimension, []).append(unit)
        self._refused = {spelling: entry for entry in refused for spelling in entry["spellings"]}
        self._spellings: dict[str, list[str]] = {}
        self._listed: dict[str, str] = {}
        self._folded: dict[str, str] = {}

    @classmethod
    def from_documents(cls, documents: Iterable[dict[str, Any]], refused: Iterable[dict[str, Any]] = ()) -> UnitTable:
        """The table from its compiled form: one document per unit with the fields of `Unit`."""
        return cls((_unit(document) for document in documents), refused)

    def spelled(self, spelling: str) -> list[Unit]:
        """Every unit with this spelling, of any dimension; an empty list if there is none."""
        return self._by_spelling.get(spelling, [])

    def find(self, spelling: str, dimension: str | None = None, field: str = "unit") -> Unit:
        """The unit written `spelling`, of `dimension` if one is given.

        Raises:
            UnknownUnit: no unit has this spelling, or several have; the sentence names them.
            WrongDimension: units written so measure something else.
        """
        candidates = self._by_spelling.get(spelling)
        if candidates is not None:
            if dimension is None:
                return candidates[0]
            for unit in candidates:
                if unit.dimension == dimension:
                    return unit
        if self.refusal(spelling, dimension) is not None:
            raise self._ambiguous(spelling, dimension, field)
        if candidates is None or dimension is None:
            raise self._unknown(spelling, dimension, field)
        raise WrongDimension(
            f"{field}: '{spelling}' measures {candidates[0].dimension.replace('_', ' ')}, but "
            f"{dimension.replace('_', ' ')} is needed; write one of {self._symbols(dimension)}.",
            parameter=field,
            given=spelling,
            accepted=self.spellings(dimension),
        )

    def refusal(self, spelling: str, dimension: str | None = None) -> str | None:
        """Why a spelling is refused for a dimension, and the way out; None if the table does not refuse it."""
        entry = self._refused.get(spelling)
        if entry is None or (dimension not in entry["dimensions"] and entry["dimensions"]):
            return None
        return str(entry["why"])

    def refused(self) -> list[dict[str, Any]]:
        """All refused spellings: `spellings`, `why`, and `dimensions` (empty means every dimension)."""
        return list({id(entry): entry for entry in self._refused.values()}.values())

    def si(self, dimension: str) -> Unit:
        """The SI unit of a dimension."""
        return self._members[dimension][0]

    def dimensions(self) -> list[str]:
        """Every dimension, in the order of the table."""
        return list(self._members)

    def spellings(self, dimension: str) -> list[str]:
        """Every accepted spelling for a dimension, symbols first."""
        if dimension not in self._spellings:
            members = self._members.get(dimension, [])
            symbols, codes = [unit.symbol for unit in members], [unit.ucum for unit in members]
            others = [spelling for unit in members for spelling in unit.spellings]
            self._spellings[dimension] = list(dict.fromkeys(symbols + others + codes))
        return list(self._spellings[dimension])

    def _symbols(self, dimension: str) -> str:
        if dimension not in self._listed:
            members = [unit.symbol for unit in self._members.get(dimension, [])]
            self._listed[dimension] = ", ".join(members[:LISTED_SPELLINGS])
        return self._listed[dimension]

    def _ambiguous(self, spelling: str, dimension: str | None, field: str) -> UnknownUnit:
        return UnknownUnit(
            f"{field}: '{spelling}' is refused: {self.refusal(spelling, dimension)}.",
            parameter=field,
            given=spelling,
            accepted=self.spellings(dimension) if dimension else None,
        )

    def _unknown(self, spelling: str, dimension: str | None, field: str) -> UnknownUnit:
        shown = printable(spelling)
        near = self._near(spelling)
        if dimension is None:
            way_out = "see /v1/units or `refdb units` for every accepted spelling"
        else:
            way_out = f"write one of {self._symbols(dimension)}"
        hint = f" Did you mean {near}? Unit spellings are case-exact." if near else ""
        return UnknownUnit(
            f"{field}: the unit '{shown}' is not in the unit table; {way_out}.{hint}",
            parameter=field,
            given=shown,
            accepted=self.spellings(dimension) if dimension else None,
        )

    def _near(self, spelling: str) -> str | None:
        """The accepted spelling that differs in case only."""
        if len(spelling) > SHOWN_CHARACTERS:
            return None
        if not self._folded:
            self._folded = {known.casefold(): known for known in reversed(self._by_spelling)}
        return self._folded.get(spelling.casefold())


def _unit(document: dict[str, Any]) -> Unit:
    if document.get("function") is not None:
        document = {**document, "scale": math.nan, "offset": math.nan}
    return Unit(**{**document, "spellings": tuple(document["spellings"])})


def printable(text: str) -> str:
    """At most 64 characters of a text from outside, with what cannot be printed as its code point."""
    shown = text if len(text) <= SHOWN_CHARACTERS else text[:SHOWN_CHARACTERS] + "…"
    if shown.isprintable():
        return shown
    return "".join(letter if letter.isprintable() else f"U+{ord(letter):04X}" for letter in shown)


@cache
def units() -> UnitTable:
    """The compiled unit table."""
    return UnitTable.from_documents(vocabulary()["units"], vocabulary()["refused"])
