"""Asking from Python: one line to open, one line to ask, an answer that knows what it is."""

from __future__ import annotations

import math

import numpy as np
import pytest

import refdb
from refdb import Quantity
from refdb.database import Database
from refdb.lookup.state import read_state
from refdb.problems import (
    AmbiguousName,
    BadParameter,
    BadQuantity,
    MissingState,
    NotAvailable,
    OutsideRange,
    Problem,
    UnknownName,
    UnknownUnit,
    WrongDimension,
)
from refdb.units import units
from tests.rows import each
from tests.shapes import untyped


def test_water_at_20_degc_in_two_lines() -> None:
    db = refdb.open()
    speed = db.value("water", "sound_speed", temperature="20 degC")
    assert speed.magnitude == pytest.approx(1482.3, abs=0.1)
    assert speed.unit == "m/s"
    assert 0.0 < speed.standard_uncertainty.magnitude < 0.1
    assert speed.row == "water.sound_speed"
    assert speed.digest.startswith("sha256:")
    assert {source["key"] for source in speed.sources} >= {"iapws-r6-95", "marczak-1997"}
    assert "20" not in speed.assumptions
    assert str(speed).startswith("1482.346 ± 0.0")


def test_an_answer_converts_with_its_uncertainty_and_slope(database: Database) -> None:
    speed = database.value("water", "sound_speed", temperature="20 degC")
    feet = speed.to("ft/s")
    assert feet.magnitude == pytest.approx(speed.magnitude / 0.3048, rel=1e-12)
    assert feet.standard_uncertainty.magnitude == pytest.approx(
        speed.standard_uncertainty.magnitude / 0.3048, rel=1e-12
    )
    assert feet.document()["slope"]["temperature"]["unit"] == "ft/s/K"


def test_an_array_of_temperatures_is_answered_as_one(database: Database) -> None:
    celsius = units().find("degC")
    temperatures = np.linspace(1.0, 94.0, 200)
    many = database.value("water", "sound_speed", temperature=Quantity(temperatures, celsius))
    for index in (0, 57, 199):
        one = database.value("water", "sound_speed", temperature=Quantity(float(temperatures[index]), celsius))
        assert many.magnitude[index] == one.magnitude
        assert many.slopes["temperature"][index] == one.slopes["temperature"]


def test_a_slope_is_the_derivative_of_the_answer(database: Database) -> None:
    for subject, property_id in (("water", "sound_speed"), ("water", "density")):
        middle = database.value(subject, property_id, temperature="35.3 degC")
        low = database.value(subject, property_id, temperature="35.299 degC")
        high = database.value(subject, property_id, temperature="35.301 degC")
        assert middle.slopes["temperature"] == pytest.approx((high.magnitude - low.magnitude) / 0.002, rel=1e-4)


def test_a_material_without_a_temperature_is_answered_at_20_degc_and_says_so(database: Database) -> None:
    answer = database.value("carbon-steel", "longitudinal_speed")
    assert answer.celsius == 20.0
    assert answer.assumptions == ("temperature not given: 20 degC",)


def test_pressure_is_absolute_or_gauge_and_what_is_assumed_is_said(database: Database) -> None:
    gauge = database.value("water", "sound_speed", temperature="20 degC", pressure="0 bar(g)")
    assert gauge.pascals == 101325.0
    assert "gauge pressure is counted from 1 atm" in gauge.assumptions
    plain = database.value("water", "sound_speed", temperature="20 degC", pressure="1 bar")
    assert any("absolute" in text for text in plain.assumptions)


@pytest.mark.parametrize(
    ("name", "subject"),
    [
        ("S31603", "stainless-316l"),
        ("1.4404", "stainless-316l"),
        ("316 L", "stainless-316l"),
        ("316", "stainless-316"),
        ("mild steel", "carbon-steel"),
        ("Ti", "titanium"),
        ("columbium", "niobium"),
    ],
)
def test_a_subject_is_asked_for_by_any_exact_designation(database: Database, name: str, subject: str) -> None:
    assert database.subject(name).id == subject


@each(
    ("question", "problem", "words"),
    [
        (("watr", "sound_speed", "20 degC"), UnknownName, "nearest names"),
        (("stainless steel", "density", None), AmbiguousName, "stainless-316l"),
        (("water", "sound_sped", "20 degC"), UnknownName, "sound_speed"),
        (("water", "shear_speed", "20 degC"), BadParameter, "not a property of a liquid"),
        (("water", "sound_speed", None), MissingState, "temperature=20 degC"),
        (("water", "sound_speed", "20"), BadQuantity, "no unit"),
        (("water", "sound_speed", "20 bananas"), UnknownUnit, "unit table"),
        (("water", "sound_speed", "20 m"), WrongDimension, "temperature is needed"),
        (("water", "sound_speed", "220 degC"), OutsideRange, "nearest valid temperature is 200 degC"),
        (("water", "sound_speed", "-5 degC"), OutsideRange, "freezes at 0.0025 degC at 1 atm"),
        (("carbon-steel", "density", "400 degC"), OutsideRange, "nearest valid temperature is 200 degC"),
        (("abs", "longitudinal_speed", None), NotAvailable, "Measure it"),
        (("water", "sound_speed", "-300 degC"), BadQuantity, "absolute zero"),
        (("", "density", None), BadParameter, "empty"),
        (("x" * 500, "density", None), BadParameter, "at most"),
    ],
)
def test_a_wrong_question_is_one_sentence_with_the_way_out(
    database: Database, question: tuple[str, str, str | None], problem: type[Problem], words: str
) -> None:
    subject, property_id, temperature = question
    with pytest.raises(problem) as caught:
        database.value(subject, property_id, temperature=temperature)
    assert words in caught.value.detail
    assert caught.value.detail.count("\n") == 0
    assert caught.value.document()["status"] in {404, 409, 422}


def test_316l_is_never_316(database: Database) -> None:
    assert database.subject("316L").id != database.subject("316").id


def test_an_array_that_leaves_the_range_anywhere_is_refused(database: Database) -> None:
    with pytest.raises(OutsideRange, match="201"):
        database.value("water", "sound_speed", temperature=Quantity(np.array([20.0, 201.0]), units().find("degC")))


@pytest.mark.parametrize("text", ["200 degC", "392 degF", "473.15 K", "0.01 degC", "273.16 K"])
def test_the_ends_of_a_range_belong_to_it_in_every_unit(database: Database, text: str) -> None:
    assert math.isfinite(database.value("water", "sound_speed", temperature=text, pressure="10 MPa").magnitude)


def test_an_open_question_answers_what_it_can_and_says_what_it_cannot(database: Database) -> None:
    found = database.values("abs", state=read_state("20 degC"))
    assert found["density"].unit == "kg/m3"
    assert {entry["property"] for entry in found.refused} == {"longitudinal_speed", "shear_speed"}
    with pytest.raises(KeyError):
        found["longitudinal_speed"]


def test_when_everything_is_refused_the_question_is_refused(database: Database) -> None:
    with pytest.raises(OutsideRange):
        database.values("carbon-steel", state=read_state("900 degC"))


def test_a_named_property_that_cannot_be_answered_refuses_the_question(database: Database) -> None:
    with pytest.raises(NotAvailable):
        database.values("abs", ["density", "longitudinal_speed"], state=read_state("20 degC"))


def test_a_condition_is_a_filter(database: Database) -> None:
    sintered = database.value("alumina", "longitudinal_speed", condition="sintered")
    assert sintered.row == "alumina.longitudinal_speed.sintered"
    assert "condition=sintered" in sintered.permalink
    with pytest.raises(NotAvailable, match="sintered"):
        database.value("alumina", "longitudinal_speed", condition="annealed")
    with pytest.raises(UnknownName, match="extruded-sintered"):
        database.value("alumina", "longitudinal_speed", condition="shiny")


@pytest.mark.parametrize(
    ("label", "as_of", "problem"),
    [
        ("2020r1", None, UnknownName),
        (None, "2000-01-01", UnknownName),
        ("2026r1", "2026-12-31", BadParameter),
        (None, "tomorrow", BadParameter),
    ],
)
def test_a_release_that_is_not_there_is_refused(
    database: Database, label: str | None, as_of: str | None, problem: type[Problem]
) -> None:
    with pytest.raises(problem):
        database.value("water", "density", temperature="20 degC", release=label, as_of=as_of)


def test_readings_show_what_each_source_prints(database: Database) -> None:
    readings = database.readings("carbon-steel", "longitudinal_speed", "astm-e494")
    assert [(r["number"], r["unit"], r["state"]["temperature"]) for r in map(untyped, readings)] == [
        ("5900", "m/s", "not stated")
    ]
    assert "ASTM" in readings[0]["citation"]
    with pytest.raises(UnknownName, match="astm-e494"):
        database.readings("carbon-steel", source="astm-e495")
