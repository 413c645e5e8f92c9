"""Entries of house values: the columns of `readings.csv`, each a text, checked like the ledger.

In addition an entry gives the states for which the value is answered (`valid_temperature` and the like), the evidence
for it (`evidence`) and the files that belong to it (`attachments`, by their SHA-256). A house value needs a standard or
expanded uncertainty, a temperature and a locator, the place where its record is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from refdb.database import Database
from refdb.forms.states import CONTENTS
from refdb.house.question import EntryQuestion
from refdb.ledger.load import quantity_cell, reading_fields
from refdb.problems import BadParameter, UnknownName
from refdb.questions import fields_of
from refdb.records import number_text, printed_number
from refdb.records.models import Scalar, Table
from refdb.records.readings import EXPANDED_COVERAGE, curve_spec
from refdb.units import Quantity, Unit, units
from refdb.units.quantity import require_measurable
from refdb.values.refusals import check_property
from refdb.vocabulary import STATE, conditions, properties

PARTS = ("temperature", "pressure", "strength", "salinity")
TEXTS = tuple(field.name for field in fields_of(EntryQuestion))
NEEDED = tuple(field.name for field in fields_of(EntryQuestion) if field.required)
DIGITS = 12
LONGEST_TEXT = 4000
MOST_ATTACHMENTS = 50

RULE = "house value"
RUNG = "house"

_POINT = re.compile(r"\s*(?P<at>[^:;]+):\s*(?P<number>[^:;]+?)\s*")
_SHA256 = re.compile(r"[0-9a-f]{64}")


def checked_entry(given: Mapping[str, Any], database: Database) -> dict[str, Any]:
    """A checked entry, without empty fields, with ids in place of names.

    Args:
        given: the texts of an entry by name, and `attachments`: a list of `name` and `sha256`.
        database: finds the subjects.

    Raises:
        Problem: a text is missing, unknown or wrong; the sentence names it and says what would be right.
    """
    texts = _texts(given)
    subject = database.subject(texts["subject"])
    check_property(texts["property"], subject)
    texts["subject"] = subject.id
    texts.setdefault("basis", "measured")
    texts.setdefault("uncertainty_unit", texts["unit"])
    if "condition" in texts and texts["condition"] not in conditions():
        raise UnknownName(
            f"condition: '{texts['condition']}' is none; conditions are {', '.join(sorted(conditions()))}.",
            parameter="condition",
            given=texts["condition"],
            candidates=sorted(conditions()),
        )
    _require_no_contents(texts, subject.body["subject_kind"])
    entry: dict[str, Any] = {**texts, **_attachments(given.get("attachments", []))}
    row_body(entry)
    return entry


def row_body(entry: Mapping[str, Any]) -> dict[str, Any]:
    """An entry as the body of a recommended row, in the SI unit of the property.

    Raises:
        BadParameter, BadQuantity, UnknownUnit, WrongDimension: a text of the entry is wrong.
    """
    definition = properties()[entry["property"]]
    si = units().find(definition["si"], definition["dimension"])
    own = units().find(entry["unit"], definition["dimension"])
    reading = _record(entry)
    form = _form(reading, own, si)
    condition = {"condition": entry["condition"]} if "condition" in entry else {}
    return {
        "subject": entry["subject"],
        "property": entry["property"],
        **condition,
        "unit": si.symbol,
        "form": form,
        "domain": _domain(entry, reading),
        "uncertainty": _uncertainty(reading["stated_uncertainty"], si),
        "rule": RULE,
        "basis": entry["basis"],
        "seen": "original",
        "rung": RUNG,
        "inputs": [],
    }


def _texts(given: Mapping[str, Any]) -> dict[str, str]:
    texts: dict[str, str] = {}
    for name, text in given.items():
        if name == "attachments" or text is None or text == "":
            continue
        if name not in TEXTS:
            raise BadParameter(
                f"{name[:40]}: a house value has no such part; it has {', '.join((*TEXTS, 'attachments'))}.",
                parameter=name[:40],
                accepted=[*TEXTS, "attachments"],
            )
        if not isinstance(text, str) or len(text) > LONGEST_TEXT or "\x00" in text:
            raise BadParameter(
                f'{name}: must be a text of at most {LONGEST_TEXT} characters, numbers as printed, as in "5920".',
                parameter=name,
            )
        texts[name] = text.strip()
    for name in NEEDED:
        if not texts.get(name):
            raise BadParameter(f"{name}: is missing; {_WHY.get(name, 'write it')}.", parameter=name)
    if ("value" in texts) == ("points" in texts):
        raise BadParameter(
            "value: write either value, as in 5920, or points, as in 20 degC: 5920; 60 degC: 5890.", parameter="value"
        )
    return texts


_WHY = {
    "uncertainty": "a value without one cannot be answered; write the standard uncertainty",
    "uncertainty_kind": "write standard or expanded (coverage factor 2)",
    "locator": "write where the record of it is kept, as in report 12, page 3",
    "evidence": "write how it was found: method, instrument, specimen",
}


def _require_no_contents(texts: Mapping[str, str], kind: str) -> None:
    named = [name for name in texts if name.removeprefix("valid_") in CONTENTS]
    if named and kind == "material":
        raise BadParameter(f"{named[0]}: a material has none; leave it out.", parameter=named[0])


def _attachments(given: Any) -> dict[str, list[dict[str, str]]]:
    fault = BadParameter(
        f"attachments: must be a list of at most {MOST_ATTACHMENTS} objects with name and sha256 (64 lower-case "
        "hexadecimal digits).",
        parameter="attachments",
    )
    if not isinstance(given, list) or len(given) > MOST_ATTACHMENTS:
        raise fault
    for one in given:
        named = (
            isinstance(one, dict) and set(one) == {"name", "sha256"} and all(isinstance(v, str) for v in one.values())
        )
        if not named or not one["name"].strip() or not _SHA256.fullmatch(one["sha256"]):
            raise fault
    return {"attachments": given} if given else {}


def _record(entry: Mapping[str, Any]) -> dict[str, Any]:
    cells = {name: text for name, text in entry.items() if name in TEXTS}
    cells |= {"id": "house", "source": "house", "seen": "original"}
    if "temperature" not in cells and "points" not in cells:
        raise BadParameter(
            "temperature: is missing; write the one it belongs to, as in 20 degC or 15 to 25 degC.",
            parameter="temperature",
        )
    kind, fields = reading_fields(cells)
    if "note" in fields:
        fields.pop("note")
    model: Any = kind
    for part in CONTENTS:
        if part in cells:
            fields["state"][part] = quantity_cell(cells[part])
    if "points" in cells:
        model = Table
        fields.pop("number", None)
        fields |= _points(cells["points"])
        fields["state"].pop("temperature")
    try:
        record: dict[str, Any] = model.model_validate(fields).plain()
    except ValidationError as error:
        fault = error.errors()[0]
        # A fault of the whole record concerns its points or its temperature.
        place = str(fault["loc"][0]) if fault["loc"] else "variable" if "points" in cells else "state"
        field = _CELLS.get(place, place)
        words = str(fault["msg"]).removeprefix("Value error, ")
        raise BadParameter(f"{field}: {words}.", parameter=field) from None
    return record


_CELLS = {"number": "value", "state": "temperature", "stated_uncertainty": "uncertainty", "variable": "points"}


def _points(text: str) -> dict[str, Any]:
    """`20 degC: 1482; 40 degC: 1529` as the points of a table against the temperature."""
    found = [_POINT.fullmatch(part) for part in text.split(";") if part.strip()]
    cells = [(quantity_cell(point["at"].strip()), point["number"]) for point in found if point is not None]
    spellings = {at.get("unit") if isinstance(at, dict) and "number" in at else None for at, _ in cells}
    if None in found or None in spellings or len(spellings) != 1 or len(cells) < 2:
        raise BadParameter(
            "points: write two or more temperatures in one unit, each with its value, as in 20 degC: 1482; 40 degC: "
            "1529.",
            parameter="points",
        )
    (spelling,) = spellings
    units().find(str(spelling), "temperature", "points")
    return {
        "variable": {"name": "temperature", "unit": spelling},
        "points": [(at["number"], number) for at, number in cells],
    }


def _form(reading: dict[str, Any], own: Unit, si: Unit) -> dict[str, Any]:
    """The description of the form, in the SI unit of the property."""
    if reading["kind"] == Scalar.model_fields["kind"].default:
        value = float(own.to(_printed(reading["number"], own, "value"), si))
        return {"name": "constant/1", "coefficients": {"c0": number_text(value, DIGITS)}}
    celsius = units().find("degC", "temperature")
    printed = units().find(reading["variable"]["unit"], "temperature")
    points = [
        (
            number_text(float(printed.to(_printed(x, printed, "points"), celsius)), DIGITS),
            number_text(float(own.to(_printed(y, own, "points"), si)), DIGITS),
        )
        for x, y in reading["points"]
    ]
    converted = {**reading, "variable": {"name": "temperature", "unit": "degC"}, "points": points}
    return curve_spec(converted)


def _printed(text: str, unit: Unit, field: str) -> float:
    """The value of a printed number in a unit.

    Raises:
        BadParameter, BadQuantity: it is not a number, or too large or too small to be measured.
    """
    try:
        number = printed_number(text)
    except ValueError as error:
        raise BadParameter(f"{field}: {error}; correct it.", parameter=field) from None
    require_measurable(Quantity(number, unit), field)
    return number


def _uncertainty(stated: dict[str, str], si: Unit) -> dict[str, str]:
    """The standard uncertainty, in the SI unit of the property or in percent of the value."""
    if stated["kind"] not in {"standard", "expanded"}:
        raise BadParameter(
            "uncertainty_kind: write standard, or expanded (coverage factor 2); nothing else says how far to trust it.",
            parameter="uncertainty_kind",
        )
    percent = stated["unit"] == "%"
    own = units().find(stated["unit"], "dimensionless" if percent else si.dimension, "uncertainty_unit")
    uncertainty, unit = _printed(stated["number"], own, "uncertainty"), "%"
    if uncertainty <= 0.0:
        raise BadParameter("uncertainty: must be above zero.", parameter="uncertainty")
    uncertainty /= EXPANDED_COVERAGE if stated["kind"] == "expanded" else 1.0
    if not percent:
        uncertainty, unit = float(own.difference_to(uncertainty, si)), si.symbol
    return {
        "number": number_text(uncertainty, DIGITS),
        "unit": unit,
        "code": "stated",
        "text": "stated with the house value",
    }


def _domain(entry: Mapping[str, Any], reading: dict[str, Any]) -> dict[str, dict[str, str]]:
    """The domain of the value: from `valid_...`, or else the state at which it was measured."""
    domain = {}
    for part in PARTS:
        own = _interval(entry, part, part)
        if part == "temperature" and reading["kind"] == "table":
            points = reading["points"]
            own = {"low": points[0][0], "high": points[-1][0], "unit": reading["variable"]["unit"]}
        valid = _interval(entry, f"valid_{part}", part)
        if valid is not None and own is not None:
            _require_inside(own, valid, part, reading["kind"] == "table")
        if valid is not None or own is not None:
            domain[part] = valid or own or {}
    return domain


def _interval(entry: Mapping[str, Any], name: str, part: str) -> dict[str, str] | None:
    if name not in entry:
        return None
    cell = quantity_cell(entry[name])
    if not isinstance(cell, dict):
        raise BadParameter(
            f"{name}: '{entry[name][:40]}' is neither a quantity nor a range; write 20 degC or 15 to 25 degC.",
            parameter=name,
            given=entry[name][:40],
        )
    unit = units().find(cell["unit"], STATE[part].dimension, name)
    ends: list[str] = [cell.get("number") or cell[end] for end in ("low", "high")]
    low, high = (_printed(end, unit, name) for end in ends)
    if low > high:
        raise BadParameter(f"{name}: {ends[0]} is above {ends[1]}; write the lower end first.", parameter=name)
    # A domain holds plain numbers; grouped digits and powers of ten are resolved here.
    return {"low": f"{low:.{DIGITS}g}", "high": f"{high:.{DIGITS}g}", "unit": cell["unit"]}


def _require_inside(own: dict[str, str], valid: dict[str, str], part: str, is_table: bool) -> None:
    (low, high), (least, most) = _held(own, part), _held(valid, part)
    outside = least > high or most < low or (is_table and (least < low or most > high))
    if outside:
        raise BadParameter(
            f"valid_{part}: {valid['low']} to {valid['high']} {valid['unit']} does not fit the {part} it was found at, "
            f"{own['low']} to {own['high']} {own['unit']}.",
            parameter=f"valid_{part}",
        )


def _held(interval: dict[str, str], part: str) -> tuple[float, float]:
    unit = units().find(interval["unit"], STATE[part].dimension)
    held = units().find(STATE[part].unit, STATE[part].dimension)
    low, high = (float(unit.to(printed_number(interval[end]), held)) for end in ("low", "high"))
    return low, high


def domains_overlap(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether the domains of two row bodies from `row_body` have a state in common."""
    if one.get("condition") != other.get("condition"):
        return False
    shared = one["domain"].keys() & other["domain"].keys()
    return all(_touch(one["domain"][part], other["domain"][part], part) for part in shared)


def _touch(one: dict[str, str], other: dict[str, str], part: str) -> bool:
    (low, high), (least, most) = _held(one, part), _held(other, part)
    return low <= most and least <= high


def attachment_words(entry: Mapping[str, Any]) -> Iterator[str]:
    """One line for each attachment: its name and digest."""
    for one in entry.get("attachments", []):
        yield f"{one['name']} (sha256:{one['sha256']})"
