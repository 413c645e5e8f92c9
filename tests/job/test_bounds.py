"""What nobody tells: a labelled bound where it hardly matters, a refusal where it decides."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from refdb.problems import OutsideRange, Problem
from tests.job.conftest import Changed

BARE: dict[str, Any] = dict.fromkeys(
    ("wave", "surface", "gauge_speed", "longitudinal_speed", "shear_speed", "shear_speed_uncertainty", "density")
)
HOT: dict[str, Any] = {
    "liquid": {"temperature": "75 degC"},
    "pipe": BARE | {"material": "stainless-316l", "wall_temperature": "235 degC"},
}


def _input(told: dict[str, Any], name: str) -> dict[str, Any]:
    item: dict[str, Any] = next(each for each in told["inputs"] if each["name"] == name)
    return item


def test_beyond_a_rows_temperatures_a_bound_serves_and_its_cost_is_told(database: Database, changed: Changed) -> None:
    """The row ends at 200 degC; 35 K more leave at most 1.4 % below it."""
    told = work_job(changed(**HOT, accept="estimates"), database)
    item = _input(told, "wall speed")
    low, high = (item["bound"][end]["magnitude"] for end in ("low", "high"))
    edge = database.value("stainless-316l", "shear_speed", temperature="200 degC")
    spread = 2.0 * float(edge.standard_uncertainty.magnitude)
    assert high == pytest.approx(float(edge.magnitude) + spread, rel=1e-9)
    assert low == pytest.approx((float(edge.magnitude) - spread) * math.exp(-4e-4 * 35.0), rel=1e-9)
    assert item["value"]["magnitude"] == pytest.approx(0.5 * (low + high))
    assert item["standard_uncertainty"]["magnitude"] == pytest.approx(0.5 * (high - low) / math.sqrt(3.0), rel=1e-4)
    assert "ends at 200 degC" in item["bound"]["why"]
    assert any(each["input"] == "wall speed" for each in told["uncertainty"]["contributions"])
    assert told["verdict"]["fitness"] != "fit"
    assert any("between bounds" in text for text in told["verdict"]["because"])


def test_without_being_asked_for_a_bound_is_offered_and_not_taken(database: Database, changed: Changed) -> None:
    with pytest.raises(OutsideRange) as refused:
        work_job(changed(**HOT), database)
    assert refused.value.detail.startswith("pipe.shear_speed: ")
    assert 'accept = "estimates"' in refused.value.detail
    assert refused.value.extensions["estimate_available"] is True


def test_a_material_without_a_row_lies_between_those_of_its_family(database: Database, changed: Changed) -> None:
    cold = {"temperature": "20 degC"}
    pipe = BARE | {"material": "abs"}
    with pytest.raises(Problem):
        work_job(changed(pipe=pipe, liquid=cold), database)
    item = _input(work_job(changed(pipe=pipe, liquid=cold, accept="estimates"), database), "wall speed")
    low, high = (item["bound"][end]["magnitude"] for end in ("low", "high"))
    # Rigid PVC has 2330 to 2400 m/s in several tables (by memory).
    assert low < 2350.0 < high
    assert "thermoplastic" in item["bound"]["why"]


def test_where_a_bound_decides_whether_the_wave_travels_the_speed_is_asked_for(
    database: Database, changed: Changed
) -> None:
    """With 1/slowness at 3100 m/s the bound of the shear speed, 2972 to 3230 m/s, decides."""
    sensors = {"angle": f"{math.degrees(math.asin(2450.0 / 3100.0)):.4f} deg", "speed_slope": None}
    sensors["speed_temperature"] = None
    with pytest.raises(Problem) as refused:
        work_job(changed(liquid=HOT["liquid"], pipe=HOT["pipe"], sensors=sensors, accept="estimates"), database)
    assert "whether the wave travels at all" in refused.value.detail
    assert "measure" in refused.value.detail


def test_a_slow_wave_in_a_thick_wall_is_measured_and_not_bounded(database: Database, changed: Changed) -> None:
    cold = {"temperature": "20 degC"}
    pipe = BARE | {"material": "abs", "wall": "30 mm"}
    with pytest.raises(Problem) as refused:
        work_job(changed(pipe=pipe, liquid=cold, accept="estimates"), database)
    assert "of the flow open" in refused.value.detail


def test_an_estimate_is_marked_where_it_stands(database: Database, changed: Changed) -> None:
    cold = {"temperature": "20 degC"}
    pipe = BARE | {"material": "ldpe"}
    told = work_job(changed(pipe=pipe, liquid=cold, accept="estimates"), database)
    assert _input(told, "wall speed")["rung"] in {"analogue", "family"}
    assert told["verdict"]["fitness"] != "fit"
    assert any("estimate" in text for text in told["verdict"]["because"])
    assert _input(told, "sound speed")["rung"] == "published"
