"""The way back from a sound speed: which liquid, which temperature, which strength; all of them, or plain words."""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from refdb.liquids.documents import LiquidMatchDocument, StateMatchDocument
from refdb.liquids.inversion import COVERAGE
from refdb.liquids.match import LiquidMatch
from refdb.liquids.match_state import StateMatch
from refdb.liquids.question import LiquidQuestion
from refdb.problems import BadParameter, BadQuantity, MissingState, NotAvailable, OutsideRange, Problem, UnknownName
from refdb.values.options import Options
from tests.invented_liquids import liquids, spirit_speed
from tests.rows import each
from tests.shapes import require_shape, untyped

SURE = {"sound_speed_uncertainty": "3 m/s", "temperature_uncertainty": "0.5 K"}


@pytest.fixture(scope="module")
def colours(tmp_path_factory: pytest.TempPathFactory) -> Database:
    return liquids(tmp_path_factory.mktemp("liquids"))


def _liquids(database: Database, speed: str, **more: str) -> LiquidMatch:
    found = database.match_liquid(LiquidQuestion(sound_speed=speed, **more))
    assert isinstance(found, LiquidMatch)
    require_shape(LiquidMatchDocument, found.document())
    return found


def _places(database: Database, speed: str, **more: str) -> StateMatch:
    found = database.match_liquid(LiquidQuestion(sound_speed=speed, **more))
    assert isinstance(found, StateMatch)
    require_shape(StateMatchDocument, found.document())
    return found


# Which liquid.


def test_the_liquids_that_agree_come_best_first_and_near_misses_apart(colours: Database) -> None:
    found = _liquids(colours, "1207 m/s", temperature="20 degC", **SURE)
    assert [item.answer.subject for item in found.items] == ["blue", "green", "red"]
    assert all(abs(item.deviation) <= COVERAGE for item in found.items)
    missed = _liquids(colours, "1214 m/s", temperature="20 degC", **SURE)
    assert [item.answer.subject for item in missed.items] == ["red", "green"]
    assert {item.answer.subject for item in missed.near} == {"blue", "near"}


def test_the_deviation_holds_measured_speed_temperature_through_the_slope_and_the_row(colours: Database) -> None:
    found = _liquids(colours, "1636 m/s", temperature="20 degC", strength="22 % mass", **SURE)
    (spirit,) = found.items
    slope = 2.5 - 20.0 * 0.22
    assert spirit.spread == pytest.approx(math.hypot(3.0, slope * 0.5, 1.0))
    assert spirit.deviation == pytest.approx(0.0, abs=1e-6)


def test_the_likelihood_prefers_the_surer_of_two_that_fit_alike(colours: Database) -> None:
    blue, green, _ = _liquids(colours, "1207 m/s", temperature="20 degC", **SURE).items
    assert blue.difference == pytest.approx(green.difference, abs=1e-9)
    assert blue.likelihood == 1.0
    assert green.likelihood == pytest.approx(blue.spread / green.spread)


def test_what_cannot_be_told_apart_is_said_with_what_would_tell(colours: Database) -> None:
    alone, temperature, density = _liquids(colours, "1207 m/s", temperature="20 degC", **SURE).advice
    assert alone.startswith("3 liquids agree; sound speed alone cannot tell them apart")
    # Green falls faster by 1 m/s per kelvin: 15 K make 15 m/s, of red and blue nothing.
    assert "second sound speed at 5 degC would tell 2 of 3 pairs apart" in temperature
    assert "would tell 2 of 3 pairs apart: Invented green 800 kg/m3" in density


def test_what_could_not_be_compared_is_counted_by_reason(colours: Database) -> None:
    found = _liquids(colours, "1207 m/s", temperature="20 degC", **SURE)
    told = {entry["reason"]: entry["subjects"] for entry in found.document()["left_out"]}
    assert told == {"no_speed": ["brine", "liquor", "silent"], "outside_range": ["hot"]}


def test_a_single_liquid_is_no_proof_and_none_asks_to_check_the_pipe(colours: Database) -> None:
    (only,) = _liquids(colours, "1630 m/s", temperature="20 degC", **SURE).advice
    assert "only Invented spirit agrees" in only
    (none,) = _liquids(colours, "900 m/s", temperature="20 degC", **SURE).advice
    assert none.startswith("No liquid of this release agrees")
    assert any(
        "does not prove what is in a pipe" in text
        for text in _liquids(colours, "900 m/s", temperature="20 degC", **SURE).document()["warnings"]
    )


def test_a_solution_of_unknown_strength_is_taken_where_it_fits_best_and_says_so(colours: Database) -> None:
    found = _liquids(colours, "1600 m/s", temperature="20 degC", **SURE)
    item = found.items[0]
    assert (item.answer.subject, item.content) == ("spirit", "strength")
    assert spirit_speed(20.0, item.answer.evaluated.state.strength) == pytest.approx(1600.0)
    assert any("taken where it fits best" in text for text in found.assumptions)


def test_water_and_sea_water_are_among_the_liquids(database: Database) -> None:
    found = _liquids(database, "1482.3 m/s", temperature="20 degC", sound_speed_uncertainty="1 m/s")
    assert {item.answer.subject for item in found.items} >= {"water", "seawater"}
    assert "pressure not given: 1 atm" in found.assumptions


def test_hot_water_is_taken_at_saturation_and_under_too_little_pressure_it_is_no_liquid(database: Database) -> None:
    speed = database.value("water", "sound_speed", temperature="130 degC", pressure="3 bar(a)").magnitude
    hot = _liquids(database, f"{speed!r} m/s", temperature="130 degC")
    assert any("water boils at 1 atm and is taken just above saturation" in text for text in hot.assumptions)
    boiling = _liquids(database, "1480 m/s", temperature="130 degC", pressure="1 atm")
    assert "seawater" in boiling.left_out["outside_range"]
    assert "water" in boiling.left_out["not_liquid"]
    frozen = _liquids(database, "1480 m/s", temperature="-20 degC")
    assert {"seawater", "water"} <= set(frozen.left_out["not_liquid"])


def test_uncertainties_that_are_not_told_are_taken_and_said(database: Database) -> None:
    found = _liquids(database, "1482 m/s", temperature="20 degC")
    assert found.measured.uncertainty == pytest.approx(7.41)
    assert sum("not told" in text for text in found.assumptions) == 2


def test_speeds_are_told_in_the_units_asked_for(database: Database) -> None:
    document = database.match_liquid(sound_speed="1482 m/s", temperature="20 degC", options=Options("us")).document()
    assert document["measured"]["sound_speed"]["value"]["unit"] == "ft/s"
    assert untyped(document)["items"][0]["difference"]["unit"] == "ft/s"


# Which temperature.


def test_water_turns_so_that_a_speed_has_two_temperatures(database: Database) -> None:
    found = _places(database, "1550 m/s", liquid="water", sound_speed_uncertainty="0.5 m/s")
    low, high = found.roots
    assert low.at < found.found.turns[0][0] < high.at
    for root in (low, high):
        back = database.value("water", "sound_speed", temperature=f"{root.at!r} degC")
        assert back.magnitude == pytest.approx(1550.0, abs=1e-6)
        assert root.uncertainty == pytest.approx(
            math.hypot(0.5, back.standard_uncertainty.magnitude) / abs(back.slopes["temperature"])
        )
    assert "2 places have this speed" in found.advice[-1]


@pytest.mark.parametrize(("speed", "doubt"), [("1555 m/s", "1 m/s"), ("1556 m/s", "1 m/s")])
def test_near_the_turning_point_the_words_say_that_it_is_not_sensitive(
    database: Database, speed: str, doubt: str
) -> None:
    found = _places(database, speed, liquid="water", sound_speed_uncertainty=doubt)
    (stretch,) = found.found.stretches
    assert not stretch.simple
    assert stretch.low < 74.2 < stretch.high
    assert "not sensitive to the temperature" in found.advice[0]


def test_the_ends_of_a_stretch_are_where_the_agreement_ends(database: Database) -> None:
    (stretch,) = _places(
        database, "1450 m/s", liquid="water", sound_speed_uncertainty="2 m/s", pressure="1 atm"
    ).found.stretches
    for end in (stretch.low, stretch.high):
        there = database.value("water", "sound_speed", temperature=f"{end!r} degC")
        allowed = COVERAGE * math.hypot(2.0, there.standard_uncertainty.magnitude)
        assert abs(there.magnitude - 1450.0) == pytest.approx(allowed, rel=1e-6)


def test_a_speed_that_is_never_reached_gives_the_range_that_is(database: Database) -> None:
    found = _places(database, "1700 m/s", liquid="water", sound_speed_uncertainty="1 m/s")
    assert found.roots == []
    assert found.advice[0].startswith("No temperature gives 1700 m/s: from 0.01 degC to 200 degC")


def test_sea_water_needs_its_salinity_to_tell_a_temperature(database: Database) -> None:
    with pytest.raises(MissingState, match="salinity"):
        database.match_liquid(sound_speed="1500 m/s", liquid="seawater")
    found = _places(database, "1500 m/s", liquid="seawater", salinity="35 psu", sound_speed_uncertainty="0.5 m/s")
    assert len(found.roots) == 1


def test_at_saturation_the_slope_runs_along_saturation(database: Database) -> None:
    found = _places(database, "1400 m/s", liquid="water", sound_speed_uncertainty="1 m/s")
    hot = found.roots[-1]
    assert found.found.at_saturation
    above, below = (
        float(_places(database, f"{speed} m/s", liquid="water", sound_speed_uncertainty="1 m/s").roots[-1].at)
        for speed in (1401.0, 1399.0)
    )
    assert hot.slope == pytest.approx(2.0 / (above - below), rel=1e-3)


# Which strength or salinity.


def test_a_solution_that_turns_has_two_strengths(colours: Database) -> None:
    found = _places(colours, "1600 m/s", temperature="20 degC", solution="spirit", **SURE)
    weak, strong = found.roots
    assert found.sought == "strength"
    for root in (weak, strong):
        assert spirit_speed(20.0, root.at) == pytest.approx(1600.0)
        assert root.slope == pytest.approx(1400.0 - 2.0 * 1400.0 / 0.44 * root.at)
        warm = (2.5 - 20.0 * root.at) * 0.5
        assert root.uncertainty == pytest.approx(math.hypot(3.0, warm, 1.0) / abs(root.slope))
    assert found.found.turns[0][0] == pytest.approx(0.22, abs=1e-5)


def test_at_the_turn_of_a_solution_the_speed_tells_no_strength(colours: Database) -> None:
    found = _places(colours, "1636 m/s", temperature="20 degC", solution="spirit", **SURE)
    assert "not sensitive to the strength" in found.advice[0]
    none = _places(colours, "1700 m/s", temperature="20 degC", solution="spirit", **SURE)
    assert none.advice[0].startswith("No strength gives 1700 m/s: from 0 % mass to 50 % mass")
    assert none.found.reached[1] == pytest.approx(1636.0, abs=1e-6)


def test_a_speed_near_the_end_of_the_strengths_says_that_the_row_ends(colours: Database) -> None:
    found = _places(colours, "1483 m/s", temperature="20 degC", solution="spirit", **SURE)
    weakest = found.found.stretches[0]
    assert (weakest.low, weakest.open_low) == (0.0, True)


def test_sea_water_gives_back_its_salinity(database: Database) -> None:
    speed = database.value("seawater", "sound_speed", temperature="15 degC", salinity="30 g/kg").magnitude
    found = _places(database, f"{speed!r} m/s", temperature="15 degC", solution="seawater", **SURE)
    assert [root.at for root in found.roots] == [pytest.approx(30.0, abs=1e-6)]


# What is refused.


@each(
    ("asked", "problem", "words"),
    [
        ({}, BadParameter, "sound_speed: is missing"),
        ({"sound_speed": "1482", "temperature": "20 degC"}, BadQuantity, "sound_speed"),
        ({"sound_speed": "0 m/s", "temperature": "20 degC"}, OutsideRange, "not above zero"),
        ({"sound_speed": "1482 m/s"}, MissingState, "temperature: is missing"),
        ({"liquid": "water", "temperature": "20 degC"}, BadParameter, "leave temperature out"),
        ({"liquid": "water", "temperature_uncertainty": "1 K"}, BadParameter, "leave temperature_uncertainty out"),
        ({"liquid": "water", "solution": "seawater"}, BadParameter, "given together with liquid"),
        ({"solution": "seawater"}, MissingState, "temperature: is missing"),
        ({"solution": "seawater", "temperature": "20 degC", "salinity": "3 g/kg"}, BadParameter, "looked for"),
        ({"solution": "water", "temperature": "20 degC"}, BadParameter, "no strength or salinity"),
        ({"solution": "seawater", "temperature": "90 degC"}, OutsideRange, "temperature"),
        ({"liquid": "gouda"}, UnknownName, "gouda"),
        ({"liquid": "water", "salinity": "3 g/kg"}, BadParameter, "does not depend on it"),
    ],
)
def test_a_wrong_question_is_one_sentence_with_the_way_out(
    database: Database, asked: dict[str, str], problem: type[Problem], words: str
) -> None:
    given = {"sound_speed": "1482 m/s"} | asked if asked else {}
    with pytest.raises(problem, match=words):
        database.match_liquid(LiquidQuestion(**given))


def test_a_liquid_without_a_speed_says_how_to_measure_one(colours: Database) -> None:
    with pytest.raises(NotAvailable, match="refdb measure-speed --path"):
        colours.match_liquid(sound_speed="1482 m/s", liquid="silent")
