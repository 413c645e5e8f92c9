"""Checks of one document's readings against each other and against independent ones: by laws, never by name.

Three laws bind what a document prints of an isotropic metal: its two speeds give Poisson's ratio and, with the density,
Young's modulus; they also give the bulk sound speed, which shock experiments find without any ultrasound; and they
give the density, where the modulus is known. E, G and nu of one row of a table bind one another. A reading that breaks
one of these is left out, unless an independent document prints the same. One that lies far outside everything that the
rest of its family has, such as a number in another unit than it says, a decimal slip or a foam, is left out too.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from refdb.forms.elasticity import poisson_ratio_of_speeds, youngs_modulus_of_speeds
from refdb.laws import (
    YOUNGS_MODULUS,
    Held,
    hold_bulk_speed,
    hold_moduli,
    hold_youngs_modulus,
    median_of_lineages,
)
from refdb.recommend.policy import ConsensusPolicy, Family
from refdb.records.models import PropertyReading, Range, Scalar, Source, Subject
from refdb.records.readings import single_value
from refdb.units import UnitTable

TRIPLE = ("youngs_modulus", "shear_modulus", "poisson_ratio")
FEWEST_WITNESSES = 2
"""Independent documents that a modulus or a density must come from before it can speak against a pair of speeds."""


FEWEST_MEMBERS = 4
"""Other members of a family that must have a property before they say what is outside of it."""

OUTSIDE, FAR_OUTSIDE = 2.0, 5.0
"""How many times the highest of them, or below the lowest, a reading is outside: where another document of the same
material stays inside, and where none does. Some materials are the only one of their kind."""

Spans = Mapping[str, tuple[float, float]]
"""By property, the lowest and the highest value that members of a family have, in SI."""


@dataclass(frozen=True, slots=True)
class _Said:
    """A reading as a number in SI, and what it descends from."""

    reading: Scalar
    value: float
    lineage: str


@dataclass(frozen=True, slots=True)
class _Pair:
    """Both speeds in one place of one document."""

    longitudinal: _Said
    shear: _Said

    @property
    def printed(self) -> str:
        return f"{self.longitudinal.reading.number} and {self.shear.reading.number} {self.shear.reading.unit}"


class Checks:
    """The checks of one subject's readings."""

    def __init__(
        self,
        subject: Subject,
        family: Family,
        policy: ConsensusPolicy,
        sources: Mapping[str, Source],
        table: UnitTable,
        elsewhere: Spans,
    ) -> None:
        self._elsewhere = elsewhere
        self._subject = subject
        self._family = family
        self._policy = policy
        self._sources = sources
        self._table = table

    def contradictions(self, readings: Iterable[PropertyReading]) -> dict[str, str]:
        """Ids of readings that a check finds wrong, each with the numbers that say so."""
        said = self._said(readings)
        pairs = list(_pairs(said))
        failing = {id(pair): reason for pair in pairs if (reason := self._against(pair, said)) is not None}
        passing = [pair for pair in pairs if id(pair) not in failing]
        found: dict[str, str] = {}
        for pair in pairs:
            if id(pair) not in failing:
                continue
            for item in (pair.longitudinal, pair.shear):
                if not self._fits_elsewhere(item, pair, passing):
                    found[item.reading.id] = f"inconsistent: {failing[id(pair)]}"
        return self._outside_family(said) | self._moduli(said) | found | self._densities(said, passing)

    def _outside_family(self, said: Mapping[str, list[_Said]]) -> dict[str, str]:
        """Readings far outside everything that the other members of the family have."""
        found: dict[str, str] = {}
        for property_id, (low, high) in self._elsewhere.items():
            items = said.get(property_id, [])
            inside = any(low / OUTSIDE <= item.value <= high * OUTSIDE for item in items)
            factor = OUTSIDE if inside else FAR_OUTSIDE
            found |= {
                item.reading.id: f"outside its family: {item.reading.number} {item.reading.unit} is {item.value:.4g} "
                f"in SI, where the other members have {low:.4g} to {high:.4g}"
                for item in items
                if not low / factor <= item.value <= high * factor
            }
        return found

    def _moduli(self, said: Mapping[str, list[_Said]]) -> dict[str, str]:
        """E, G and nu of one row that do not belong together, but for those that other documents print too."""
        found: dict[str, str] = {}
        triples = product(*(said.get(name, []) for name in TRIPLE))
        for young, shear, nu in triples:
            if len({_place(item.reading) for item in (young, shear, nu)}) > 1:
                continue
            held = hold_moduli(young.value, shear.value, nu.value)
            if held.broken:
                words = f"inconsistent: E {young.reading.number}, G {shear.reading.number} and nu {nu.reading.number} "
                words += f"of one row disagree by {held.off:+.1%}"
                found |= {
                    item.reading.id: words
                    for item in (young, shear, nu)
                    if not self._said_elsewhere(item, said[item.reading.property])
                }
        return found

    def _said_elsewhere(self, item: _Said, others: Sequence[_Said]) -> bool:
        spread = self._family.spread_of(item.reading.property)
        allowed = spread if item.reading.property == "poisson_ratio" else spread * abs(item.value)
        return any(o.lineage != item.lineage and abs(o.value - item.value) <= allowed for o in others)

    def _said(self, readings: Iterable[PropertyReading]) -> dict[str, list[_Said]]:
        said: dict[str, list[_Said]] = defaultdict(list)
        for reading in readings:
            # Ranges hold whatever one likes; a doubted reading can be no witness.
            if not isinstance(reading, Scalar) or reading.doubts:
                continue
            target = self._table.si(self._table.find(reading.unit).dimension)
            value = single_value(reading.plain(), target, self._table).value
            lineage = self._sources[reading.source].lineage or reading.source
            said[reading.property].append(_Said(reading, value, lineage))
        return said

    def _against(self, pair: _Pair, said: Mapping[str, list[_Said]]) -> str | None:
        """What speaks against a pair of speeds, in words and numbers; None where nothing does."""
        speeds = pair.longitudinal.value, pair.shear.value
        nu = poisson_ratio_of_speeds(*speeds)
        allowed = self._policy.poisson_range(self._subject.family)
        if not float(allowed.low) < nu < float(allowed.high):
            return f"{pair.printed} give Poisson's ratio {nu:.3f}, outside {allowed.low} to {allowed.high}"
        if not self._family.elastic:
            # Static moduli and shock waves say little about the ultrasonic speeds of a polymer.
            return None
        return self._bulk_speed_against(pair, said) or self._modulus_against(pair, said)

    def _bulk_speed_against(self, pair: _Pair, said: Mapping[str, list[_Said]]) -> str | None:
        shock = said.get("bulk_sound_speed", [])
        if not shock:
            return None
        held = hold_bulk_speed(pair.longitudinal.value, pair.shear.value, _median(shock))
        if not held.broken:
            return None
        return (
            f"{pair.printed} give a bulk speed of {held.own:.0f} m/s, {held.off:+.1%} from the {held.other:.0f} m/s of "
            f"shock waves ({_ids(shock)})"
        )

    def _modulus_against(self, pair: _Pair, said: Mapping[str, list[_Said]]) -> str | None:
        moduli, densities = _witnesses(said, "youngs_modulus", pair), _witnesses(said, "density", pair)
        if _lineages(moduli) < FEWEST_WITNESSES or _lineages(densities) < FEWEST_WITNESSES:
            return None
        density = _median(densities)
        held = hold_youngs_modulus(pair.longitudinal.value, pair.shear.value, density, _median(moduli))
        if not held.broken:
            return None
        return (
            f"{pair.printed} give Young's modulus {held.own / 1e9:.1f} GPa at {density:.0f} kg/m3, {held.off:+.1%} "
            f"from the {held.other / 1e9:.1f} GPa of {_lineages(moduli)} documents"
        )

    def _densities(self, said: Mapping[str, list[_Said]], passing: Sequence[_Pair]) -> dict[str, str]:
        """Of two densities that differ, the one that modulus and shear speed speak against."""
        if not self._family.elastic or _lineages(said.get("youngs_modulus", [])) < FEWEST_WITNESSES or not passing:
            return {}
        modulus = _median(said["youngs_modulus"])
        implied = statistics.median(
            modulus / youngs_modulus_of_speeds(pair.longitudinal.value, pair.shear.value, 1.0) for pair in passing
        )
        # Young's modulus goes with the density: one limit holds both.
        fitting = [item for item in said.get("density", []) if not Held(item.value, implied, YOUNGS_MODULUS).broken]
        if not fitting:
            return {}
        return {
            item.reading.id: (
                f"inconsistent: {item.reading.number} {item.reading.unit} is {item.value / implied - 1.0:+.1%} from "
                f"the {implied:.0f} kg/m3 that Young's modulus and the speeds give, which {_ids(fitting)} fits"
            )
            for item in said["density"]
            if item not in fitting
        }

    def _fits_elsewhere(self, item: _Said, pair: _Pair, passing: Sequence[_Pair]) -> bool:
        """Whether a sound pair of the same place, or of an independent document, says the same as one half of this."""
        spread = self._family.spread_of(item.reading.property) * item.value
        for other in passing:
            for half in (other.longitudinal, other.shear):
                if half.reading.id == item.reading.id:
                    return True
                same = half.reading.property == item.reading.property and half.lineage != pair.shear.lineage
                if same and abs(half.value - item.value) <= spread:
                    return True
        return False


class FamilySpans:
    """What the other members of a subject's family have, by property, from readings without doubts."""

    def __init__(self, subjects: Iterable[Subject], readings: Iterable[PropertyReading], table: UnitTable) -> None:
        self._family = {subject.id: subject.family for subject in subjects}
        values: dict[tuple[str, str], list[float]] = defaultdict(list)
        for reading in readings:
            if isinstance(reading, Scalar) and not reading.doubts:
                target = table.si(table.find(reading.unit).dimension)
                values[reading.subject, reading.property].append(single_value(reading.plain(), target, table).value)
        self._members: dict[tuple[str, str], dict[str, float]] = defaultdict(dict)
        for (subject_id, property_id), found in values.items():
            self._members[self._family[subject_id], property_id][subject_id] = statistics.median(found)

    def elsewhere(self, subject: Subject, property_ids: Iterable[str]) -> Spans:
        """The spans of those properties that enough other members have."""
        spans: dict[str, tuple[float, float]] = {}
        for property_id in property_ids:
            members = self._members.get((subject.family, property_id), {})
            others = [value for member, value in members.items() if member != subject.id]
            if len(others) >= FEWEST_MEMBERS:
                spans[property_id] = (min(others), max(others))
        return spans


def _pairs(said: Mapping[str, list[_Said]]) -> Iterator[_Pair]:
    """Every pair of speeds that one place of one document prints for one condition."""
    for longitudinal, shear in product(said.get("longitudinal_speed", []), said.get("shear_speed", [])):
        if _place(longitudinal.reading) == _place(shear.reading):
            yield _Pair(longitudinal, shear)


def _place(reading: Scalar | Range) -> tuple[str, str, str | None]:
    return reading.source, reading.locator, reading.condition


def _witnesses(said: Mapping[str, list[_Said]], property_id: str, pair: _Pair) -> list[_Said]:
    """Readings of a property that do not descend from the pair's own document."""
    return [item for item in said.get(property_id, []) if item.lineage != pair.shear.lineage]


def _lineages(items: Sequence[_Said]) -> int:
    return len({item.lineage for item in items})


def _median(items: Sequence[_Said]) -> float:
    return median_of_lineages((item.lineage, item.value) for item in items)


def _ids(items: Sequence[_Said]) -> str:
    return ", ".join(sorted(item.reading.id for item in items))
