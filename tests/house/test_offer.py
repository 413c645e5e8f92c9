"""The form for offering a value: two people key the same print, one command validates it."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from refdb.database import Database
from refdb.house.offer import FORM, check_offer, write_offer
from refdb.house.text import toml_lines
from refdb.ledger import load_ledger
from refdb.problems import BadParameter, LedgerError
from refdb.records.models import Scalar, Source
from refdb.vocabulary import vocabulary
from tests.conftest import PROJECT, CommandLine

READING = {
    "subject": "zirconium",
    "property": "longitudinal_speed",
    "value": "4 650",
    "unit": "m/s",
    "temperature": "20 degC",
    "locator": "p. 41, table 7, row Zirconium",
    "name_printed": "Zirconium",
    "basis": "measured",
    "seen": "original",
}
SOURCE = {
    "type": "handbook",
    "title": "Properties of Invented Tubes",
    "authors": ["Doe, J."],
    "year": "1987",
    "seen_at": "the book",
    "seen_on": "2026-11-25",
    "rights": "facts-only",
}


def _write(file: Path, **changes: Any) -> Path:
    form = {
        "key": "doe-tubes-1987",
        "source": SOURCE,
        "people": ("Ann", "Bob"),
        "readings": ([READING], [READING]),
    } | changes
    text = toml_lines({"key": form["key"]}) + "[source]\n" + toml_lines(form["source"])
    for person, readings in zip(form["people"], form["readings"], strict=True):
        text += "[[keyed]]\n" + toml_lines({"by": person})
        text += "".join("[[keyed.reading]]\n" + toml_lines(reading) for reading in readings)
    file.write_text(text, encoding="utf-8")
    return file


def test_a_form_in_order_becomes_a_document_that_the_ledger_reads(database: Database, tmp_path: Path) -> None:
    offer = check_offer(_write(tmp_path / "offer.toml"), database)
    root = tmp_path / "text"
    for folder in ("vocabulary", "subjects"):
        shutil.copytree(PROJECT / "shared" / folder, root / "shared" / folder)
    (root / "shared" / "subjects" / "designations.csv").unlink()
    write_offer(offer, root / "sources" / "documents" / "read")
    ledger = load_ledger(root, vocabulary())
    (reading,) = [record for record in ledger.records.values() if isinstance(record, Scalar)]
    (source,) = [record for record in ledger.records.values() if isinstance(record, Source)]
    assert (reading.number, reading.unit, reading.locator) == ("4 650", "m/s", READING["locator"])
    assert (source.id, source.transcribed_by, source.checked_by) == ("doe-tubes-1987", "Ann", "Bob")
    taken = {one["row"]["id"] for one in database.readings("zirconium", "longitudinal_speed")}
    assert reading.id not in taken
    with pytest.raises(BadParameter, match="is there already"):
        write_offer(offer, root / "sources" / "documents" / "read")


def test_a_blank_form_is_toml_and_tells_everything_that_is_missing(
    database: Database, command: CommandLine, tmp_path: Path
) -> None:
    printed = command("offer", "form").out
    assert printed == FORM
    assert tomllib.loads(printed)["key"] == ""
    blank = tmp_path / "blank.toml"
    blank.write_text(printed)
    refused = command("offer", "check", str(blank))
    assert refused.code == 2
    for place in ("key: ", "source.title: ", "source.type: ", "keyed.by: ", "reading 1: subject: is missing"):
        assert f"blank.toml: {place}" in refused.err, refused.err


def test_a_filled_form_is_accepted_at_the_command_line(command: CommandLine, tmp_path: Path) -> None:
    printed = command("offer", "check", str(_write(tmp_path / "offer.toml")), "--to", str(tmp_path / "to"))
    assert printed.code == 0, printed.err
    assert "doe-tubes-1987: in order; 1 reading(s): zirconium.longitudinal_speed." in printed.out
    assert (tmp_path / "to" / "doe-tubes-1987" / "readings.csv").is_file()


def _both(**changes: Any) -> dict[str, Any]:
    reading = {name: text for name, text in (READING | changes).items() if text is not None}
    return {"readings": ([reading], [reading])}


FAULTS: list[tuple[dict[str, Any], str]] = [
    ({"readings": ([READING], [READING | {"value": "4 560"}])}, "value: the first person keyed '4 650', the second"),
    ({"readings": ([READING], [READING | {"unit": "km/s"}])}, "unit: the first person keyed 'm/s'"),
    ({"readings": ([READING], [READING, READING])}, "keyed.reading: the first person keyed 1, the second 2"),
    ({"readings": ([], [])}, "keyed.reading: is missing"),
    ({"people": ("Ann", "ann ")}, "keyed.by: name two different people"),
    ({"people": ("Ann",), "readings": ([READING],)}, "keyed: two people must key it"),
    ({"key": "Doe 1987"}, "key: write a short name"),
    ({"key": "astm-e494"}, "key: 'astm-e494' is taken"),
    ({"source": SOURCE | {"type": "memory"}}, "source.type: memory is no source"),
    ({"source": SOURCE | {"year": "'87"}}, "source.year: "),
    ({"source": {k: v for k, v in SOURCE.items() if k != "rights"}}, "source.rights: "),
    ({"source": SOURCE | {"rights": "withheld"}}, "source.rights: what is withheld may not be passed on"),
    (_both(value="about 4650"), "'about 4650' is not a number"),
    (_both(unit="kg"), "unit: 'kg' measures mass"),
    (_both(locator=None), "locator: is missing"),
    (_both(subject="unobtainium-9"), "subject: no subject is called"),
    (_both(property="taste"), "property: there is no property"),
    (_both(seen="memory"), "seen: what is remembered cannot be offered"),
    (_both(basis="guessed"), "basis: "),
    (_both(condition="odd"), "condition: 'odd' is none of"),
    (_both(colour="blue"), "colour: is no part of a reading"),
    (_both(value=4650), "every part must be a text"),
]


@pytest.mark.parametrize(("changes", "words"), FAULTS, ids=[words for _, words in FAULTS])
def test_what_is_wrong_is_told_with_its_place(
    database: Database, tmp_path: Path, changes: dict[str, Any], words: str
) -> None:
    with pytest.raises(LedgerError) as told:
        check_offer(_write(tmp_path / "offer.toml", **changes), database)
    assert any(words in finding for finding in told.value.findings), told.value.findings


def test_people_may_word_a_note_differently(database: Database, tmp_path: Path) -> None:
    readings = ([READING | {"note": "one"}], [READING | {"note": "other"}])
    assert check_offer(_write(tmp_path / "offer.toml", readings=readings), database).readings[0]["note"] == "one"


def test_a_file_that_is_no_form_is_refused(database: Database, tmp_path: Path) -> None:
    (tmp_path / "no.toml").write_text("= no")
    with pytest.raises(BadParameter, match="is no TOML"):
        check_offer(tmp_path / "no.toml", database)
