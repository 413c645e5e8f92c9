"""Second readings: entered numbers held against the print or a pinned carrier, and the note that it was done."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from refdb.documents import How
from refdb.ledger import Ledger
from refdb.ledger.checks import FILE
from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings
from refdb.ledger.folders import folder_of
from refdb.problems import BadParameter
from refdb.records.models import Reading, Source
from refdb.records.numbers import EnteredNumber, content_digest, numbers_of
from refdb.records.printed import printed_number
from refdb.transcription.compared import Compared

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
    folder = folder_of(text_root, key)
    source = ledger.records[key]
    assert isinstance(source, Source)  # noqa: S101 - the folder of a document is its key
    return EnteredDocument(source, folder, [reading for reading in ledger.of(Reading) if reading.source == key])


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
    return sorted_out(SecondReading(name.strip(), PRINT, "read by a person"), held)


def _held(number: EnteredNumber, text: str | None) -> Compared:
    equal = text is not None and (text == number.text or _same(text, number.text))
    return Compared(number, text, equal, "read by a person")


def _same(one: str, other: str) -> bool:
    try:
        return printed_number(one) == printed_number(other)
    except ValueError:
        return False


def sorted_out(reading: SecondReading, held: Iterable[tuple[Reading, Sequence[Compared]]]) -> SecondReading:
    """A second reading with what came of holding readings against the carrier or the print added to it."""
    for row, numbers in held:
        reading.compared[row.id] = len(numbers)
        missing = [one for one in numbers if one.found is None or one.how == "in the file"]
        different = [one for one in numbers if not one.equal and one.found is not None and one.how != "in the file"]
        if numbers and not missing and not different:
            reading.equal.append(row)
        reading.different.extend(different)
        reading.missing.extend(missing)
    return reading


def read_keyed(file: Path) -> dict[tuple[str, str], str]:
    """The numbers that a second person keyed into a file with the columns reading, place and number.

    Raises:
        BadParameter: the file cannot be read, or has other columns.
    """
    try:
        with file.open(encoding="utf-8", newline="") as stream:
            reader = csv.DictReader(stream)
            rows, header = list(reader), set(reader.fieldnames or ())
    except (OSError, ValueError, csv.Error) as error:
        raise BadParameter(f"keyed: {file} cannot be read: {error}.", parameter="keyed") from error
    if header != set(HEADER) or any(set(row) != header or None in row.values() for row in rows):
        raise BadParameter(f"keyed: {file} needs the columns {', '.join(HEADER)}, each cell filled.", parameter="keyed")
    return {(row["reading"], row["place"]): row["number"].strip() for row in rows if row["number"].strip()}


def write_down(document: EnteredDocument, readings: Iterable[SecondReading], today: str) -> list[str]:
    """Write second readings into the document's `checks.toml`, replacing those of the same reader and carrier.

    Nothing is written of readings with a number that differs or was not found.

    Returns:
        The checks written, in words.
    """
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
