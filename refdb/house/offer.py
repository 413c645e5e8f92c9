"""The form on which anybody can offer a value to the reference, and its validation.

Two people key the same print independently, and both keyings must agree to the letter before they are checked further.
The result is a document folder in the text format of `sources/`, ready for `sources/documents/`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from refdb.database import Database
from refdb.house.text import numbered, toml_lines, write_csv
from refdb.ledger.files import why_unreadable
from refdb.ledger.load import reading_fields
from refdb.problems import BadParameter, LedgerError, Problem
from refdb.records.models import ID_PATTERN, WITHHELD, Source
from refdb.units import units
from refdb.values.refusals import check_property
from refdb.vocabulary import conditions, properties

NEEDED = ("subject", "property", "unit", "temperature", "locator", "basis", "seen")
COLUMNS = (
    "subject", "property", "value", "low", "high", "unit", "temperature", "temperature_scale", "pressure", "condition",
    "locator", "name_printed", "basis", "seen", "uncertainty", "uncertainty_unit", "uncertainty_kind", "note",
)  # fmt: skip
FREE = frozenset({"note"})
"""Fields that two people may word differently."""

KEYINGS = 2

FORM = """# A value offered to the reference. Fill it in, let a second person key the same print without looking at your
# numbers, and run: refdb offer check THIS-FILE. Numbers are texts, exactly as printed: "19 300", "7.85", "6.1 x 10^3".
# Nothing from memory, and nothing from an instrument maker's manual or table.

key = ""                # a short name for the document: lower-case words joined by hyphens, such as doe-tubes-1987

[source]
type = ""               # standard, handbook, textbook, article, report, dataset, library or webpage
title = ""
authors = [""]          # "Doe, J."
# container = ""        # journal or series; also volume, pages, edition, publisher, doi, isbn, url
year = ""
seen_at = ""            # where you saw it: the book, the publisher's page, an archive
seen_on = ""            # when, such as 2026-11-25
rights = "facts-only"   # an SPDX identifier, facts-only or unknown; what may not be passed on cannot be offered

[[keyed]]
by = ""                 # the first person
[[keyed.reading]]
subject = ""            # as `refdb find` knows it, such as carbon-steel
property = ""           # as `refdb properties` lists it, such as longitudinal_speed
value = ""              # or low = "" and high = "" where a range is printed
unit = ""
temperature = ""        # "20 degC", "15 to 25 degC", "room temperature" or "not stated"
locator = ""            # page, table and row: "p. 41, table 7, row Zirconium"
name_printed = ""       # what the print calls it
basis = ""              # measured, standard, evaluated, computed, derived or estimated
seen = ""               # original (the document itself), archive, reproduction (another page repeats it) or library
# uncertainty = ""      # as stated; then uncertainty_unit = "" and uncertainty_kind = "" (standard, expanded, ...)

[[keyed]]
by = ""                 # the second person, who keys everything again from the print
[[keyed.reading]]
subject = ""
property = ""
value = ""
unit = ""
temperature = ""
locator = ""
name_printed = ""
basis = ""
seen = ""
"""


@dataclass(frozen=True, slots=True)
class Offer:
    """A checked offer."""

    key: str
    source: dict[str, Any]
    readings: list[dict[str, str]]


def check_offer(file: Path, database: Database) -> Offer:
    """The offer on a form that has been filled in.

    Args:
        database: finds the subjects and the existing readings.

    Raises:
        BadParameter: the file is not TOML.
        LedgerError: something is missing or wrong, or the two keyings differ; every finding names its place.
    """
    try:
        form = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        raise BadParameter(
            f"file: {file} is no TOML: {why_unreadable(error)}; `refdb offer form` prints a blank one."
        ) from error
    key = form.get("key")
    findings = [f"{file.name}: {finding}" for finding in (*_key_faults(key, database), *_source_faults(form))]
    keyed = form.get("keyed")
    findings += [f"{file.name}: {finding}" for finding in _keyed_faults(keyed, database)]
    if findings or not isinstance(keyed, list):
        raise LedgerError(findings)
    readings = [_resolved(_cells(reading), database) for reading in keyed[0]["reading"]]
    for cells, reading in zip(readings, numbered(readings, database), strict=True):
        cells["id"] = reading
    people = {"transcribed_by": keyed[0]["by"], "checked_by": keyed[1]["by"]}
    return Offer(str(key), {**_filled(form["source"]), **people}, readings)


def write_offer(offer: Offer, folder: Path) -> Path:
    """Write an offer as a document folder below `folder`, and return its path.

    Raises:
        BadParameter: the document folder exists already.
    """
    to = folder / offer.key
    if to.exists():
        raise BadParameter(f"to: {to} is there already; name another folder, or give the offer another key.")
    to.mkdir(parents=True)
    (to / "source.toml").write_text(f"[source]\n{toml_lines(offer.source)}", encoding="utf-8")
    write_csv(to / "readings.csv", offer.readings)
    return to


def _key_faults(key: Any, database: Database) -> Iterator[str]:
    if not isinstance(key, str) or not ID_PATTERN.match(key):
        yield "key: write a short name for the document, lower-case words joined by hyphens, such as doe-tubes-1987"
    elif database.store.record(key, database.release()) is not None:
        yield f"key: '{key}' is taken; if it is the same document, say so in a note and give another key"


def _source_faults(form: Mapping[str, Any]) -> Iterator[str]:
    source = form.get("source")
    if not isinstance(source, dict):
        yield "source: is missing; `refdb offer form` prints a blank one"
        return
    fields = {"id": "offered", **_filled(source), "transcribed_by": "one", "checked_by": "other"}
    if fields.get("type") == "memory":
        yield "source.type: memory is no source"
    if fields.get("rights") == WITHHELD:
        yield f"source.rights: what is {WITHHELD} may not be passed on; keep it as a house value"
    try:
        Source.model_validate(fields)
    except ValidationError as error:
        for fault in error.errors():
            yield f"source.{'.'.join(map(str, fault['loc']))}: {fault['msg']}"


def _keyed_faults(keyed: Any, database: Database) -> Iterator[str]:
    if not isinstance(keyed, list) or len(keyed) != KEYINGS or not all(isinstance(one, dict) for one in keyed):
        yield "keyed: two people must key it, each in a [[keyed]] of their own"
        return
    people = [" ".join(str(one.get("by", "")).split()).casefold() for one in keyed]
    if not all(people) or people[0] == people[1]:
        yield "keyed.by: name two different people"
    readings = [one.get("reading") for one in keyed]
    if not all(isinstance(held, list) and held and all(isinstance(one, dict) for one in held) for held in readings):
        yield "keyed.reading: is missing; write at least one [[keyed.reading]] under each [[keyed]]"
        return
    if len(readings[0]) != len(readings[1]):
        yield f"keyed.reading: the first person keyed {len(readings[0])}, the second {len(readings[1])}; key the same"
        return
    for number, (one, other) in enumerate(zip(*readings, strict=True), start=1):
        yield from (f"reading {number}: {fault}" for fault in _differences(one, other))
        yield from (f"reading {number}: {fault}" for fault in _reading_faults(one, database))


def _differences(one: Mapping[str, Any], other: Mapping[str, Any]) -> Iterator[str]:
    for name in sorted((one.keys() | other.keys()) - FREE):
        if one.get(name, "") != other.get(name, ""):
            yield f"{name}: the first person keyed {one.get(name)!r}, the second {other.get(name)!r}; look again"


def _reading_faults(reading: Mapping[str, Any], database: Database) -> Iterator[str]:
    unknown = sorted(set(reading) - set(COLUMNS))
    texts = all(isinstance(text, str) for text in reading.values())
    if unknown or not texts:
        yield f"{unknown[0]}: is no part of a reading" if unknown else "every part must be a text, in quotation marks"
        return
    cells = _cells(reading)
    missing = [
        name
        for name in ("subject", "property", "unit", "temperature", "locator", "basis", "seen")
        if not cells.get(name)
    ]
    if missing:
        yield from (f"{name}: is missing; write it" for name in missing)
        return
    if cells["seen"] == "memory":
        yield "seen: what is remembered cannot be offered; look it up"
    try:
        _resolved(cells, database)
        kind, fields = reading_fields(cells | {"id": "offered", "source": "offered"})
        kind.model_validate(fields)
    except ValidationError as error:
        for fault in error.errors():
            yield f"{'.'.join(map(str, fault['loc'])) or 'value'}: {str(fault['msg']).removeprefix('Value error, ')}"
    except Problem as problem:
        yield problem.detail.rstrip(".")


def _resolved(cells: Mapping[str, str], database: Database) -> dict[str, str]:
    """The cells with the id of their subject.

    Raises:
        Problem: the subject, property, condition or unit is unknown or does not fit.
    """
    subject = database.subject(cells["subject"])
    check_property(cells["property"], subject)
    units().find(cells["unit"], properties()[cells["property"]]["dimension"])
    if cells.get("condition", "") not in {"", *conditions()}:
        raise BadParameter(f"condition: '{cells['condition']}' is none of {', '.join(sorted(conditions()))}.")
    return {**cells, "subject": subject.id}


def _cells(reading: Mapping[str, Any]) -> dict[str, str]:
    return {name: text for name, text in reading.items() if text}


def _filled(source: Mapping[str, Any]) -> dict[str, Any]:
    """The fields that were filled in; blank ones are left out."""
    return {name: held for name, held in source.items() if held not in ("", [""], [])}
