"""Readings put into SI numbers, with the uncertainty that a written rule gives them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from refdb.records import digest, printed_number
from refdb.records.models import (
    BASIS_ORDER,
    SEEN_ORDER,
    Basis,
    PrintedInterval,
    PrintedQuantity,
    PropertyReading,
    Range,
    Scalar,
    Seen,
)
from refdb.records.readings import single_value
from refdb.units import UnitTable

ROOM_WORDS = ("not stated", "room temperature")
RECTANGULAR = math.sqrt(3.0)


@dataclass(frozen=True)
class Evidence:
    """One reading as a number in the property's SI unit."""

    reading: Scalar | Range
    digest: str
    value: float
    standard_uncertainty: float


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
        own = math.hypot(read.rounding / RECTANGULAR, read.half_range / RECTANGULAR, family)
    return Evidence(reading, digest(reading.plain()), read.value, own)


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
