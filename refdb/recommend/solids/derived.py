"""Rule `isotropic-moduli/3`: a speed nobody published, without the bias of static moduli.

A speed from the material's other speed and Poisson's ratio stands by itself. One from static moduli is corrected by
what such speeds are off by in its family, and then weighed with what else is known: the published speeds of its family,
and that of the pure metal where the material is nearly that.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from refdb.exact.sums import root_sum_square, weighted_mean
from refdb.recommend.evidence import AT_ROOM_TEMPERATURE, SPEEDS, input_of, weakest_basis, weakest_seen
from refdb.recommend.policy import Family, Policy
from refdb.recommend.solids.dispersion import frequency_of
from refdb.recommend.solids.from_rows import UNBOUNDED, WAYS, Way
from refdb.recommend.solids.static_bias import Bias, Comparison, StaticBias
from refdb.records import number_text
from refdb.records.models import Input, RecommendedUncertainty, RecommendedValue, Subject
from refdb.records.rules import UNBIASED

Rows = Mapping[str, RecommendedValue]
FEWEST_MEMBERS = 3
"""Members of a family with a published value before the family speaks for another of its members."""


@dataclass(frozen=True, slots=True)
class _Quantity:
    """One quantity of a relation, in SI, and the rows that it is taken from: its own, or those of its family."""

    value: float
    uncertainty: float
    rows: Sequence[RecommendedValue]


@dataclass(frozen=True, slots=True)
class _Result:
    """What one way gives, in m/s, with what each quantity contributes, with its sign, and the way itself."""

    way: Way
    quantities: Sequence[_Quantity]
    speed: float
    parts: Sequence[float]
    allowance: float = 0.0

    @property
    def uncertainty(self) -> float:
        return root_sum_square(*self.parts, self.allowance)

    def unbiased(self, bias: Bias) -> _Result:
        """Without what such speeds are off by, and with what is not known of that."""
        factor = 1.0 / (1.0 + bias.mean)
        speed = self.speed * factor
        return _Result(
            self.way, self.quantities, speed, [part * factor for part in self.parts], speed * bias.uncertainty
        )

    def words(self) -> str:
        return f"from {self.way.words}: {number_text(self.speed, 4)} ± {number_text(self.uncertainty, 2)} m/s"


@dataclass(frozen=True, slots=True)
class _Voice:
    """What others of its kind let expect of a material's speed in m/s, and the rows that it rests on."""

    words: str
    speed: float
    uncertainty: float
    rows: Sequence[RecommendedValue]


class DerivedSpeeds:
    """Speeds of materials for which none is published.

    Args:
        published: rows of all materials that rest on documents, by id.
        unfounded: whether a row rests on nothing but programs' defaults and simulations' inputs.
    """

    def __init__(
        self,
        subjects: Iterable[Subject],
        published: Rows,
        policy: Policy,
        unfounded: Callable[[RecommendedValue], bool],
    ) -> None:
        self._subjects = {subject.id: subject for subject in subjects if subject.isotropic}
        self._rows = {
            row_id: row
            for row_id, row in published.items()
            if row.subject in self._subjects and row.condition is None and row.form["name"] in AT_ROOM_TEMPERATURE
        }
        self._policy = policy
        self._unfounded = unfounded

    def row(self, subject: Subject, property_id: str) -> RecommendedValue | None:
        """A speed of a material, or None where nothing gives it; its own published speed has no part in it."""
        family = self._policy.family(subject.family)
        if family is None or subject.id not in self._subjects:
            return None
        results = sorted(self._results(subject, property_id, family), key=lambda result: result.uncertainty)
        direct = [result for result in results if not result.way.static]
        if direct:
            return self._weighed(subject, property_id, family, direct[0], [], _beside(direct[1:]))
        unbiased = [
            (result.unbiased(bias), bias)
            for result in results
            if (bias := self._bias(property_id, result.way).of(subject.family, without=subject.id)) is not None
        ]
        if not unbiased:
            return None
        (best, bias), *others = sorted(unbiased, key=lambda one: one[0].uncertainty)
        told = _beside([result for result, _ in others]) | {"static_modulus_bias": _told(bias)}
        voices = [self._of_family(subject, property_id), self._of_pure_metal(subject, property_id)]
        return self._weighed(subject, property_id, family, best, [voice for voice in voices if voice], told)

    def kin(self, subject: Subject) -> list[RecommendedValue]:
        """The rows that a derived speed may rest on, but for those that only its bias is compared from."""
        assert self._policy.consensus is not None  # noqa: S101 - the rule is one of consensus
        pure = {entry.of for entry in self._policy.dilute if subject.id in entry.subjects}
        alike = self._policy.consensus.poisson_range(subject.family).members
        return [
            row
            for row in self._rows.values()
            if row.subject in pure
            or self._subjects[row.subject].family == subject.family
            or (row.property == "poisson_ratio" and self._subjects[row.subject].family in alike)
        ]

    @cached_property
    def figures(self) -> dict[str, list[list[str]]]:
        """What the biases are compared from: material, deviation and its uncertainty, by speed and way."""
        return {
            f"{property_id} {way.words}": [
                [one.subject, number_text(one.off, 6), number_text(one.uncertainty, 6)]
                for one in self._comparisons(property_id, way)
            ]
            for property_id in SPEEDS
            for way in WAYS[property_id]
            if way.static
        }

    @cached_property
    def _of_ways(self) -> dict[tuple[str, str], StaticBias]:
        return {
            (property_id, way.words): StaticBias(self._comparisons(property_id, way))
            for property_id in SPEEDS
            for way in WAYS[property_id]
            if way.static
        }

    def _bias(self, property_id: str, way: Way) -> StaticBias:
        return self._of_ways[property_id, way.words]

    def _comparisons(self, property_id: str, way: Way) -> Iterator[Comparison]:
        """Speeds from static moduli beside published ones, for every material that has both."""
        for subject in self._subjects.values():
            family, row = self._policy.family(subject.family), self._rows.get(f"{subject.id}.{property_id}")
            if family is None or not family.elastic or row is None:
                continue
            result = self._follow(way, subject, family)
            if result is not None:
                speed, own = _value(row), _uncertainty(row)
                relative = root_sum_square(own / speed, result.uncertainty / result.speed)
                yield Comparison(subject.id, subject.family, result.speed / speed - 1.0, relative)

    def _results(self, subject: Subject, property_id: str, family: Family) -> Iterator[_Result]:
        for way in WAYS[property_id]:
            if family.elastic or not way.static:
                result = self._follow(way, subject, family)
                if result is not None:
                    yield result

    def _follow(self, way: Way, subject: Subject, family: Family) -> _Result | None:
        found = [self._quantity(subject, name) for name in way.needed]
        quantities = [quantity for quantity in found if quantity is not None]
        if len(quantities) < len(found) or _leaves_the_isotropic(way, quantities):
            return None
        numbers = [quantity.value for quantity in quantities]
        speed = way.speed(*numbers)
        parts = [_effect(way, numbers, place, one.uncertainty) for place, one in enumerate(quantities)]
        # Outside the elastic families sound's own Poisson's ratio differs from the one that a load finds.
        allowance = 0.0 if family.elastic else float(family.model) * speed / 2.0
        return _Result(way, quantities, speed, parts, allowance)

    def _quantity(self, subject: Subject, property_id: str) -> _Quantity | None:
        """What is published of a material; its family's Poisson's ratio where only programs offer one."""
        row = self._rows.get(f"{subject.id}.{property_id}")
        if row is None:
            return None
        if property_id == "poisson_ratio" and self._unfounded(row):
            return self._ratio_of_kin(subject)
        return _Quantity(_value(row), _uncertainty(row), [row])

    def _ratio_of_kin(self, subject: Subject) -> _Quantity | None:
        """Poisson's ratio of a material's family, or else of the families of which the policy says the same range."""
        assert self._policy.consensus is not None  # noqa: S101 - the rule is one of consensus
        alike = self._policy.consensus.poisson_range(subject.family).members
        for families in ([subject.family], alike):
            members = [
                row
                for row in self._rows.values()
                if row.property == "poisson_ratio"
                and row.subject != subject.id
                and self._subjects[row.subject].family in families
                and not self._unfounded(row)
            ]
            if len(members) >= FEWEST_MEMBERS:
                return _Quantity(*_typical(members), members)
        return None

    def _members(self, subject: Subject, property_id: str) -> list[RecommendedValue]:
        """Published rows of the other members of a material's family."""
        return [
            row
            for row in self._rows.values()
            if row.property == property_id
            and row.subject != subject.id
            and self._subjects[row.subject].family == subject.family
        ]

    def _of_family(self, subject: Subject, property_id: str) -> _Voice | None:
        members = self._members(subject, property_id)
        if len(members) < FEWEST_MEMBERS:
            return None
        mean, uncertainty = _typical(members)
        return _Voice(f"{len(members)} members of its family", mean, uncertainty, members)

    def _of_pure_metal(self, subject: Subject, property_id: str) -> _Voice | None:
        for entry in self._policy.dilute:
            row = self._rows.get(f"{entry.of}.{property_id}")
            if subject.id in entry.subjects and row is not None:
                uncertainty = root_sum_square(_uncertainty(row), float(entry.difference) * _value(row))
                return _Voice(f"{entry.of}, of which it mostly consists", _value(row), uncertainty, [row])
        return None

    def _weighed(
        self,
        subject: Subject,
        property_id: str,
        family: Family,
        result: _Result,
        voices: Sequence[_Voice],
        told: Mapping[str, str],
    ) -> RecommendedValue:
        """The weighted mean of what the relation gives and what relatives let expect.

        Where they differ by more than they admit, the uncertainty grows by the root of their chi-squared.
        """
        speeds = [result.speed, *(voice.speed for voice in voices)]
        sizes = [result.uncertainty, *(voice.uncertainty for voice in voices)]
        inverse = [1.0 / (size * size) for size in sizes]
        total = math.fsum(inverse)
        speed = weighted_mean(speeds, inverse)
        squares = math.fsum(w * (one - speed) * (one - speed) for w, one in zip(inverse, speeds, strict=True))
        growth = max(1.0, math.sqrt(squares / (len(speeds) - 1))) if voices else 1.0
        uncertainty = growth / math.sqrt(total)
        weights = [one / total for one in inverse]
        working = {"way": result.words(), **told}
        if result.allowance:
            size = growth * weights[0] * result.allowance
            working["static_modulus_allowance"] = f"{number_text(size, 2)} m/s"
        if voices:
            working["relatives"] = "; ".join(_relative_words(*one) for one in zip(voices, weights[1:], strict=True))
            size = growth * root_sum_square(*(w * v.uncertainty for v, w in zip(voices, weights[1:], strict=True)))
            working["relatives_allowance"] = f"{number_text(size, 2)} m/s"
        inputs = list(_inputs(result, voices, growth * weights[0]))
        rows = [row for quantity in result.quantities for row in quantity.rows]
        rows += [row for voice in voices for row in voice.rows]
        return RecommendedValue(
            id=f"{subject.id}.{property_id}",
            subject=subject.id,
            property=property_id,
            unit="m/s",
            form={"name": "constant/1", "coefficients": {"c0": number_text(speed, 4)}},
            domain={"temperature": family.room_temperature},
            frequency=frequency_of([row for row in rows if row.property in SPEEDS]),
            uncertainty=RecommendedUncertainty(
                number=number_text(uncertainty, 2),
                unit="m/s",
                code="propagated",
                text=f"propagated from {result.way.words}"
                + (", with what is not known of the bias of static moduli" if result.way.static else "")
                + (", weighed with its relatives" if voices else ""),
            ),
            rule=UNBIASED.name,
            basis=weakest_basis(["derived", *(row.basis for row in rows)]),
            seen=weakest_seen(row.seen for row in rows),
            rung="derived",
            inputs=inputs,
            working=working,
        )


def _inputs(result: _Result, voices: Sequence[_Voice], share: float) -> Iterator[Input]:
    """Every row once: what the relation needs first, then the relatives."""
    taken: set[str] = set()
    for quantity, part in zip(result.quantities, result.parts, strict=True):
        size = number_text(share * part / math.sqrt(len(quantity.rows)), 2)
        for row in quantity.rows:
            taken.add(row.id)
            yield input_of(row, note=f"contributes {size} m/s")
    for voice in voices:
        for row in voice.rows:
            if row.id not in taken:
                taken.add(row.id)
                yield input_of(row, note="a relative")


def _beside(results: Sequence[_Result]) -> dict[str, str]:
    return {"other_ways": "; ".join(result.words() for result in results)} if results else {}


def _told(bias: Bias) -> str:
    mean, size = (number_text(100.0 * number, 2) for number in (bias.mean, bias.uncertainty))
    return f"{mean} % ± {size} %, taken off; from {bias.own} materials of its family and {bias.all} in all"


def _relative_words(voice: _Voice, weight: float) -> str:
    size = f"{number_text(voice.speed, 4)} ± {number_text(voice.uncertainty, 2)} m/s"
    return f"{voice.words}: {size} (weight {number_text(weight, 2)})"


def _typical(rows: Sequence[RecommendedValue]) -> tuple[float, float]:
    """The mean of rows, and what one further member of their family may be off by: a standard uncertainty."""
    values = [_value(row) for row in rows]
    own = statistics.fmean(_uncertainty(row) for row in rows)
    return statistics.fmean(values), root_sum_square(statistics.stdev(values) * math.sqrt(1.0 + 1.0 / len(rows)), own)


def _leaves_the_isotropic(way: Way, quantities: Sequence[_Quantity]) -> bool:
    """Whether Poisson's ratio may reach 0.5 within its expanded uncertainty: to first order nothing is known then."""
    if "poisson_ratio" not in way.needed:
        return False
    ratio = quantities[way.needed.index("poisson_ratio")]
    return ratio.value + 2.0 * ratio.uncertainty >= UNBOUNDED


def _effect(way: Way, numbers: Sequence[float], place: int, uncertainty: float) -> float:
    """Half the change of the speed, with its sign, when one quantity goes from minus to plus its uncertainty."""
    high, low = list(numbers), list(numbers)
    high[place] += uncertainty
    low[place] -= uncertainty
    return (way.speed(*high) - way.speed(*low)) / 2.0


def _value(row: RecommendedValue) -> float:
    return float(row.form["coefficients"]["c0"])


def _uncertainty(row: RecommendedValue) -> float:
    return float(row.uncertainty.number)
