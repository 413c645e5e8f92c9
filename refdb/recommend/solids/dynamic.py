"""Speeds that a document tells by its dynamic constants: two of them, found from sound, and a density give both speeds.

A constant that a load found says little of a wave, and one that was converted to constant temperature is no longer the
adiabatic one that sound meets; neither enters here (`method` of a reading). A curve is taken at 20 degC.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from refdb.constants import ROOM_CELSIUS
from refdb.exact.functions import EXACT
from refdb.exact.sums import root_sum_square
from refdb.forms.elasticity import speeds_from_moduli
from refdb.forms.states import StatePoint
from refdb.recommend.evidence import RECTANGULAR, SPEEDS, Evidence, at_room_temperature
from refdb.records import digest, number_text
from refdb.records.models import Equation, PrintedInterval, PropertyReading, Scalar, Table
from refdb.records.readings import function_of_reading, single_value
from refdb.units import UnitTable

Density = tuple[float, float]
"""In kg/m3, with its standard uncertainty."""


@dataclass(frozen=True, slots=True)
class _Constant:
    """A dynamic constant at room temperature in SI, and half of what its print leaves open."""

    reading: PropertyReading
    value: float
    half_width: float


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two constants that give the speeds, with the relation: cL and cS in m/s from both and the density."""

    names: tuple[str, str]
    words: str
    speeds: Callable[[float, float, float], tuple[float, float]]


def _of_bulk_and_shear(bulk: float, shear: float, density: float) -> tuple[float, float]:
    return math.sqrt((bulk + 4.0 / 3.0 * shear) / density), math.sqrt(shear / density)


PAIRS = (
    _Pair(("bulk_modulus", "shear_modulus"), "K and G", _of_bulk_and_shear),
    _Pair(
        ("lame_lambda", "shear_modulus"),
        "lambda and G",
        lambda lame, shear, density: _of_bulk_and_shear(lame + 2.0 / 3.0 * shear, shear, density),
    ),
    _Pair(
        ("youngs_modulus", "shear_modulus"),
        "E and G",
        lambda young, shear, density: speeds_from_moduli(young, young / (2.0 * shear) - 1.0, density),
    ),
    _Pair(("youngs_modulus", "poisson_ratio"), "E and nu", speeds_from_moduli),
)
"""The first that a document has is taken: K and G are what sound measures most directly."""
CONSTANTS = frozenset(name for pair in PAIRS for name in pair.names)


def dynamic_speeds(
    property_id: str,
    readings: Iterable[PropertyReading],
    density: Density | None,
    room: PrintedInterval,
    table: UnitTable,
) -> list[Evidence]:
    """What documents tell of a speed by two dynamic constants; none for a document that prints the speed itself.

    Args:
        readings: of one subject in one condition.
        density: the recommended one, for documents that print none beside their constants.
    """
    by_source: dict[str, list[PropertyReading]] = defaultdict(list)
    for reading in readings:
        if not reading.doubts:
            by_source[reading.source].append(reading)
    found = (_of_document(property_id, group, density, room, table) for _, group in sorted(by_source.items()))
    return [evidence for evidence in found if evidence is not None]


def _of_document(
    property_id: str,
    readings: Sequence[PropertyReading],
    density: Density | None,
    room: PrintedInterval,
    table: UnitTable,
) -> Evidence | None:
    constants = {}
    for reading in readings:
        if reading.property == property_id:
            return None
        if reading.method == "dynamic" and reading.property in CONSTANTS and reading.property not in constants:
            constant = _constant(reading, room, table)
            if constant is not None:
                constants[reading.property] = constant
    pair = next((pair for pair in PAIRS if all(name in constants for name in pair.names)), None)
    own = _own_density(readings, room, table) or density
    if pair is None or own is None:
        return None
    return _evidence(property_id, pair, [constants[name] for name in pair.names], own, own is not density)


def _evidence(
    property_id: str, pair: _Pair, constants: Sequence[_Constant], density: Density, printed: bool
) -> Evidence | None:
    which = SPEEDS.index(property_id)
    numbers = [*(constant.value for constant in constants), density[0]]
    try:
        speed = pair.speeds(*numbers)[which]
        parts = []
        for place, width in enumerate([*(constant.half_width / RECTANGULAR for constant in constants), density[1]]):
            moved = list(numbers)
            moved[place] += width
            parts.append(pair.speeds(*moved)[which] - speed)
    except (ValueError, ZeroDivisionError):
        return None  # No isotropic solid has such constants.
    first, *others = (constant.reading for constant in constants)
    words = "printed" if printed else "recommended"
    return Evidence(
        reading=first,
        digest=digest(first.plain()),
        value=speed,
        standard_uncertainty=root_sum_square(*parts),
        parts=tuple(others),
        note=f"dynamic {pair.words} give it, with the {words} density of {number_text(density[0], 5)} kg/m3",
    )


def _constant(reading: PropertyReading, room: PrintedInterval, table: UnitTable) -> _Constant | None:
    """A constant at room temperature; None where the reading does not reach there."""
    unit = table.find(reading.unit)
    target = table.si(unit.dimension)
    if isinstance(reading, Scalar):
        if at_room_temperature(reading, room, table) is not None:
            return None
        read = single_value(reading.plain(), target, table)
        return _Constant(reading, read.value, read.rounding)
    if isinstance(reading, Equation | Table) and reading.variable.name == "temperature":
        function = function_of_reading(reading.plain(), table, EXACT)
        low, high = function.spans["temperature"]
        if low <= ROOM_CELSIUS <= high:
            value = float(unit.to(float(function.value(StatePoint(ROOM_CELSIUS))), target))
            return _Constant(reading, value, 0.0)
    return None


def _own_density(readings: Sequence[PropertyReading], room: PrintedInterval, table: UnitTable) -> Density | None:
    """The density that the document itself prints of the material at room temperature."""
    for reading in readings:
        if reading.property == "density" and isinstance(reading, Scalar):
            constant = _constant(reading, room, table)
            if constant is not None:
                return constant.value, constant.half_width / RECTANGULAR
    return None
