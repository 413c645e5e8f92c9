"""What is known of how fast the speeds of a solid fall with the temperature, by the rungs of rule solid-temperature/1.

1. What documents print of the material, and what two of its moduli over temperature give, found by sound. Young's
   modulus alone gives that of the shear speed, at a constant Poisson's ratio; how far off, the pairs tell.
2. The same of others that are the same metal but for a percent or so.
3. Cubic metals: the relative slope goes with the thermal expansion; by how much, those of rung 1 tell.
4. What the policy says of the family.

A slope of the longitudinal speed is never taken from Young's modulus alone: at a constant Poisson's ratio copper's
would be twice too steep.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from refdb.constants import ROOM_CELSIUS
from refdb.exact.functions import EXACT, log
from refdb.exact.least_squares import fitted
from refdb.exact.student import t_quantile
from refdb.exact.sums import root_sum_square
from refdb.forms.states import StatePoint
from refdb.recommend.evidence import RECTANGULAR, SPEEDS
from refdb.recommend.random_effects import COVERAGE
from refdb.recommend.temperature_policy import TemperatureGroup, TemperaturePolicy
from refdb.records import digest, number_text
from refdb.records.models import (
    Basis,
    Equation,
    Input,
    PropertyReading,
    Range,
    RecommendedValue,
    Scalar,
    Subject,
    Table,
)
from refdb.records.readings import function_of_reading, single_value
from refdb.units import UnitTable

ADMITTED: tuple[Basis, ...] = ("measured", "standard", "evaluated", "computed")
"""Bases on which a printed slope may rest."""
AROUND = 220.0
"""K about 20 degC within which moduli over temperature tell a slope there."""
STEP = 20.0
"""K between the temperatures at which an equation is taken."""
FEWEST_POINTS = 3
FEWEST_METALS = 4
"""From how many metals on they tell how slopes go with the expansion."""
MODULI = ("bulk_modulus", "shear_modulus", "youngs_modulus")


@dataclass(frozen=True, slots=True)
class SolidSlope:
    """The change of a speed per kelvin about 20 degC, as a part of it, and what it rests on."""

    relative: float
    uncertainty: float
    words: str
    readings: tuple[PropertyReading, ...] = ()
    rows: tuple[RecommendedValue, ...] = ()

    def inputs(self) -> list[Input]:
        """Readings and rows, as inputs without weight."""
        records = [*self.readings, *self.rows]
        return [Input(id=one.id, digest=digest(one.plain()), note="temperature slope") for one in records]


@dataclass(frozen=True, slots=True)
class LinearExpansion:
    """A linear expansion at 20 degC in 1/K, with its standard uncertainty, and its rise per kelvin."""

    value: float
    uncertainty: float
    rise: float
    words: str
    rows: tuple[RecommendedValue, ...] = ()


@dataclass(frozen=True, slots=True)
class _Modulus:
    """A modulus at 20 degC and its relative change per kelvin."""

    reading: PropertyReading
    value: float
    relative: float


class Slopes:
    """The slopes of the speeds of all solids.

    Args:
        readings: of all solids.
        rows: what is published, by row id: speeds by which an absolute slope becomes a relative one, and expansions.
    """

    def __init__(
        self,
        subjects: Iterable[Subject],
        readings: Iterable[PropertyReading],
        rows: Mapping[str, RecommendedValue],
        policy: TemperaturePolicy,
        table: UnitTable,
    ) -> None:
        self._subjects = {subject.id: subject for subject in subjects if subject.subject_kind == "material"}
        self._rows = rows
        self._policy = policy
        self._table = table
        self._strains = {reading: float(law.strain) / 100.0 for law in policy.strain_laws for reading in law.readings}
        self._by_subject: dict[str, dict[str, list[PropertyReading]]] = defaultdict(lambda: defaultdict(list))
        set_aside = {reading for entry in policy.set_aside for reading in entry.readings}
        for reading in readings:
            if _may_tell(reading) and reading.id not in set_aside:
                self._by_subject[reading.subject][reading.source].append(reading)

    def of(self, subject: Subject, property_id: str) -> SolidSlope | None:
        """The slope of a speed of a solid by the first rung that has one; None where not even a sign is known."""
        own = self._own.get((subject.id, property_id))
        shared = self._policy.shared_by(subject.id)
        if shared is not None:
            return self._shared(property_id, shared.of, float(shared.difference)) or own
        if own is not None:
            return own
        group = self._policy.group(subject.family)
        if group is None:
            return None
        if group.cubic:
            law = self._by_expansion(subject, property_id, group)
            if law is not None:
                return law
        if group.slope is None or group.slope_uncertainty is None:
            return None
        return SolidSlope(float(group.slope), float(group.slope_uncertainty), f"judged of its family: {group.reason}")

    @property
    def own(self) -> Mapping[tuple[str, str], SolidSlope]:
        """What documents tell, by subject and speed."""
        return self._own

    def ratios(self, property_id: str, without: str | None = None) -> dict[str, float]:
        """Relative slope over linear expansion of every cubic metal of which documents tell both, by subject."""
        found = {}
        for (name, speed), slope in sorted(self._own.items()):
            expansion, group = self.expansion(name), self._policy.group(self._subjects[name].family)
            if speed == property_id and name != without and expansion is not None and group is not None and group.cubic:
                found[name] = slope.relative / _at_20(expansion)
        return found

    def linear(self, subject: str, group: TemperatureGroup) -> LinearExpansion:
        """The linear expansion at 20 degC: of the row, or between the ends that the policy tells of the family."""
        row = self.expansion(subject)
        if row is not None:
            rise = abs(float(row.form["coefficients"].get("c1", "0")))
            return LinearExpansion(_at_20(row), float(row.uncertainty.number), rise, "its linear expansion", (row,))
        low, high = (float(end) for end in (group.expansion.low, group.expansion.high))
        words = f"an expansion between {group.expansion.low} and {group.expansion.high} {group.expansion.unit}"
        return LinearExpansion((low + high) / 2.0, (high - low) / 2.0 / RECTANGULAR, 0.0, words)

    def expansion(self, subject: str) -> RecommendedValue | None:
        """The row of the mean linear expansion from 20 degC."""
        return self._rows.get(f"{subject}.thermal_expansion")

    @cached_property
    def _own(self) -> dict[tuple[str, str], SolidSlope]:
        found = {}
        for name, by_source in sorted(self._by_subject.items()):
            if name in self._subjects:
                for property_id in SPEEDS:
                    slope = self._of_documents(name, property_id, by_source)
                    if slope is not None:
                        found[name, property_id] = slope
        return found

    def _of_documents(
        self, name: str, property_id: str, by_source: Mapping[str, Sequence[PropertyReading]]
    ) -> SolidSlope | None:
        """The mean of what documents tell, with what they differ by."""
        voices: list[tuple[float, Sequence[PropertyReading]]] = []
        for _, readings in sorted(by_source.items()):
            voices += self._printed(name, property_id, readings) or self._of_moduli(name, property_id, readings)
        if not voices:
            return None
        values = [value for value, _ in voices]
        mean = statistics.fmean(values)
        widths = self._policy.widths
        spread = statistics.stdev(values) if len(values) > 1 else 0.0
        width = max(spread, float(widths.printed) * abs(mean))
        return SolidSlope(
            mean,
            root_sum_square(width, float(widths.extrapolation) * mean),
            f"told by {len(voices)} document(s) of it: "
            + ", ".join(f"{number_text(100.0 * value, 2)} %/K" for value in values),
            tuple(reading for _, readings in voices for reading in readings),
        )

    def _printed(
        self, name: str, property_id: str, readings: Sequence[PropertyReading]
    ) -> list[tuple[float, Sequence[PropertyReading]]]:
        found: list[tuple[float, Sequence[PropertyReading]]] = []
        row = self._rows.get(f"{name}.{property_id}")
        for reading in readings:
            if isinstance(reading, Scalar | Range) and reading.basis in ADMITTED:
                read = single_value(
                    reading.plain(), self._table.si(self._table.find(reading.unit).dimension), self._table
                )
                if reading.property == f"{property_id}_relative_slope":
                    found.append((read.value, [reading]))
                elif reading.property == f"{property_id}_slope" and row is not None:
                    found.append((read.value / float(row.form["coefficients"]["c0"]), [reading]))
        return found

    def _of_moduli(
        self, name: str, property_id: str, readings: Sequence[PropertyReading]
    ) -> list[tuple[float, Sequence[PropertyReading]]]:
        """From two moduli over temperature that sound found, and the expansion: the density falls by three times it."""
        expansion = self.expansion(name)
        if expansion is None:
            return []
        pair = self._pair(readings, _at_20(expansion))
        if pair is None:
            return []
        shear, other = pair
        of_stiffness = shear.relative if property_id == "shear_speed" else _of_plane_waves(shear, other)
        return [(0.5 * of_stiffness + 1.5 * _at_20(expansion), [shear.reading, other.reading])]

    def alone(self, name: str) -> dict[str, float]:
        """The slope of a shear speed by Young's modulus alone, at a constant Poisson's ratio, over that by both moduli.

        By document, of a material whose documents have a pair: what rung 1 is held against.
        """
        found, expansion = {}, self.expansion(name)
        for source, readings in sorted(self._by_subject.get(name, {}).items()):
            pair = self._pair(readings, _at_20(expansion)) if expansion is not None else None
            if expansion is not None and pair is not None:
                thinner = 1.5 * _at_20(expansion)
                found[source] = (0.5 * _of_young(*pair) + thinner) / (0.5 * pair[0].relative + thinner)
        return found

    def _pair(self, readings: Sequence[PropertyReading], expansion: float) -> tuple[_Modulus, _Modulus] | None:
        """The shear modulus, and the bulk modulus or else Young's."""
        moduli: dict[str, _Modulus] = {}
        for reading in readings:
            modulus = self._modulus(reading, expansion)
            if modulus is not None:
                moduli.setdefault(reading.property, modulus)
        shear = moduli.get("shear_modulus")
        other = moduli.get("bulk_modulus") or moduli.get("youngs_modulus")
        return (shear, other) if shear is not None and other is not None else None

    def _modulus(self, reading: PropertyReading, expansion: float) -> _Modulus | None:
        if reading.property not in MODULI or reading.method != "dynamic":
            return None
        if not isinstance(reading, Equation | Table) or reading.variable.name != "temperature":
            return None
        points = list(self._points(reading))
        strain = self._strains.get(reading.id)
        if strain is not None:
            (_, first), (_, last) = points[0], points[-1]
            return _Modulus(reading, last, log(last / first) / strain * 3.0 * expansion)
        near = [(celsius - ROOM_CELSIUS, value) for celsius, value in points if abs(celsius - ROOM_CELSIUS) <= AROUND]
        if len(near) < FEWEST_POINTS or near[-1][0] < -STEP or near[0][0] > STEP:
            return None
        value, slope, *_ = fitted([place for place, _ in near], [value for _, value in near], [1.0] * len(near), 2)
        return _Modulus(reading, value, slope / value)

    def _points(self, reading: Equation | Table) -> Iterator[tuple[float, float]]:
        """degC and the value in SI: the points of a table as printed, an equation every so many kelvin."""
        unit = self._table.find(reading.unit)
        si, degrees = self._table.si(unit.dimension), self._table.find("degC", "temperature")
        if isinstance(reading, Table):
            printed = self._table.find(reading.variable.unit, "temperature")
            for place, value in reading.points:
                yield float(printed.to(float(place), degrees)), float(unit.to(float(value), si))
            return
        function = function_of_reading(reading.plain(), self._table, EXACT)
        low, high = function.spans["temperature"]
        low, high = max(low, ROOM_CELSIUS - AROUND / 2.0), min(high, ROOM_CELSIUS + AROUND / 2.0)
        steps = max(0, math.floor((high - low) / STEP))
        for step in range(steps + 1):
            celsius = high - (steps - step) * STEP
            yield celsius, float(unit.to(float(function.value(StatePoint(celsius))), si))

    def _shared(self, property_id: str, names: Sequence[str], difference: float) -> SolidSlope | None:
        """The mean of others' slopes, wide enough to cover each."""
        found = [slope for name in names if (slope := self._own.get((name, property_id))) is not None]
        if not found:
            return None
        values = [slope.relative for slope in found]
        mean = statistics.fmean(values)
        apart = (max(values) - min(values)) / 2.0
        own = found[0].uncertainty
        if len(found) > 1:
            own = root_sum_square(apart, float(self._policy.widths.extrapolation) * mean)
        width = root_sum_square(own, difference * mean)
        words = f"that of {' and '.join(names)}: " + ", ".join(f"{number_text(100.0 * one, 2)} %/K" for one in values)
        return SolidSlope(mean, width, words, tuple(reading for slope in found for reading in slope.readings))

    def _by_expansion(self, subject: Subject, property_id: str, group: TemperatureGroup) -> SolidSlope | None:
        told = self.law(property_id, without=subject.id)
        if told is None:
            return None
        ratio, spread, count = told
        expansion = self.linear(subject.id, group)
        slope = ratio * expansion.value
        width = root_sum_square(
            spread * expansion.value,
            ratio * expansion.uncertainty,
            float(self._policy.widths.extrapolation) * slope,
        )
        words = f"{number_text(ratio, 3)} ± {number_text(spread, 2)} times {expansion.words}, of {count} cubic metals"
        return SolidSlope(slope, width, words, rows=expansion.rows)

    def law(self, property_id: str, without: str | None = None) -> tuple[float, float, int] | None:
        """The mean ratio of relative slope and linear expansion, what one further metal is off by, and their number."""
        ratios = list(self.ratios(property_id, without).values())
        if len(ratios) < FEWEST_METALS:
            return None
        count = len(ratios)
        half = t_quantile(0.5 + COVERAGE / 2.0, count - 1) / 2.0
        return statistics.fmean(ratios), half * statistics.stdev(ratios) * math.sqrt(1.0 + 1.0 / count), count


def _may_tell(reading: PropertyReading) -> bool:
    if reading.doubts:
        return False
    return reading.property.endswith("_slope") or (reading.property in MODULI and reading.method == "dynamic")


def _of_plane_waves(shear: _Modulus, other: _Modulus) -> float:
    """The relative change of K + 4/3 G per kelvin."""
    if other.reading.property == "bulk_modulus":
        bulk, change = other.value, other.value * other.relative
    else:
        # K = E G / (9 G - 3 E): its total derivative.
        young, rigid = other.value, shear.value
        below = 9.0 * rigid - 3.0 * young
        bulk = young * rigid / below
        by_young, by_rigid = 9.0 * rigid * rigid / (below * below), -3.0 * young * young / (below * below)
        change = by_young * young * other.relative + by_rigid * rigid * shear.relative
    whole = bulk + 4.0 / 3.0 * shear.value
    return (change + 4.0 / 3.0 * shear.value * shear.relative) / whole


def _of_young(shear: _Modulus, other: _Modulus) -> float:
    """The relative change of Young's modulus per kelvin."""
    if other.reading.property == "youngs_modulus":
        return other.relative
    # E = 9 K G / (3 K + G): a mean of both relative changes, the shear modulus' with the greater weight.
    below = 3.0 * other.value + shear.value
    return (3.0 * other.value * shear.relative + shear.value * other.relative) / below


def _at_20(expansion: RecommendedValue) -> float:
    return float(expansion.form["coefficients"]["c0"])
