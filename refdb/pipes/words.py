"""The trade's words for a size and for a wall, each system's own.

A size is `NPS 8`, `8"`, `DN200`, `100A`, `4B`, `OD 25`, `d 110`, `2 1/2` or a bare number; a wall is `Sch 40`, `STD`,
`SDR 11`, `DR 18`, `K9`, `Type L`, or the wall itself where the standard gives it no word.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from refdb.lookup import StoredRecord
from refdb.lookup.find import likeliest
from refdb.problems import BadParameter, UnknownName
from refdb.records import printed_number
from refdb.records.names import designation_words, normal_name, size_words
from refdb.units import printable, units

_BELOW = r"\d*[1-9]\d*"  # of a fraction: no zero
_NUMBER = rf"(?P<number>\d+(?:[ -]\d+/{_BELOW})?|\d+/{_BELOW}|\d*\.\d+)"
_SIZE = re.compile(
    rf"^(?P<word>NPS|DN|OD|A|B|D[NE]?|Ø)?\s*{_NUMBER}\s*(?P<after>\"|″|in|inch|mm|A|B)?$",
    re.IGNORECASE,
)
_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_INCH = frozenset({'"', "″", "in", "inch"})
_WALL = re.compile(r"^(?P<number>\d*\.?\d+)\s*(?P<unit>mm|in|\")?$")
_KINDS = ("pressureclass", "class", "schedule", "sch.", "sch", "series", "type", "wall", "sdr", "dr", "pn", "sn")
_SHORT = {"pc": "pressureclass", "tc": "class", "cl": "class"}
_SERIES = re.compile(r"^s(?P<number>\d+(?:\.\d+)?)$")
_SDR = "SDR "
LONGEST_WORDS = 60
"""Characters of a size or a designation; what is printed is a third of it."""
MOST_SIZES = 4096
"""Sizes whose number is remembered: those that are made, and as many that people ask for."""
ROUNDED_RATIO = 0.05
"""A ratio is told to a tenth: SDR 7.4 for S 3.2."""

_RATIOS = frozenset({"sdr", "dr"})
SAME_WALL = 0.005
"""Walls this close, in millimetres, are one: half the last digit that standards print."""


@dataclass(frozen=True, slots=True)
class SizeText:
    """A size as asked for: its text, the word it was given with, its number, and what stood behind the number."""

    text: str
    word: str | None
    number: str
    after: str | None


def read_size(text: str, system: dict[str, Any]) -> SizeText:
    """A text taken apart as a size of a system.

    Raises:
        BadParameter: it is not a size word, or a decimal where the system's sizes have none, or too long.
    """
    _require_short(text, "size")
    spelled = text.strip()
    for sign, fraction in _FRACTIONS.items():
        spelled = spelled.replace(sign, fraction)
    found = _SIZE.match(" ".join(spelled.split()))
    word = _word(found["word"]) if found is not None and found["word"] else None
    decimal = found is not None and "." in found["number"]
    if found is None or (decimal and not {word, *system["size_words"]} & {"OD", "nominal"}):
        raise BadParameter(
            f"size: '{text}' is not a size word; write it as {_examples(system)}.",
            parameter="size",
            given=text,
            accepted=system["size_words"],
        )
    after = found["after"]
    return SizeText(text, word, found["number"].replace("-", " "), after.lower() if after else None)


def _require_short(text: str, field: str) -> None:
    if len(text) > LONGEST_WORDS:
        shown = printable(text)
        raise BadParameter(
            f"{field}: '{shown}' is longer than any {field}, which has at most {LONGEST_WORDS} characters; write what "
            "the standard prints.",
            parameter=field,
            given=shown,
        )


def _word(spelled: str) -> str:
    """`dn` of the plastics standards, an outside diameter, cannot be told from `DN`; it is looked up as DN first."""
    upper = spelled.upper()
    return upper if upper in {"NPS", "DN", "A", "B"} else "OD"


def _examples(system: dict[str, Any]) -> str:
    if system["size_words"] == ["NPS", "DN"]:
        return "NPS 8, 2 1/2 or DN200"
    examples = {
        "NPS": "NPS 8",
        "DN": "DN200",
        "OD": "OD 110",
        "A": "100A",
        "B": "4B",
        "nominal": f"8 {system.get('size_unit', 'in')}",
    }
    return " or ".join(examples[word] for word in system["size_words"])


def of_size(
    members: list[StoredRecord], system_id: str, system: dict[str, Any], text: str
) -> tuple[list[StoredRecord], tuple[str, ...]]:
    """The pipes of a size, and what had to be assumed to read it.

    Raises:
        BadParameter: the text is not a size word.
        UnknownName: the system has no such size; near ones are listed.
    """
    size = read_size(text, system)
    words = _meant(size, system)
    for place, word in enumerate(words):
        fitting = _having(members, word, size.number)
        if fitting:
            others = [w for w in words[place + 1 :] if _having(members, w, size.number)]
            return fitting, tuple(_reading_notes(size, word, others))
    if size.word == "OD":
        fitting = [record for record in members if _has_diameter(record, size)]
        if fitting:
            return fitting, (f"size '{text}' read as an outside diameter; {system_id} names its sizes otherwise",)
    raise _no_size(members, system_id, system, size, words)


def _meant(size: SizeText, system: dict[str, Any]) -> list[str]:
    """The size words that a text may mean in a system, likeliest first."""
    own: list[str] = system["size_words"]
    if size.after in {"a", "b"}:
        return [size.after.upper()]
    if size.word is None:
        return [word for word in own if _unit_fits(word, size.after, system)] or own[:1]
    # A system that has only its own numbers, or outside diameters, is asked for them by any word.
    alone = [word for word in own if word in {"nominal", "OD"} and size.word not in own]
    return [size.word, *alone]


def _unit_fits(word: str, after: str | None, system: dict[str, Any]) -> bool:
    if after is None:
        return True
    inches = word in {"NPS", "B"} or (word in {"OD", "nominal"} and system.get("size_unit") == "in")
    return inches == (after in _INCH)


def _reading_notes(size: SizeText, word: str, others: list[str]) -> Iterator[str]:
    if size.word is not None and size.word != word:
        yield f"size '{size.text}' read as {_told(word, size.number)}; the system has no size word {size.word}"
    if others:
        yield f"size '{size.text}' read as {_told(word, size.number)}, not {_told(others[0], size.number)}"


def _told(word: str, number: str) -> str:
    return f"nominal {number}" if word == "nominal" else size_words(word, number)


@lru_cache(MOST_SIZES)
def size_number(text: str) -> Fraction | str:
    """The number of a size, `2 1/2` too; a text that is none as it is."""
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ValueError:
        return text


def _having(members: list[StoredRecord], word: str, number: str) -> list[StoredRecord]:
    wanted = size_number(number)
    return [r for r in members if word in r.body["size"] and size_number(r.body["size"][word]) == wanted]


def _has_diameter(record: StoredRecord, size: SizeText) -> bool:
    unit = "in" if size.after in _INCH else "mm"
    wanted = float(size_number(size.number))
    return any(
        entry["unit"] == unit and printed_number(entry["outside_diameter"]) == wanted
        for entry in record.body["dimensions"]
    )


def _no_size(
    members: list[StoredRecord], system_id: str, system: dict[str, Any], size: SizeText, words: list[str]
) -> UnknownName:
    shown = words[0] if any(words[0] in r.body["size"] for r in members) else system["size_words"][0]
    known = list(dict.fromkeys(_told(shown, r.body["size"][shown]) for r in members if shown in r.body["size"]))
    near = likeliest(_told(words[0], size.number), known) or known[:5]
    asked = " or ".join(_told(word, size.number) for word in words)
    return UnknownName(
        f"size: {system_id} has no {asked}; near sizes are {', '.join(near)}.",
        parameter="size",
        given=size.text,
        candidates=near,
    )


def designated(members: list[StoredRecord], text: str, size: str | None) -> tuple[list[StoredRecord], tuple[str, ...]]:
    """The pipes with a designation, or with a wall where that is given, and what had to be assumed.

    Raises:
        BadParameter: the text is longer than any designation.
        UnknownName: none is designated so; the designations there are, are listed.
    """
    _require_short(text, "designation")
    wanted = normal_name(text)
    exact = [r for r in members if wanted in {normal_name(word) for word in r.body["designations"]}]
    if exact:
        return exact, ()
    series = _of_series(members, wanted)
    if series:
        word = next(word for word in series[0].body["designations"] if word.startswith(_SDR))
        return series, (f"designation '{text}' read as {word} (SDR = 2 S + 1)",)
    kind, rest = _parted(wanted)
    alike = [r for r in members if any(_same_word(kind, rest, word) for word in r.body["designations"])]
    if alike:
        word = next(w for w in alike[0].body["designations"] if _same_word(kind, rest, w))
        ratio = kind in _RATIOS and _parted(normal_name(word))[0] != kind
        return alike, ((f"designation '{text}' read as {word}",) if ratio else ())
    walled = [r for r in members if _has_wall(r, text)]
    if walled:
        return walled, (f"designation '{text}' read as the wall",)
    known = list(dict.fromkeys(word for record in members for word in record.body["designations"]))
    walls = list(dict.fromkeys(words for record in members for words in _wall_words(record)))
    where = f" of {size}" if size else ""
    told = ", ".join(map(designation_words, known)) or f"walls of {', '.join(walls[:20])}"
    raise UnknownName(
        f"designation: no pipe{where} is designated '{text}'; there are {told}.",
        parameter="designation",
        given=text,
        candidates=known or walls,
    )


def _of_series(members: list[StoredRecord], wanted: str) -> list[StoredRecord]:
    """Pipes of a series S of the plastics standards, which name the same wall by SDR = 2 S + 1, told rounded."""
    found = _SERIES.match(wanted)
    if found is None:
        return []
    ratio = 2.0 * float(found["number"]) + 1.0
    return [
        record
        for record in members
        for word in record.body["designations"]
        if word.startswith(_SDR) and abs(float(word.removeprefix(_SDR)) - ratio) < ROUNDED_RATIO
    ]


def _parted(normal: str) -> tuple[str, str]:
    """`sch40` as schedule and 40; `k9` has no kind of its own."""
    for short, long in _SHORT.items():
        if normal.startswith(short) and normal.removeprefix(short)[:1].isdigit():
            return long, normal.removeprefix(short)
    for kind in _KINDS:
        rest = normal.removeprefix(kind)
        if rest != normal and rest:
            return ("schedule" if kind.startswith("sch") else kind), rest
    return "", normal


def _same_word(kind: str, rest: str, designation: str) -> bool:
    """Whether a designation is meant: its kind may be left out, a schedule is a bare number, SDR and DR are one."""
    own_kind, own_rest = _parted(normal_name(designation))
    if own_kind == "" and own_rest[:1].isdigit():
        own_kind = "schedule"
    # A class that is a letter and a number may be asked for with or without the word: Class K9.
    kinds_agree = kind in {"", own_kind} or {kind, own_kind} <= _RATIOS or (kind, own_kind) == ("class", "")
    return own_rest == rest and kinds_agree


def _has_wall(record: StoredRecord, text: str) -> bool:
    found = _WALL.match(text.strip())
    if found is None:
        return False
    unit = "mm" if found["unit"] in {None, "mm"} else "in"
    scale = units().find(unit, "length").scale / units().find("mm", "length").scale
    return any(
        entry["unit"] == unit
        and "wall" in entry
        and abs(printed_number(entry["wall"]) - float(found["number"])) * scale < SAME_WALL
        for entry in record.body["dimensions"]
    )


def _wall_words(record: StoredRecord) -> list[str]:
    return [f"{entry['wall']} {entry['unit']}" for entry in record.body["dimensions"] if "wall" in entry]
