"""Numbers found again in files: beside a name, below a key, and not by chance."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.records.models import Scalar
from refdb.transcription import json_file, text_file

TEXT = b"""# walls of invented tubes
name        speed   nu     density
tin alloy   3320    0.33   7280
lead alloy  2160    0.44   11340

long description of zinc alloy
  longitudinal 4170
  shear 2410, nu 0.25

other things 4712 0.31
"""

JSON = b"""{
 "tin": {"speed": 3320, "nu": 0.33},
 "rows": [{"name": "lead", "rho": 1.134e4, "E": "16 GPa"}, {"name": "zinc", "rho": 7140}],
 "alloys": {"tin": {"cast": {"rho": 7280}, "wrought": {"rho": 7310}}}
}"""


def reading(number: str, name: str, **more: Any) -> Scalar:
    fields = {
        "id": "invented.density.01", "source": "invented-1999", "locator": "table 1", "basis": "evaluated",
        "seen": "library", "subject": "invented", "property": "density", "unit": "kg/m3", "number": number,
        "name_printed": name, "state": {"temperature": "not stated"},
    }  # fmt: skip
    return Scalar.model_validate(fields | more)


@pytest.mark.parametrize(
    ("number", "name", "found"),
    [
        ("3320", "Tin alloy", "3320"),
        ("3 320", "tin-alloy", "3320"),
        ("7.28", "tin alloy", "7280"),  # another prefix
        ("0.33", "tin alloy", "0.33"),
        ("4170", "zinc alloy", None),  # three digits that count, on another line than the name
        ("4712", "zinc alloy", None),  # beyond the blank line
        ("2160", "zinc alloy", None),  # beside another name
        ("0.25", "zinc alloy", None),
        ("0.31", "tin alloy", None),
        ("3320", "copper alloy", None),
    ],
)
def test_a_number_counts_beside_the_name_of_the_thing(number: str, name: str, found: str | None) -> None:
    (told,) = text_file.compare(reading(number, name), TEXT)
    assert (told.found, told.equal, told.how) == (found, found is not None, "beside its name")


def test_a_number_with_many_digits_counts_in_the_lines_that_follow() -> None:
    text = b"zinc alloy\n  speed 4171.5\n\nother 4172.5\n"
    assert text_file.compare(reading("4171.5", "zinc alloy"), text)[0].equal
    assert not text_file.compare(reading("4172.5", "zinc alloy"), text)[0].equal


def test_where_lines_name_the_document_only_they_count() -> None:
    text = b"tin alloy,10.9999/one,7280.4\ntin alloy,10.9999/two,7281.6\n"
    assert text_file.compare(reading("7281.6", "tin alloy"), text, doi="10.9999/two")[0].equal
    assert not text_file.compare(reading("7280.4", "tin alloy"), text, doi="10.9999/two")[0].equal


def test_a_float_that_a_program_wrote_out_is_rounded_again() -> None:
    assert text_file.compare(reading("0.95333", "tin"), b"tin 0.9533300000000002\n")[0].equal
    assert not text_file.compare(reading("0.95333", "tin"), b"tin 0.9533310000000002\n")[0].equal


@pytest.mark.parametrize(
    ("number", "name", "locator", "found"),
    [
        ("3320", "tin", "tin", "3320"),
        ("11340", "lead", "rows", "1.134e4"),
        ("16", "lead", "rows", "16 GPa"),
        ("7140", "lead", "rows", None),
        ("7280", "tin", "alloys, tin/cast", "7280"),
        ("7310", "tin", "alloys, tin/cast", None),
    ],
)
def test_a_number_counts_below_the_keys_of_the_thing(number: str, name: str, locator: str, found: str | None) -> None:
    told = json_file.compare(reading(number, name, locator=locator), JSON)
    assert told is not None
    assert (told[0].found is not None and told[0].found in str(found), told[0].how) == (found is not None, "parsed")


@pytest.mark.parametrize("content", [b"", b"tin 3320", b"[" * 100_000, JSON])
def test_what_is_no_json_or_names_the_thing_nowhere_is_left_to_others(content: bytes) -> None:
    assert json_file.compare(reading("3320", "unobtainium"), content) is None
