"""Numbers read again in the tables of an installed library: found in the row that a locator points at, or not."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

import pytest

from refdb.problems import BadParameter, LibraryNeeded
from refdb.records.models import PipeReading, RoughnessReading, Source
from refdb.transcription.entries import compare

FLUIDS = version("fluids")


def document(seen_at: str = f"Python package fluids {FLUIDS}") -> Source:
    return Source.model_validate(
        {
            "id": "invented-source",
            "type": "library",
            "title": "Invented",
            "seen_at": seen_at,
            "seen_on": "2026-11-25",
            "transcribed_by": "nobody",
            "rights": "facts-only",
        }
    )


def roughness(locator: str, **numbers: str) -> RoughnessReading:
    fields: dict[str, Any] = {
        "id": "roughness.invented.01",
        "source": "invented-source",
        "surface": "invented",
        "unit": "m",
        "locator": locator,
        "basis": "evaluated",
        "seen": "library",
    }
    return RoughnessReading.model_validate(fields | numbers)


def pipe(outside_diameter: str, wall: str, locator: str = 'fluids.piping schedule_lookup["40"]') -> PipeReading:
    return PipeReading.model_validate(
        {
            "id": "invented-nps-4-sch-40.01",
            "source": "invented-source",
            "pipe": "invented-nps-4-sch-40",
            "system": "invented",
            "size": {"NPS": "4"},
            "outside_diameter": outside_diameter,
            "wall": wall,
            "unit": "mm",
            "locator": locator,
            "basis": "standard",
            "seen": "library",
        }
    )


# fluids 1.3.1, table _roughness of fluids.friction: Glass, 0.00000152 m.
def test_a_number_is_found_in_the_entry_that_the_locator_names() -> None:
    (found,) = compare(roughness('_roughness["Glass"]', number="0.00000152"), document())
    assert (found.found, found.equal, found.how) == ("1.52e-06", True, "parsed")


def test_a_number_that_the_entry_does_not_hold_is_not_found() -> None:
    (found,) = compare(roughness('_roughness["Glass"]', number="0.00000153"), document())
    assert (found.found, found.equal) == (None, False)


# ASME B36.10M in fluids.piping: NPS 4, schedule 40, has 114.3 mm and 6.02 mm; 7.11 mm is the wall of NPS 6.
@pytest.mark.parametrize(("wall", "equal"), [("6.02", True), ("7.11", False)])
def test_the_numbers_of_one_pipe_must_stand_in_one_row(wall: str, equal: bool) -> None:
    assert [number.equal for number in compare(pipe("114.3", wall), document())] == [True, equal]


# BS 1387 in fluids.piping, lists LIGHTo_BS1387 and LIGHTt_BS1387: 17.1 mm and 1.8 mm at DN 10; 2.3 mm is of DN 20.
@pytest.mark.parametrize(("wall", "equal"), [("1.8", True), ("2.3", False)])
def test_a_list_of_walls_is_read_beside_the_list_of_diameters(wall: str, equal: bool) -> None:
    told = compare(pipe("17.1", wall, "fluids.piping LIGHTt_BS1387"), document())
    assert [number.equal for number in told] == [True, equal]


# Melting points of the CRC Handbook in chemicals: water 273.15 K.
@pytest.mark.parametrize(("number", "equal"), [("273.15", True), ("273.16", False)])
def test_a_number_is_found_by_the_call_that_the_locator_names(number: str, equal: bool) -> None:
    source = document(f"The Python package chemicals {version('chemicals')}, function Tm")
    (found,) = compare(roughness("Tm('7732-18-5', method='CRC_INORG')", number=number), source)
    assert found.equal is equal


def test_a_call_that_the_library_refuses_points_at_nothing() -> None:
    source = document(f"The Python package chemicals {version('chemicals')}, function Tm")
    with pytest.raises(BadParameter, match="points at no table"):
        compare(roughness("Tm('7732-18-5', method='NO_SUCH_METHOD')", number="1"), source)


@pytest.mark.parametrize("locator", ["p. 7", '_roughness["Velvet"]', 'no_such_table["Glass"]', "NOSUCHt_BS1387"])
def test_a_locator_that_points_at_nothing_in_the_library_is_refused(locator: str) -> None:
    with pytest.raises(BadParameter, match=r"roughness\.invented\.01 points at no table"):
        compare(roughness(locator, number="1"), document())


def test_a_document_that_names_no_library_is_refused() -> None:
    with pytest.raises(BadParameter, match="name the table and its key"):
        compare(roughness('_roughness["Glass"]', number="1"), document("the book"))


def test_another_version_than_the_one_installed_is_asked_for_by_name() -> None:
    with pytest.raises(LibraryNeeded, match=r"fluids 0\.0\.1 is needed .*pip install fluids==0\.0\.1"):
        compare(roughness('_roughness["Glass"]', number="1"), document("Python package fluids 0.0.1"))
