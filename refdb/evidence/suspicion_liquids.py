"""General suspicions about what documents say of liquids: by laws, by shape and by peers, never by name.

Each asks one question of the readings of a release, flagged ones included: does the liquid exist at that state, is the
number one that a liquid can have, does it agree with what others say of the same state, is it another liquid's, do two
transcriptions of one equation differ in a digit, does an equation give its own check values, and does a curve bend as
curves of liquids do.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any

from refdb.constants import ROOM_CELSIUS
from refdb.evidence.liquid_readings import NEAR, LiquidReading, independent_readings, liquid_readings
from refdb.evidence.suspicion import suspicion_document
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State
from refdb.problems import Problem
from refdb.records import printed_number
from refdb.records.readings import axes_of
from refdb.units import units
from refdb.vocabulary import STATE

if TYPE_CHECKING:
    from refdb.evidence.documents import SuspicionCode, SuspicionDocument


AGREEMENT: Mapping[str, float] = {
    "sound_speed": 0.01,
    "density": 0.005,
    "specific_heat": 0.03,
    "dynamic_viscosity": 0.08,
    "kinematic_viscosity": 0.08,
    "saturation_pressure": 0.05,
}
"""How far, relatively, sound documents about one liquid may differ at one state (judgement)."""

POSSIBLE: Mapping[str, tuple[float, float]] = {
    "sound_speed": (100.0, 5000.0),
    "density": (50.0, 25000.0),
    "specific_heat": (100.0, 30000.0),
    "dynamic_viscosity": (1e-6, 1e4),
}
"""Between what any liquid lies, in SI: from liquid helium to liquid metals and pitch (judgement, generous)."""

FALLING = ("density", "dynamic_viscosity", "kinematic_viscosity", "sound_speed")
"""What falls as a liquid is warmed, but for the liquids that consist of water for the greater part."""

HYDROCARBONS = ("alkane", "alkene", "cycloalkane", "aromatic", "fuel", "crude-oil")
FEWEST_COMPANIONS = 8
COMPANION_TOLERANCE = 0.08
FREEZING_ALLOWANCE = 2.0
FAR_BELOW = 20.0
"""Kelvin below the coldest row of a liquid whose freezing point no document says."""

SAME = 0.0025
"""Within what two numbers count as one (relative), where a value may have been read from another liquid's line."""

VAPOUR_ALLOWANCE = 0.02
"""By how much documents may differ about where a liquid boils (relative)."""

LINE = 5
"""Points that a table needs before one of them can be told to lie outside the line of the others."""

OUT_OF_LINE = 8.0
"""How many times what the rest of a table leaves a point may be away from the line of its neighbours."""


@dataclass(frozen=True, slots=True)
class _Suspicion:
    """What is suspicious about one or more readings of a liquid; `size` is relative, for the order."""

    code: SuspicionCode
    readings: tuple[LiquidReading, ...]
    text: str
    size: float


class _Liquid:
    """One liquid: its readings by property, and the rows that are advised for it."""

    def __init__(self, store: ReleaseStore, release: ReleaseInfo, subject: StoredRecord) -> None:
        self.id = subject.id
        self.family: str = subject.body["family"]
        self.said = liquid_readings(store, release, subject.id)
        records = store.about(("recommended",), subject.id, release)
        self.rows = {record.body["property"]: PreparedRow(record) for record in records}

    @property
    def aqueous(self) -> bool:
        """Whether it may grow denser or faster as it is warmed."""
        return self.family in {"water", "solution", "food"}

    def advised(self, property_id: str, state: State) -> float | None:
        """What the release advises at a state, or None where it advises nothing there."""
        row = self.rows.get(property_id)
        if row is None:
            return None
        try:
            return float(row.evaluate(state, needs_temperature=False).value)
        except Problem:
            return None

    def rests_on(self, reading: LiquidReading) -> bool:
        """Whether the advised value is made of this reading, which then cannot be held against it."""
        row = self.rows.get(reading.body["property"])
        entries = row.body["inputs"] if row is not None else []
        return any(e["id"] == reading.record.id and printed_number(e.get("weight", "0")) for e in entries)

    def each(self) -> Iterator[LiquidReading]:
        """Every reading of every property."""
        for items in self.said.values():
            yield from items


def suspicions_of_liquids(
    store: ReleaseStore, release: ReleaseInfo, families: Collection[str] | None = None
) -> list[SuspicionDocument]:
    """Every suspicion about the liquids of a release, the largest of its kind first.

    Args:
        families: look at the liquids of these families only.
    """
    subjects = [
        subject
        for subject in store.of_kind("subject", release)
        if subject.body["subject_kind"] == "liquid" and (families is None or subject.body["family"] in families)
    ]
    liquids = [_Liquid(store, release, subject) for subject in subjects]
    found = [one for liquid in liquids for question in _QUESTIONS for one in question(liquid)]
    found.extend(_anothers_values(liquids, found))
    found.extend(_unlike_their_density(liquids))
    ordered = sorted(found, key=lambda one: (one.code, -one.size, one.readings[0].record.id))
    return [
        suspicion_document(one.code, [reading.record for reading in one.readings], one.text, one.size)
        for one in ordered
    ]


def _words(state: State) -> str:
    told = [(state.celsius, "degC"), (state.salinity, "g/kg"), (state.strength, "kg/kg")]
    pressure = [f"{state.pascals / 1e6:.4g} MPa"] if state.pascals is not None else []
    return ", ".join([*(f"{held:.4g} {unit}" for held, unit in told if held is not None), *pressure])


def _not_there(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Readings at temperatures at which the liquid is frozen, or far below everything that is known of it."""
    coldest, words = _coldest(liquid)
    if coldest is None:
        return
    for reading in liquid.each():
        span = reading.function.spans.get("temperature")
        if span is None or reading.body["property"] == "freezing_point" or reading.body["kind"] == "grid":
            continue
        below = coldest - span[0]
        if below > 0.0:
            yield _Suspicion("no-liquid-there", (reading,), f"it speaks of {span[0]:.4g} degC, {words}", below)


def _coldest(liquid: _Liquid) -> tuple[float | None, str]:
    """The temperature in degC below which there is no liquid, with what is allowed for, and how that is known."""
    freezing = [v for v in liquid.said.get("freezing_point", []) if v.sound and v.body["kind"] == "scalar"]
    if freezing:
        kelvin, celsius = units().find("K", "temperature"), units().find("degC", "temperature")
        point = float(kelvin.to(min(v.function.value(State()) for v in freezing), celsius))
        return point - FREEZING_ALLOWANCE, f"where the liquid is frozen: it freezes at {point:.4g} degC"
    begin = [row.temperature.low for row in liquid.rows.values() if row.temperature is not None]
    if begin:
        return min(begin) - FAR_BELOW, f"far below what is known of the liquid, which begins at {min(begin):.4g} degC"
    return None, ""


def _vapour(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Single values at pressures at which the liquid boils: they are of its vapour."""
    rows = [row for row in liquid.rows.values() if row.temperature is not None]
    for reading in liquid.each():
        spans = reading.function.spans
        if reading.body["kind"] not in {"scalar", "range"} or not {"temperature", "pressure"} <= spans.keys():
            continue
        celsius, pascals = spans["temperature"][0], spans["pressure"][0]
        boiling = next((p for row in rows if (p := _boiling(row, celsius)) is not None), None)
        if boiling is not None and pascals < boiling * (1.0 - VAPOUR_ALLOWANCE):
            words = f"it speaks of {celsius:.4g} degC and {pascals / 1e6:.4g} MPa, where the liquid has boiled: "
            words += f"it needs {boiling / 1e6:.4g} MPa"
            yield _Suspicion("no-liquid-there", (reading,), words, boiling / pascals)


def _boiling(row: PreparedRow, celsius: float) -> float | None:
    interval = row.temperature
    if interval is None or not interval.least <= celsius <= interval.most:
        return None
    boiling = row.saturation_pressure(celsius)
    return None if boiling is None else float(boiling)


def _impossible(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Numbers that no liquid has."""
    for property_id, (low, high) in POSSIBLE.items():
        for reading in liquid.said.get(property_id, []):
            for state in reading.places():
                value = reading.value(state)
                if value is None or not low <= value <= high:
                    told = "no number" if value is None else f"{value:.4g} in SI"
                    words = f"{told} at {_words(state)}; liquids have {low:g} to {high:g}"
                    yield _Suspicion("impossible", (reading,), words, math.inf if value is None else abs(value / high))
                    break


def _far_from_others(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Readings that differ from what is advised or, where nothing is, from what others say at the same state."""
    for property_id, limit in AGREEMENT.items():
        among = liquid.said.get(property_id, [])
        for reading in among:
            worst = max(_differences(liquid, reading, among), key=lambda one: abs(one.off), default=None)
            if worst is None or abs(worst.off) <= limit:
                continue
            words = f"{worst.value:.6g} in SI at {_words(worst.state)} is {worst.off:+.1%} from {worst.words}"
            yield _Suspicion(worst.code, (reading, *worst.against), words, abs(worst.off))


@dataclass(frozen=True, slots=True)
class _Difference:
    """How far a reading is from something at a state."""

    code: SuspicionCode
    state: State
    value: float
    off: float
    words: str
    against: tuple[LiquidReading, ...] = ()


def _differences(liquid: _Liquid, reading: LiquidReading, among: Sequence[LiquidReading]) -> Iterator[_Difference]:
    rests = liquid.rests_on(reading)
    for state in reading.places():
        value = reading.value(state)
        if value is None:
            continue
        advised = None if rests else liquid.advised(reading.body["property"], state)
        if advised is not None:
            off = value / advised - 1.0
            yield _Difference("far-from-advised", state, value, off, f"the advised {advised:.6g}")
            continue
        peers = list(independent_readings(reading, among, state))
        if peers:
            median = statistics.median(said for _, said in peers)
            told = f"{median:.6g}, what {len(peers)} other document(s) say"
            against = tuple(peer for peer, _ in peers) if len(peers) == 1 else ()
            yield _Difference("documents-disagree", state, value, value / median - 1.0, told, against)


def _two_values(liquid: _Liquid) -> Iterator[_Suspicion]:
    """One document that says two things about one liquid at one state: under two names, or in two tables."""
    for property_id, limit in AGREEMENT.items():
        single = [v for v in liquid.said.get(property_id, []) if v.body["kind"] == "scalar"]
        for one, other in combinations(single, 2):
            if one.body["source"] != other.body["source"] or not _alike(one, other):
                continue
            first, second = (v.function.value(State()) for v in (one, other))
            off = first / second - 1.0
            if abs(off) > limit:
                words = f"one document prints {one.body['number']} and {other.body['number']} {one.body['unit']}"
                yield _Suspicion("two-values", (one, other), f"{words} ({off:+.1%})", abs(off))


def _alike(one: LiquidReading, other: LiquidReading) -> bool:
    """Whether two single values are of one state, as far as their document says."""
    if one.function.spans.keys() != other.function.spans.keys() or one.body["unit"] != other.body["unit"]:
        return False
    return all(abs(one.function.spans[n][0] - other.function.spans[n][0]) <= NEAR[n] for n in one.function.spans)


def _against_check_values(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Equations that do not give the values that a document prints for testing them."""
    for reading in liquid.each():
        for check in reading.body.get("check_values", []):
            state = _check_state(reading.body, check)
            value = reading.value(state)
            target = reading.function.unit
            wanted = units().find(check["value"]["unit"], target.dimension)
            expected = float(wanted.to(printed_number(check["value"]["number"]), target))
            allowed = wanted.difference_to(printed_number(check["tolerance"]), target)
            if value is None or abs(value - expected) > allowed:
                words = f"it gives {value} at {_words(state)}, where its check value is {expected:.8g} in SI"
                size = math.inf if value is None else abs(value / expected - 1.0)
                yield _Suspicion("against-check-value", (reading,), words, size)


def _check_state(body: Mapping[str, Any], check: Mapping[str, Any]) -> State:
    """The state of a check value: of an equation a quantity, of one of several variables its axes' numbers."""
    axes = axes_of(body, units())
    at = check["at"]
    if body["kind"] == "surface":
        places = [printed_number(text) for text in at]
    else:
        (axis,) = axes
        dimension = STATE[axis.name].dimension
        unit, own = units().find(at["unit"], dimension), units().find(body["variable"]["unit"], dimension)
        places = [float(unit.to(printed_number(at["number"]), own))]
    held = {axis.name: axis.held(place) for axis, place in zip(axes, places, strict=True)}
    return State(held.get("temperature"), held.get("pressure"), held.get("salinity"), held.get("strength"))


def _digits(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Two transcriptions of one equation that share most coefficients and differ in some."""
    for items in liquid.said.values():
        printed = [
            (reading, _coefficients(reading.body))
            for reading in items
            if reading.body["kind"] in {"equation", "surface"}
        ]
        for (one, first), (other, second) in combinations(printed, 2):
            shared = first.keys() & second.keys()
            differing = sorted(key for key in shared if printed_number(first[key]) != printed_number(second[key]))
            # Written with other terms, or by another author: no transcription of the same.
            if not differing or len(shared) < 4 or len(differing) > len(shared) // 3 or first.keys() != second.keys():
                continue
            told = "; ".join(f"{key}: {first[key]} and {second[key]}" for key in differing)
            yield _Suspicion(
                "digits-differ", (one, other), f"two prints of one equation: {told}", float(len(differing))
            )


def _coefficients(body: Mapping[str, Any]) -> dict[str, str]:
    if body["kind"] == "equation":
        return dict(body["coefficients"])
    return {f"exponents ({', '.join(term[1:])})": term[0] for term in body["terms"]}


def _shapes(liquid: _Liquid) -> Iterator[_Suspicion]:
    """Curves that rise where those of liquids fall, and points of a table out of line with their neighbours."""
    for property_id, items in liquid.said.items():
        for reading in items:
            if reading.body["kind"] not in {"table", "equation"} or reading.body["variable"]["name"] != "temperature":
                continue
            line = _line(reading)
            if property_id in FALLING and not liquid.aqueous:
                yield from _rising(reading, line)
            if reading.body["kind"] == "table":
                yield from _out_of_line(reading, line)


def _line(reading: LiquidReading) -> list[tuple[float, float]]:
    values = [(state.celsius, reading.value(state)) for state in reading.places()]
    return sorted((celsius, value) for celsius, value in values if value is not None)


def _rising(reading: LiquidReading, line: Sequence[tuple[float, float]]) -> Iterator[_Suspicion]:
    for (cold, before), (warm, after) in pairwise(line):
        rounding = reading.function.printing * 4.0
        if after > before + rounding and after / before - 1.0 > 1e-4:
            words = f"it rises from {before:.6g} at {cold:.4g} degC to {after:.6g} in SI at {warm:.4g} degC"
            yield _Suspicion("turns", (reading,), words, after / before - 1.0)
            return


def _out_of_line(reading: LiquidReading, line: Sequence[tuple[float, float]]) -> Iterator[_Suspicion]:
    if len(line) < LINE:
        return
    misses = [_miss(line, place) for place in range(len(line))]
    least = AGREEMENT.get(reading.body["property"], 0.02) / 2.0
    for place, miss in enumerate(misses):
        celsius, value = line[place]
        rest = [abs(other) for at, other in enumerate(misses) if abs(at - place) > 2]
        floor = max(statistics.median(rest) if rest else 0.0, reading.function.printing)
        said = abs(miss) > max(OUT_OF_LINE * floor, least * abs(value))
        if said and abs(miss) == max(map(abs, misses)):
            words = f"{value:.6g} in SI at {celsius:.4g} degC lies {miss / value:+.2%} off the line of its neighbours"
            yield _Suspicion("out-of-line", (reading,), words, abs(miss / value))


def _miss(line: Sequence[tuple[float, float]], place: int) -> float:
    """A point minus the parabola through the nearest others (least squares over four of them)."""
    import numpy as np

    celsius, value = line[place]
    near = sorted((pair for at, pair in enumerate(line) if at != place), key=lambda pair: abs(pair[0] - celsius))[:4]
    xs, ys = np.array(near).T
    return float(value - np.polyval(np.polyfit(xs - celsius, ys, 2), 0.0))


def _anothers_values(liquids: Sequence[_Liquid], found: Sequence[_Suspicion]) -> Iterator[_Suspicion]:
    """Doubtful single values that are right for another member of the family: a line read one too high or too low."""
    by_id = {liquid.id: liquid for liquid in liquids}
    for one in found:
        reading = one.readings[0]
        if one.code not in {"far-from-advised", "documents-disagree"} or reading.body["kind"] != "scalar":
            continue
        own = by_id[reading.body["subject"]]
        (state,) = reading.places() or (None,)
        if state is None:
            continue
        value = reading.function.value(state)
        for other in liquids:
            advised = other.advised(reading.body["property"], state) if other.family == own.family else None
            if other is not own and advised is not None and abs(value / advised - 1.0) <= AGREEMENT["density"] / 2.0:
                body = reading.body
                words = f"{body['number']} {body['unit']} is what {other.id} has there ({advised:.5g} in SI)"
                yield _Suspicion("anothers-value", (reading,), words, one.size)


def _unlike_their_density(liquids: Sequence[_Liquid]) -> Iterator[_Suspicion]:
    """Sound speeds of hydrocarbons that do not go with the density that the same document prints.

    Among hydrocarbons sound is the faster the denser they are; a parabola through what is advised says how fast.
    """
    import numpy as np

    room = State(ROOM_CELSIUS)
    among = [liquid for liquid in liquids if liquid.family in HYDROCARBONS]
    advised = [(liquid.advised("density", room), liquid.advised("sound_speed", room)) for liquid in among]
    known = [(density, speed) for density, speed in advised if density is not None and speed is not None]
    if len(known) < FEWEST_COMPANIONS:
        return
    densities, speeds = np.array(known).T
    curve = np.polyfit(densities, speeds, 2)
    for liquid in among:
        for speed, density in _companions(liquid):
            expected = float(np.polyval(curve, density))
            off = speed.function.value(room) / expected - 1.0
            inside = float(densities.min()) <= density <= float(densities.max())
            if inside and abs(off) > COMPANION_TOLERANCE:
                words = f"{speed.body['number']} {speed.body['unit']} is {off:+.0%} from the {expected:.0f} m/s of "
                words += f"hydrocarbons of the density printed beside it, {density:.4g} kg/m3"
                yield _Suspicion("unlike-its-density", (speed,), words, abs(off))


def _companions(liquid: _Liquid) -> Iterator[tuple[LiquidReading, float]]:
    """Single sound speeds with the density that the same document prints near room temperature."""
    for speed in liquid.said.get("sound_speed", []):
        for density in liquid.said.get("density", []):
            scalars = speed.body["kind"] == density.body["kind"] == "scalar"
            if scalars and speed.body["source"] == density.body["source"] and _alike_in_state(speed, density):
                yield speed, density.function.value(State())


def _alike_in_state(one: LiquidReading, other: LiquidReading) -> bool:
    shared = one.function.spans.keys() & other.function.spans.keys()
    return all(abs(one.function.spans[n][0] - other.function.spans[n][0]) <= NEAR[n] for n in shared)


_QUESTIONS: tuple[Callable[[_Liquid], Iterator[_Suspicion]], ...] = (
    _not_there,
    _vapour,
    _impossible,
    _far_from_others,
    _two_values,
    _against_check_values,
    _digits,
    _shapes,
)
