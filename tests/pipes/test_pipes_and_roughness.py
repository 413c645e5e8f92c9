"""Pipes in the trade's words, and the roughness of surfaces."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.problems import AmbiguousName, BadParameter, Problem, UnknownName
from refdb.values.options import Options


def test_nps_8_schedule_40_in_millimetres_and_in_printed_inches(database: Database) -> None:
    pipe = database.pipe("b36.10", "NPS 8", "40")
    assert (pipe.outside_diameter.magnitude, pipe.wall.magnitude) == (219.1, 8.18)
    assert pipe.bore.magnitude == pytest.approx(202.74)
    inches = database.pipe("b36.10", "NPS 8", "40", Options(system="us"))
    assert (inches.outside_diameter.magnitude, inches.wall.magnitude) == (8.625, 0.322)
    assert inches.assumptions == ()


@pytest.mark.parametrize(
    ("size", "designation"),
    [
        ("NPS 8", "40"),
        ("nps8", "Sch 40"),
        ('8"', "sch40"),
        ("8 in", "STD"),
        ("DN200", "std"),
        ("DN 200", "Schedule 40"),
        ("8", "40"),
    ],
)
def test_the_trades_words_all_lead_to_the_same_pipe(database: Database, size: str, designation: str) -> None:
    assert database.pipe("ASME B36.10M", size, designation).id == "b36.10-nps-8-sch-40"


@pytest.mark.parametrize("size", ["2 1/2", "2-1/2", "2½", "NPS 2 1/2", "DN65"])
def test_fractions_are_read_as_they_are_written(database: Database, size: str) -> None:
    assert database.pipe("b36.10", size, "40").record.body["size"] == {"NPS": "2 1/2", "DN": "65"}


def test_a_bare_number_that_fits_two_kinds_of_size_says_how_it_was_read(database: Database) -> None:
    assert database.pipe("b36.10", "8", "40").assumptions == ("size '8' read as NPS 8, not DN 8",)


def test_a_unit_that_no_source_prints_is_converted_and_says_so(database: Database) -> None:
    pipe = database.pipe_row("b36.10-nps-80-wall-25-4mm", Options(system="us"))
    assert pipe.wall.magnitude == pytest.approx(1.0)
    assert any("converted from mm" in text for text in pipe.assumptions)


@pytest.mark.parametrize(
    ("system", "size", "designation", "problem", "words"),
    [
        ("b36.11", "NPS 8", "40", UnknownName, "there are b36.10"),
        ("b36.10", "NPS 8.5", "40", BadParameter, "NPS 8, 2 1/2 or DN200"),
        ("b36.10", "NPS 7", "40", UnknownName, "near sizes"),
        ("b36.10", "NPS 8", "45", UnknownName, "Sch 40"),
        ("b36.10", "NPS 8", None, AmbiguousName, "walls"),
        ("b36.10", "large", None, BadParameter, "not a size word"),
    ],
)
def test_a_pipe_that_does_not_exist_is_refused_with_what_does(
    database: Database, system: str, size: str, designation: str | None, problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem) as caught:
        database.pipe(system, size, designation)
    assert words in caught.value.detail


def test_every_pipe_defers_pressure_design_to_others(database: Database) -> None:
    warnings = database.pipe("b36.10", "NPS 8", "40").document()["warnings"]
    assert any("not for pressure design" in text for text in warnings)


def test_walls_of_a_size_come_thin_first(database: Database) -> None:
    walls = [pipe.wall.magnitude for pipe in database.pipes("b36.10", "NPS 8")]
    assert walls == sorted(walls)
    assert len(walls) > 10


def test_the_roughness_of_a_material_is_that_of_its_surfaces(database: Database) -> None:
    rows = {row.record.body["surface"]: row for row in database.roughness("carbon-steel")}
    assert rows["steel-new"].value.unit.symbol == "mm"
    printed = rows["steel-new"].printed_range
    assert printed is not None
    low, high = printed
    assert low.magnitude <= rows["steel-new"].value.magnitude <= high.magnitude
    assert rows["steel-rusty"].value.magnitude > rows["steel-new"].value.magnitude


def test_a_single_printed_number_claims_no_range(database: Database) -> None:
    assert database.roughness("pvc-cemented-joints")[0].printed_range is None


def test_roughness_is_answered_in_inches_on_request(database: Database) -> None:
    row = next(r for r in database.roughness("steel-new", Options(system="us")))
    assert row.value.unit.symbol == "in"


@pytest.mark.parametrize("material", ["banana", "nickel-silver", "unobtainium"])
def test_a_material_without_published_roughness_is_refused_and_never_matched_to_the_nearest_word(
    database: Database, material: str
) -> None:
    with pytest.raises(UnknownName, match="no roughness is published here"):
        database.roughness(material)


def test_a_material_is_answered_with_all_its_surfaces_and_a_grade_with_those_of_the_grade(pending: Database) -> None:
    surfaces = {row.record.body["surface"] for row in pending.roughness("316L")}
    assert surfaces == {"stainless-bead-blasted", "stainless-electropolished", "stainless-new", "stainless-turned"}


def test_roughness_names_every_document_it_rests_on(pending: Database) -> None:
    (steel,) = pending.roughness("steel-new")
    assert len({source["key"] for source in steel.sources}) > 8
