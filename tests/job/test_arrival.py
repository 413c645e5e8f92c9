"""Which arrival a job works on: the strongest of those that travel, for every wall of the release."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_step
from refdb.problems import Problem
from tests.job.conftest import Changed

COLD = {
    "liquid": {"temperature": "20 degC"},
    "sensors": {"density": "1180 kg/m3", "other_speed": "1200 m/s", "temperature": "20 degC"},
}
PROPERTIES = {"longitudinal_speed", "shear_speed", "density"}


def _walls(database: Database) -> list[str]:
    """Materials of which both speeds and the density are rows."""
    found: dict[str, set[str]] = {}
    for record in database.store.of_kind("recommended", database.release()):
        body = record.body
        if body["property"] in PROPERTIES and "condition" not in body and body["rung"] in {"published", "derived"}:
            found.setdefault(body["subject"], set()).add(body["property"])
    return sorted(subject for subject, properties in found.items() if properties == PROPERTIES)


def _waves(database: Database, job: dict[str, Any]) -> dict[str, Any]:
    told: dict[str, Any] = work_step("waves", job, database)["waves"]
    return told


def test_the_arrival_worked_on_is_the_strongest_for_every_material(database: Database, changed: Changed) -> None:
    walls, worked = _walls(database), 0
    assert len(walls) > 50
    for wall in walls:
        pipe = {"material": wall, "wave": None, "surface": None, "roughness": "10 um"}
        try:
            arrivals = _waves(database, changed(pipe=pipe, **COLD))["arrivals"]
        except Problem:
            continue  # no wave of it travels with these sensors
        worked += 1
        travelling = [each for each in arrivals if each["travels"]]
        chosen = next(each for each in travelling if each["worked_on"])
        weakest = min(each["weaker_by"]["magnitude"] for each in travelling)
        assert chosen["weaker_by"]["magnitude"] == weakest, wall
    assert worked > 50


@pytest.mark.parametrize(
    ("speeds", "wave"),
    [
        (("2300 m/s", "1000 m/s", "950 kg/m3"), "longitudinal"),  # as polyethylene of pipes has
        (("2350 m/s", "1100 m/s", "1400 kg/m3"), "longitudinal"),  # as rigid PVC
        (("5920 m/s", "3230 m/s", "7850 kg/m3"), "shear"),  # as steel
    ],
)
def test_soft_walls_are_crossed_by_longitudinal_waves_and_hard_ones_by_shear_waves(
    database: Database, changed: Changed, speeds: tuple[str, str, str], wave: str
) -> None:
    longitudinal, shear, density = speeds
    pipe = {
        "material": "hdpe" if wave == "longitudinal" else "carbon-steel",
        "wave": None,
        "longitudinal_speed": longitudinal,
        "shear_speed": shear,
        "density": density,
        "surface": None,
        "roughness": "2 um",
        "gauge_speed": None,
    }
    told = _waves(database, changed(pipe=pipe, **COLD))
    assert next(each["wall_wave"] for each in told["arrivals"] if each["worked_on"]) == wave


def test_a_wave_that_is_asked_for_is_kept_and_a_much_stronger_one_is_warned_of(
    database: Database, changed: Changed
) -> None:
    pipe = {"material": "hdpe", "wave": "shear", "surface": None, "roughness": "2 um", "longitudinal_speed": "2300 m/s"}
    pipe |= {"shear_speed": "1000 m/s", "density": "950 kg/m3", "gauge_speed": None}
    told = work_step("waves", changed(pipe=pipe, **COLD), database)
    assert next(each["wall_wave"] for each in told["waves"]["arrivals"] if each["worked_on"]) == "shear"
    assert any("longitudinal comes in" in text and "dB stronger" in text for text in told["warnings"])
