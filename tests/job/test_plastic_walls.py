"""Walls of plastic from rows: the speed at the sensors' frequency, and what the wall absorbs."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from tests.job.conftest import Changed

PIPE: dict[str, Any] = {
    **dict.fromkeys(("wave", "gauge_speed", "longitudinal_speed", "shear_speed", "shear_speed_uncertainty", "density")),
    "material": "hdpe",
    "surface": None,
    "roughness": "10 um",
}
COLD = {"liquid": {"temperature": "20 degC"}}


def _worked(database: Database, changed: Changed, frequency: str) -> dict[str, Any]:
    sensors = {"temperature": "20 degC", "frequency": frequency, "density": "1180 kg/m3", "other_speed": "1200 m/s"}
    told: dict[str, Any] = work_job(changed(**COLD, pipe=PIPE, sensors=sensors), database)
    return told


def _input(told: dict[str, Any], name: str) -> dict[str, Any]:
    item: dict[str, Any] = next(each for each in told["inputs"] if each["name"] == name)
    return item


# Δc/c = rise a decade × log10(f / 3 MHz), by which causality lets a loss that goes with the frequency disperse.
@pytest.mark.parametrize("megahertz", [0.5, 1.0, 2.0])
def test_a_speed_from_a_row_is_moved_to_the_sensors_frequency(
    database: Database, changed: Changed, megahertz: float
) -> None:
    row = database.value("hdpe", "longitudinal_speed")
    told = row.document()["frequency"]
    rise = float(told["per_decade"]) / 100.0 * math.log10(megahertz / float(told["number"]))
    speed = _input(_worked(database, changed, f"{megahertz} MHz"), "wall speed")
    assert speed["value"]["magnitude"] == pytest.approx(row.magnitude * (1.0 + rise), rel=1e-6)
    shifted = 0.5 * rise * row.magnitude
    expected = math.hypot(float(row.standard_uncertainty.magnitude), shifted)
    assert speed["standard_uncertainty"]["magnitude"] == pytest.approx(expected, rel=1e-3)


def test_what_the_wall_absorbs_is_that_of_its_row_with_its_factor(database: Database, changed: Changed) -> None:
    told = _worked(database, changed, "1 MHz")
    row = database.value("hdpe", "longitudinal_attenuation")
    assert _input(told, "wall longitudinal attenuation")["value"]["magnitude"] == pytest.approx(row.magnitude)
    assert any("hdpe.longitudinal_attenuation" in text for text in told["assumptions"])
    assert not any("Proportionality" in text for text in told["verdict"]["because"])


def test_on_a_release_without_such_rows_a_range_of_the_family_serves(database: Database, changed: Changed) -> None:
    told = work_job(
        changed(
            **COLD,
            pipe=PIPE | {"longitudinal_speed": "2400 m/s", "shear_speed": "1100 m/s", "density": "950 kg/m3"},
            release="2026r8",
        ),
        database,
    )
    assert any("as of its kin (thermoplastic)" in text for text in told["assumptions"])
