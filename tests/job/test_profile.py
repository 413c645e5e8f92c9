"""The profile factor: where it is a figure, where an interval, and how it is found from what an instrument reads."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.answer import Database
from refdb.job import work_step
from refdb.job.profile import KARMAN, mean_velocity, profile, profile_of_path
from tests.job.conftest import Changed

ROUGHNESS = st.floats(0.0, 0.05)


@given(st.floats(1.0, 2299.0), st.floats(4000.0, 1e8), ROUGHNESS)
def test_outside_the_transition_the_factor_is_one_continuous_figure(slow: float, fast: float, rough: float) -> None:
    for reynolds in (slow, fast):
        here, beside = profile(reynolds, rough), profile(reynolds * (1.0 + 1e-9), rough)
        assert here.factor is not None
        assert beside.factor == pytest.approx(here.factor, abs=1e-9)
        assert here.interval[0] == here.interval[1] == here.factor


@given(st.floats(2300.1, 3999.9), ROUGHNESS)
def test_between_2300_and_4000_there_is_no_figure_and_the_interval_holds_both_regimes(
    reynolds: float, rough: float
) -> None:
    told = profile(reynolds, rough)
    assert told.factor is told.uncertainty is None
    assert told.interval[0] == 0.75
    assert told.interval[1] == pytest.approx(profile(4000.0, rough).factor, abs=0.02)


@given(st.floats(4000.0, 1e8), ROUGHNESS)
def test_the_difference_of_the_two_relations_is_inside_the_uncertainty(reynolds: float, rough: float) -> None:
    told = profile(reynolds, rough)
    assert told.factor is not None
    assert told.power is not None
    assert told.friction is not None
    assert told.uncertainty is not None
    assert told.factor == pytest.approx(1.0 / (1.0 + math.sqrt(told.friction / 8.0) / (2.0 * KARMAN)))
    assert told.uncertainty >= abs(told.factor - told.power) / math.sqrt(12.0)


@given(st.floats(4000.0, 1e8), ROUGHNESS)
def test_the_velocity_along_the_path_leads_back_to_the_mean_it_came_from(reynolds: float, rough: float) -> None:
    """Re depends on k and k on Re: the repetition has settled."""
    bore, viscosity = 0.2, 1e-6
    told = profile(reynolds, rough)
    assert told.factor is not None
    mean = reynolds * viscosity / bore
    found = float(mean_velocity(mean / told.factor, bore, viscosity, rough * bore, "turbulent"))
    assert found == pytest.approx(mean, rel=1e-6)


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
    doubts = [profile(1000.0, 0.0, upstream).uncertainty or 0.0 for upstream in (60.0, 40.0, 20.0, 0.0)]
    assert doubts == sorted(doubts)
    # With nothing straight, the factor can be anything from the parabola's 3/4 to the flat profile's 1.
    assert doubts[-1] == pytest.approx(0.25 / math.sqrt(3.0), rel=1e-3)


def test_laminar_flow_that_has_not_developed_says_so(database: Database, changed: Changed) -> None:
    job = changed(liquid={"dynamic_viscosity": "0.4 Pa.s"}, access={"upstream": 15})
    point: dict[str, Any] = work_step("flow", job, database)["flow"]["points"][-1]
    assert point["regime"] == "laminar"
    assert "develops over" in point["text"]


def test_a_time_difference_is_read_back_as_the_flow_it_stands_for(database: Database, changed: Changed) -> None:
    job = changed()
    point = next(p for p in work_step("flow", job, database)["flow"]["points"] if p["name"] == "normal")
    shown = f"{point['time_difference']['magnitude']!r} ns"
    told = work_step("mounted", changed(mounted={"time_difference": shown}), database)["mounted"]["flow"]
    assert told["volume_flow"]["magnitude"] == pytest.approx(150.0, rel=1e-6)


def test_between_the_regimes_a_time_difference_is_an_interval_of_flow(database: Database, changed: Changed) -> None:
    job = changed(liquid={"dynamic_viscosity": "80 mPa.s"}, mounted={"time_difference": "200 ns"})
    told = work_step("mounted", job, database)["mounted"]["flow"]
    assert told["regime"] == "transitional"
    assert told["volume_flow"] is None
    low, high = (end["magnitude"] for end in told["volume_flow_interval"])
    assert 1.15 < high / low < 1.27
