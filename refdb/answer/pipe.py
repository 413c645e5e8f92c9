"""A pipe looked up in its standard's own words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from refdb.answer.citation import cited, standing
from refdb.answer.options import SI, Options
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import likeliest
from refdb.problems import AmbiguousName, BadParameter, UnknownName
from refdb.records import printed_number
from refdb.records.names import designation_words, normal_name
from refdb.units import Quantity, units
from refdb.vocabulary import systems

CAUTION = (
    "Nominal dimensions, for measuring flow and not for pressure design; measure the wall before trusting the bore."
)
_SIZE = re.compile(
    r"^(?P<word>NPS|DN)?\s*(?P<number>\d+(?:[ -]\d+/\d+)?|\d+/\d+)\s*(?P<inch>\"|″|in|inch)?$", re.IGNORECASE
)
_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_SCHEDULE = re.compile(r"^(?:sch(?:edule)?\.?\s*)?(?P<number>\d+s?)$", re.IGNORECASE)


@dataclass(slots=True)
class PipeAnswer:
    """One pipe: outside diameter, wall and bore as its standard prints them.

    `units=us` gives the printed inches, `units=si` the printed millimetres; a number is converted only where its unit
    is not printed, and then it says so.
    """

    record: StoredRecord
    sources: list[dict[str, Any]]
    release: str
    outside_diameter: Quantity
    wall: Quantity
    assumptions: tuple[str, ...]

    @property
    def id(self) -> str:
        """The row's id."""
        return self.record.id

    @property
    def bore(self) -> Quantity:
        """Outside diameter less twice the wall."""
        return Quantity(self.outside_diameter.magnitude - 2.0 * self.wall.magnitude, self.wall.unit)

    def document(self) -> dict[str, Any]:
        """The pipe as plain JSON values."""
        body = self.record.body
        system = systems()[body["system"]]
        return {
            "id": self.id,
            "system": {
                "id": body["system"],
                "name": system["name"],
                "standard": system["standard"],
                "edition": system["edition"],
            },
            "size": body["size"],
            "designations": body["designations"],
            "outside_diameter": self.outside_diameter.document(),
            "wall": self.wall.document(),
            "bore": self.bore.document(),
            "printed": [
                {key: entry[key] for key in ("unit", "outside_diameter", "wall")} for entry in body["dimensions"]
            ],
            **standing(body, self.id, self.record.digest, self.sources),
            "release": self.release,
            "permalink": f"/v1/pipes/{quote(self.id)}?release={self.release}",
            "assumptions": list(self.assumptions),
            "warnings": [CAUTION],
        }


def pipe_answer(
    store: ReleaseStore,
    record: StoredRecord,
    release: ReleaseInfo,
    options: Options,
    assumptions: tuple[str, ...] = (),
) -> PipeAnswer:
    """A pipe's record as an answer in the printed unit that the options ask for."""
    wanted = units().find("in" if options.system == "us" else "mm", "length")
    printed = {entry["unit"]: entry for entry in record.body["dimensions"]}
    entry = printed.get(wanted.symbol)
    if entry is None:
        entry = next(iter(printed.values()))
        assumptions = (
            *assumptions,
            f"no {wanted.symbol} printed by a source seen: converted from {entry['unit']}",
        )
    own = units().find(entry["unit"], "length")
    outside, wall = (own.to(printed_number(entry[key]), wanted) for key in ("outside_diameter", "wall"))
    sources = cited(store, record.body["inputs"], release)
    return PipeAnswer(record, sources, release.label, Quantity(outside, wanted), Quantity(wall, wanted), assumptions)


def pipe_with_id(store: ReleaseStore, pipe_id: str, release: ReleaseInfo, options: Options = SI) -> PipeAnswer:
    """The pipe with this row id.

    Raises:
        UnknownName: there is none.
    """
    record = store.record(pipe_id, release)
    if record is None or record.body["kind"] != "recommended-pipe":
        raise UnknownName(f"pipe: there is no pipe row '{pipe_id}'.", parameter="id", given=pipe_id)
    return pipe_answer(store, record, release, options)


def pipes_of(
    store: ReleaseStore,
    system: str,
    size: str | None,
    designation: str | None,
    release: ReleaseInfo,
    options: Options = SI,
) -> list[PipeAnswer]:
    """The pipes of a system that have a size and a designation, in the trade's words.

    Raises:
        UnknownName: no system, size or designation is called so; those there are, are listed.
        BadParameter: the size is not a size word.
    """
    system_id = system_named(system)
    members = [r for r in store.of_kind("recommended-pipe", release) if r.body["system"] == system_id]
    assumptions: tuple[str, ...] = ()
    if size is not None:
        members, assumptions = _of_size(members, system_id, size)
    if designation is not None:
        members = _designated(members, designation, size)
    ordered = sorted(members, key=_order)
    return [pipe_answer(store, record, release, options, assumptions) for record in ordered]


def one_pipe(pipes: list[PipeAnswer], size: str) -> PipeAnswer:
    """The only pipe of a list.

    Raises:
        AmbiguousName: there are several; their designations are listed.
    """
    if len(pipes) == 1:
        return pipes[0]
    choices = [" or ".join(pipe.record.body["designations"]) or pipe.id for pipe in pipes]
    raise AmbiguousName(
        f"designation: {size} has {len(pipes)} walls; ask for one of {'; '.join(choices)}.",
        parameter="designation",
        candidates=[pipe.id for pipe in pipes],
    )


def system_named(text: str) -> str:
    """The id of the pipe system with this name.

    Raises:
        UnknownName: none has it; those there are, are listed.
    """
    wanted = normal_name(text)
    for system_id, definition in systems().items():
        if wanted in {normal_name(name) for name in (system_id, definition["name"], *definition["names"])}:
            return system_id
    raise UnknownName(
        f"system: there is no pipe system '{text}'; there are {', '.join(systems())}.",
        parameter="system",
        given=text,
        candidates=list(systems()),
    )


def _of_size(members: list[StoredRecord], system_id: str, text: str) -> tuple[list[StoredRecord], tuple[str, ...]]:
    words, number = _size_words(text, systems()[system_id]["size_words"])
    for place, word in enumerate(words):
        fitting = [record for record in members if record.body["size"].get(word) == number]
        if fitting:
            others = [w for w in words[place + 1 :] if any(r.body["size"].get(w) == number for r in members)]
            note = (f"size '{text}' read as {word} {number}, not {others[0]} {number}",) if others else ()
            return fitting, note
    known = list(
        dict.fromkeys(f"{word} {r.body['size'][word]}" for r in members for word in words[:1] if word in r.body["size"])
    )
    near = likeliest(f"{words[0]} {number}", known) or known[:5]
    raise UnknownName(
        f"size: {system_id} has no {' or '.join(words)} {number}; near sizes are {', '.join(near)}.",
        parameter="size",
        given=text,
        candidates=near,
    )


def _size_words(text: str, preferred: list[str]) -> tuple[list[str], str]:
    """The size words that a text may mean, likeliest first, and its number."""
    spelled = text.strip()
    for sign, fraction in _FRACTIONS.items():
        spelled = spelled.replace(sign, fraction)
    found = _SIZE.match(" ".join(spelled.split()))
    if found is None:
        raise BadParameter(
            f"size: '{text}' is not a size word; write it as NPS 8, 2 1/2 or DN200.",
            parameter="size",
            given=text,
            accepted=preferred,
        )
    number = found["number"].replace("-", " ")
    if found["word"]:
        return [found["word"].upper()], number
    if found["inch"]:
        return ["NPS"], number
    return preferred, number


def _designated(members: list[StoredRecord], text: str, size: str | None) -> list[StoredRecord]:
    schedule = _SCHEDULE.match(text.strip())
    wanted = normal_name(schedule["number"] if schedule else text)
    fitting = [r for r in members if wanted in {normal_name(word) for word in r.body["designations"]}]
    if fitting:
        return fitting
    known = list(dict.fromkeys(word for record in members for word in record.body["designations"]))
    where = f" of {size}" if size else ""
    raise UnknownName(
        f"designation: no pipe{where} is designated '{text}'; there are {', '.join(map(designation_words, known))}.",
        parameter="designation",
        given=text,
        candidates=known,
    )


def _order(record: StoredRecord) -> tuple[float, float]:
    """Smaller pipes first, thinner walls first, whatever unit is printed."""
    entry = record.body["dimensions"][0]
    scale = units().find(entry["unit"], "length").scale
    return printed_number(entry["outside_diameter"]) * scale, printed_number(entry["wall"]) * scale
