"""Measuring a speed on site: the recipe, its uncertainty, what it refuses, and where it is pointed to."""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from refdb.onsite.documents import MeasuredLiquidSpeedDocument, MeasuredSpeedDocument
from refdb.onsite.echo import measured_speed
from refdb.onsite.question import LiquidSpeedQuestion
from refdb.problems import BadParameter, BadQuantity, NotAvailable, WrongDimension
from tests.conftest import CommandLine
from tests.service import TestClient
from tests.shapes import require_shape, untyped

BLOCK = ("25.00 mm", "0.01 mm", "8.45 us", "0.02 us")


def test_the_speed_is_the_way_there_and_back_over_the_time() -> None:
    found = measured_speed(*BLOCK)
    assert found.speed.magnitude == pytest.approx(2.0 * 0.025 / 8.45e-6)
    assert found.speed.unit.symbol == "m/s"


def test_several_echoes_are_as_many_ways_and_make_a_better_speed_of_the_same_clock() -> None:
    one = measured_speed(*BLOCK)
    four = measured_speed("25.00 mm", "0.01 mm", "33.80 us", "0.02 us", echoes=4)
    assert four.speed.magnitude == pytest.approx(one.speed.magnitude)
    assert four.standard_uncertainty.magnitude < one.standard_uncertainty.magnitude


def test_the_uncertainty_is_that_of_a_quotient_whatever_the_units() -> None:
    found = measured_speed("1 in", "0.4 thou", "8.45 us", "20 ns", unit="ft/s")
    relative = math.hypot(0.0004, 0.02 / 8.45)
    assert found.standard_uncertainty.magnitude == pytest.approx(relative * found.speed.magnitude)
    parts = [entry["contribution"]["magnitude"] for entry in found.document()["inputs"]]
    assert math.hypot(*parts) == pytest.approx(found.standard_uncertainty.magnitude)


@pytest.mark.parametrize(
    ("field", "text", "problem"),
    [
        (0, "0 mm", BadParameter),
        (0, "-5 mm", BadParameter),
        (0, "25", BadQuantity),
        (0, "25 us", WrongDimension),
        (1, "-1 mm", BadParameter),
        (2, "0 us", BadParameter),
        (3, "0.02 mm", WrongDimension),
    ],
)
def test_a_size_that_cannot_be_is_refused_by_its_name(field: int, text: str, problem: type[BadParameter]) -> None:
    names = ("thickness", "thickness_uncertainty", "echo_time", "echo_time_uncertainty")
    depth, depth_doubt, time, time_doubt = (text if place == field else own for place, own in enumerate(BLOCK))
    with pytest.raises(problem) as refusal:
        measured_speed(depth, depth_doubt, time, time_doubt)
    assert refusal.value.detail.startswith(f"{names[field]}: ")


@pytest.mark.parametrize("echoes", [0, -1, 101])
def test_round_trips_are_counted_from_one(echoes: int) -> None:
    with pytest.raises(BadParameter, match=r"^echoes: "):
        measured_speed(*BLOCK, echoes=echoes)


def test_the_service_and_the_command_give_the_same_speed(client: TestClient, command: CommandLine) -> None:
    names = ("thickness", "thickness_uncertainty", "echo_time", "echo_time_uncertainty")
    answer = client.get("/v1/measure-speed", params=dict(zip(names, BLOCK, strict=True))).json()
    require_shape(MeasuredSpeedDocument, answer)
    assert answer == measured_speed(*BLOCK).document()
    options = [word for name, text in zip(names, BLOCK, strict=True) for word in (f"--{name.replace('_', '-')}", text)]
    assert "Speed: 5917 ± 14 m/s" in command("measure-speed", *options).out


def test_a_speed_that_nobody_published_comes_with_the_recipe(database: Database) -> None:
    missing = [subject["id"] for subject in database.subjects("material") if "shear_speed" not in subject["properties"]]
    assert missing
    for subject in missing:
        with pytest.raises(NotAvailable) as refusal:
            database.value(subject, "shear_speed")
        assert "refdb measure-speed" in refusal.value.detail
        assert "longitudinal speed only" in refusal.value.detail


# A liquid in a spool or a beaker.

PATH = {
    "path": "100 mm",
    "path_uncertainty": "0.1 mm",
    "travel_time": "67.5 us",
    "travel_time_uncertainty": "0.05 us",
}
WATER = {
    "water_time": "67.4 us",
    "water_time_uncertainty": "0.1 us",
    "travel_time": "80 us",
    "travel_time_uncertainty": "0.05 us",
    "temperature": "20 degC",
    "temperature_uncertainty": "0.2 K",
}


def test_the_speed_of_a_liquid_is_its_path_over_its_travel_time(database: Database) -> None:
    found = database.measure_liquid_speed(LiquidSpeedQuestion(**PATH))
    assert found.speed.magnitude == pytest.approx(0.1 / 67.5e-6)
    assert found.standard_uncertainty.magnitude == pytest.approx(found.speed.magnitude * math.hypot(1e-3, 0.05 / 67.5))


def test_against_water_the_path_cancels_and_the_temperature_counts_through_the_slope_of_water(
    database: Database,
) -> None:
    water = database.value("water", "sound_speed", temperature="20 degC")
    found = database.measure_liquid_speed(LiquidSpeedQuestion(**WATER))
    assert found.speed.magnitude == pytest.approx(water.magnitude * 67.4 / 80.0)
    relative = (
        0.1 / 67.4,
        0.05 / 80.0,
        water.standard_uncertainty.magnitude / water.magnitude,
        0.2 * water.slopes["temperature"] / water.magnitude,
    )
    assert found.standard_uncertainty.magnitude == pytest.approx(found.speed.magnitude * math.hypot(*relative))
    document = found.document()
    require_shape(MeasuredLiquidSpeedDocument, document)
    assert untyped(document)["water"]["row"]["id"] == "water.sound_speed"
    assert any("Hazardous liquids" in text for text in document["advice"])


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, "path: is missing"),
        (PATH | {"water_time": "67 us"}, "path: is given together with water_time"),
        (PATH | {"temperature": "20 degC"}, "temperature: is not used with path"),
        ({"path": "100 mm"}, "travel_time: is missing"),
        (WATER | {"path_uncertainty": "1 mm"}, "path_uncertainty: is not used with water_time"),
        ({"water_time": "67 us", "travel_time": "80 us"}, "travel_time_uncertainty: is missing"),
        (PATH | {"path": "0 mm"}, "path: 0 mm is not above zero"),
    ],
)
def test_a_liquid_measured_by_halves_is_refused_by_the_part_that_is_wrong(
    database: Database, asked: dict[str, str], words: str
) -> None:
    with pytest.raises(BadParameter, match=f"^{words}"):
        database.measure_liquid_speed(LiquidSpeedQuestion(**asked))


@pytest.mark.parametrize("asked", [PATH, WATER])
def test_the_service_and_the_command_give_the_same_speed_of_a_liquid(
    database: Database, client: TestClient, command: CommandLine, asked: dict[str, str]
) -> None:
    answer = client.get("/v1/measure-speed", params=asked).json()
    assert answer == database.measure_liquid_speed(LiquidSpeedQuestion(**asked)).document()
    options = [word for name, text in asked.items() for word in (f"--{name.replace('_', '-')}", text)]
    printed = command("measure-speed", *options)
    assert str(database.measure_liquid_speed(LiquidSpeedQuestion(**asked))) in printed.out
    mixed = command("measure-speed", *options, "--thickness", "3 mm")
    assert (mixed.code, mixed.err.split(":")[1].strip()) == (2, "thickness")
    refused = client.get("/v1/measure-speed", params=asked | {"echoes": "2"})
    assert (refused.status_code, refused.json()["parameter"]) == (422, "echoes")


def test_a_solid_measured_by_halves_is_refused_by_the_part_that_is_missing(
    client: TestClient, command: CommandLine
) -> None:
    printed = command("measure-speed", "--thickness", "3 mm")
    assert (printed.code, printed.err.startswith("refdb: thickness_uncertainty: is missing")) == (2, True)
    assert client.get("/v1/measure-speed?thickness=3 mm").json()["parameter"] == "thickness_uncertainty"


@pytest.mark.parametrize(("property_id", "recipe"), [("sound_speed", "refdb measure-speed"), ("density", "hydrometer")])
def test_a_liquid_that_nobody_published_comes_with_the_recipe(pending: Database, property_id: str, recipe: str) -> None:
    missing = [one["id"] for one in pending.subjects("liquid") if property_id not in one["properties"]]
    for subject in missing:
        with pytest.raises(NotAvailable, match=recipe) as refusal:
            pending.value(subject, property_id, temperature="20 degC")
        assert "What is needed is" in refusal.value.detail
