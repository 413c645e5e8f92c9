"""Readings put into SI numbers, with the uncertainty that a written rule gives them."""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from refdb.exact.sums import root_mean_square, root_sum_square
from refdb.recommend.policy import Family
from refdb.records import digest, printed_number, rounding_half_width
from refdb.records.models import (
    BASIS_ORDER,
    SEEN_ORDER,
    Basis,
    Input,
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    Range,
    RecommendedValue,
    Scalar,
    Seen,
)
from refdb.records.readings import single_value
from refdb.units import UnitTable

ROOM_WORDS = ("not stated", "room temperature")
RECTANGULAR = math.sqrt(3.0)
SPEEDS = ("longitudinal_speed", "shear_speed")
AT_ROOM_TEMPERATURE = ("constant/1", "temperature-coefficient/1")
"""Forms of rows whose coefficient c0 is the value at room temperature."""

FROM_SEEN = ("published", "derived")
"""Rungs of rows that rest on documents, and may so speak for other rows."""

FEWEST_FOR_RESOLUTION = 3
"""Numbers of one kind that a document must print before what they end in says how finely it prints."""

Resolutions = Mapping[tuple[str, str, str], float]
"""By source, property and unit: half a unit of the last digit that a document gives meaning to, in that unit."""


@dataclass(frozen=True)
class Evidence:
    """What one document says as a number in the property's SI unit: a reading, or what two of its readings give.

    Attributes:
        parts: the further readings that the number was computed with, where it was.
        note: how it was computed.
    """

    reading: PropertyReading
    digest: str
    value: float
    standard_uncertainty: float
    parts: tuple[PropertyReading, ...] = ()
    note: str | None = None


def doubts_told(readings: Iterable[PropertyReading]) -> str:
    """The doubts about readings that a rule was told to follow, to be added to the sentence that refuses them."""
    doubts = [f"{flag.code}: {flag.text}" for reading in readings for flag in reading.doubts]
    return f" ({'; '.join(doubts)}); let the rule follow another reading, or take its entry out" if doubts else ""


def evidence_of(reading: Scalar | Range, si: str, spread: float, absolute: bool, table: UnitTable) -> Evidence:
    """A scalar or range in SI, with its standard uncertainty.

    A stated standard or expanded (k = 2) uncertainty is used as stated. Otherwise the rule combines the rounding of
    the printed digits, half the printed range, and the family's between-document spread (relative, or absolute).
    """
    target = table.find(si, table.find(reading.unit).dimension)
    read = single_value(reading.plain(), target, table)
    own = read.stated
    if own is None:
        family = spread if absolute else spread * read.value
        own = root_sum_square(read.rounding / RECTANGULAR, read.half_range / RECTANGULAR, family)
    return Evidence(reading, digest(reading.plain()), read.value, own)


def own_evidence(
    reading: Scalar | Range,
    si: str,
    family: Family,
    room: PrintedInterval,
    resolutions: Resolutions,
    table: UnitTable,
) -> Evidence:
    """A scalar or range in SI, with what this one reading of one specimen may be off by.

    A stated standard or expanded (k = 2) uncertainty is used as stated. Otherwise the rule combines how finely the
    document prints, half the printed range, what one laboratory's reading is off by and, for a speed whose temperature
    is not stated, the spread of room temperature times the family's slope.
    """
    found = printed_evidence(reading, si, family, room, resolutions, table)
    stated = reading.stated_uncertainty
    if stated is not None and stated.kind in {"standard", "expanded"}:
        return found
    size = 1.0 if reading.property == "poisson_ratio" else found.value
    own = root_sum_square(found.standard_uncertainty, family.repeatability_of(reading.property) * size)
    return replace(found, standard_uncertainty=own)


def printed_evidence(
    reading: Scalar | Range, si: str, family: Family, room: PrintedInterval, resolutions: Resolutions, table: UnitTable
) -> Evidence:
    """A scalar or range in SI, with what its print and an unstated temperature leave open.

    A stated standard or expanded (k = 2) uncertainty is used as stated. What a document of its class may be off by
    beside that is not in here.
    """
    target = table.find(si, table.find(reading.unit).dimension)
    read = single_value(reading.plain(), target, table)
    own = read.stated
    if own is None:
        coarse = resolutions.get((reading.source, reading.property, reading.unit), 0.0)
        rounding = max(read.rounding, table.find(reading.unit).difference_to(coarse, target))
        own = root_sum_square(
            rounding / RECTANGULAR,
            read.half_range / RECTANGULAR,
            _unstated_temperature(reading, room, table) * float(family.speed_slope) * read.value,
        )
    return Evidence(reading, digest(reading.plain()), read.value, own)


def resolutions_of(readings: Iterable[PropertyReading]) -> Resolutions:
    """How finely each document prints: a whole number's zeros mean nothing where all its numbers end in them."""
    printed: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for reading in readings:
        if isinstance(reading, Scalar):
            printed[reading.source, reading.property, reading.unit].append(reading.number)
    return {key: _resolution(numbers) for key, numbers in printed.items() if len(numbers) >= FEWEST_FOR_RESOLUTION}


def _resolution(numbers: Sequence[str]) -> float:
    if any(rounding_half_width(number) != 0.5 for number in numbers):
        return 0.0
    half = 0.5
    while all(printed_number(number) % (20.0 * half) == 0.0 for number in numbers):
        half *= 10.0
    return half


def _unstated_temperature(reading: PropertyReading, room: PrintedInterval, table: UnitTable) -> float:
    """The standard uncertainty in kelvin of a speed's temperature, where its document does not state it."""
    if reading.property not in SPEEDS or reading.state.temperature not in ROOM_WORDS:
        return 0.0
    low, high = _celsius(room, table)
    return (high - low) / 2.0 / RECTANGULAR


@dataclass(frozen=True, slots=True)
class Single:
    """What one document says as one value with one standard uncertainty, which carries the spread within it."""

    value: float
    standard_uncertainty: float


def one_of(group: Sequence[Evidence]) -> Single:
    """The readings of one document as one."""
    values = [item.value for item in group]
    own = root_mean_square(item.standard_uncertainty for item in group)
    return Single(statistics.fmean(values), root_sum_square(own, statistics.pstdev(values)))


def at_room_temperature(reading: PropertyReading, room: PrintedInterval, table: UnitTable) -> str | None:
    """None when the reading belongs to room temperature, else the words that say why it does not."""
    temperature = reading.state.temperature
    if temperature is None or temperature in ROOM_WORDS:
        return None
    low, high = _celsius(room, table)
    if isinstance(temperature, PrintedQuantity | PrintedInterval):
        coldest, hottest = _celsius(temperature, table)
        if low <= coldest and hottest <= high:
            return None
        return f"at {_words(temperature)}, which is not room temperature"
    return f"at '{temperature}', which is not room temperature"


def speaks_for_others(row: RecommendedValue) -> bool:
    """Whether an estimate may rest on a row: it rests on documents itself and has a value at room temperature."""
    return row.rung in FROM_SEEN and row.form["name"] in AT_ROOM_TEMPERATURE


def input_of(row: RecommendedValue, weight: str | None = None, note: str | None = None) -> Input:
    """A row at room temperature as what another row rests on."""
    return Input(
        id=row.id,
        digest=digest(row.plain()),
        value=row.form["coefficients"]["c0"],
        standard_uncertainty=row.uncertainty.number,
        weight=weight,
        note=note,
    )


def weakest_basis(bases: Iterable[Basis]) -> Basis:
    """The weakest of several bases."""
    return max(bases, key=BASIS_ORDER.index)


def weakest_seen(seens: Iterable[Seen]) -> Seen:
    """The least direct of several ways of having seen a value."""
    return max(seens, key=SEEN_ORDER.index)


def _celsius(printed: PrintedQuantity | PrintedInterval, table: UnitTable) -> tuple[float, float]:
    unit, celsius = table.find(printed.unit, "temperature"), table.find("degC", "temperature")
    low, high = (printed.low, printed.high) if isinstance(printed, PrintedInterval) else (printed.number,) * 2
    return unit.to(printed_number(low), celsius), unit.to(printed_number(high), celsius)


def _words(printed: PrintedQuantity | PrintedInterval) -> str:
    if isinstance(printed, PrintedInterval):
        return f"{printed.low} to {printed.high} {printed.unit}"
    return f"{printed.number} {printed.unit}"
