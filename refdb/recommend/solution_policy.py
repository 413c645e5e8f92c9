"""`sources/rules/solutions.toml`: which rows solutions get, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from pydantic import BaseModel, ConfigDict

from refdb.recommend.rule_text import RuleText
from refdb.records.models import PrintedInterval, PrintedNumber, RecordId, Words


class _Text(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Solute(_Text):
    """The molar mass in g/mol of what is dissolved, for strengths that are printed in moles.

    Attributes:
        hardly_evaporates: whether the solution boils at no higher pressure than water does, by Raoult's law.
    """

    subject: RecordId
    molar_mass: PrintedNumber
    hardly_evaporates: bool = False


class Percent(_Text):
    """A relative standard uncertainty in percent, and what it stands for."""

    number: PrintedNumber
    text: Words


class SolutionGrid(_Text):
    """Which grid a row follows, why, and the least that its uncertainty may be."""

    row: RecordId
    reading: RecordId
    reason: Words
    uncertainty: Percent


class SurfaceChoice(_Text):
    """A row that a surface is fitted for, why, and what its uncertainty holds beside the left-out error.

    Attributes:
        sources: the documents whose points it goes through; absent where all that carry no doubt are.
        of: the logarithm for a viscosity, which spreads over decades.
        temperature: the temperatures it is answered at, where they are fewer than those of the points.
        strength: the strengths, likewise.
    """

    row: RecordId
    reason: Words
    uncertainty: Percent
    sources: list[RecordId] | None = None
    of: Literal["value", "logarithm"] = "value"
    temperature: PrintedInterval | None = None
    strength: PrintedInterval | None = None


class ThermodynamicSpeed(_Text):
    """Three grids from which a sound speed is derived, and how far the route is off where the truth is published."""

    row: RecordId
    density: RecordId
    bulk_modulus: RecordId
    specific_heat: RecordId
    temperature: PrintedInterval
    strength: PrintedInterval
    reason: Words
    uncertainty: Percent


class SolutionAnalogue(_Text):
    """A measured homologue that stands for a solution, and how far such pairs differ where both are measured.

    Attributes:
        temperature: where the estimate is given, which may go beyond where the homologue is measured.
        beyond: what going beyond may cost at most.
    """

    row: RecordId
    of: RecordId
    reason: Words
    uncertainty: Percent
    temperature: PrintedInterval
    beyond: Percent


@dataclass(frozen=True)
class SolutionPolicy:
    """All that is written about solutions."""

    molar_masses: Mapping[str, float]
    hardly_evaporating: frozenset[str] = frozenset()
    grids: tuple[SolutionGrid, ...] = ()
    surfaces: tuple[SurfaceChoice, ...] = ()
    speeds: tuple[ThermodynamicSpeed, ...] = ()
    analogues: tuple[SolutionAnalogue, ...] = ()

    def holds(self, subject: str) -> bool:
        """Whether a subject is a solution that this policy speaks of; no other rule then does."""
        return subject in self.molar_masses


def solution_policy(text: RuleText) -> SolutionPolicy:
    """The part of the rules' text that is about solutions."""
    solutes = text.listed(Solute, "solute")
    return SolutionPolicy(
        molar_masses={entry.subject: float(entry.molar_mass) for entry in solutes},
        hardly_evaporating=frozenset(entry.subject for entry in solutes if entry.hardly_evaporates),
        grids=tuple(text.listed(SolutionGrid, "solution_grid")),
        surfaces=tuple(text.listed(SurfaceChoice, "surface_fit")),
        speeds=tuple(text.listed(ThermodynamicSpeed, "thermodynamic_speed")),
        analogues=tuple(text.listed(SolutionAnalogue, "solution_analogue")),
    )
