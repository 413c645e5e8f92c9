"""Finding a pipe from what can be measured: famous look-alikes, corrected readings, plain refusals."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest

from refdb.database import Database
from refdb.pipes.documents import PipeMatchDocument
from refdb.pipes.match import PipeMatch
from refdb.pipes.outcomes import PipeMatchItem
from refdb.problems import (
    BadParameter,
    BadQuantity,
    MissingState,
    OutsideRange,
    Problem,
    UnknownName,
    WrongDimension,
)
from refdb.units import parse_quantity
from refdb.values.options import Options
from tests.rows import each
from tests.service import TestClient, create_app
from tests.shapes import require_shape, untyped


@pytest.fixture(scope="module")
def service(pending: Database) -> Iterator[TestClient]:
    with TestClient(create_app(pending)) as client:
        yield client


def around(diameter: float, tape: float = 0.1) -> str:
    """The circumference that a tape reads."""
    return f"{math.pi * (diameter + tape):.2f} mm"


def size_of(match: PipeMatch, diameter: float) -> float:
    """The probability of the sizes printed within a tenth of a millimetre of a diameter."""
    return sum(size.probability for size in match.sizes if abs(size.diameter - diameter) < 0.1)


def outcome(match: PipeMatch, kind: str) -> float:
    return sum(item.probability for item in match.items if item.outcome == kind)


def systems_of(match: PipeMatch, item: PipeMatchItem) -> set[str]:
    return {match.known.systems[name.row] for name in item.names}


# Famous look-alikes


def test_steel_of_273_mm_and_ductile_iron_of_274_mm_are_both_told(pending: Database) -> None:
    unknown = pending.match_pipe(circumference=around(273.6))
    assert size_of(unknown, 273.0) > 0.05
    assert size_of(unknown, 274.0) > 0.05
    assert any("274 mm" in line and "the material tells" in line for line in unknown.advice)
    steel = pending.match_pipe(circumference=around(273.6), material="carbon steel")
    iron = pending.match_pipe(circumference=around(273.6), material="ductile iron")
    assert steel.sizes[0].diameter == pytest.approx(273.0, abs=0.1)
    assert iron.sizes[0].diameter == pytest.approx(274.0)


def test_219_mm_of_steel_and_222_mm_of_iron_overlap_between(pending: Database) -> None:
    between = pending.match_pipe(circumference=around(220.6))
    assert size_of(between, 219.1) > 0.05
    assert size_of(between, 222.0) > 0.05
    assert size_of(pending.match_pipe(circumference=around(222.4)), 222.0) > 0.9
    assert size_of(pending.match_pipe(circumference=around(219.1)), 219.1) > 0.9


@pytest.mark.parametrize(("diameter", "least"), [(165.2, 165.0), (168.3, 168.2)])
def test_165_mm_and_168_mm_are_kept_apart(pending: Database, diameter: float, least: float) -> None:
    sizes = pending.match_pipe(circumference=around(diameter)).sizes
    near = sum(size.probability for size in sizes if least <= size.diameter <= least + 1.2)
    assert near > 0.9


def test_166_mm_is_the_greatest_diameter_of_a_165_mm_tube(pending: Database) -> None:
    match = pending.match_pipe(circumference=around(165.6), wall="5.4 mm", material="steel")
    assert {"bs1387", "en10255"} & systems_of(match, match.best)


def test_355_mm_of_plastic_and_355_6_mm_are_told_by_the_material_and_not_by_the_tape(pending: Database) -> None:
    match = pending.match_pipe(circumference=around(355.4))
    assert size_of(match, 355.0) > 0.05
    assert size_of(match, 355.6) > 0.05
    assert pending.match_pipe(circumference=around(355.4), material="hdpe", wall="32.8 mm").best.probability > 0.3
    steel = pending.match_pipe(circumference=around(355.4), material="steel")
    assert steel.sizes[0].diameter == pytest.approx(355.6)


def test_pvc_of_cast_iron_size_is_told_from_ductile_iron_by_the_material(pending: Database) -> None:
    # AWWA C900 and C151 both print 9.05 in for 8 in.
    asked: dict[str, Any] = {"circumference": around(9.05 * 25.4)}
    unknown = pending.match_pipe(**asked)
    assert {"c900", "c151"} <= systems_of(unknown, unknown.best)
    for material, system in (("pvc-rigid", "c900"), ("ductile iron", "c151")):
        told = pending.match_pipe(**asked, material=material)
        assert told.known.systems[told.best.names[0].row] == system


def test_a_circumference_alone_gives_sizes_and_no_wall(pending: Database) -> None:
    match = pending.match_pipe(circumference="688.6 mm")
    assert {item.outcome for item in match.items} == {"size", "none"}
    told = untyped(match.document()["items"][0])
    assert told["pipe"]["outside_diameter"]["magnitude"] == pytest.approx(219.1, abs=0.1)
    assert (told["pipe"]["wall"], told["pipe"]["bore"], told["bore"]["measured"]) == (None, None, None)
    assert any("measure the wall" in line for line in match.advice)


# What is one outcome, and what is another


def test_pipes_of_equal_dimensions_are_one_outcome_with_many_names(pending: Database) -> None:
    match = pending.match_pipe(circumference="688.6 mm", wall="8.2 mm", system="b36.10")
    assert [name["designations"] for name in match.document()["items"][0]["names"]] == [["STD", "40"]]
    match = pending.match_pipe(circumference="688.6 mm", wall="8.2 mm")
    ids = {match.known.records[name.row].id for item in match.items if item.outcome == "pipe" for name in item.names}
    together = next(item for item in match.items if item.outcome == "pipe" and "b36.10" in systems_of(match, item))
    assert {"b36.10-nps-8-sch-40", "b36.19-nps-8-sch-40s"} <= ids
    assert {"b36.10", "b36.19"} <= systems_of(match, together)
    assert sum(name.probability for name in together.names) == pytest.approx(together.probability)


def test_probabilities_fall_and_add_up_to_one(pending: Database) -> None:
    questions: list[dict[str, Any]] = [{}, {"wall": "8.2 mm"}, {"wall": "8.2 mm", "material": "steel"}]
    for asked in questions:
        match = pending.match_pipe(circumference="688.6 mm", **asked)
        chances = [item.probability for item in match.items]
        assert chances == sorted(chances, reverse=True)
        assert sum(chances) + match.unlisted == pytest.approx(1.0)
        assert [item.outcome for item in match.items].count("none") == 1


def test_none_of_these_is_told_beside_as_many_outcomes_as_are_wanted(pending: Database) -> None:
    match = pending.match_pipe(circumference="688.6 mm", wall="8.2 mm", limit=1)
    assert [item.outcome for item in match.items] == ["pipe", "none"]
    assert match.unlisted > 0.0


def test_a_corroded_pipe_keeps_its_size_and_has_its_bore_as_measured(pending: Database) -> None:
    match = pending.match_pipe(circumference=around(323.9), wall="1.6 mm", material="steel")
    assert match.best.outcome == "worn"
    assert size_of(match, 323.8) + size_of(match, 323.9) > 0.9
    told = untyped(match.document()["items"][0])
    assert told["pipe"]["wall"] is None
    assert told["bore"]["nominal"] is None
    assert told["bore"]["measured"]["value"]["magnitude"] == pytest.approx(323.9 - 3.2, abs=0.3)
    assert any("corroded" in line for line in match.advice)


def test_a_diameter_between_all_sizes_is_none_of_them(pending: Database) -> None:
    match = pending.match_pipe(outside_diameter="240 mm", outside_diameter_uncertainty="0.1 mm", material="steel")
    assert match.best.outcome == "none"
    assert any("none of the pipes" in line for line in match.advice)


def test_a_known_system_leaves_no_other(pending: Database) -> None:
    match = pending.match_pipe(circumference=around(273.6), system="en545")
    assert {match.known.systems[name.row] for item in match.items for name in item.names} == {"en545"}


def test_recalled_pipes_are_matched_on_request_only(pending: Database) -> None:
    asked: dict[str, Any] = {"outside_diameter": "25.0 mm", "outside_diameter_uncertainty": "0.05 mm"}
    seen, recalled = pending.match_pipe(**asked), pending.match_pipe(**asked, options=Options(estimates=True))
    memory = {r.id for r in recalled.known.records} - {r.id for r in seen.known.records}
    assert memory
    assert all(recalled.known.records[n].body["rung"] == "memory" for n in _rows(recalled, memory))


def _rows(match: PipeMatch, ids: set[str]) -> list[int]:
    return [number for number, record in enumerate(match.known.records) if record.id in ids]


# Readings put right


def test_tape_and_coating_are_taken_off_the_circumference(pending: Database) -> None:
    bare = pending.match_pipe(circumference="700 mm", tape_thickness="0.5 mm")
    assert bare.measured.outside_diameter.value == pytest.approx(700.0 / math.pi - 0.5)
    coated = pending.match_pipe(circumference="700 mm", tape_thickness="0.5 mm", coating="2 mm")
    assert coated.measured.outside_diameter.value == pytest.approx(700.0 / math.pi - 4.5)
    assert coated.measured.outside_diameter.uncertainty > bare.measured.outside_diameter.uncertainty


def test_readings_across_an_oval_pipe_spread(pending: Database) -> None:
    one = pending.match_pipe(outside_diameter="219 mm").measured.outside_diameter
    round_ = pending.match_pipe(outside_diameter=["219 mm", "219 mm", "219 mm", "219 mm"]).measured.outside_diameter
    oval = pending.match_pipe(outside_diameter=["217 mm", "221 mm", "217 mm", "221 mm"]).measured.outside_diameter
    assert oval.value == pytest.approx(219.0)
    assert round_.uncertainty < one.uncertainty < oval.uncertainty


def test_a_gauge_set_to_another_speed_is_put_right(pending: Database) -> None:
    told = pending.match_pipe(
        circumference="688.6 mm", wall="9 mm", gauge_speed="6000 m/s", material_speed="5000 m/s"
    ).measured.wall
    assert told is not None
    assert told.value == pytest.approx(7.5)


def test_the_speed_of_the_material_is_the_recommended_one_and_its_row_is_named(pending: Database) -> None:
    match = pending.match_pipe(circumference="688.6 mm", wall="8 mm", gauge_speed="6000 m/s", material="steel")
    speed = pending.value("carbon-steel", "longitudinal_speed")
    assert match.measured.wall is not None
    assert match.measured.wall.value == pytest.approx(8.0 * speed.value.magnitude / 6000.0)
    assert any("row carbon-steel.longitudinal_speed" in text for text in match.measured.assumptions)


def test_warmth_makes_the_wall_less_certain_and_says_so(pending: Database) -> None:
    cold = pending.match_pipe(circumference="688.6 mm", wall="8 mm", material="hdpe").measured
    warm = pending.match_pipe(circumference="688.6 mm", wall="8 mm", material="hdpe", temperature="60 degC").measured
    assert cold.wall is not None
    assert warm.wall is not None
    assert warm.wall.uncertainty > cold.wall.uncertainty
    assert any(text.startswith("temperature:") for text in warm.assumptions)


def test_a_coating_that_the_gauge_reads_is_taken_off_at_its_own_speed(pending: Database) -> None:
    asked: dict[str, Any] = {
        "circumference": "700 mm",
        "coating": "0.5 mm",
        "wall": "9 mm",
        "gauge_speed": "6000 m/s",
        "material_speed": "6000 m/s",
    }
    through = pending.match_pipe(**asked).measured
    along = pending.match_pipe(**asked, gauge_reads_coating="yes").measured
    assert through.wall is not None
    assert along.wall is not None
    assert through.wall.value == pytest.approx(9.0)
    assert along.wall.value == pytest.approx(9.0 - 0.5 * 6000.0 / 2400.0)
    assert any("through the coating" in text for text in through.assumptions)


def test_more_points_make_the_wall_more_certain(pending: Database) -> None:
    doubts = []
    for points in (1, 4, "16"):
        wall = pending.match_pipe(circumference="688.6 mm", wall="8 mm", wall_points=points).measured.wall
        assert wall is not None
        doubts.append(wall.uncertainty)
    assert doubts == sorted(doubts, reverse=True)


def test_the_measured_bore_is_less_twice_wall_and_lining(pending: Database) -> None:
    match = pending.match_pipe(circumference="700 mm", tape_thickness="0.1 mm", wall="8 mm", lining="4 mm")
    bore = match.measured.bore
    assert bore is not None
    assert bore.value == pytest.approx(700.0 / math.pi - 0.1 - 24.0)


def test_a_quantity_may_be_given_for_its_text(pending: Database) -> None:
    text, quantity = "27.1 in", parse_quantity("27.1 in", "length", "circumference")
    assert pending.match_pipe(circumference=text).sizes == pending.match_pipe(circumference=quantity).sizes


def test_iron_pipe_is_said_to_be_lined(pending: Database) -> None:
    match = pending.match_pipe(circumference=around(274.0), material="ductile iron", wall="8 mm")
    assert any("usually lined" in line for line in match.advice)
    lined = pending.match_pipe(circumference=around(274.0), material="ductile iron", wall="8 mm", lining="4 mm")
    assert not any("usually lined" in line for line in lined.advice)


def test_grades_made_to_one_size_need_not_be_told_apart(pending: Database) -> None:
    match = pending.match_pipe(circumference="688.6 mm", material="stainless")
    assert match.material == "stainless-304"
    assert any("taken as stainless-304" in text for text in match.measured.assumptions)


def test_every_answer_names_prior_assumptions_and_caution(pending: Database) -> None:
    told = pending.match_pipe(circumference="688.6 mm", wall="8 mm").document()
    assert told["prior"]["name"] == "usual-pipes/1"
    assert "no source" in told["prior"]["text"]
    assert any("tape thickness not told" in text for text in told["assumptions"])
    assert any("gauge_speed not told" in text for text in told["assumptions"])
    assert any("not for pressure design" in text for text in told["warnings"])


# Refusals


@each(
    ("asked", "problem", "words"),
    [
        ({}, BadParameter, "is missing"),
        ({"wall": "8 mm"}, BadParameter, "is missing"),
        ({"outside_diameter": []}, BadParameter, "is missing"),
        ({"circumference": "688 mm", "outside_diameter": "219 mm"}, BadParameter, "together with"),
        ({"circumference": "688"}, BadQuantity, "no unit"),
        ({"circumference": "688 kg"}, WrongDimension, "length is needed"),
        ({"circumference": "0 mm"}, OutsideRange, "above zero"),
        ({"circumference": "1 km"}, OutsideRange, "are matched"),
        ({"circumference": "688 mm", "coating": "-1 mm"}, OutsideRange, "above zero"),
        ({"circumference": "688 mm", "wall": "110 mm"}, OutsideRange, "no bore"),
        ({"circumference": "688 mm", "wall_points": 3}, BadParameter, "wall, which is missing"),
        ({"circumference": "688 mm", "wall": "8 mm", "wall_points": "x"}, BadParameter, "not 1 to 1000"),
        ({"circumference": "688 mm", "wall": ["8 mm", "9 mm"], "wall_points": 2}, BadParameter, "every reading"),
        ({"outside_diameter": "219 mm", "tape_thickness": "0.1 mm"}, BadParameter, "circumference, which is missing"),
        ({"circumference": "688 mm", "wall": "8 mm", "gauge_speed": "5920 m/s"}, MissingState, "name the material"),
        ({"circumference": "688 mm", "wall": "8 mm", "material_speed": "5920 m/s"}, BadParameter, "gauge_speed"),
        (
            {"circumference": "688 mm", "wall": "8 mm", "gauge_speed": "5920 m/s", "material": "abs"},
            MissingState,
            "has no longitudinal speed of abs",
        ),
        (
            {"circumference": "688 mm", "wall": "8 mm", "coating": "1 mm", "gauge_reads_coating": "maybe"},
            BadParameter,
            "yes or no",
        ),
        (
            {"circumference": "688 mm", "wall": "8 mm", "coating": "1 mm", "gauge_reads_coating": "yes"},
            MissingState,
            "give gauge_speed",
        ),
        ({"circumference": "688 mm", "material": "unobtainium"}, UnknownName, "no material is called 'unobtainium'"),
        ({"circumference": "688 mm", "system": "b36"}, UnknownName, "no pipe system"),
    ],
)
def test_a_wrong_question_is_refused_in_one_sentence(
    pending: Database, asked: dict[str, Any], problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words) as refused:
        pending.match_pipe(**asked)
    assert refused.value.detail.endswith(".")
    assert "\n" not in refused.value.detail


# The other surfaces


def test_the_service_answers_with_the_document_of_python(service: TestClient, pending: Database) -> None:
    answer = service.get("/v1/pipes/match?circumference=690 mm&wall=8.1 mm&wall=8.3 mm&material=steel&limit=5")
    assert answer.status_code == 200, answer.text
    require_shape(PipeMatchDocument, answer.json())
    asked = pending.match_pipe(circumference="690 mm", wall=["8.1 mm", "8.3 mm"], material="steel", limit=5)
    assert answer.json() == asked.document()
    first = answer.json()["items"][0]
    assert set(first["pipe"]) > {"outside_diameter", "wall", "bore"}
    assert "none" in {item["outcome"] for item in answer.json()["items"]}


@pytest.mark.parametrize(
    "query",
    ["circumference=690 mm", "outside_diameter=355 mm&units=us&accept=estimates", "circumference=1 m&wall=1 mm"],
)
def test_every_kind_of_answer_keeps_the_schema(service: TestClient, query: str) -> None:
    answer = service.get(f"/v1/pipes/match?{query}")
    assert answer.status_code == 200, answer.text
    require_shape(PipeMatchDocument, answer.json())


def test_the_service_refuses_with_a_problem_document(service: TestClient) -> None:
    answer = service.get("/v1/pipes/match?circumference=690")
    assert (answer.status_code, answer.json()["parameter"]) == (422, "circumference")
    assert service.get("/v1/pipes/match?circumference=690 mm&colour=red").status_code == 422
    assert service.get("/v1/pipes/match?circumference=690 mm&material=gouda").status_code == 404


def test_inches_are_answered_on_request(pending: Database) -> None:
    told = pending.match_pipe(circumference="27.1 in", wall="0.32 in", options=Options(system="us")).document()
    assert told["measured"]["outside_diameter"]["value"]["unit"] == "in"
    assert untyped(told)["items"][0]["pipe"]["outside_diameter"]["magnitude"] == pytest.approx(8.625)
