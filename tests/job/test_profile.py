"""The profile factor: smooth through the regimes, and found from what an instrument reads."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.flow.profile import (
    NARROWEST,
    ONSET,
    TRANSITION_UNCERTAINTY,
    TURBULENT_FROM,
    developed_factor,
    laminar_factor,
    mean_interval,
    mean_velocity,
    profile,
    profile_of_path,
    turbulent_factor,
    turbulent_share,
)
from refdb.problems import BadParameter
from tests.job.conftest import Changed

ROUGHNESS = st.floats(0.0, 0.05)
REYNOLDS = st.floats(math.log(100.0), math.log(1e8)).map(math.exp)
OFFSET = st.floats(0.0, 0.75)
DELAY = st.floats(-1.0, 1.0)


def _slope(reynolds: float, *others: float) -> float:
    """d k / d ln Re."""
    step = 1e-6
    ends = [float(developed_factor(reynolds * math.exp(sign * step), *others)) for sign in (-1.0, 1.0)]
    return (ends[1] - ends[0]) / (2.0 * step)


@given(REYNOLDS, ROUGHNESS, OFFSET)
def test_value_and_slope_are_continuous_through_every_regime(reynolds: float, rough: float, offset: float) -> None:
    """A step of one in a million moves the value by no more than the steepest slope, and the slope hardly."""
    beside = reynolds * (1.0 + 1e-6)
    here, there = (float(developed_factor(each, rough, 0.0, offset)) for each in (reynolds, beside))
    assert there == pytest.approx(here, abs=2e-6)
    slopes = [_slope(each, rough, 0.0, offset) for each in (reynolds, beside)]
    assert slopes[1] == pytest.approx(slopes[0], abs=1e-4)


@pytest.mark.parametrize("border", [ONSET, TURBULENT_FROM])
def test_there_is_no_step_where_a_regime_is_said_to_begin(border: float) -> None:
    """Neither of the factor nor of what is doubtful about it, nor of the interval."""
    before, after = (profile(border * (1.0 + sign * 1e-9), 1e-4, upstream=20.0) for sign in (-1.0, 1.0))
    assert before.regime != after.regime
    assert after.factor == pytest.approx(before.factor, abs=1e-8)
    assert after.uncertainty == pytest.approx(before.uncertainty, abs=1e-6)
    assert after.interval == pytest.approx(before.interval, abs=1e-4)


@given(st.floats(0.0, ONSET), ROUGHNESS, OFFSET)
def test_laminar_flow_is_the_parabola_exactly(reynolds: float, rough: float, offset: float) -> None:
    told = profile(reynolds, rough, offset=offset)
    assert told.factor == pytest.approx(laminar_factor(offset), rel=1e-12)
    assert told.share == told.transition_uncertainty == 0.0
    assert told.friction is None
    assert developed_factor(reynolds, rough) == 0.75


@given(st.floats(ONSET, TURBULENT_FROM), ROUGHNESS)
def test_between_the_regimes_the_factor_lies_between_theirs_and_its_doubt_is_told(
    reynolds: float, rough: float
) -> None:
    told = profile(reynolds, rough)
    low, high = told.interval
    assert 0.75 <= low <= told.factor <= high <= float(turbulent_factor(reynolds, rough))
    moved = [float(developed_factor(reynolds, rough, sign * 1e-4)) for sign in (-1.0, 1.0)]
    assert told.transition_uncertainty == pytest.approx(TRANSITION_UNCERTAINTY * (moved[0] - moved[1]) / 2e-4, abs=1e-6)


def test_the_transition_is_most_doubtful_in_its_middle() -> None:
    doubts = {reynolds: profile(reynolds, 0.0).uncertainty for reynolds in (1900.0, 2100.0, 2450.0, 3000.0, 4000.0)}
    assert max(doubts, key=lambda each: doubts[each]) == 2450.0
    assert doubts[2450.0] > 5.0 * doubts[4000.0]


@given(st.floats(ONSET, 1e8), DELAY)
def test_the_turbulent_part_grows_from_nothing_to_everything(reynolds: float, delay: float) -> None:
    share = float(turbulent_share(reynolds, delay))
    assert 0.0 <= share <= 1.0
    assert share <= float(turbulent_share(reynolds * 1.01, delay))
    assert float(turbulent_share(reynolds, delay + 0.1)) <= share


@given(REYNOLDS, ROUGHNESS)
def test_the_factor_grows_with_the_reynolds_number_and_falls_with_roughness(reynolds: float, rough: float) -> None:
    here = float(developed_factor(reynolds, rough))
    assert float(developed_factor(reynolds * 1.01, rough)) >= here
    assert float(developed_factor(reynolds, rough + 0.001)) <= here


@given(REYNOLDS, ROUGHNESS, DELAY)
def test_the_velocity_along_the_path_leads_back_to_the_mean_it_came_from(
    reynolds: float, rough: float, delay: float
) -> None:
    """Re depends on k and k on Re: one mean velocity belongs to one velocity along the path, and it is found."""
    bore, viscosity = 0.2, 1e-6
    mean = reynolds * viscosity / bore
    along = mean / float(developed_factor(reynolds, rough, delay))
    found = float(mean_velocity(along, bore, viscosity, rough * bore, delay))
    # Where the transition is steepest a path velocity tells of the mean velocity ten times less well.
    assert found == pytest.approx(mean, rel=1e-7)
    assert float(mean_velocity(-along, bore, viscosity, rough * bore, delay)) == -found


@pytest.mark.parametrize("delay", [NARROWEST, 0.0, 1.0])
def test_a_faster_flow_is_never_read_as_a_slower_one(delay: float) -> None:
    along = np.geomspace(1e2, 1e8, 20_001)
    means = mean_velocity(along, 1.0, 1.0, np.zeros_like(along), delay)
    assert np.all(np.diff(means) > 0.0)


def test_arrays_are_worked_as_their_numbers_are() -> None:
    reynolds = np.geomspace(500.0, 1e7, 40)
    rough = np.full_like(reynolds, 2e-4)
    at_once = developed_factor(reynolds, rough)
    assert at_once == pytest.approx([profile(each, 2e-4).factor for each in reynolds], rel=1e-12)
    along = mean_velocity(reynolds, 1.0, 1.0, rough)
    assert along == pytest.approx([float(mean_velocity(each, 1.0, 1.0, 2e-4)) for each in reynolds], rel=1e-9)


def test_a_path_too_near_to_the_wall_is_refused() -> None:
    with pytest.raises(BadParameter, match=r"^offset: must be 0 \(a diameter\) to 0.75"):
        developed_factor(1e5, 0.0, 0.0, 0.8)


def test_the_regime_is_found_from_the_path_and_only_one_ever_fits() -> None:
    bore, viscosity = 0.1, 1e-6
    regimes = [
        profile_of_path(0.001 * 1.02**step * viscosity / bore * 1e5, bore, viscosity, 1e-5).regime
        for step in range(400)
    ]
    assert [regime for regime, _ in itertools.groupby(regimes)] == ["laminar", "transitional", "turbulent"]


@pytest.mark.parametrize(("upstream", "developed"), [(None, True), (60.0, True), (59.0, False), (5.0, False)])
def test_laminar_flow_needs_its_entrance(upstream: float | None, developed: bool) -> None:
    """At Re 1000 an entrance of 0.06 Re D is 60 diameters."""
    told = profile(1000.0, 0.0, upstream)
    assert told.factor == 0.75
    assert told.developed is developed
    assert (told.interval[1] > 0.75) is not developed


def test_the_shorter_the_entrance_the_wider_the_uncertainty() -> None:
    doubts = [profile(1000.0, 0.0, upstream).uncertainty for upstream in (60.0, 40.0, 20.0, 0.0)]
    assert doubts == sorted(doubts)
    # With nothing straight, the factor can be anything from the parabola's 3/4 to the flat profile's 1.
    assert doubts[-1] == pytest.approx(0.25 / math.sqrt(3.0), rel=1e-3)


def test_laminar_flow_that_has_not_developed_says_so(database: Database, changed: Changed) -> None:
    job = changed(liquid={"dynamic_viscosity": "0.4 Pa.s"}, access={"upstream": 15})
    point: dict[str, Any] = work_step("flow", job, database)["flow"]["points"][-1]
    assert point["regime"] == "laminar"
    assert "develops over" in point["text"]


def test_a_time_difference_is_read_back_as_the_flow_it_stands_for(database: Database, changed: Changed) -> None:
    for viscosity in ("0.6 mPa.s", "100 mPa.s", "0.4 Pa.s"):
        job = changed(liquid={"dynamic_viscosity": viscosity})
        point = next(p for p in work_step("flow", job, database)["flow"]["points"] if p["name"] == "normal")
        shown = f"{point['time_difference']['magnitude']!r} ns"
        read = changed(liquid={"dynamic_viscosity": viscosity}, mounted={"time_difference": shown})
        told = work_step("mounted", read, database)["mounted"]["flow"]
        assert told["volume_flow"]["magnitude"] == pytest.approx(150.0, rel=1e-6)
        assert told["regime"] == point["regime"]


def test_between_the_regimes_a_flow_is_a_figure_with_a_wide_interval(database: Database, changed: Changed) -> None:
    """Where laminar flow has the length to develop, no wider than from 3/4 to the turbulent factor."""
    job = changed(
        liquid={"dynamic_viscosity": "100 mPa.s"}, access={"upstream": 200}, mounted={"time_difference": "230 ns"}
    )
    told = work_step("mounted", job, database)["mounted"]["flow"]
    assert told["regime"] == "transitional"
    low, high = (end["magnitude"] for end in told["volume_flow_interval"])
    assert low < told["volume_flow"]["magnitude"] < high
    assert 1.03 < high / low < float(turbulent_factor(3000.0, 0.0)) / 0.75


def test_what_a_path_velocity_may_mean_is_one_figure_outside_the_transition() -> None:
    for along in (0.005, 0.5):
        low, high = mean_interval(along, 0.1, 1e-6, 1e-5)
        assert high == pytest.approx(low, rel=1e-7)
    low, high = mean_interval(0.005, 0.1, 1e-6, 1e-5, upstream=1.0)
    assert high > 1.2 * low


def test_a_job_between_the_regimes_has_a_budget_that_the_transition_leads(database: Database, changed: Changed) -> None:
    """At 150 m3/h and Re 2500; draws know that the factor cannot leave what lies between laminar and turbulent."""
    job = changed(liquid={"dynamic_viscosity": "103 mPa.s"}, access={"upstream": 200})
    told = work_job(job, database, 20_000)["uncertainty"]
    assert told["contributions"][0]["input"] == "transition"
    assert "by turns" in told["advice"][0]
    low, high = (end["magnitude"] for end in told["monte_carlo"]["interval_95"])
    spread = told["expanded_uncertainty"]["magnitude"]
    assert high - low < 4.0 * spread


def test_outside_the_transition_the_budget_does_not_speak_of_it(database: Database, changed: Changed) -> None:
    told = work_step("uncertainty", changed(), database)["uncertainty"]
    assert "transition" not in [item["input"] for item in told["contributions"]]
