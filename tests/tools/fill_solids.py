"""What is here of every wall and lining on the list, before and after, and how far each rung is off."""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Iterator, Sequence

from refdb.database import Database
from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.problems import Problem
from refdb.recommend.solids.bounds import GAPS
from refdb.values.options import ESTIMATE_RUNGS
from refdb.values.value import Answer
from tests.tools.wanted_solids import PROPERTIES, WANTED

BEFORE = "2026r9"
"""The last release in which no wall had a speed above 40 degC."""
TEMPERATURES = (20.0, 75.0)
SPEEDS = ("longitudinal_speed", "shear_speed")
MEASURED = (*SPEEDS, "density")
ELEMENTS = {
    "nickel-200": "nickel",
    "aluminium-1100": "aluminium",
    "copper-tough-pitch": "copper",
    "iron-electrolytic": "iron",
    "carbon-steel": "iron",
    "titanium-grade-1": "titanium",
}
"""Nearly pure metals and their elements, of which both have speeds: how far the rung by element is off."""


def _asked(database: Database, subject: str, name: str, celsius: float, release: ReleaseInfo) -> Answer | None:
    try:
        state = f"{celsius:g} degC"
        return database.value(subject, name, temperature=state, accept="estimates", release=release.label)
    except Problem:
        return None


def _cell(database: Database, subject: str, name: str, release: ReleaseInfo) -> str:
    """The rung, and the expanded uncertainty at both temperatures in percent, or the ends of a bound."""
    found = [_asked(database, subject, name, celsius, release) for celsius in TEMPERATURES]
    told = next((one for one in found if one is not None), None)
    if told is None:
        return "refused"
    if told.limits is not None:
        low, high = (float(end.magnitude) for end in told.limits)
        return f"bound {low:.4g} to {high:.4g}"
    rung = str(told.text.fixed["rung"])
    return f"{rung} {' / '.join(_percent(one) for one in found)}"


def _percent(found: Answer | None) -> str:
    if found is None:
        return "-"
    return f"{200.0 * float(found.standard_uncertainty.magnitude) / abs(float(found.magnitude)):.2g} %"


def _helps(database: Database, subject: str, release: ReleaseInfo) -> str:
    """What measurement would help most: what is refused, else bounded, else the least certain of speeds and density."""

    def gap(name: str) -> float:
        found = _asked(database, subject, name, 20.0, release)
        if found is None:
            return math.inf
        if found.limits is not None:
            low, high = (float(end.magnitude) for end in found.limits)
            return 10.0 + (high - low) / (high + low)
        return float(found.standard_uncertainty.magnitude) / float(found.magnitude)

    return max(MEASURED, key=gap).replace("_", " ")


def fill_of_solids(database: Database) -> str:
    """The page."""
    release = database.release()
    before = database.release(BEFORE)
    lines = [
        f"# What is here of walls and linings\n\nRelease {release.label}. `published`: a document prints it. "
        "`derived`: it follows from what is published. `analogue`, `family`, `memory`: estimates, and `bound`: no "
        "value, but between what it lies; both are given with `accept=estimates` only. `refused`: nothing stands "
        "behind any value; of a speed the refusal says how to measure it. Beside the rung the "
        "expanded uncertainty (k = 2) at 20 and at 75 degC; `-` where the row does not reach.\n",
        "## Before and after\n",
        *_counted(database, before, release),
    ]
    for group, subjects in WANTED.items():
        lines += [f"\n## {group.capitalize()}\n", _head(["material", *PROPERTIES, "would help most"])]
        for subject in subjects:
            cells = [_cell(database, subject, name, release) for name in PROPERTIES]
            lines.append(f"| `{subject}` | {' | '.join(cells)} | {_helps(database, subject, release)} |")
    return "\n".join([*lines, *_rungs(database, release), ""])


def _head(names: Sequence[str]) -> str:
    return f"| {' | '.join(names)} |\n|{'---|' * len(names)}"


def _counted(database: Database, before: ReleaseInfo, after: ReleaseInfo) -> Iterator[str]:
    """How many of the listed walls answer both speeds, estimates and bounds accepted."""
    subjects = [subject for group in WANTED.values() for subject in group]
    yield f"Of the {len(subjects)} materials below, both speeds are answered, estimates accepted, for:\n"
    yield _head(
        ["release", "20 degC: value", "estimate", "bound", "none", "75 degC: value", "estimate", "bound", "none"]
    )
    for release in (before, after):
        cells: list[str] = []
        for celsius in TEMPERATURES:
            found = Counter(_worst(database, subject, celsius, release) for subject in subjects)
            cells += [str(found[kind]) for kind in ("value", "estimate", "bound", "none")]
        yield f"| {release.label} | {' | '.join(cells)} |"


def _worst(database: Database, subject: str, celsius: float, release: ReleaseInfo) -> str:
    """The weaker of both speeds' rungs."""
    kinds = []
    for name in SPEEDS:
        found = _asked(database, subject, name, celsius, release)
        if found is None:
            return "none"
        if found.limits is not None:
            kinds.append("bound")
        else:
            kinds.append("estimate" if found.text.fixed["rung"] in ESTIMATE_RUNGS else "value")
    return next(kind for kind in ("bound", "estimate", "value") if kind in kinds)


def _rungs(database: Database, release: ReleaseInfo) -> Iterator[str]:
    """How far each rung is off where the truth is known: by leaving out in turn what documents tell."""
    yield "\n## How far each rung is off\n"
    yield (
        "Each rung held against materials whose speeds documents tell: the root mean square of what it is off by, and "
        "how many lie within twice what it admits. Speeds derived from moduli, and what documents differ by, are in "
        "[consensus](consensus.md); slopes are held in `tests/recommend/test_temperature.py` and "
        "`tests/outside/test_temperature.py`.\n"
    )
    yield _head(["rung", "speed", "materials", "off by (rms)", "within twice what it admits"])
    for name in SPEEDS:
        yield _line("element of a nearly pure metal", name, [_of_element(database, *pair, name) for pair in _pairs()])
        members = list(_members(database, name, release))
        yield _line("family, from 4 members on", name, list(_left_out(members)))
        yield _bounded_line(name, members)


def _pairs() -> list[tuple[str, str]]:
    return list(ELEMENTS.items())


def _line(rung: str, name: str, scores: Sequence[tuple[float, float]]) -> str:
    off = math.sqrt(statistics.fmean(score * score for score, _ in scores))
    inside = sum(abs(score) <= 2.0 * size for score, size in scores)
    return f"| {rung} | {name} | {len(scores)} | {100.0 * off:.2g} % | {inside} of {len(scores)} |"


def _of_element(database: Database, alloy: str, element: str, name: str) -> tuple[float, float]:
    """How far an element's speed is from that of its alloy, and what both admit with 2 % between them, relative."""
    one, other = (database.value(subject, name, accept="estimates") for subject in (alloy, element))
    value = float(one.magnitude)
    sizes = [float(found.standard_uncertainty.magnitude) / value for found in (one, other)]
    return float(other.magnitude) / value - 1.0, math.hypot(*sizes, 0.02)


def _members(database: Database, name: str, release: ReleaseInfo) -> Iterator[tuple[str, float, float]]:
    """Family, value and standard uncertainty of every material whose speed is published."""
    for record in database.store.of_kind("subject", release):
        row = database.store.record(f"{record.id}.{name}", release)
        if record.body["subject_kind"] == "material" and row is not None and _is_published(row):
            body = row.body
            yield (
                str(record.body["family"]),
                float(body["form"]["coefficients"]["c0"]),
                float(body["uncertainty"]["number"]),
            )


def _is_published(row: StoredRecord) -> bool:
    return bool(row.body["rung"] == "published" and "condition" not in row.body)


def _left_out(members: Sequence[tuple[str, float, float]]) -> Iterator[tuple[float, float]]:
    """Each member against the mean of the others of its family: off by how much, and what that admits, relative."""
    for place, (family, value, own) in enumerate(members):
        others = [one for other, one in enumerate(members) if other != place and one[0] == family]
        if len(others) >= 4:
            values = [one for _, one, _ in others]
            spread = statistics.stdev(values) * math.sqrt(1.0 + 1.0 / len(values))
            size = math.hypot(spread, own, statistics.fmean(one for _, _, one in others))
            if size <= 0.10 * value:  # What varies more gives no estimate.
                yield statistics.fmean(values) / value - 1.0, size / value


def _bounded_line(name: str, members: Sequence[tuple[str, float, float]]) -> str:
    """How many members lie between the least and the greatest of the others of their family, moved outwards."""
    inside = count = 0
    widths = []
    for place, (family, value, _) in enumerate(members):
        others = [one for other, one in enumerate(members) if other != place and one[0] == family]
        if len(others) >= 3:
            values = [one for _, one, _ in others]
            further = GAPS * (max(values) - min(values)) / (len(values) - 1)
            low = min(v - 2.0 * u for _, v, u in others) - further
            high = max(v + 2.0 * u for _, v, u in others) + further
            inside, count = inside + (low <= value <= high), count + 1
            widths.append((high - low) / (high + low))
    return (
        f"| bound by the family, from 3 members on | {name} | {count} | "
        f"± {statistics.median(widths):.0%} of its middle (median) | {inside} of {count} |"
    )
