"""What the place does to the reading: kind and distance of the disturbance, and how many passes see it."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.inputs.place import CROSS, OFF, place, straight
from refdb.job.work import begin
from refdb.problems import Problem
from tests.job.conftest import Changed


def _budget(database: Database, job: dict[str, Any]) -> dict[str, Any]:
    told: dict[str, Any] = work_step("uncertainty", job, database)["uncertainty"]
    return told


@pytest.mark.parametrize(("told", "diameters"), [(12, 12.0), ("12 D", 12.0), ("2.049 m", 10.0), ("4 ft", 5.95)])
def test_a_straight_length_is_told_in_diameters_metres_or_feet(
    database: Database, changed: Changed, told: Any, diameters: float
) -> None:
    inputs, _ = begin(changed(access={"upstream": told}), database)
    assert straight(inputs, "upstream") == pytest.approx(diameters, rel=1e-2)


@pytest.mark.parametrize("told", ["long", "-3 m", "x D", "12"])
def test_a_straight_length_that_is_none_is_refused_by_name(database: Database, changed: Changed, told: str) -> None:
    with pytest.raises(Problem, match=r"^access\.upstream: "):
        begin(changed(access={"upstream": told}), database)


def test_twenty_diameters_after_two_bends_are_not_twenty_after_one(database: Database, changed: Changed) -> None:
    shares = {
        kind: begin(changed(access={"upstream": 20, "disturbance": kind}), database)[0]["installation"].uncertainty
        for kind in ("none", "bend", "two bends out of plane")
    }
    assert shares["none"] < shares["bend"] < shares["two bends out of plane"]


def test_one_pass_sees_the_cross_flow_that_two_passes_cancel(database: Database, changed: Changed) -> None:
    """Cross flow weighs with the cotangent of the angle in the liquid, about 2.4 here."""
    access = {"upstream": 20, "disturbance": "two bends out of plane", "opposite_side": "yes"}
    one, two, three = (
        place(begin(changed(access=access, sensors={"passes": passes}), database)[0]) for passes in (1, 2, 3)
    )
    told = work_step("waves", changed(access=access), database)["waves"]
    cotangent = 1.0 / math.tan(math.radians(told["liquid_angle"]["magnitude"]))
    assert cotangent > 2.0
    assert one.cross == pytest.approx(0.03 * cotangent, rel=1e-6)
    assert three.cross == pytest.approx(one.cross / 3.0)
    assert two.cross == 0.0
    assert one.uncertainty > two.uncertainty


def test_behind_a_bend_the_meter_reads_low_and_the_interval_says_so(database: Database, changed: Changed) -> None:
    """Synowiec and others 2021: a factor of 1 to 1.108 nearer than 8 diameters, never below one."""
    told = _budget(database, changed(access={"upstream": 5, "disturbance": "bend"}))
    low, high = (end["magnitude"] for end in told["interval_95"])
    flow, expanded = told["flow"]["magnitude"], told["expanded_uncertainty"]["magnitude"]
    assert high - flow == pytest.approx(expanded)
    assert flow - low < 0.5 * (high - flow)
    symmetric = _budget(database, changed(access={"upstream": 5, "disturbance": "valve"}))
    assert symmetric["interval_95"][0]["magnitude"] == pytest.approx(
        symmetric["flow"]["magnitude"] - symmetric["expanded_uncertainty"]["magnitude"]
    )


def test_more_straight_pipe_is_never_worse() -> None:
    for kind, steps in OFF.items():
        widths = [high - low for _, low, high in steps]
        assert widths == sorted(widths), kind
        assert steps[-1][0] == CROSS[kind][-1][0] == 0.0
        parts = [part for _, part in CROSS[kind]]
        assert parts == sorted(parts), kind


def test_housings_that_would_stand_in_each_other_are_no_place_and_another_number_of_passes_is_named(
    database: Database, changed: Changed
) -> None:
    told = work_job(changed(sensors={"housing_length": "200 mm", "passes": 2}), database)
    remark = next(each for each in told["suitability"] if each["about"] == "room for the sensors")
    assert remark["verdict"] == "bad"
    assert "take" in remark["text"]
    assert "4" in remark["text"]


def test_a_measured_zero_counts_in_the_budget_unless_the_instrument_takes_it_off(
    database: Database, changed: Changed
) -> None:
    def zero(**mounted: str) -> float:
        inputs, _ = begin(changed(mounted=mounted or None), database)
        return inputs["zero"].uncertainty

    plain = begin(changed(), database)[0]["zero"].uncertainty
    assert zero(zero_difference="-1.2 ns") == pytest.approx(math.hypot(plain, 1.2e-9 / math.sqrt(3.0)))
    assert zero(zero_difference="-1.2 ns", zero_corrected="yes") == pytest.approx(plain)


def test_a_flow_that_is_shown_is_held_against_the_time_difference(database: Database, changed: Changed) -> None:
    told = work_job(changed(mounted={"flow": "58 m3/h", "time_difference": "20 ns"}), database)["mounted"]
    assert not told["flow_shown"]["agree"]
    assert any("The flow does not agree" in text for text in told["warnings"])
    computed = f"{told['flow']['volume_flow']['magnitude']:.6f} m3/h"
    agrees = work_job(changed(mounted={"flow": computed, "time_difference": "20 ns"}), database)["mounted"]
    assert agrees["flow_shown"]["agree"]
    assert agrees["warnings"] == []


def test_a_zero_is_taken_off_the_time_difference_before_the_flow_is_worked_out(
    database: Database, changed: Changed
) -> None:
    def flow(**mounted: str) -> float:
        told = work_job(changed(mounted={"time_difference": "20 ns"} | mounted), database)["mounted"]
        return float(told["flow"]["path_velocity"]["magnitude"])

    assert flow(zero_difference="1 ns") == pytest.approx(flow() * 19.0 / 20.0)
    assert flow(zero_difference="1 ns", zero_corrected="yes") == pytest.approx(flow())


def test_near_the_transition_draws_are_made_unasked(database: Database, changed: Changed) -> None:
    """Linear propagation sees one regime; the draws cross into the other."""
    slow = changed(flow={"normal": "0.7 m3/h", "minimum": None, "maximum": None})
    reynolds = work_step("flow", slow, database)["flow"]["points"][0]["reynolds"]
    assert 1000.0 < reynolds < 3500.0
    assert _budget(database, slow)["monte_carlo"]["draws"] > 0
    assert _budget(database, changed())["monte_carlo"] is None
