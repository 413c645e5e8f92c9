"""The unit table at work: exact spellings to plain factors.

The table itself is text (`shared/vocabulary/units.toml`); `refdb build` has pint turn each entry into a factor and an
offset to the SI unit of its dimension, once. Nothing here imports pint.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from refdb.problems import UnknownUnit, WrongDimension
from refdb.vocabulary import vocabulary

LISTED_SPELLINGS = 12


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `si = scale * magnitude + offset`, in the SI unit of its dimension.

    A gauge pressure carries the standard atmosphere in its offset.
    """

    symbol: str
    ucum: str
    dimension: str
    scale: float
    offset: float
    spellings: tuple[str, ...] = ()
    gauge: bool = False
    assume: str | None = None

    def to(self, magnitude: Any, target: Unit) -> Any:
        """`magnitude` of this unit expressed in `target`; a float or a numpy array, as given.

        Raises:
            WrongDimension: the two units measure different things.
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
        return (magnitude * self.scale + self.offset - target.offset) / target.scale

    def difference_to(self, magnitude: Any, target: Unit) -> Any:
        """A difference or an uncertainty in this unit expressed in `target`: offsets play no part."""
        return magnitude * (self.scale / target.scale)


class UnitTable:
    """All accepted units, found by spelling and dimension."""

    def __init__(self, entries: Iterable[Unit]) -> None:
        self.entries = tuple(entries)
        self._by_spelling: dict[str, list[Unit]] = {}
        self._si: dict[str, Unit] = {}
        # Symbols outrank other spellings, and those outrank UCUM codes: "bar" is plain bar, not gauge.
        for rank in (lambda u: (u.symbol,), lambda u: u.spellings, lambda u: (u.ucum,)):
            for unit in self.entries:
                for spelling in rank(unit):
                    self._by_spelling.setdefault(spelling, []).append(unit)
        for unit in self.entries:
            self._si.setdefault(unit.dimension, unit)

    @classmethod
    def from_documents(cls, documents: Iterable[dict[str, Any]]) -> UnitTable:
        """The table from its compiled form: one document per unit with the fields of `Unit`."""
        return cls(Unit(**{**document, "spellings": tuple(document["spellings"])}) for document in documents)

    def find(self, spelling: str, dimension: str | None = None, field: str = "unit") -> Unit:
        """The unit written `spelling`, of `dimension` where one is asked for.

        Raises:
            UnknownUnit: no unit is written so; the spellings accepted for the dimension are listed.
            WrongDimension: units written so measure something else.
        """
        candidates = self._by_spelling.get(spelling)
        if candidates is None:
            raise self._unknown(spelling, dimension, field)
        if dimension is None:
            return candidates[0]
        for unit in candidates:
            if unit.dimension == dimension:
                return unit
        found = candidates[0]
        raise WrongDimension(
            f"{field}: '{spelling}' measures {found.dimension.replace('_', ' ')}, but "
            f"{dimension.replace('_', ' ')} is needed; write one of {self._listed(dimension)}.",
            parameter=field,
            given=spelling,
            accepted=self.spellings(dimension),
        )

    def si(self, dimension: str) -> Unit:
        """The SI unit of a dimension."""
        return self._si[dimension]

    def dimensions(self) -> list[str]:
        """Every dimension, in the order of the table."""
        return list(self._si)

    def spellings(self, dimension: str) -> list[str]:
        """Every accepted spelling for a dimension, symbols first."""
        members = [unit for unit in self.entries if unit.dimension == dimension]
        ordered = [u.symbol for u in members] + [s for u in members for s in u.spellings] + [u.ucum for u in members]
        return list(dict.fromkeys(ordered))

    def _listed(self, dimension: str) -> str:
        members = [unit.symbol for unit in self.entries if unit.dimension == dimension]
        return ", ".join(members[:LISTED_SPELLINGS])

    def _unknown(self, spelling: str, dimension: str | None, field: str) -> UnknownUnit:
        near = [s for s in self._by_spelling if s.casefold() == spelling.casefold()]
        if dimension is None:
            way_out = "see /v1/units or `refdb units` for every accepted spelling"
        else:
            way_out = f"write one of {self._listed(dimension)}"
        hint = f" Did you mean {near[0]}? Unit spellings are case-exact." if near else ""
        return UnknownUnit(
            f"{field}: the unit '{spelling}' is not in the unit table; {way_out}.{hint}",
            parameter=field,
            given=spelling,
            accepted=self.spellings(dimension) if dimension else None,
        )


@cache
def units() -> UnitTable:
    """The compiled unit table."""
    return UnitTable.from_documents(vocabulary()["units"])
