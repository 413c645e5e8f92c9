"""Documents that print so many equal digits that chance does not explain it: they share their origin, and count once.

    python -m tests.tools.lineages          # writes sources/rules/lineages.toml

A table is copied row by row. So a draw is a material of which two documents print two or more of the same properties,
and it tells of a copy where two or more of the numbers are equal. Independent documents that differ by a standard
deviation s print the same number of rounding unit r with the probability r / (2 √π s), if r is small beside s: 2160 m/s
(r = 10) of a metal whose documents differ by 1.1 % with one in eight, 0.3 (r = 0.1) of a Poisson's ratio for sure. It
is no less than the share of the other documents that print this very number: 7850 kg/m3 of a steel proves nothing, for
everybody prints it. That two or more numbers of a material are equal, and that so many materials or more have such
numbers, are upper tails of Poisson-binomial distributions. A pair is one where the last tail is below `LIMIT`: of the
pairs asked one in twenty is found by chance, which costs a little certainty; a copy taken for a witness costs truth.
Densities of metals that are one element are left out: they are constants of nature, known to all digits.

Copies of one table shield one another, since each is among "the other documents". So clusters found are taken as one
voice, and everything is asked again until nothing changes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from refdb.ledger import Ledger, load_ledger
from refdb.recommend.derive import CHECKED
from refdb.recommend.lineage import EQUAL
from refdb.recommend.policy import Policy, SharedLineage, load_policy
from refdb.records import number_text
from refdb.records.models import PropertyReading, Scalar, Source, Subject
from refdb.records.readings import single_value
from refdb.release.vocabulary import compile_vocabulary
from refdb.units import UnitTable
from tests.conftest import PROJECT

LIMIT, SUSPECT = 0.05, 0.2
FEWEST = 2
"""Numbers of one material that must be equal before they tell of a copy, and materials with so many properties in
common that two documents must have before anything is asked."""
EXAMPLES = 4
TABLE = PROJECT / "sources" / "rules" / "lineages.toml"
PRINTED = (*CHECKED, "bulk_sound_speed")

Place = tuple[str, str]
"""Subject and property."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number that a document prints, in SI, with the rounding unit of its last digit that is not zero."""

    value: float
    unit: float
    words: str


@dataclass(frozen=True, slots=True)
class Pair:
    """Two documents: how many materials both print, of which numbers are equal, and how probable that is by chance."""

    documents: tuple[str, str]
    shared: int
    equal: tuple[str, ...]
    probability: float


def numbers_of(ledger: Ledger, table: UnitTable) -> dict[str, dict[Place, list[Number]]]:
    """What documents print of materials, by document and place; withdrawn ones are left out."""
    families = {subject.id: subject for subject in ledger.of(Subject) if subject.subject_kind == "material"}
    withdrawn = {source.id for source in ledger.of(Source) if source.withdrawn is not None}
    found: dict[str, dict[Place, list[Number]]] = defaultdict(lambda: defaultdict(list))
    for reading in ledger.of(PropertyReading):
        known = reading.subject in families and reading.property in PRINTED and reading.source not in withdrawn
        if not known or not isinstance(reading, Scalar) or reading.seen == "memory":
            continue
        if reading.property == "density" and _is_element(families[reading.subject]):
            continue
        unit = table.find(reading.unit)
        target = table.si(unit.dimension)
        value = single_value(reading.plain(), target, table).value
        last = abs(float(unit.difference_to(_last_unit(reading.number), target)))
        words = f"{reading.subject}.{reading.property} {reading.number} {reading.unit}"
        found[reading.source][reading.subject, reading.property].append(Number(value, last, words))
    return found


def _is_element(subject: Subject) -> bool:
    """Whether a material is one chemical element by its note or its family: its density is a constant of nature."""
    return subject.family in ELEMENT_FAMILIES or subject.id in ELEMENTS


ELEMENT_FAMILIES = ("refractory-metal", "precious-metal", "light-metal", "lead")
ELEMENTS = (
    "aluminium", "antimony", "bismuth", "cadmium", "chromium", "cobalt", "copper", "graphite", "hafnium", "indium",
    "iron", "iron-electrolytic", "manganese", "nickel", "tin", "titanium", "uranium", "vanadium", "zinc", "zirconium",
)  # fmt: skip


def _last_unit(number: str) -> float:
    """The unit of the last digit that is not zero: 10 of 7850, 0.01 of 2.70."""
    plain = number.replace(",", "").replace(" ", "").lower()
    mantissa, _, exponent = plain.partition("e")
    whole, _, fraction = mantissa.lstrip("+-").partition(".")
    digits = (whole + fraction).rstrip("0")
    places = len(digits) - len(whole)
    return math.pow(10.0, -places + int(exponent or 0)) if digits.strip("0") else 0.0


def tail(chances: Sequence[float], count: int) -> float:
    """The probability that at least `count` of independent events with these chances happen (Poisson-binomial)."""
    exactly = [1.0]
    for chance in chances:
        longer = [0.0] * (len(exactly) + 1)
        for happened, probability in enumerate(exactly):
            longer[happened] += probability * (1.0 - chance)
            longer[happened + 1] += probability * chance
        exactly = longer
    return math.fsum(exactly[count:])


class Coincidences:
    """The pairs of some documents under a written expectation of what independent ones differ by.

    Args:
        spreads: by place, the standard deviation of independent documents, relative, but absolute for Poisson's ratio.
        declared: the lineage of each document as it is declared.
        apart: pairs that somebody showed to be independent.
    """

    def __init__(
        self,
        numbers: Mapping[str, Mapping[Place, Sequence[Number]]],
        spreads: Mapping[Place, float],
        declared: Mapping[str, str],
        apart: Iterable[frozenset[str]] = (),
    ) -> None:
        self._numbers = numbers
        self._spreads = spreads
        self._declared = declared
        self._apart = set(apart)

    def found(self) -> tuple[list[Pair], int]:
        """All pairs of less than `SUSPECT`, the least probable first, and how many pairs were asked."""
        voice = dict(self._declared)
        known: set[tuple[str, str]] = set()
        while True:
            pairs, asked = self._asked(voice)
            now = {pair.documents for pair in pairs if pair.probability < LIMIT}
            if now <= known:
                return sorted(pairs, key=lambda pair: (pair.probability, pair.documents)), asked
            known |= now
            for one, other in sorted(known):
                if frozenset((one, other)) not in self._apart:
                    first, second = sorted((voice[one], voice[other]))
                    voice = {name: first if its == second else its for name, its in voice.items()}

    def _asked(self, voice: Mapping[str, str]) -> tuple[list[Pair], int]:
        pairs, asked = [], 0
        for one, other in combinations(sorted(self._numbers), 2):
            if self._declared[one] == self._declared[other]:
                continue
            materials = self._in_common(one, other)
            if len(materials) >= FEWEST:
                asked += 1
                pairs.append(self._pair((one, other), materials, voice))
        return [pair for pair in pairs if pair.probability < SUSPECT], asked

    def _in_common(self, one: str, other: str) -> list[list[Place]]:
        """The properties that two documents both print, by material; those of which they print one are left out."""
        places: dict[str, list[Place]] = defaultdict(list)
        for place in sorted(self._numbers[one].keys() & self._numbers[other].keys()):
            places[place[0]].append(place)
        return [found for found in places.values() if len(found) >= FEWEST]

    def _pair(self, documents: tuple[str, str], materials: Sequence[Sequence[Place]], voice: Mapping[str, str]) -> Pair:
        chances, equal = [], []
        for places in materials:
            draws = [self._draw(place, documents, voice) for place in places]
            chances.append(tail([chance for chance, _ in draws], FEWEST))
            same = [words for _, words in draws if words is not None]
            if len(same) >= FEWEST:
                equal.append((chances[-1], "; ".join(same)))
        examples = tuple(words for _, words in sorted(equal))
        return Pair(documents, len(materials), examples, tail(chances, len(equal)))

    def _draw(self, place: Place, documents: tuple[str, str], voice: Mapping[str, str]) -> tuple[float, str | None]:
        """The chance that two documents print an equal number of a place, and the number if they do."""
        first, second = (self._numbers[name][place] for name in documents)
        same = next((a for a in first for b in second if abs(a.value - b.value) <= EQUAL * abs(a.value)), None)
        number = same or min(first, key=lambda one: one.unit)
        return self._chance(place, number, documents, voice), same.words if same is not None else None

    def _chance(self, place: Place, number: Number, documents: tuple[str, str], voice: Mapping[str, str]) -> float:
        """That two independent documents print this number of this place."""
        spread = self._spreads[place] * (1.0 if place[1] == "poisson_ratio" else abs(number.value))
        by_digits = number.unit / (2.0 * math.sqrt(math.pi) * spread) if spread > 0.0 else 1.0
        own = {voice[name] for name in documents}
        others: dict[str, bool] = {}
        for name, printed in self._numbers.items():
            if place in printed and voice[name] not in own:
                same = any(abs(one.value - number.value) <= EQUAL * abs(number.value) for one in printed[place])
                others[voice[name]] = others.get(voice[name], False) or same
        by_others = sum(others.values()) / (len(others) + 1.0)
        return min(1.0, max(by_digits, by_others))


def coincidences(ledger: Ledger, policy: Policy, table: UnitTable) -> tuple[list[Pair], int]:
    """The pairs of the ledger's documents about solids, and how many were asked."""
    numbers = numbers_of(ledger, table)
    subjects = {subject.id: subject for subject in ledger.of(Subject)}
    spreads = {}
    for place in {place for printed in numbers.values() for place in printed}:
        family = policy.family(subjects[place[0]].family)
        property_id = "longitudinal_speed" if place[1] == "bulk_sound_speed" else place[1]
        if family is None:
            spreads[place] = 0.0
        else:
            spreads[place] = math.hypot(family.spread_of(property_id), family.repeatability_of(property_id))
    declared = {source.id: source.lineage or source.id for source in ledger.of(Source)}
    apart = [frozenset(entry.documents) for entry in policy.apart]
    return Coincidences(numbers, spreads, declared, apart).found()


def listed(pairs: Iterable[Pair], policy: Policy) -> Iterator[SharedLineage]:
    """The pairs that count once."""
    apart = {frozenset(entry.documents) for entry in policy.apart}
    for pair in sorted(pairs, key=lambda pair: pair.documents):
        if pair.probability < LIMIT and frozenset(pair.documents) not in apart:
            yield SharedLineage(
                documents=list(pair.documents),
                shared=pair.shared,
                equal=len(pair.equal),
                probability=number_text(max(pair.probability, 1e-99), 2),
                examples=list(pair.equal[:EXAMPLES]),
            )


def text_of(found: Iterable[SharedLineage], policy: Policy) -> str:
    """The file of shared lineages."""
    lines = [
        "# Pairs of documents about solids that print so many equal digits that chance does not explain it: they count",
        "# once. Written by `python -m tests.tools.lineages` (which says how); a pair that somebody shows to be",
        "# independent goes into an entry `[[apart]]` with `documents` and `reason`, which the tool keeps.",
        "",
    ]
    for entry in policy.apart:
        documents = ", ".join(f'"{name}"' for name in entry.documents)
        lines += ["[[apart]]", f"documents = [{documents}]", f'reason = "{entry.reason}"', ""]
    for pair in found:
        lines += ["[[shared_lineage]]", f'documents = ["{pair.documents[0]}", "{pair.documents[1]}"]']
        lines += [f"shared = {pair.shared}", f"equal = {pair.equal}", f'probability = "{pair.probability}"']
        lines += ["examples = [", *(f'  "{words}",' for words in pair.examples), "]", ""]
    return "\n".join(lines)


def page(pairs: Sequence[Pair], asked: int, policy: Policy) -> str:
    """What was found, for the documentation."""
    kept = {tuple(pair.documents) for pair in listed(pairs, policy)}
    lines = [
        "# Documents whose tables coincide\n",
        "Documents that copied from one another count once. Where that is not declared, digits tell it: a table is "
        "copied row by row, so a draw is a material of which two documents print two or more of the same properties, "
        "and it tells of a copy where two or more of these numbers are equal. Independent documents print an equal "
        "number of rounding unit r with the probability r / (2 √π s), s being the standard deviation of documents of "
        "its family, and no less than the share of the other documents that print this number: 7850 kg/m3 of a steel "
        "and a Poisson's ratio of 0.3 prove nothing. The probability of so many materials with equal numbers or more "
        "is the upper tail of a Poisson-binomial distribution.\n",
        f"{asked} pairs of documents about solids print enough of the same. Those below {LIMIT:g} count once for the "
        "numbers in which they are equal, until somebody shows otherwise (`[[apart]]` in sources/rules/lineages.toml); "
        f"one in {1 / LIMIT:.0f} of independent pairs would be among them. What this cannot show: who copied from "
        "whom, and copies that were rounded or converted on the way.\n",
        "| documents | materials that both print | with equal numbers | probability | counts once | for example |",
        "|---|---|---|---|---|---|",
    ]
    for pair in pairs:
        once = "yes" if pair.documents in kept else "no"
        cells = [" and ".join(pair.documents), f"{pair.shared}", f"{len(pair.equal)}", f"{pair.probability:.2g}", once]
        lines.append("| " + " | ".join([*cells, "; ".join(pair.equal[:2])]) + " |")
    return "\n".join([*lines, ""])


def page_of_ledger() -> str:
    """The page about the project's own ledger."""
    vocabulary = compile_vocabulary(PROJECT)
    policy = load_policy(PROJECT)
    units = UnitTable.from_documents(vocabulary["units"])
    return page(*coincidences(load_ledger(PROJECT, vocabulary), policy, units), policy)


def main() -> None:
    """Write the pairs."""
    vocabulary = compile_vocabulary(PROJECT)
    ledger, policy = load_ledger(PROJECT, vocabulary), load_policy(PROJECT)
    pairs, asked = coincidences(ledger, policy, UnitTable.from_documents(vocabulary["units"]))
    TABLE.write_text(text_of(listed(pairs, policy), policy))
    print(f"{asked} pairs asked")
    for pair in pairs:
        print(f"{pair.probability:.2g} {pair.documents} {len(pair.equal)} of {pair.shared}: {pair.equal[:3]}")


if __name__ == "__main__":
    main()
