"""Writes house values in the text format of `sources/`, so that they can be offered to the reference, and reads them.

A document folder holds `source.toml`, `readings.csv` and, for values against temperature, `tables.toml`. The people who
keyed and reviewed stand in `transcribed_by` and `checked_by`. What only the house store has (the states for which a
value is answered, its evidence, its attachments) stands in `house.toml`, by the id of the reading.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from refdb.database import Database
from refdb.house.entry import PARTS, checked_entry
from refdb.ledger.columns import READINGS
from refdb.ledger.files import read_csv, read_toml
from refdb.ledger.findings import Findings
from refdb.problems import BadParameter, LedgerError, Problem
from refdb.store.values import Standing

CSV_COLUMNS = (
    "id", "subject", "property", "value", "low", "high", "unit", "temperature", "temperature_scale", "pressure",
    "condition", "locator", "name_printed", "basis", "seen", "uncertainty", "uncertainty_unit", "uncertainty_kind",
    "note",
)  # fmt: skip
HOUSE_ONLY = ("evidence", *(f"valid_{part}" for part in PARTS), "strength", "salinity", "points")


def write_document(
    standing: Iterable[Standing], folder: Path, database: Database, *, title: str, organisation: str, rights: str
) -> list[str]:
    """Write the values in force as one document of the ledger.

    Args:
        standing: the values to write.
        folder: a new folder; its name is the key of the document.
        database: finds the existing readings, after which new ids are numbered.
        title, organisation: the title and the publisher of the document.
        rights: an SPDX identifier, `facts-only`, `unknown`, or `withheld`, which no release accepts.

    Returns:
        The ids of the readings.

    Raises:
        BadParameter: the folder exists already, or there is nothing to write.
    """
    entries = [(one, one.version.entry) for one in standing if one.version.entry is not None]
    if not entries:
        raise BadParameter("to: no house value is in force that could be written; review one first.", parameter="to")
    if folder.exists():
        raise BadParameter(f"to: {folder} is there already; name a new folder.", parameter="to")
    ids = numbered([entry for _, entry in entries if entry is not None], database)
    lines, tables, more = [], [], {}
    for reading, (one, entry) in zip(ids, entries, strict=True):
        if entry is None:
            continue
        cells = {"id": reading, **{name: text for name, text in entry.items() if name in CSV_COLUMNS}}
        if "points" in entry:
            tables.append(_table(cells, entry["points"]))
        else:
            lines.append(cells)
        only = {name: entry[name] for name in HOUSE_ONLY if name in entry}
        more[reading] = {**only, "attachments": entry.get("attachments", []), "house_value": one.version.id}
    folder.mkdir(parents=True)
    people = sorted({person for one, _ in entries for person in one.entered_by})
    reviewers = sorted({one.version.entered_by for one, _ in entries})
    source = {
        "type": "report",
        "title": title,
        "authors": [organisation],
        "year": max(one.version.entered_at for one, _ in entries)[:4],
        "seen_at": "the organisation's own records",
        "seen_on": max(one.version.entered_at for one, _ in entries)[:10],
        "transcribed_by": ", ".join(people),
        "checked_by": ", ".join(reviewers),
        "rights": rights,
    }
    defaults = {"basis": "measured", "seen": "original"}
    (folder / "source.toml").write_text(
        f"[source]\n{toml_lines(source)}\n[defaults]\n{toml_lines(defaults)}", encoding="utf-8"
    )
    write_csv(folder / "readings.csv", lines)
    if tables:
        (folder / "tables.toml").write_text("\n".join(tables), encoding="utf-8")
    house = "\n".join(f"[{json.dumps(reading)}]\n{toml_lines(fields)}" for reading, fields in more.items())
    (folder / "house.toml").write_text(house, encoding="utf-8")
    return ids


def read_document(folder: Path, database: Database) -> list[dict[str, Any]]:
    """The checked entries of a document folder; an entry without `evidence` gets the document as evidence.

    Raises:
        LedgerError: something in the folder is wrong; every finding names file, line and field.
    """
    findings = Findings(folder.parent)
    if not (folder / "source.toml").is_file():
        raise BadParameter(f"folder: {folder} holds no source.toml; give a document folder.", parameter="folder")
    text = read_toml(folder / "source.toml", findings)
    house = read_toml(folder / "house.toml", findings) if (folder / "house.toml").is_file() else {}
    title = text.get("source", {}).get("title", folder.name)
    entries = []
    for place, line, cells in _readings(folder, findings):
        fields: dict[str, Any] = {**text.get("defaults", {}), **cells}
        reading = fields.pop("id", "")
        fields.pop("seen", None)
        fields = {"evidence": title, **fields, **house.get(reading, {})}
        fields.pop("house_value", None)
        flag = fields.pop("flag", None)
        fields.pop("flag_text", None)
        if flag not in {None, "note"}:
            findings.add(place, line, "flag", f"'{flag}' is a doubt; a house value without doubts can be imported")
            continue
        try:
            entries.append(checked_entry(fields, database))
        except Problem as problem:
            findings.add(place, line, *_split(problem.detail))
    findings.raise_if_any()
    if not entries:
        raise LedgerError([f"{folder.name}: holds neither readings.csv nor tables.toml with anything in it"])
    return entries


def _readings(folder: Path, findings: Findings) -> Iterable[tuple[Path, int | None, dict[str, Any]]]:
    file = folder / "readings.csv"
    if file.is_file():
        for line, cells in read_csv(file, READINGS.names, findings):
            yield file, line, dict(cells)
    file = folder / "tables.toml"
    if file.is_file():
        for block in read_toml(file, findings).get("table", []):
            unit = block.pop("variable", {}).get("unit", "")
            points = "; ".join(f"{x} {unit}: {y}" for x, y in block.pop("points", []))
            stated = block.pop("stated_uncertainty", {})
            block.pop("state", None)
            for name, key in (("uncertainty", "number"), ("uncertainty_unit", "unit"), ("uncertainty_kind", "kind")):
                if key in stated:
                    block[name] = stated[key]
            yield file, None, {**block, "points": points}


def _split(detail: str) -> tuple[str, str]:
    field, colon, rest = detail.partition(": ")
    return (field, rest) if colon else ("record", detail)


def numbered(entries: Sequence[Mapping[str, Any]], database: Database) -> list[str]:
    """An id for each entry: its subject, its property and the next free number."""
    release = database.release()
    taken: dict[str, int] = {}
    ids = []
    for entry in entries:
        row = f"{entry['subject']}.{entry['property']}"
        if row not in taken:
            readings = database.readings(entry["subject"], entry["property"], release=release)
            numbers = [reading["row"]["id"].rpartition(".")[2] for reading in readings]
            taken[row] = max((int(number) for number in numbers if number.isdecimal()), default=0)
        taken[row] += 1
        ids.append(f"{row}.{taken[row]:02d}")
    return ids


def _table(cells: Mapping[str, str], points: str) -> str:
    """One `[[table]]` block."""
    pairs = [part.partition(":")[::2] for part in points.split(";") if part.strip()]
    unit = pairs[0][0].strip().rpartition(" ")[2]
    numbers = [[at.strip().rpartition(" ")[0], number.strip()] for at, number in pairs]
    names = ("id", "subject", "property", "unit", "condition", "locator", "name_printed", "basis", "note")
    stated = {
        "number": cells["uncertainty"],
        "unit": cells.get("uncertainty_unit", cells["unit"]),
        "kind": cells["uncertainty_kind"],
    }
    return (
        f"[[table]]\n{toml_lines({name: cells[name] for name in names if name in cells})}"
        f"points = {json.dumps(numbers, ensure_ascii=False)}\n"
        f"[table.state]\n[table.variable]\n{toml_lines({'name': 'temperature', 'unit': unit})}"
        f"[table.stated_uncertainty]\n{toml_lines(stated)}"
    )


def toml_lines(fields: Mapping[str, Any]) -> str:
    """Fields as lines of TOML."""
    return "".join(f"{key} = {_toml_value(value)}\n" for key, value in fields.items())


def _toml_value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml_value(held)}" for key, held in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml_value, value)) + "]"
    # JSON strings are TOML basic strings, except for one control character that JSON does not escape.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def write_csv(file: Path, lines: list[dict[str, str]]) -> None:
    """Write a CSV file of readings with the columns that they use."""
    used = [name for name in CSV_COLUMNS if any(name in line for line in lines)] or ["id"]
    with file.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, used, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(lines)
