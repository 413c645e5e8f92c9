"""What of a row's standard uncertainty weighs most, where its working or its inputs tell the parts."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from refdb.units.readable import percent, readable
from refdb.vocabulary import properties

DIGITS = 2
"""Significant digits of a part of an uncertainty."""


class Part(NamedTuple):
    """A part of an uncertainty: its size, which compares with the other parts of the row alone, and its words."""

    size: float
    what: str
    told: str


def largest_part(step: Mapping[str, Any]) -> str | None:
    """`the spread between documents (33 m/s)`; None where the parts are not told.

    Args:
        step: a recommended row as a step of a chain.
    """
    parts = parts_of(step)
    if not parts:
        return None
    most = max(parts)
    return f"{most.what} ({most.told})"


def parts_of(step: Mapping[str, Any]) -> list[Part]:
    """What makes up the standard uncertainty of a row, in quadrature; nothing where the parts are not told."""
    parts = _PARTS.get(step["rule"]["name"])
    return list(parts(step)) if parts is not None else []


def _of_documents(step: Mapping[str, Any]) -> Iterator[Part]:
    """Half of a 95 % interval is Student's t by spread and mean, with what the temperature may do beside it."""
    working, unit = step["working"], step["result"]["unit"]
    half = float(working["t_quantile"]) / 2.0
    for entry, factor, what in (
        ("pooled_spread", half, "how far specimens and documents of its kind differ"),
        ("mean_uncertainty", half, "how far the mean of the documents may be off"),
        ("neglected_temperature_dependence", 1.0, "what the temperature does and the row does not say"),
    ):
        if entry in working:
            yield _sized(factor * float(working[entry]), what, unit)


FEWEST_FOR_INTERVAL = 3
"""Documents from which on rule consensus/1 gives a prediction interval (`refdb.recommend.arithmetic`)."""


def _of_plain_mean(step: Mapping[str, Any]) -> Iterator[Part]:
    """Half of a prediction interval, or what readings are off by where that is more; two documents have no interval."""
    working, result = step["working"], step["result"]
    count, deviation = int(working["independent_readings"]), float(working["standard_deviation"])
    if result["uncertainty"]["code"] == "between-sources":
        deviation *= float(working["t_quantile"]) / 2.0 * math.sqrt(1.0 + 1.0 / count)
    else:
        own = float(working["typical_reading_uncertainty"])
        yield _sized(own, "how far readings of its family differ", result["unit"])
    if 1 < count < FEWEST_FOR_INTERVAL or result["uncertainty"]["code"] == "between-sources":
        yield _sized(deviation, "how far the documents differ", result["unit"])
    if "neglected_temperature_dependence" in working:
        left = float(working["neglected_temperature_dependence"])
        yield _sized(left, "what the temperature does and the row does not say", result["unit"])


def _of_family(step: Mapping[str, Any]) -> Iterator[Part]:
    working, unit = step["working"], step["result"]["unit"]
    factor = float(working["t_quantile"]) / 2.0 * math.sqrt(1.0 + 1.0 / int(working["members"]))
    yield _sized(factor * float(working["standard_deviation"]), "how far the members of the family differ", unit)
    own = float(working["typical_member_uncertainty"])
    yield _sized(own, "how well the members are known themselves", unit)


_CONTRIBUTES = re.compile(r"contributes (?P<number>\S+) (?P<unit>\S+)")


def _of_moduli(step: Mapping[str, Any]) -> Iterator[Part]:
    for entry in step["inputs"]:
        found = _CONTRIBUTES.fullmatch(entry.get("note", ""))
        if found is not None:
            what = f"what {_the(entry['result']['property'])} may be off by"
            number = found["number"].removeprefix("-")
            yield Part(float(number), what, f"{number} {found['unit']}")
    allowance = step["working"].get("static_modulus_allowance")
    if allowance is not None:
        yield Part(float(allowance.partition(" ")[0]), "what static moduli may be off by", allowance)
    relatives = step["working"].get("relatives_allowance")
    if relatives is not None:
        yield Part(float(relatives.partition(" ")[0]), "what its relatives may be off by", relatives)


def _of_factors(step: Mapping[str, Any]) -> Iterator[Part]:
    """Relative uncertainties of what is multiplied; a sound speed goes in to the third power.

    One that is absolute is relative to the smallest value of the range, which no record tells.
    """
    factors = [entry for entry in step["inputs"] if "result" in entry]
    if any(entry["result"]["uncertainty"]["unit"] != "%" for entry in factors):
        return
    for entry in factors:
        times = 3.0 if entry["result"]["property"] == "sound_speed" else 1.0
        size = times * float(entry["result"]["uncertainty"]["number"])
        what = f"what {_the(entry['result']['property'])} may be off by"
        yield Part(size, what, percent(size / 100.0, DIGITS))


def _of_relative(step: Mapping[str, Any]) -> Iterator[Part]:
    # What the relative's value is told at another temperature by goes in without a weight.
    (entry,) = (one for one in step["inputs"] if one.get("weight"))
    own = entry["result"]["uncertainty"]
    relative = float(own["number"]) / 100.0 if own["unit"] == "%" else float(own["number"]) / abs(float(entry["value"]))
    difference = float(step["working"]["relative_difference"])
    yield Part(relative, "how well the relative itself is known", percent(relative, DIGITS))
    yield Part(difference, "how far the two may differ", percent(difference, DIGITS))


def _sized(size: float, what: str, unit: str) -> Part:
    return Part(size, what, readable(size, unit, DIGITS))


def name_of_property(property_id: str) -> str:
    """The name of a property in the middle of a sentence; names of people keep their capital."""
    name: str = properties()[property_id]["name"]
    return name if "'s " in name else name[0].lower() + name[1:]


def _the(property_id: str) -> str:
    name = name_of_property(property_id)
    return name if "'s " in name else f"the {name}"


_PARTS: dict[str, Callable[[Mapping[str, Any]], Iterator[Part]]] = {
    "consensus/1": _of_plain_mean,
    "consensus/2": _of_documents,
    "consensus/3": _of_documents,
    "family/1": _of_family,
    "isotropic-moduli/1": _of_moduli,
    "isotropic-moduli/2": _of_moduli,
    "isotropic-moduli/3": _of_moduli,
    "quotient/1": _of_factors,
    "classical-absorption/1": _of_factors,
    "analogue/1": _of_relative,
}
