"""What a release has of the liquids on the list: rung, range, documents and expanded uncertainty near 20 degC."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from refdb.constants import ROOM_CELSIUS, STANDARD_ATMOSPHERE
from refdb.database import Database
from refdb.liquids.inversion import pressed
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import AmbiguousName, NotAvailable, Problem, UnknownName
from refdb.units import Quantity, with_uncertainty
from refdb.values.options import Options
from refdb.values.value import Answer, answer
from tests.tools.wanted_liquids import PROPERTIES, WANTED

MISSING = "—"
ESTIMATES = Options(estimates=True)
SALINITY = 35.0
"""g/kg: of sea water."""


@dataclass(frozen=True)
class Filled:
    """A property of a liquid near 20 degC, and the words that say where exactly; no words at 20 degC and 1 atm."""

    answer: Answer
    words: str


def filled(database: Database, liquid: str, property_id: str) -> Filled:
    """A property at 20 degC and 1 atm; where it boils there, at saturation; where its row ends, at the nearest place.

    Raises:
        Problem: nobody knows the name, or nothing is known of the property; the refusal says what would be needed.
    """
    release = database.release()
    subject = database.subject(liquid, release, "liquid")
    text = database.reader.permitted(subject, property_id, None, ESTIMATES, release)
    row = text.row
    for celsius in _temperatures(row):
        state, saturated = pressed(row, _state(row, celsius))
        try:
            evaluated = row.evaluate(state, needs_temperature=True)
        except Problem:
            continue
        return Filled(answer(text, evaluated, row.unit), _words(row, evaluated.state, saturated))
    raise NotAvailable(f"{property_id}: {row.id} answers nowhere near {ROOM_CELSIUS:g} degC.")


def _temperatures(row: PreparedRow) -> list[float | None]:
    """20 degC; the nearest end of the row and its middle."""
    span = row.temperature
    if span is None:
        return [None]
    return [ROOM_CELSIUS, min(max(ROOM_CELSIUS, span.low), span.high), 0.5 * (span.low + span.high)]


def _state(row: PreparedRow, celsius: float | None) -> State:
    state = State(celsius)
    if "salinity" in row.intervals:
        state = replace(state, salinity=SALINITY)
    if "strength" in row.intervals:
        span = row.intervals["strength"]
        state = replace(state, strength=0.5 * (span.low + span.high))
    return state


def _words(row: PreparedRow, state: State, saturated: bool) -> str:
    words = []
    if state.celsius is not None and state.celsius != ROOM_CELSIUS:
        words.append(f"{state.celsius:.4g} degC")
    if saturated or (row.pressure is not None and state.pascals != STANDARD_ATMOSPHERE):
        words.append("saturation")
    if state.salinity is not None:
        words.append(f"{state.salinity:g} g/kg")
    if state.strength is not None:
        words.append(f"{100.0 * state.strength:.3g} % mass")
    return ", ".join(words)


def fill_of_liquids(database: Database, table: Any) -> str:
    """The page, by a function that makes a table of headings and rows."""
    counts: Counter[str] = Counter()
    parts = [
        f"# What is here of liquids\n\nRelease {database.release().label}. Each cell: rung, range of temperature, "
        "number of documents, value ± expanded uncertainty (k = 2) at 20 degC and 1 atm, or where it says. A document "
        "prints what is `published`; what is `derived` follows from that; `analogue`, `family` and `memory` are "
        f"estimates, given with `accept=estimates` only. {MISSING}: nothing stands behind any value; the refusal says "
        "what would be needed and how to measure it on site. *not named*: the release does not know the name.\n"
    ]
    for group, names in WANTED.items():
        rows = [(name, *_cells(database, name)) for name in names]
        counts.update(_rung(cell) for row in rows for cell in row[1:3])
        parts.append(f"## {group.capitalize()}\n\n" + table("liquid", *PROPERTIES, rows=iter(rows)))
    told = ", ".join(f"{rung} {count}" for rung, count in sorted(counts.items()))
    return "\n".join([*parts, f"Sound speed and density together: {told}.\n"])


def _rung(cell: str) -> str:
    return "missing" if cell in {MISSING, "*not named*"} else cell.partition(";")[0]


def _cells(database: Database, name: str) -> Iterator[str]:
    try:
        database.subject(name, kind="liquid")
    except (UnknownName, AmbiguousName):
        yield from ["*not named*", *[MISSING] * (len(PROPERTIES) - 1)]
        return
    for property_id in PROPERTIES:
        try:
            yield _cell(filled(database, name, property_id))
        except NotAvailable:
            yield MISSING


def _cell(found: Filled) -> str:
    one = found.answer
    expanded = Quantity(2.0 * float(one.standard_uncertainty.magnitude), one.standard_uncertainty.unit)
    span = one.valid_range.get("temperature")
    documents = len({source["key"] for source in one.sources})
    parts = [
        one.text.fixed["rung"],
        " to ".join(span) if span is not None else "",
        f"{documents} document{'s' if documents != 1 else ''}",
        ("at least " if one.bound == "lower" else "")
        + with_uncertainty(one.value, expanded)
        + (f" at {found.words}" if found.words else ""),
    ]
    return "; ".join(filter(None, parts))
