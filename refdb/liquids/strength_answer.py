"""A strength told on other bases, as an answer of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.liquids.question import StrengthQuestion
from refdb.lookup import ReleaseInfo
from refdb.lookup.state import parse_part, read_state
from refdb.problems import Problem
from refdb.units import Quantity, Unit, significant, units
from refdb.values.reader import Reader
from refdb.values.strength import MEANINGS, Conversion, Strength
from refdb.values.subjects import subject_reference

if TYPE_CHECKING:
    from refdb.documents import SubjectReference
    from refdb.liquids.documents import StrengthDocument


BASES = ("% mass", "% vol", "% ABV", "% mol", "mol/kg", "mol/L", "g/L", "kg/m3")


@dataclass(frozen=True, slots=True)
class StrengthAnswer:
    """A strength as it was given, as a mass fraction, and on other bases.

    Attributes:
        told: the strength in each unit asked for, and what its basis means.
        refused: units in which it cannot be told, and why.
    """

    subject: SubjectReference
    given: Quantity
    celsius: float | None
    strength: Strength
    told: tuple[tuple[Quantity, str], ...]
    refused: tuple[tuple[str, str], ...]
    release: str

    def document(self) -> StrengthDocument:
        """The answer as plain JSON values."""
        kilogram = units().find("kg/kg", "mass_fraction")
        return {
            "subject": self.subject,
            "given": {**self.given.document(), "meaning": self.strength.meaning},
            "temperature": None if self.celsius is None else {"magnitude": significant(self.celsius), "unit": "degC"},
            "mass_fraction": Quantity(self.strength.mass_fraction, kilogram).document(),
            "standard_uncertainty": Quantity(self.strength.standard_uncertainty, kilogram).document(),
            "strengths": [{**quantity.document(), "meaning": meaning} for quantity, meaning in self.told],
            "refused": [{"unit": unit, "reason": reason} for unit, reason in self.refused],
            "release": self.release,
        }


def strength_answer(reader: Reader, asked: StrengthQuestion, release: ReleaseInfo) -> StrengthAnswer:
    """A strength on the basis asked for, or on every one that can be told.

    Raises:
        UnknownName, AmbiguousName: no one liquid is called so.
        Problem: it cannot be told as a mass fraction, or not on the basis asked for.
    """
    record = reader.subject(asked.subject, release, "liquid")
    given, to = asked.strength, asked.to
    state = read_state(asked.temperature, strength=given)
    conversion = Conversion(record.body, reader.published(release), state.celsius)
    quantity = given if isinstance(given, Quantity) else parse_part(given, "strength")
    found = conversion.to_mass_fraction(quantity)
    told, refused = [], []
    for spelling in BASES if to is None else (to,):
        unit = _unit(spelling)
        try:
            told.append(
                (
                    Quantity(conversion.from_mass_fraction(found.mass_fraction, unit), unit),
                    MEANINGS[conversion.dimension(Quantity(0.0, unit))],
                )
            )
        except Problem as problem:
            if to is not None:
                raise
            refused.append((spelling, problem.detail))
    of = subject_reference(record.body)
    return StrengthAnswer(of, quantity, state.celsius, found, tuple(told), tuple(refused), release.label)


def _unit(spelling: str) -> Unit:
    return parse_part(f"1 {spelling}", "strength").unit
