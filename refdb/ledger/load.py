"""Reads the whole ledger.

One folder per document, in the groups of `sources/documents/`:

- `source.toml`: the bibliographic record, the carriers in which the document was seen (`refdb.ledger.carriers`), and
  `[defaults]` for its readings;
- `readings.csv`: scalars and ranges, one a line;
- `equations.toml`, `tables.toml`, `grids.toml`: printed equations, tables of points, grids of node values;
- `pipes.csv`, `roughness.csv`: printed dimensions and roughness;
- `tolerances.csv`, `linings.csv`: tolerances and linings that standards print;
- `corrections.toml`: printed texts known to be wrong, with the right ones; see `refdb.ledger.correct`;
- `checks.toml`: second readings; see `refdb.ledger.checks`.

Subjects and their designations lie in `shared/subjects/`, because other tools share them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from refdb.ledger.carriers import Carriers
from refdb.ledger.cells import limit_cell, where_cell
from refdb.ledger.check import Refused, check_references
from refdb.ledger.checks import checks_of, told
from refdb.ledger.columns import LININGS, PIPES, READINGS, ROUGHNESS, SIZE_COLUMNS, TOLERANCES
from refdb.ledger.correct import Amendments
from refdb.ledger.files import read_csv, read_toml
from refdb.ledger.findings import Findings
from refdb.ledger.folders import RECORD, document_folders, misplaced
from refdb.records.models import (
    AnyRecord,
    Designation,
    Equation,
    Grid,
    LiningReading,
    PipeReading,
    Range,
    Reading,
    RoughnessReading,
    Scalar,
    Source,
    Subject,
    Surface,
    Table,
    ToleranceReading,
)
from refdb.vocabulary import VocabularyDocument

GRID_COLUMNS = frozenset({"temperature", "pressure", "salinity", "strength", "value"})
TERM_COLUMNS = frozenset({"coefficient", "temperature", "pressure", "salinity", "strength"})
DESIGNATION_COLUMNS = frozenset(["subject", "kind", "text", "source", "locator"])

_QUANTITY_CELL = re.compile(r"^(?P<low>[^a-zA-Z°]+?)(?: to (?P<high>[^a-zA-Z°]+?))? (?P<unit>[a-zA-Z°].*)$")
_PIPE_FIELDS = (
    "id", "pipe", "system", "outside_diameter", "outside_diameter_is", "wall", "wall_is", "inside_diameter", "unit",
    "name_printed",
)  # fmt: skip
_WORDS = ("room temperature", "not stated", "atmospheric")

Model = TypeVar("Model", bound=BaseModel)


@dataclass(frozen=True)
class Ledger:
    """Every record of the text by id, and the file and line of each."""

    records: dict[str, AnyRecord]
    places: dict[str, tuple[Path, int | None]]

    def of(self, kind: type[Model]) -> list[Model]:
        """The records of one model class, in order of their ids."""
        found = {row: record for row, record in self.records.items() if isinstance(record, kind)}
        return [found[row] for row in sorted(found)]


def load_ledger(
    text_root: Path,
    vocabulary: VocabularyDocument,
    step: Callable[[str], None] | None = None,
) -> Ledger:
    """Read and check every file of the ledger.

    Args:
        text_root: the folder that holds `sources/` and `shared/`.
        vocabulary: the compiled vocabulary, whose ids and units the text must use.
        step: called with the name of each document as it is read, for a progress bar.

    Raises:
        LedgerError: anything is wrong; the error holds all findings.
    """
    findings = Findings(text_root)
    reader = _Reader(text_root, findings)
    reader.subjects(text_root / "shared" / "subjects")
    for folder in document_folders(text_root):
        if step is not None:
            step(folder.name)
        reader.document(folder)
    check_references(reader.records, reader.places, reader.refused, text_root, vocabulary, findings)
    findings.raise_if_any()
    return Ledger(reader.records, reader.places)


class _Reader:
    """Reads records from files and notes every fault."""

    def __init__(self, text_root: Path, findings: Findings) -> None:
        self.findings = findings
        self._text_root = text_root
        self._carriers = Carriers(text_root, findings)
        self.records: dict[str, AnyRecord] = {}
        self.places: dict[str, tuple[Path, int | None]] = {}
        self.refused: list[Refused] = []
        self._amended: Amendments | None = None

    def add(self, kind: type[Model], fields: Mapping[str, Any], file: Path, line: int | None) -> None:
        """Validate one record and keep it; what is not valid, or has the id of another, is kept for further checks."""
        if self._amended is not None and issubclass(kind, Reading):
            fields = self._amended.apply(fields, file, line)
        record = self.findings.model(kind, fields, file, line)
        if record is None:
            self.refused.append(Refused(kind, fields, file, line))
            return
        taken = self.places.get(record.id)  # type: ignore[attr-defined]
        if taken is not None:
            self.refused.append(Refused(kind, fields, file, line, taken))
            return
        self.records[record.id] = record  # type: ignore[attr-defined,assignment]
        self.places[record.id] = (file, line)  # type: ignore[attr-defined]

    def subjects(self, folder: Path) -> None:
        """Read subjects from every TOML file of the folder, and designations from `designations.csv`."""
        for file in sorted(folder.glob("*.toml")):
            for subject_id, fields in read_toml(file, self.findings).items():
                self.add(Subject, {"id": subject_id, **fields}, file, None)
        file = folder / "designations.csv"
        if file.is_file():
            for line, cells in read_csv(file, DESIGNATION_COLUMNS, self.findings):
                self.add(Designation, designation_fields(cells), file, line)

    def document(self, folder: Path) -> None:
        """Read one document: its readings, then its record, which says who read them a second time."""
        file = folder / RECORD
        if not file.is_file():
            self.findings.add(folder, None, RECORD, "is missing; every document needs its bibliographic record")
            return
        text = read_toml(file, self.findings)
        defaults = {"source": folder.name, **text.get("defaults", {})}
        self._amended = Amendments(folder, text.get("source", {}).get("withdrawn"), self.findings)
        before = len(self.records)
        self._readings(folder, defaults)
        self._amended.finish()
        self._amended = None
        named = list(self.records)[before:]
        readings = {row: record for row in named if isinstance(record := self.records[row], Reading)}
        self.findings.extend(file, misplaced(folder, self._text_root, defaults.get("seen")))
        self.add(Source, self._source(folder, text, readings), file, None)

    def _readings(self, folder: Path, defaults: Mapping[str, str]) -> None:
        self._rows(folder / "readings.csv", READINGS.names, defaults, self._reading)
        self._rows(folder / "pipes.csv", PIPES.names, defaults, self._pipe)
        self._rows(folder / "roughness.csv", ROUGHNESS.names, defaults, self._roughness)
        self._rows(folder / "tolerances.csv", TOLERANCES.names, defaults, self._tolerance)
        self._rows(folder / "linings.csv", LININGS.names, defaults, self._lining)
        self._blocks(folder / "equations.toml", "equation", Equation, defaults)
        self._blocks(folder / "tables.toml", "table", Table, defaults)
        self._blocks(folder / "grids.toml", "grid", Grid, defaults)
        self._blocks(folder / "surfaces.toml", "surface", Surface, defaults)

    def _source(self, folder: Path, text: Mapping[str, Any], readings: Mapping[str, Reading]) -> dict[str, Any]:
        fields = {"id": folder.name, **text.get("source", {})}
        carriers = self._carriers.fields(folder.name, text.get("carrier", []), folder / RECORD)
        if carriers:
            fields["carriers"] = carriers
        checks = checks_of(folder, readings, self.findings)
        if checks:
            fields |= {"checks": checks, "checked_by": told(checks, readings)}
        return fields

    def _rows(
        self,
        file: Path,
        columns: frozenset[str],
        defaults: Mapping[str, str],
        add: Callable[[Mapping[str, str], Path, int], None],
    ) -> None:
        if file.is_file():
            for line, cells in read_csv(file, columns, self.findings):
                add({**defaults, **cells}, file, line)

    def _reading(self, cells: Mapping[str, str], file: Path, line: int) -> None:
        kind, fields = reading_fields(cells)
        self.add(kind, fields, file, line)

    def _pipe(self, cells: Mapping[str, str], file: Path, line: int) -> None:
        fields = _common(cells, _PIPE_FIELDS)
        fields["size"] = {word: cells[column] for column, word in SIZE_COLUMNS.items() if column in cells}
        if "designations" in cells:
            fields["designations"] = cells["designations"].split("|")
        self.add(PipeReading, fields, file, line)

    def _roughness(self, cells: Mapping[str, str], file: Path, line: int) -> None:
        fields = _common(cells, ("id", "surface", "name_printed", "condition_printed", "low", "high", "unit"))
        if "value" in cells:
            fields["number"] = cells["value"]
        self.add(RoughnessReading, fields, file, line)

    def _tolerance(self, cells: Mapping[str, str], file: Path, line: int) -> None:
        fields = self._scoped(cells, ("id", "tolerance", "quantity", "name_printed"), file, line)
        for side in ("minus", "plus"):
            self._parsed(fields, cells, side, limit_cell, file, line)
        self.add(ToleranceReading, fields, file, line)

    def _lining(self, cells: Mapping[str, str], file: Path, line: int) -> None:
        names = ("id", "lining", "material", "side", "low", "high", "minimum", "unit", "name_printed")
        fields = self._scoped(cells, names, file, line)
        if "value" in cells:
            fields["number"] = cells["value"]
        self.add(LiningReading, fields, file, line)

    def _scoped(self, cells: Mapping[str, str], names: tuple[str, ...], file: Path, line: int) -> dict[str, Any]:
        fields = _common(cells, (*names, "standard"))
        for column in ("systems", "designations"):
            if column in cells:
                fields[column] = cells[column].split("|")
        self._parsed(fields, cells, "where", where_cell, file, line)
        return fields

    def _parsed(
        self,
        fields: dict[str, Any],
        cells: Mapping[str, str],
        column: str,
        parse: Callable[[str], Any],
        file: Path,
        line: int,
    ) -> None:
        if column in cells:
            try:
                fields[column] = parse(cells[column])
            except ValueError as error:
                self.findings.add(file, line, column, str(error))

    def _blocks(self, file: Path, key: str, kind: type[Model], defaults: Mapping[str, str]) -> None:
        if not file.is_file():
            return
        for block in read_toml(file, self.findings).get(key, []):
            fields = {**{k: v for k, v in defaults.items() if k in {"source", "basis", "seen"}}, **block}
            if "points_file" in fields:
                fields["points"] = self._points(file.parent / fields.pop("points_file"))
            if "values_file" in fields:
                fields["values"] = self._values(file.parent / fields.pop("values_file"))
            if "terms_file" in fields:
                names = [axis.get("name", "") for axis in fields.get("axes", [])]
                fields["terms"] = self._terms(file.parent / fields.pop("terms_file"), names)
            self.add(kind, fields, file, None)

    def _values(self, file: Path) -> list[str]:
        """The values of a grid in the order of its nodes; the file prints the nodes for people and for checks."""
        if not file.is_file():
            self.findings.add(file, None, "values_file", "does not exist; write the nodes there, one a line")
            return []
        return [cells.get("value", "") for _, cells in read_csv(file, GRID_COLUMNS, self.findings)]

    def _terms(self, file: Path, names: list[str]) -> list[list[str]]:
        """The terms of an equation of several variables, each its coefficient and then the exponent of each axis."""
        if not file.is_file():
            self.findings.add(file, None, "terms_file", "does not exist; write the terms there, one a line")
            return []
        rows = read_csv(file, TERM_COLUMNS, self.findings)
        return [[cells.get("coefficient", ""), *(cells.get(name, "0") for name in names)] for _, cells in rows]

    def _points(self, file: Path) -> list[tuple[str, str]]:
        if not file.is_file():
            self.findings.add(file, None, "points_file", "does not exist; write the points there as columns x,y")
            return []
        rows = read_csv(file, frozenset({"x", "y"}), self.findings)
        return [(cells.get("x", ""), cells.get("y", "")) for _, cells in rows]


def reading_fields(cells: Mapping[str, str]) -> tuple[type[Scalar | Range], dict[str, Any]]:
    """The record class of a line of `readings.csv`, and its fields."""
    fields = _common(cells, ("id", "subject", "property", "unit", "condition", "method", "name_printed"))
    fields["state"] = _state(cells)
    if "uncertainty" in cells:
        fields["stated_uncertainty"] = {
            "number": cells["uncertainty"],
            "unit": cells.get("uncertainty_unit", cells.get("unit")),
            "kind": cells.get("uncertainty_kind", "not stated"),
        }
    if "low" in cells or "high" in cells:
        return Range, fields | {"low": cells.get("low"), "high": cells.get("high")}
    return Scalar, fields | {"number": cells.get("value", "")}


def designation_fields(cells: Mapping[str, str]) -> dict[str, str]:
    """Fields of a designation record; its id is made of its subject, kind and text."""
    slug = re.sub(r"[^a-z0-9.]+", "-", f"{cells.get('kind', '')}-{cells.get('text', '')}".lower()).strip("-.")
    fields = {
        "id": f"{cells.get('subject', '')}.designation.{slug}",
        "subject": cells.get("subject", ""),
        "designation_kind": cells.get("kind", ""),
        "text": cells.get("text", ""),
    }
    return fields | {key: cells[key] for key in ("source", "locator") if key in cells}


def _common(cells: Mapping[str, str], names: tuple[str, ...]) -> dict[str, Any]:
    wanted = (*names, "source", "locator", "basis", "seen", "note")
    fields: dict[str, Any] = {name: cells[name] for name in wanted if name in cells}
    if "flag" in cells:
        fields["flags"] = [{"code": cells["flag"], "text": cells.get("flag_text", "")}]
    return fields


def _state(cells: Mapping[str, str]) -> dict[str, Any]:
    state: dict[str, Any] = {"temperature": quantity_cell(cells.get("temperature", "not stated"))}
    if "temperature_scale" in cells:
        state["temperature_scale"] = cells["temperature_scale"]
    if "pressure" in cells:
        state["pressure"] = quantity_cell(cells["pressure"])
    for part in ("strength", "frequency"):
        if part in cells:
            state[part] = quantity_cell(cells[part])
    return state


def quantity_cell(cell: str) -> Any:
    """A cell as fields: `20 degC` as a quantity, `15 to 35 degC` as an interval, other words unchanged."""
    if cell in _WORDS:
        return cell
    found = _QUANTITY_CELL.match(cell)
    if found is None:
        return cell
    if found["high"] is None:
        return {"number": found["low"], "unit": found["unit"]}
    return {"low": found["low"], "high": found["high"], "unit": found["unit"]}
