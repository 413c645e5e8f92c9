"""Second readings: entered numbers held against the print or a pinned carrier, and the note that it was done."""

from __future__ import annotations

import csv
import importlib.metadata
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from refdb.ledger import Ledger
from refdb.ledger.checks import FILE
from refdb.ledger.folders import document_folders
from refdb.problems import BadParameter, UnknownName
from refdb.records.models import Carrier, Designation, Grid, How, Reading, Source, Subject
from refdb.records.numbers import EnteredNumber, content_digest, numbers_of
from refdb.records.printed import printed_number
from refdb.transcription import entries, nodes, recomputing, text_file, thermoml
from refdb.transcription.carrier_file import carrier_file, is_installed
from refdb.transcription.compared import Compared
from refdb.transcription.libraries import module_of

PRINT = "print"
HEADER = ("reading", "place", "number")


@dataclass(frozen=True)
class EnteredDocument:
    """A document of the text with its readings."""

    source: Source
    folder: Path
    readings: Sequence[Reading]


@dataclass(frozen=True)
class SecondReading:
    """What came of a second reading.

    Attributes:
        by: who or what read.
        against: the key of the carrier, or `print`.
        equal: readings all of whose numbers were found equal.
        different: numbers that stand there otherwise.
        missing: numbers for which none was found, or none was keyed.
        compared: how many numbers of a reading were compared, by its id; of a table computed at chosen temperatures,
            its values alone.
    """

    by: str
    against: str
    how: How
    equal: list[Reading] = field(default_factory=list)
    different: list[Compared] = field(default_factory=list)
    missing: list[Compared] = field(default_factory=list)
    compared: dict[str, int] = field(default_factory=dict)

    @property
    def numbers(self) -> int:
        """How many numbers were compared of the readings that are wholly equal."""
        return sum(self.compared[reading.id] for reading in self.equal)


def document_of(ledger: Ledger, text_root: Path, key: str) -> EnteredDocument:
    """A document and what was entered from it.

    Raises:
        UnknownName: the text has no such document.
    """
    source = ledger.records.get(key)
    folder = next((folder for folder in document_folders(text_root) if folder.name == key), None)
    if not isinstance(source, Source) or folder is None:
        raise UnknownName(f"key: there is no document '{key}' in the text.", parameter="key", given=key)
    return EnteredDocument(source, folder, [reading for reading in ledger.of(Reading) if reading.source == key])


def reread(document: EnteredDocument, ledger: Ledger, place: Path | None) -> list[SecondReading]:
    """Read a document's pinned carriers again and compare every number; one result for each way of comparing.

    Args:
        ledger: whatever is in the text: names of subjects, and grids that others begin at.
        place: where the carrier is; None for packages that are installed here.

    Raises:
        BadParameter: no carrier is pinned, or none can be read.
        LibraryNeeded: the numbers are computed with a library that is not installed.
    """
    pinned = [carrier for carrier in document.source.carriers or [] if carrier.pinned]
    if place is None:
        pinned = [carrier for carrier in pinned if is_installed(carrier)]
    if not pinned:
        raise BadParameter(
            f"carrier: no carrier of {document.source.id} {'is pinned' if place else 'is a package installed here'}; "
            "give the place of a pinned one by --carrier PATH, or have a second person key the print: --by NAME.",
            parameter="carrier",
        )
    found: list[SecondReading] = []
    refused: list[BadParameter] = []
    for carrier in pinned:
        try:
            found += _reread(document, carrier, ledger, place)
        except BadParameter as problem:
            # Another carrier of the document may be what lies there.
            refused.append(problem)
    if not found and refused:
        raise refused[0]
    if not found:
        _require_libraries(document)
    return found


def _require_libraries(document: EnteredDocument) -> None:
    """Raises LibraryNeeded where readings are computed with a library that is not installed."""
    for row in document.readings:
        library = recomputing.library_of(row, document.source)
        if library is not None:
            module_of(library, library.name)


def _reread(document: EnteredDocument, carrier: Carrier, ledger: Ledger, place: Path | None) -> list[SecondReading]:
    by = f"refdb {importlib.metadata.version('refdb')}"
    readings = [row for row in document.readings if carrier.readings is None or row.id in carrier.readings]
    found: list[SecondReading] = []
    others = readings
    if is_installed(carrier):
        computed, entered = _by_library(readings, document.source, carrier, ledger)
        found = [
            _sorted_out(SecondReading(by, carrier.key, "recomputed"), computed),
            _sorted_out(SecondReading(by, carrier.key, "parsed"), entered),
        ]
        done = {row.id for row, _ in (*computed, *entered)}
        # What one package computes from the coefficients in another is not sought in the files of that other.
        others = [
            row for row in readings if row.id not in done and recomputing.library_of(row, document.source) is None
        ]
    for file in carrier.files or [] if others else []:
        content = carrier_file(carrier, file, place)
        inside = [reading for reading in others if file.readings is None or reading.id in file.readings]
        if thermoml.is_thermoml(content):
            parsed = ((row, thermoml.compare(row, content, _names(row, ledger))) for row in inside)
            found.append(_sorted_out(SecondReading(by, carrier.key, "parsed"), parsed))
        else:
            beside = (
                (row, text_file.compare(row, content, _names(row, ledger), document.source.doi)) for row in inside
            )
            found.append(_sorted_out(SecondReading(by, carrier.key, "beside its name"), beside))
    return _joined(found)


_Held = list[tuple[Reading, list[Compared]]]


def _by_library(readings: Sequence[Reading], source: Source, carrier: Carrier, ledger: Ledger) -> tuple[_Held, _Held]:
    """Readings held against an installed library: those computed again with it, and those that stand in its tables."""
    grids = {grid.id: grid for grid in ledger.of(Grid)}
    computed: _Held = []
    for row in readings:
        library = recomputing.library_of(row, source)
        if isinstance(row, Grid) and nodes.names_a_liquid(row):
            computed.append((row, nodes.compare(row, grids)))
        elif library is not None and library.name == carrier.name:
            computed.append((row, recomputing.compare(row, source, grids)))
    done = {row.id for row, _ in computed}
    entered = [(row, told) for row in readings if row.id not in done and (told := _entry(row, source)) is not None]
    return computed, entered


def _names(reading: Reading, ledger: Ledger) -> list[str]:
    """Names, CAS numbers and formulas under which a reading's subject, or what is dissolved in it, may stand."""
    subject = ledger.records.get(getattr(reading, "subject", ""))
    if not isinstance(subject, Subject):
        return []
    meant = {subject.id}
    formulas = []
    if subject.solution is not None:
        meant |= {subject.solution.solute or ""}
        formulas = [subject.solution.formula]
    return [subject.name, *formulas, *(one.text for one in ledger.of(Designation) if one.subject in meant)]


def _entry(reading: Reading, source: Source) -> list[Compared] | None:
    """A reading against the table of an installed library at which its locator points; None where it points at none."""
    try:
        return entries.compare(reading, source)
    except BadParameter:
        return None


def _joined(readings: Sequence[SecondReading]) -> list[SecondReading]:
    """One result for all files of a carrier compared in one way; what one file holds, no other misses."""
    joined: dict[tuple[str, How], SecondReading] = {}
    for one in readings:
        whole = joined.setdefault((one.against, one.how), SecondReading(one.by, one.against, one.how))
        whole.equal.extend(row for row in one.equal if row not in whole.equal)
        whole.different.extend(one.different)
        whole.missing.extend(one.missing)
        whole.compared.update(one.compared)
    for whole in joined.values():
        equal = {row.id for row in whole.equal}
        whole.different[:] = [number for number in whole.different if number.number.reading not in equal]
        whole.missing[:] = [number for number in whole.missing if number.number.reading not in equal]
    return [whole for whole in joined.values() if whole.equal or whole.different or whole.missing]


def keyed_again(document: EnteredDocument, name: str, keyed: Mapping[tuple[str, str], str]) -> SecondReading:
    """Hold what a second person keyed from the print against what was entered.

    Args:
        name: of the person.
        keyed: the numbers by reading and place.

    Raises:
        BadParameter: the name is that of whoever transcribed the document, or a number is none of the document's.
    """
    first = document.source.transcribed_by
    if " ".join(name.split()).casefold() == " ".join(first.split()).casefold() or not name.strip():
        raise BadParameter(
            f"by: '{name}' transcribed the document; a second reading needs another person.", parameter="by", given=name
        )
    known = {(row.id, number.place) for row in document.readings for number in numbers_of(row)}
    stray = [one for one in keyed if one not in known]
    if stray:
        reading, place = stray[0]
        raise BadParameter(
            f"keyed: {reading} has no number at '{place}'; `refdb source check --show` lists those it has.",
            parameter="keyed",
        )
    held = (
        (row, [_held(number, keyed.get((row.id, number.place))) for number in numbers_of(row)])
        for row in document.readings
    )
    return _sorted_out(SecondReading(name.strip(), PRINT, "read by a person"), held)


def _held(number: EnteredNumber, text: str | None) -> Compared:
    equal = text is not None and (text == number.text or _same(text, number.text))
    return Compared(number, text, equal, "read by a person")


def _same(one: str, other: str) -> bool:
    try:
        return printed_number(one) == printed_number(other)
    except ValueError:
        return False


def _sorted_out(reading: SecondReading, held: Iterable[tuple[Reading, Sequence[Compared]]]) -> SecondReading:
    for row, numbers in held:
        reading.compared[row.id] = len(numbers)
        told = [one for one in numbers if one.found is not None and one.how != "in the file"]
        if numbers and all(one in told and one.equal for one in numbers):
            reading.equal.append(row)
        reading.different.extend(one for one in told if not one.equal)
        reading.missing.extend(one for one in numbers if one not in told)
    return reading


def read_keyed(file: Path) -> dict[tuple[str, str], str]:
    """The numbers that a second person keyed into a file with the columns reading, place and number.

    Raises:
        BadParameter: the file cannot be read, or has other columns.
    """
    try:
        with file.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.DictReader(stream))
    except (OSError, ValueError, csv.Error) as error:
        raise BadParameter(f"keyed: {file} cannot be read: {error}.", parameter="keyed") from error
    if any(set(row) != set(HEADER) or None in row.values() for row in rows):
        raise BadParameter(f"keyed: {file} needs the columns {', '.join(HEADER)}, each cell filled.", parameter="keyed")
    return {(row["reading"], row["place"]): row["number"].strip() for row in rows if row["number"].strip()}


def write_down(document: EnteredDocument, readings: Iterable[SecondReading], today: str) -> list[str]:
    """Write second readings into the document's `checks.toml`, replacing those of the same reader and carrier.

    Nothing is written of readings with a number that differs or was not found.

    Returns:
        The checks written, in words.
    """
    from refdb.ledger.files import read_toml
    from refdb.ledger.findings import Findings

    file = document.folder / FILE
    blocks = read_toml(file, Findings(document.folder)).get("check", []) if file.is_file() else []
    words = []
    for reading in readings:
        if not reading.equal:
            continue
        block = {
            "by": reading.by,
            "on": today,
            "against": reading.against,
            "how": reading.how,
            "numbers": reading.numbers,
        }
        if len(reading.equal) < len(document.readings):
            block["readings"] = [row.id for row in reading.equal]
        block["content"] = content_digest(reading.equal)
        same = ("against", "how") if reading.against != PRINT else ("against", "by")
        blocks = [old for old in blocks if any(old.get(name) != block[name] for name in same)] + [block]
        words.append(f"{reading.numbers} numbers of {len(reading.equal)} reading(s) against {reading.against}")
    if words:
        text = "".join(
            "[[check]]\n" + "".join(f"{name} = {_toml(held)}\n" for name, held in block.items()) + "\n"
            for block in blocks
        )
        file.write_text(text.rstrip("\n") + "\n", encoding="utf-8")
    return words


def _toml(held: object) -> str:
    if isinstance(held, list):
        return "[\n" + "".join(f"  {json.dumps(one)},\n" for one in held) + "]"
    return json.dumps(held, ensure_ascii=False)
