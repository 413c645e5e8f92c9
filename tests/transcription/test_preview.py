"""What a document would move: which rows, by how much, why, beside which other readings."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from refdb.problems import UnknownName
from refdb.release import cut_release, draft_release
from refdb.transcription.preview import Preview, preview
from tests.invented import READINGS_HEADER, write_document

SPEED = "invented-metal.longitudinal_speed"


def _reading(row: str, value: str, flag: str = "") -> str:
    subject, property_id, _ = row.split(".")
    unit = "m/s" if property_id == "longitudinal_speed" else "g/cm3"
    return f"{row},{subject},{property_id},{value},,,{unit},20 degC,page 7,{flag}\n"


@pytest.fixture
def previewed(invented_text: Path) -> Callable[[str], Preview]:
    """The preview of a document `second-article` with some readings, beside a release of the first one."""
    cut_release(invented_text, "2026r1", "Invented.", datetime.date(2026, 1, 2))

    def of(readings: str) -> Preview:
        write_document(invented_text, "second-article", READINGS_HEADER + readings)
        return preview(draft_release(invented_text), "second-article")

    return of


def test_a_reading_moves_the_row_it_goes_into(previewed: Callable[[str], Preview]) -> None:
    found = previewed(_reading(f"{SPEED}.02", "5100", ","))
    (moved,) = found.changes["moved"]
    assert (moved["row"], moved["old"]["value"], moved["new"]["value"]) == (SPEED, 5000.0, 5050.0)  # type: ignore[index]
    assert moved["move_in_uncertainties"] is not None
    assert f"{SPEED}.02 went in newly" in moved["why"]


def test_every_reading_that_a_row_considers_is_told_the_documents_own_first(
    previewed: Callable[[str], Preview],
) -> None:
    (row,) = previewed(_reading(f"{SPEED}.02", "5100", ",")).rows
    assert [(one.reading["number"], one.own) for one in row.beside] == [("5100", True), ("5000", False)]
    assert row.value.startswith("5050 ± ")


def test_a_reading_in_doubt_moves_nothing_and_is_told_why(previewed: Callable[[str], Preview]) -> None:
    found = previewed(_reading(f"{SPEED}.02", "510", "misprint,a digit is missing"))
    assert [entry["move"] for entry in found.changes["moved"]] == [0.0]
    (row,) = found.rows
    assert row.beside[0].own
    assert "misprint" in row.beside[0].became


def test_a_row_that_is_new_is_told_with_its_value(previewed: Callable[[str], Preview]) -> None:
    found = previewed(_reading("invented-plastic.density.01", "1.2", ","))
    assert [entry["row"] for entry in found.changes["added"]] == ["invented-plastic.density"]
    (row,) = found.rows
    assert row.value.startswith("1200 ± ")


def test_what_another_document_moves_is_left_out(previewed: Callable[[str], Preview], invented_text: Path) -> None:
    write_document(invented_text, "third-article", READINGS_HEADER + _reading("invented-metal.density.03", "7.9", ","))
    found = previewed(_reading(f"{SPEED}.02", "5100", ","))
    assert [entry["row"] for entry in found.changes["moved"]] == [SPEED]


def test_what_is_no_document_is_refused(previewed: Callable[[str], Preview], invented_text: Path) -> None:
    previewed(_reading(f"{SPEED}.02", "5100", ","))
    for key in ("third-article", SPEED):
        with pytest.raises(UnknownName, match=f"key: there is no document '{key}'"):
            preview(draft_release(invented_text), key)


def test_the_command_tells_the_move_and_the_readings(
    previewed: Callable[[str], Preview], invented_text: Path, command: Callable[..., Any]
) -> None:
    previewed(_reading(f"{SPEED}.02", "5100", ","))
    printed = command("source", "preview", "second-article", "--text", str(invented_text))
    assert printed.code == 0
    assert f"moved: {SPEED}" in printed.out
    assert "5000 m/s to 5050 m/s" in printed.out
    assert "* 5100 m/s: weight" in printed.out
    assert "[first-article]" in printed.out
