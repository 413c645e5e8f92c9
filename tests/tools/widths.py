"""How far documents about solids lie apart: the widths that rule consensus/3 takes, estimated from the ledger.

    python -m tests.tools.widths            # writes sources/rules/widths.toml

Every reading is held against what the other documents of the same material say, with Student's t of the degrees of
freedom that the width has. The widths are those that make the readings most likely: for every group of families and
property the spread of good documents and its degrees of freedom (one number for all cells of few readings), and for
every class of evidence by how much more than a good document it is off. A cell is drawn to what it was judged before
with the weight of a few readings, so that one with few stays near it. A tenth of the documents, drawn by `SEED`, has no
part in it.
"""

from __future__ import annotations

import hashlib
import math
import random
import statistics
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

import refdb
from refdb.ledger import Ledger, load_ledger
from refdb.recommend.arithmetic import Weighed
from refdb.recommend.derive import CHECKED, ValueRules
from refdb.recommend.evidence import SPEEDS, Evidence, Single, one_of, resolutions_of
from refdb.recommend.evidence_classes import EvidenceClasses
from refdb.recommend.lineage import Lineages
from refdb.recommend.policy import ClassWidth, ErrorCorrelation, Family, GroupWidths, Policy, Width, load_policy
from refdb.recommend.solids.covariance import TOGETHER
from refdb.records import number_text
from refdb.records.models import PropertyReading, Source, Subject
from refdb.release.vocabulary import compile_vocabulary
from tests.conftest import PROJECT

SEED = "walls, first evidence by class"
FIRST_DRAWN = "2026r9"
"""The release from whose documents the first tenth was drawn; each later document draws its own lot."""
SET_ASIDE = 10
"""One document in so many is set aside."""
PRIOR_WIDTH = 0.5
"""Of the logarithm of a spread: what was judged before is taken to be right within a factor of 1.6."""
STEPS = (0.5, 0.7, 0.8, 0.9, 0.95, 1.05, 1.1, 1.25, 1.4, 2.0)
FREEDOMS = (3, 4, 6, 8, 12, 20)
EXCESSES = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
ROUNDS = 4
CLIPPED = 3.0
KINDS = (SPEEDS, tuple(name for name in CHECKED if name not in SPEEDS))
"""What a class is off by in speeds and in the rest: its densities may be good where its speeds are not."""
ENOUGH = 30
INSIDE, INSIDE_ALONE = (0.92, 0.965), 0.90
NEAREST_FIRST = sorted(range(-20, 41), key=lambda step: (abs(step), step))
GOOD = ("measurement with stated uncertainty", "measurement")
"""Classes whose readings a group's spread is of: their excess is nothing by definition."""
WITNESSES = (*GOOD, "standard", "evaluated handbook")
"""Classes on which a spread is calibrated; the others answer for themselves by their excess."""


@dataclass(frozen=True, slots=True)
class Voice:
    """What one document says of one property of one material; `evidence` has no part of its class in it yet."""

    lineage: str
    source: str
    evidence: tuple[Evidence, ...]
    name: str
    """Of its class."""


@dataclass(frozen=True, slots=True)
class Cell:
    """The voices of one property of one material."""

    subject: str
    group: str
    property_id: str
    voices: tuple[Voice, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """A voice held against the others: the deviation, the uncertainty of what they recommend and its own, in SI."""

    cell: Cell
    voice: Voice
    off: float
    row: float
    own: float
    freedom: int
    quantile: float

    @property
    def score(self) -> float:
        """The deviation in combined standard uncertainties, the noise of the reading counted once."""
        return self.off / math.hypot(self.row, self.own)

    @property
    def likelihood(self) -> float:
        """The logarithm of its density by Student's t."""
        scale = math.hypot(2.0 * self.row / self.quantile, self.own)
        nu = float(self.freedom)
        constant = math.lgamma((nu + 1.0) / 2.0) - math.lgamma(nu / 2.0) - 0.5 * math.log(nu * math.pi)
        return constant - math.log(scale) - (nu + 1.0) / 2.0 * math.log1p((self.off / scale) ** 2 / nu)


def set_aside(ledger: Ledger) -> list[str]:
    """The documents about solids that no width may be estimated from."""
    solids = {subject.id for subject in ledger.of(Subject) if subject.subject_kind == "material"}
    documents = {reading.source for reading in ledger.of(PropertyReading) if reading.subject in solids}
    database = refdb.open()
    before = {record.id for record in database.store.of_kind("source", database.release(FIRST_DRAWN))}
    first = sorted(documents & before)
    drawn = random.Random(SEED).sample(first, len(first) // SET_ASIDE)  # noqa: S311 - a draw that anybody can repeat
    # What comes later draws its own lot, so that nothing that was set aside is ever looked at.
    return sorted([*drawn, *(key for key in documents - before if _lot(key) % SET_ASIDE == 0)])


def _lot(key: str) -> int:
    return int.from_bytes(hashlib.sha256(f"{SEED} {key}".encode()).digest()[:4], "big")


def cells_of(ledger: Ledger, policy: Policy, without: Sequence[str] = ()) -> list[Cell]:
    """What documents say of every property of every material, but for documents that are set aside."""
    vocabulary = compile_vocabulary(PROJECT)
    plain = replace(policy, class_widths=())
    rules = ValueRules(ledger, plain, vocabulary)
    sources = {source.id: source for source in ledger.of(Source)}
    classes = EvidenceClasses(policy.evidence, sources)
    groups = {member: name for name, family in policy.families.items() for member in family.members}
    readings: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in ledger.of(PropertyReading):
        if reading.source not in without:
            readings[reading.subject].append(reading)
    cells = []
    for subject in ledger.of(Subject):
        own = readings[subject.id]
        if subject.family not in groups or not own:
            continue
        inconsistent = rules.inconsistent(subject, own)
        for property_id in CHECKED:
            of_property = [reading for reading in own if reading.property == property_id]
            si = vocabulary["properties"][property_id]["si"]
            offered = rules.consensus.offered(subject, property_id, si, of_property, inconsistent, None, own)
            usable = [one.evidence for one in offered if one.against is None]
            voices = tuple(_voices(usable, sources, classes))
            if len({voice.lineage for voice in voices}) > 1:
                cells.append(Cell(subject.id, groups[subject.family], property_id, voices))
    return cells


def _voices(usable: Sequence[Evidence], sources: Mapping[str, Source], classes: EvidenceClasses) -> Iterator[Voice]:
    by_source: dict[str, list[Evidence]] = defaultdict(list)
    for item in usable:
        by_source[item.reading.source].append(item)
    for source, items in sorted(by_source.items()):
        yield Voice(sources[source].lineage or source, source, tuple(items), classes.of(items[0].reading))


class Scale:
    """The arithmetic of the rule under some widths."""

    def __init__(self, policy: Policy, ledger: Ledger) -> None:
        sources = {source.id: source for source in ledger.of(Source)}
        self.policy = policy
        self._classes = EvidenceClasses(policy.evidence, sources)
        self._lineages = Lineages(sources.values(), policy.shared_lineages)
        self._weighed = Weighed(policy, resolutions_of(ledger.of(PropertyReading)), self._classes)

    def held(self, cell: Cell) -> Iterator[Held]:
        """Every voice of a cell against those of the other lineages."""
        family = self.policy.families[cell.group]
        singles = {voice.source: self._single(voice, cell, family) for voice in cell.voices}
        # One voice of each lineage: a copy that is held against the others tells nothing that its original does not.
        for voice in {voice.lineage: voice for voice in reversed(cell.voices)}.values():
            others = self._others(cell, voice)
            if not others:
                continue
            values = [singles[other.source] for other in others]
            outliers = self._weighed.outliers(values, cell.property_id, family)
            kept = [single for place, single in enumerate(values) if place not in outliers]
            found = self._weighed.estimate(kept, cell.property_id, family)
            own = singles[voice.source]
            yield Held(
                cell,
                voice,
                own.value - found.value,
                found.uncertainty,
                own.standard_uncertainty,
                int(found.working["degrees_of_freedom"]),
                float(found.working["t_quantile"]),
            )

    def _others(self, cell: Cell, voice: Voice) -> list[Voice]:
        """One voice of each other lineage, without those that give way."""
        others = [other for other in cell.voices if other.lineage != voice.lineage and not self._copied(voice, other)]
        weaker = self._classes.gives_way([(other.name, other.source) for other in others])
        seen: dict[str, Voice] = {}
        for other in others:
            if other.name not in weaker:
                seen.setdefault(other.lineage, other)
        return list(seen.values())

    def _copied(self, one: Voice, other: Voice) -> bool:
        values = [one_of(voice.evidence).value for voice in (one, other)]
        return self._lineages.copied(one.source, other.source, *values) is not None

    def _single(self, voice: Voice, cell: Cell, family: Family) -> Single:
        return one_of([self._weighed.classed(item, cell.property_id, family) for item in voice.evidence])


def judged(policy: Policy) -> dict[str, GroupWidths]:
    """What was judged before: the spread of a family and what one reading is off by, together."""
    found: dict[str, GroupWidths] = {}
    for name, family in policy.families.items():
        spreads = {
            property_id: math.hypot(family.spread_of(property_id), family.repeatability_of(property_id))
            for property_id in CHECKED
        }
        found[name] = GroupWidths.model_validate(
            {
                key: Width(spread=number_text(spread, 2), freedom=family.freedom, cases=0)
                for key, spread in spreads.items()
            }
        )
    return found


class Fit:
    """The widths that make the readings most likely."""

    def __init__(self, policy: Policy, ledger: Ledger, cells: Sequence[Cell]) -> None:
        self._ledger = ledger
        self._start = judged(policy)
        self.policy = replace(
            policy,
            widths=dict(self._start),
            class_widths=tuple(
                ClassWidth(name=entry.name, properties=list(kind), excess="0", cases=0)
                for entry in policy.evidence
                for kind in KINDS
            ),
        )
        self._cells = cells

    def run(self, tell: Callable[[str], None]) -> Policy:
        """The policy with estimated widths."""
        for turn in range(ROUNDS):
            before = self.policy
            for group in self.policy.families:
                for property_id in CHECKED:
                    self._spread(group, property_id)
                    if len(self._of(group, property_id)) >= ENOUGH:
                        self._freedom([(group, property_id)])
            self._freedom([(g, p) for g in self.policy.families for p in CHECKED if len(self._of(g, p)) < ENOUGH])
            for place in range(len(self.policy.class_widths)):
                self._excess(place)
            tell(f"round {turn + 1} of at most {ROUNDS}: {self._likelihood(self._cells):.1f}")
            if before == self.policy:
                break
        for group in self.policy.families:
            for property_id in CHECKED:
                self._calibrate(group, property_id)
        for place in range(len(self.policy.class_widths)):
            self._calibrate_class(place)
        return self._counted()

    def _calibrate(self, group: str, property_id: str) -> None:
        """Make a spread hold what it promises, where enough readings tell: likelihood alone may leave its tails short.

        The least change of the spread after which `INSIDE` of the readings lie within k = 2, and `INSIDE_ALONE` of them
        within twice the row's own uncertainty.
        """
        cells = self._of(group, property_id)
        if sum(len(cell.voices) for cell in cells) < ENOUGH:
            return
        likeliest = float(self.policy.widths[group].of(property_id).spread)
        spreads = [number_text(likeliest * 1.03**step, 3) for step in NEAREST_FIRST]
        tried = [self._with({(group, property_id): {"spread": spread}}) for spread in spreads]
        misses = [self._miss(cells, policy) for policy in tried]
        self.policy = tried[misses.index(min(misses))]

    def _miss(self, cells: Sequence[Cell], policy: Policy) -> float:
        """By how much the fractions of good documents inside miss what is asked of them."""
        scale = Scale(policy, self._ledger)
        held = [one for cell in cells for one in scale.held(cell) if one.voice.name in WITNESSES]
        inside = statistics.fmean(abs(one.score) <= 2.0 for one in held)
        alone = statistics.fmean(abs(one.off) <= 2.0 * one.row for one in held)
        low, high = INSIDE
        return max(0.0, low - inside, INSIDE_ALONE - alone) + max(0.0, inside - high)

    def _calibrate_class(self, place: int) -> None:
        """The least excess of a weaker class, from its likeliest on, at which enough of its readings lie inside."""
        entry = self.policy.class_widths[place]
        if entry.name in WITNESSES:
            return
        for excess in (excess for excess in EXCESSES if excess >= float(entry.excess)):
            self.policy = self._with_excess(place, excess)
            scale = Scale(self.policy, self._ledger)
            cells = self._of_class(entry)
            held = [one for cell in cells for one in scale.held(cell) if one.voice.name == entry.name]
            if not held or statistics.fmean(abs(one.score) <= 2.0 for one in held) >= INSIDE[0]:
                return

    def _with_excess(self, place: int, excess: float) -> Policy:
        classes = list(self.policy.class_widths)
        classes[place] = classes[place].model_copy(update={"excess": f"{excess:g}"})
        return replace(self.policy, class_widths=tuple(classes))

    def _likelihood(self, cells: Sequence[Cell], policy: Policy | None = None) -> float:
        scale = Scale(policy or self.policy, self._ledger)
        return math.fsum(held.likelihood for cell in cells for held in scale.held(cell))

    def _best(self, cells: Sequence[Cell], tried: Sequence[tuple[Policy, float]]) -> None:
        if cells:
            self.policy = max(tried, key=lambda one: self._likelihood(cells, one[0]) + one[1])[0]

    def _spread(self, group: str, property_id: str) -> None:
        own = self.policy.widths[group].of(property_id)
        judged_before = float(self._start[group].of(property_id).spread)
        tried = []
        for spread in dict.fromkeys([own.spread, *(number_text(step * float(own.spread), 2) for step in STEPS)]):
            off = math.log(float(spread) / judged_before) / PRIOR_WIDTH
            tried.append((self._with({(group, property_id): {"spread": spread}}), -0.5 * off * off))
        self._best(self._of(group, property_id), tried)

    def _with(self, changes: Mapping[tuple[str, str], Mapping[str, object]]) -> Policy:
        """The policy with some members of some widths changed."""
        widths = {
            group: GroupWidths.model_validate(
                {key: of.of(key).model_copy(update=dict(changes.get((group, key), {}))) for key in CHECKED}
            )
            for group, of in self.policy.widths.items()
        }
        return replace(self.policy, widths=widths)

    def _freedom(self, places: Sequence[tuple[str, str]]) -> None:
        """One number of degrees of freedom for some widths together."""
        cells = [cell for place in places for cell in self._of(*place)]
        self._best(cells, [(self._with({place: {"freedom": n} for place in places}), 0.0) for n in FREEDOMS])

    def _excess(self, place: int) -> None:
        entry = self.policy.class_widths[place]
        if entry.name in GOOD:
            return
        tried = [(self._with_excess(place, excess), 0.0) for excess in EXCESSES]
        self._best(self._of_class(entry), tried)

    def _of_class(self, entry: ClassWidth) -> list[Cell]:
        return [
            cell
            for cell in self._cells
            if cell.property_id in entry.properties and any(voice.name == entry.name for voice in cell.voices)
        ]

    def _of(self, group: str, property_id: str | None = None) -> list[Cell]:
        return [c for c in self._cells if c.group == group and property_id in {None, c.property_id}]

    def _counted(self) -> Policy:
        """With the number of readings behind each."""
        counts = {
            (name, key): {"cases": sum(len(cell.voices) for cell in self._of(name, key))}
            for name in self.policy.widths
            for key in CHECKED
        }
        classes = tuple(
            entry.model_copy(
                update={"cases": sum(v.name == entry.name for cell in self._of_class(entry) for v in cell.voices)}
            )
            for entry in self.policy.class_widths
        )
        return replace(self._with(counts), class_widths=classes)


def error_correlations(policy: Policy, ledger: Ledger, cells: Sequence[Cell]) -> list[ErrorCorrelation]:
    """How properties of one material err together in one document: of its deviations from the other documents.

    The coefficient is that of the signs and sizes in uncertainties, clipped at `CLIPPED`; its interval is Fisher's.
    """
    scores: dict[tuple[str, str], dict[str, float]] = defaultdict(dict)
    for held in (one for found in score(policy, cells, ledger).values() for one in found):
        clipped = max(-CLIPPED, min(CLIPPED, held.score))
        scores[held.cell.subject, held.voice.source][held.cell.property_id] = clipped
    found = []
    for one, other in combinations(TOGETHER, 2):
        pairs = [(own[one], own[other]) for own in scores.values() if one in own and other in own]
        product = math.fsum(a * b for a, b in pairs)
        size = math.sqrt(math.fsum(a * a for a, _ in pairs) * math.fsum(b * b for _, b in pairs))
        coefficient, width = product / size, 1.96 / math.sqrt(len(pairs) - 3)
        low, high = (math.tanh(math.atanh(coefficient) + sign * width) for sign in (-1.0, 1.0))
        told = coefficient if low > 0.0 or high < 0.0 else 0.0
        texts = [number_text(number, 2) for number in (told, low, high)]
        found.append(
            ErrorCorrelation(between=[one, other], coefficient=texts[0], low=texts[1], high=texts[2], cases=len(pairs))
        )
    return found


def text_of(policy: Policy, aside: Sequence[str]) -> str:
    """The file of the widths."""
    lines = [
        "# How far documents about solids lie apart, for rule consensus/3. Written by `python -m tests.tools.widths`",
        "# from the readings of the ledger; not to be edited. Spreads are relative, but absolute for poisson_ratio;",
        "# those with fewer than 10 cases rest mostly on what was judged before (sources/rules/solids.toml, families).",
        f"# Documents set aside, which had no part in it (drawn by the seed {SEED!r}):",
        *(f"#   {key}" for key in aside),
        "",
    ]
    for name, group in policy.widths.items():
        lines.append(f"[widths.{name}]")
        lines += [
            f'{key} = {{ spread = "{width.spread}", freedom = {width.freedom}, cases = {width.cases} }}'
            for key, width in ((key, group.of(key)) for key in CHECKED)
        ]
        lines.append("")
    for entry in policy.class_widths:
        lines += [
            "[[class_width]]",
            f'name = "{entry.name}"',
            "properties = [" + ", ".join(f'"{name}"' for name in entry.properties) + "]",
            f'excess = "{entry.excess}"',
            f"cases = {entry.cases}",
            "",
        ]
    lines += [
        "# How two properties of one material err together in one document; 0 where the interval holds 0.",
    ]
    for pair in policy.error_correlations:
        lines += ["[[error_correlation]]", f'between = ["{pair.between[0]}", "{pair.between[1]}"]']
        lines += [f'coefficient = "{pair.coefficient}"', f'low = "{pair.low}"', f'high = "{pair.high}"']
        lines += [f"cases = {pair.cases}", ""]
    return "\n".join(lines)


def estimate(tell: Callable[[str], None] = lambda _: None) -> tuple[Policy, list[str]]:
    """The policy with estimated widths, and the documents that were set aside."""
    ledger, policy = load_ledger(PROJECT, compile_vocabulary(PROJECT)), load_policy(PROJECT)
    started = replace(policy, widths=judged(policy))
    aside = set_aside(ledger)
    cells = cells_of(ledger, started, aside)
    fitted = Fit(policy, ledger, cells).run(tell)
    return replace(fitted, error_correlations=tuple(error_correlations(fitted, ledger, cells))), aside


def score(policy: Policy, cells: Sequence[Cell], ledger: Ledger) -> dict[tuple[str, str], list[Held]]:
    """Every voice of the cells held against the others, by group and property."""
    scale = Scale(policy, ledger)
    found: dict[tuple[str, str], list[Held]] = defaultdict(list)
    for cell in cells:
        found[cell.group, cell.property_id].extend(scale.held(cell))
    return found


def main() -> None:
    """Write the widths."""
    policy, aside = estimate(partial(print, file=sys.stderr, flush=True))
    (PROJECT / "sources" / "rules" / "widths.toml").write_text(text_of(policy, aside))


if __name__ == "__main__":
    main()
