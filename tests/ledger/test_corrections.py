"""What was found wrong: documents that are withdrawn and readings that are corrected, on invented documents."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from refdb.cli.audit import show_changes
from refdb.data import current
from refdb.database import Database
from refdb.evidence.documents import ChangesDocument, MovedValue
from refdb.lookup import ReleaseStore
from refdb.problems import LedgerError, NotAvailable
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import FIRST_READINGS, READINGS_HEADER, SECOND_READINGS, write_document
from tests.shapes import require_shape, untyped

DAY = datetime.date(2026, 1, 2)
SPEED, DENSITY = "invented-metal.longitudinal_speed", "invented-metal.density"
WITHDRAWN = '\n[source.withdrawn]\nreason = "Invented: its numbers were placeholders."\non = "2026-01-01"\n'

CORRECTION = """
[[correction]]
reading = "invented-metal.density.01"
field = "number"
printed = "7.5"
corrected = "7.7"
status = "erratum"
reason = "Invented erratum, page 2."
"""


@pytest.fixture
def released(invented_text: Path, tmp_path: Path) -> Callable[[Callable[[Path], None]], Database]:
    """Cuts a first release of two documents, lets a function change the text, and cuts a second one."""

    def cut(change: Callable[[Path], None]) -> Database:
        write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
        cut_release(invented_text, "2026r1", "The first.", DAY)
        change(invented_text / "sources")
        cut_release(invented_text, "2026r2", "The second.", DAY)
        build(invented_text, tmp_path / "compiled")
        return Database(Reader(ReleaseStore(current(tmp_path / "compiled").store)))

    return cut


def _withdraw(key: str) -> Callable[[Path], None]:
    def change(sources: Path) -> None:
        file = sources / "documents" / "read" / key / "source.toml"
        text = file.read_text()
        file.write_text(text.replace("\n[defaults]", f"{WITHDRAWN}\n[defaults]"))

    return change


def _correct(sources: Path) -> None:
    (sources / "documents" / "read" / "first-article" / "corrections.toml").write_text(CORRECTION)


def _moved(changes: ChangesDocument, row: str) -> MovedValue:
    return next(entry for entry in changes["moved"] if entry["row"] == row)


def test_a_value_that_rested_on_a_withdrawn_document_and_another_is_derived_again(
    released: Callable[..., Database],
) -> None:
    database = released(_withdraw("second-article"))
    # The mean of 5000 and 5100 m/s before, 5000 m/s alone after.
    assert database.value("toy metal", "longitudinal_speed", release="2026r1").magnitude == 5050.0
    assert database.value("toy metal", "longitudinal_speed").magnitude == 5000.0
    changes = database.changes("2026r2")
    assert changes["withdrawn_sources"] == [
        {"key": "second-article", "reason": "Invented: its numbers were placeholders.", "on": "2026-01-01"}
    ]
    assert changes["withdrawn"] == []
    (why,) = [why for why in _moved(changes, SPEED)["why"] if why.startswith(f"{SPEED}.02")]
    assert "no longer goes in: " in why
    assert "the document was withdrawn: Invented: its numbers were placeholders." in why
    assert require_shape(ChangesDocument, changes)


def test_a_withdrawn_document_keeps_its_readings_which_say_so(released: Callable[..., Database]) -> None:
    database = released(_withdraw("second-article"))
    readings = {one["row"]["id"]: one for one in database.readings("toy metal", "longitudinal_speed")}
    assert [flag["code"] for flag in untyped(readings[f"{SPEED}.02"])["flags"]] == ["withdrawn"]
    left_out = database.provenance(SPEED)["chain"]["left_out"]
    assert [entry["row"]["id"] for entry in left_out] == [f"{SPEED}.02"]
    assert left_out[0]["source"]["withdrawn"]["on"] == "2026-01-01"
    assert untyped(database.source("second-article"))["withdrawn"]["reason"].startswith("Invented")


def test_values_that_rested_on_a_withdrawn_document_alone_go_and_the_change_list_says_why(
    released: Callable[..., Database], capsys: pytest.CaptureFixture[str]
) -> None:
    def change(sources: Path) -> None:
        _withdraw("first-article")(sources)
        rules = sources / "rules" / "invented.toml"
        rules.write_text(rules.read_text().partition("[[reference]]")[0])

    database = released(change)
    changes = database.changes("2026r2")
    gone = {entry["row"]: entry["why"] for entry in changes["withdrawn"]}
    assert set(gone) == {DENSITY, "invented-liquid.sound_speed"}
    for row, why in gone.items():
        assert why == [f"{row}.01 is withdrawn: the document was withdrawn: Invented: its numbers were placeholders."]
    assert database.value("toy metal", "longitudinal_speed").magnitude == 5100.0
    with pytest.raises(NotAvailable):
        database.value("toy metal", "density")
    # The first release answers as it always did.
    assert database.value("toy metal", "density", release="2026r1").magnitude == 7500.0
    show_changes(changes)
    printed = " ".join(capsys.readouterr().out.split())
    assert "Document withdrawn on 2026-01-01: first-article: Invented: its numbers were placeholders." in printed


def test_a_rule_that_follows_a_withdrawn_document_stops_the_release_and_says_so(
    released: Callable[..., Database],
) -> None:
    with pytest.raises(LedgerError, match=r"the document was withdrawn: .* let the rule follow another reading"):
        released(_withdraw("first-article"))


def test_a_corrected_reading_gives_the_right_value_and_keeps_what_is_printed(
    released: Callable[..., Database],
) -> None:
    database = released(_correct)
    assert database.value("toy metal", "density", release="2026r1").magnitude == 7500.0
    assert database.value("toy metal", "density").magnitude == 7700.0
    (reading,) = map(untyped, database.readings("toy metal", "density"))
    assert (reading["number"], reading["corrections"][0]["corrected"]) == ("7.5", "7.7")
    (entry,) = database.provenance(DENSITY)["chain"]["inputs"]
    assert entry["printed"]["number"] == "7.5"
    assert entry["corrections"][0] == {
        "field": "number",
        "printed": "7.5",
        "corrected": "7.7",
        "status": "erratum",
        "reason": "Invented erratum, page 2.",
    }
    assert entry["converted"]["magnitude"] == 7700.0
    changes = database.changes("2026r2")
    assert _moved(changes, DENSITY)["move"] == 200.0
    assert f"{DENSITY}.01 was itself corrected" in _moved(changes, DENSITY)["why"]
    (corrected,) = [entry for entry in changes["corrected"] if entry["row"] == f"{DENSITY}.01"]
    assert {field["field"] for field in corrected["fields"]} == {"number", "corrections"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (CORRECTION.replace('"7.5"', '"7.4"'), "says '7.5' under 'number', not '7.4'; the correction is not needed"),
        (CORRECTION.replace("density.01", "density.09"), "'invented-metal.density.09' is no reading of this document"),
        (CORRECTION.replace('field = "number"', 'field = "numbers"'), "says None under 'numbers'"),
        (CORRECTION.replace("erratum", "guess", 1), "not 'guess'"),
        (CORRECTION.replace('reason = "Invented erratum, page 2."', ""), "reason: is missing"),
        (CORRECTION.replace('reading = "invented-metal.density.01"', ""), "reading: is missing"),
        (CORRECTION.replace('"7.7"', '"heavy"'), "'heavy' is not a number"),
        (CORRECTION + CORRECTION, "says '7.7' under 'number', not '7.5'"),
    ],
)
def test_a_correction_that_does_not_fit_is_a_finding(released: Callable[..., Database], text: str, words: str) -> None:
    def change(sources: Path) -> None:
        (sources / "documents" / "read" / "first-article" / "corrections.toml").write_text(text)

    with pytest.raises(LedgerError) as told:
        released(change)
    assert any(words in finding for finding in told.value.findings), told.value.findings


def test_a_correction_is_not_needed_once_the_print_is_right(released: Callable[..., Database]) -> None:
    def change(sources: Path) -> None:
        _correct(sources)
        readings = sources / "documents" / "read" / "first-article" / "readings.csv"
        readings.write_text(READINGS_HEADER + FIRST_READINGS.replace("7.5", "7.7"))

    with pytest.raises(LedgerError, match="the correction is not needed any more"):
        released(change)
