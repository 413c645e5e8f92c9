"""What rows are about, what they hold and how far it reaches, in words for a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from refdb.evidence.printed import printed_words
from refdb.evidence.uncertain_parts import largest_part, name_of_property
from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.pipes.tolerance import scope_words
from refdb.records.printed import printed_number
from refdb.units.readable import percent, readable
from refdb.vocabulary import STATE, conditions, properties, surfaces, systems

NAMED = 3
"""How many documents or rows a sentence names."""

BASIS_WORDS = {
    "measured": "measured",
    "standard": "set by a standard",
    "evaluated": "evaluated or compiled",
    "computed": "computed",
    "derived": "derived",
    "estimated": "estimated",
}
RUNG_WORDS = {
    "published": "it follows from what documents print of the thing itself",
    "derived": "it is calculated from something else that documents print",
    "analogue": "it is an estimate from a near relative",
    "family": "it is an estimate from other members of its family",
    "memory": "it rests on memory, at least in part, and nobody saw that in print",
}
SEEN_WORDS = {
    "original": "in the original",
    "archive": "in an archive of data",
    "reproduction": "as a reproduction by others",
    "library": "as a library carries it",
    "memory": "nowhere, but recalled",
}


def counted(count: int, one: str, several: str | None = None) -> str:
    """`1 document`, `5 documents`."""
    return f"{count} {one if count == 1 else several or f'{one}s'}"


def named(words: Iterable[str]) -> str:
    """`a, b and c`."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def listed(names: Sequence[str]) -> str:
    """The first names, which may hold commas, and how many more there are: `a; b; c; and 2 more`."""
    more = [f"and {len(names) - NAMED} more"] if len(names) > NAMED else []
    return "; ".join([*names[:NAMED], *more])


def property_of(row: Mapping[str, Any]) -> dict[str, Any]:
    """The definition of the property that a row or reading is of."""
    return properties()[row["property"]]


def about(row: Mapping[str, Any], store: ReleaseStore, release: ReleaseInfo, *, first: bool = False) -> str:
    """What a recommended row or a reading is about: `the density of water`.

    Args:
        first: begin with a capital, as a sentence does.
    """
    words = _about(row, store, release)
    of_a_person = "'s " in words.partition(" of ")[0]
    words = words if of_a_person else f"the {words}"
    return words[0].upper() + words[1:] if first else words


def _about(row: Mapping[str, Any], store: ReleaseStore, release: ReleaseInfo) -> str:
    if "property" in row:
        subject = store.record(row["subject"], release)
        name = subject.body["name"] if subject is not None else row["subject"]
        condition = f" ({conditions()[row['condition']]['name']})" if "condition" in row else ""
        return f"{name_of_property(row['property'])} of {name}{condition}"
    if "surface" in row:
        return f"roughness of the surface '{surfaces()[row['surface']]['name']}'"
    if "quantity" in row:
        where = scope_words(row)
        quantity = row["quantity"].replace("_", " ")
        return f"tolerance of the {quantity} by {row['standard']}" + (f" ({where})" if where else "")
    if "side" in row:
        return f"{row['material']} lining of {row['standard']}"
    size = ", ".join(f"{word} {text}" for word, text in row["size"].items())
    return f"size of pipe {size} of {systems()[row['system']]['name']}"


def value_words(body: Mapping[str, Any]) -> str:
    """What a recommended row says, with units: a number, or what the number follows."""
    if "dimensions" in body:
        return "; ".join(printed_words(dimensions) for dimensions in body["dimensions"])
    if "number" in body and "low" in body:
        return f"{body['number']} {body['unit']}, where {body['low']} to {body['high']} {body['unit']} is printed"
    if "form" not in body:
        return printed_words(body)
    form = body["form"]
    if body.get("bound") == "between":
        working, unit = body["working"], body["unit"]
        return f"that it lies between {working['lowest']} and {working['highest']} {unit} at 20 degC"
    if form["name"] == "constant/1":
        return _value(body)
    if form["name"] == "temperature-coefficient/1":
        slope = f"{form['coefficients']['c1']} {body['unit']} per kelvin"
        return f"{_value(body)} at {form['coefficients']['t0']} {form['variable']['unit']}, and {slope} about it"
    return f"a function of {named(_in_order(body['domain']))}"


def _value(body: Mapping[str, Any]) -> str:
    return readable(printed_number(body["form"]["coefficients"]["c0"]), body["unit"])


def uncertainty_sentence(chain: Mapping[str, Any]) -> str:
    """The standard uncertainty of a recommended row, and the largest part of it or where it comes from."""
    uncertainty = chain["result"].get("uncertainty")
    if uncertainty is None:
        return "No standard uncertainty is given with it."
    size = _uncertain(uncertainty["number"], uncertainty["unit"])
    if chain["result"].get("bound") == "between":
        return f"It is a bound, not a value: {uncertainty['text']}."
    more, warmer = uncertainty.get("per_megapascal"), uncertainty.get("per_kelvin")
    kelvin = f", with {_uncertain(warmer, uncertainty['unit'])} for every kelvin from 20 degC" if warmer else ""
    pressure = f", with {_uncertain(more, uncertainty['unit'])} for every megapascal above 1 atm" if more else ""
    most = largest_part(chain)
    reason = f"; the largest part of it is {most}" if most is not None else _why(uncertainty)
    return f"Its standard uncertainty is {size}{pressure}{kelvin}{reason}."


def _why(uncertainty: Mapping[str, Any]) -> str:
    text = uncertainty["text"].rstrip(".")
    return f", which is stated: {text}" if uncertainty["code"] == "stated" else f": {text}"


def _uncertain(number: str, unit: str) -> str:
    return percent(printed_number(number) / 100.0) if unit == "%" else readable(printed_number(number), unit)


def range_sentence(body: Mapping[str, Any]) -> Iterator[str]:
    """The states for which a row holds; nothing for what has no state."""
    if "domain" in body:
        parts = (f"{name} {_span(body['domain'][name])}" for name in _in_order(body["domain"]))
        yield f"It holds for {named(parts)}."


def _in_order(domain: Mapping[str, Any]) -> list[str]:
    """The parts of a state as they are spoken of, the temperature first."""
    return sorted(domain, key=list(STATE).index)


def _span(interval: Mapping[str, Any]) -> str:
    low = interval["low"]
    if low in {"saturation", "freezing"}:
        return f"from {low} to {interval['high']} {interval['unit']}"
    ends = [printed_number(end) for end in (low, interval["high"])]
    if interval["unit"] != "kg/kg":
        return f"from {low} to {interval['high']} {interval['unit']}"
    return f"from {100.0 * ends[0]:.6g} to {100.0 * ends[1]:.6g} % mass"
