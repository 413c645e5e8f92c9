"""The budget of the flow: what contributes how, what errs together, and that drawing agrees with the linear sum."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.flow.correlations import correlations_of
from refdb.job.flow.metering import metering_model
from refdb.job.uncertainty import Variable, propagate, simulate
from refdb.job.work import begin
from tests.job.conftest import Changed


def _exponent(database: Database, job: dict[str, Any], name: str, step: float) -> float:
    """d ln Q / d ln x of the metering model, x the bore for the outside diameter."""
    inputs, path = begin(job, database)
    model, variables = metering_model(inputs, path, 150.0 / 3600.0)
    at = {key: variable.value for key, variable in variables.items()}
    base = at[name] if name != "outside diameter" else at[name] - 2.0 * at["wall"]
    moved = model(at | {name: at[name] + step * base})
    return math.log(float(moved) / float(model(at))) / math.log1p(step)


@pytest.mark.parametrize(("choice", "exponent"), [("measured", 2.0), ("computed", 1.0)])
def test_flow_goes_with_the_square_of_the_bore_or_with_the_bore(
    database: Database, changed: Changed, choice: str, exponent: float
) -> None:
    """At a fixed profile: a rough pipe keeps its friction factor, so that k does not follow the bore."""
    job = changed(time_in_liquid=choice, liquid={"dynamic_viscosity": "1e-5 mPa.s"})
    assert _exponent(database, job, "outside diameter", 1e-5) == pytest.approx(exponent, abs=0.01)


@pytest.mark.parametrize("choice", ["measured", "computed"])
def test_the_liquids_sound_speed_cancels_where_the_time_is_measured(
    database: Database, changed: Changed, choice: str
) -> None:
    """Computed, the velocity goes with 1/t_f and so with c^2 q_f: d ln / d ln c = 2 - 1/cos2(22.72 degrees)."""
    expected = 0.0 if choice == "measured" else 2.0 - 1.0 / math.cos(math.radians(22.72)) ** 2
    job = changed(time_in_liquid=choice, liquid={"dynamic_viscosity": "1e-5 mPa.s"})
    assert _exponent(database, job, "sound speed", 1e-5) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("part", ["0.1 %", "1 %", "10 %"])
def test_however_uncertain_the_liquids_speed_is_not_among_the_first_three(
    database: Database, changed: Changed, part: str
) -> None:
    doubt = f"{float(part.split()[0]) * 15.0} m/s"
    job = changed(liquid={"sound_speed": "1537 m/s", "sound_speed_uncertainty": doubt})
    told = work_step("uncertainty", job, database)["uncertainty"]
    assert "sound speed" not in [item["input"] for item in told["contributions"][:3]]


def test_where_the_time_is_computed_the_same_doubt_leads_the_budget(database: Database, changed: Changed) -> None:
    job = changed(time_in_liquid="computed", liquid={"sound_speed": "1537 m/s", "sound_speed_uncertainty": "150 m/s"})
    told = work_step("uncertainty", job, database)["uncertainty"]
    assert told["contributions"][0]["input"] == "sound speed"
    assert "let the instrument measure the time in the liquid" in told["advice"][0]


def test_contributions_come_largest_first_and_each_of_the_first_says_what_to_measure(
    database: Database, changed: Changed
) -> None:
    told = work_step("uncertainty", changed(), database)["uncertainty"]
    amounts = [abs(item["relative"]["magnitude"]) for item in told["contributions"]]
    assert amounts == sorted(amounts, reverse=True)
    assert len(told["advice"]) == 3


def test_a_gauge_and_a_table_of_one_wall_err_together(database: Database, changed: Changed) -> None:
    inputs, path = begin(changed(), database)
    pairs = correlations_of(inputs)
    assert 0.0 < pairs[("wall", "wall speed")] <= 1.0
    model, variables = metering_model(inputs, path, 150.0 / 3600.0)
    assert propagate(model, variables, pairs).uncertainty != propagate(model, variables).uncertainty


def test_one_coating_taken_off_diameter_and_wall_makes_them_err_to_one_side(
    database: Database, changed: Changed
) -> None:
    inputs, _ = begin(
        changed(pipe={"coating": "1 mm", "gauge_reads_coating": "yes", "gauge_speed": "5920 m/s"}), database
    )
    assert 0.0 < correlations_of(inputs)[("outside diameter", "wall")] <= 1.0


def test_draws_agree_with_the_linear_budget_of_a_nearly_linear_job(database: Database, changed: Changed) -> None:
    """Within 3 %: 100 000 draws scatter by 0.2 %, and the curvature of the flow in its inputs is of second order."""
    told = work_job(changed(), database, 100_000)["uncertainty"]
    drawn, linear = told["monte_carlo"], told["standard_uncertainty"]["magnitude"]
    assert drawn["standard_uncertainty"]["magnitude"] == pytest.approx(linear, rel=0.03)
    assert drawn["mean"]["magnitude"] == pytest.approx(told["flow"]["magnitude"], rel=0.002)
    low, high = (end["magnitude"] for end in drawn["interval_95"])
    assert (high - low) / 2.0 == pytest.approx(1.96 * linear, rel=0.04)


def test_the_same_job_draws_the_same_figures(database: Database, changed: Changed) -> None:
    first, second = (work_job(changed(), database, 1000)["uncertainty"]["monte_carlo"] for _ in range(2))
    assert first == second


@given(st.floats(-0.99, 0.99))
def test_correlated_draws_have_the_variance_that_the_linear_sum_gives(coefficient: float) -> None:
    variables = {"a": Variable(1.0, 0.3), "b": Variable(2.0, 0.4, "rectangular")}
    # Deviates that correlate by r make a normal and a rectangular variable correlate by r sqrt(3/pi).
    kept = {("a", "b"): coefficient * math.sqrt(3.0 / math.pi)}
    linear = propagate(lambda x: x["a"] - x["b"], variables, kept).uncertainty
    drawn = simulate(lambda x: x["a"] - x["b"], variables, {("a", "b"): coefficient}, draws=40_000).uncertainty
    assert drawn == pytest.approx(linear, rel=0.02, abs=0.002)


def test_each_contribution_says_how_the_flow_follows_its_input(database: Database, changed: Changed) -> None:
    """One per cent more diameter, at the same wall, is 2 D_o / D per cent more flow."""
    told = work_step("uncertainty", changed(), database)["uncertainty"]
    found = {item["input"]: item["elasticity"] for item in told["contributions"]}
    assert found["outside diameter"] == pytest.approx(2.0 * 219.1 / 204.9, rel=0.02)
    assert found["calibration"] == pytest.approx(1.0, rel=1e-9)
