"""A job from end to end, and the laws its parts must keep."""

from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from refdb.database import Database
from refdb.job import compare, fit, work_job, work_step
from refdb.job.acoustics.spacing import Layer, spacing, time_in_layers, time_in_liquid, total_time
from refdb.job.acoustics.waves import Medium, scatter, slowness
from refdb.job.flow.metering import metering_model
from refdb.job.flow.profile import friction_factor, friction_factors
from refdb.job.inputs.held import nominal_bore
from refdb.job.uncertainty import Variable, propagate, simulate
from refdb.job.work import begin
from refdb.lookup.state import read_state
from refdb.problems import BadParameter, OutsideRange
from tests.conftest import PROJECT, CommandLine

EXAMPLES = sorted((PROJECT / "shared/examples/jobs").glob("*.toml"))


@pytest.fixture
def job() -> dict[str, Any]:
    return tomllib.loads((PROJECT / "tests/job/data/heating-water.toml").read_text())


def test_the_total_time_at_the_spacing_of_the_ray_is_the_sum_of_its_parts() -> None:
    along, layers = 2.5e-4, [Layer(0.007, 3230.0), Layer(0.004, 2500.0)]
    exit_spacing = spacing(3, 0.2, 1480.0, layers, along)
    parts = time_in_liquid(3, 0.2, 1480.0, along) + time_in_layers(layers, along) + 1e-6
    assert float(total_time(3, 0.2, 1480.0, layers, along, exit_spacing, 1e-6)) == pytest.approx(
        float(parts), rel=1e-13
    )


@pytest.mark.parametrize("mode", ["longitudinal", "shear"])
def test_no_energy_is_lost_at_an_interface(mode: Any) -> None:
    wedge, steel, water = Medium(2700.0, 1300.0, 1180.0), Medium(5900.0, 3230.0, 7850.0), Medium(1482.0, None, 998.0)
    for first, second in ((wedge, steel), (steel, water), (steel, wedge)):
        told = scatter(first, second, mode, 1.2e-4)
        assert sum(told.reflected.values()) + sum(told.transmitted.values()) == pytest.approx(1.0, abs=1e-12)


def test_normal_incidence_transmits_by_impedances_alone() -> None:
    steel, water = Medium(5900.0, 3230.0, 7850.0), Medium(1482.0, None, 998.0)
    first, second = 5900.0 * 7850.0, 1482.0 * 998.0
    passed = scatter(steel, water, "longitudinal", 0.0).transmitted["longitudinal"]
    assert passed == pytest.approx(4 * first * second / (first + second) ** 2)


@pytest.mark.parametrize(("choice", "exponent"), [("measured", 2.0), ("computed", 1.0)])
def test_flow_goes_with_the_bore(database: Database, job: dict[str, Any], choice: str, exponent: float) -> None:
    inputs, path = begin(job | {"time_in_liquid": choice}, database)
    model, variables = metering_model(inputs, path, 150 / 3600)
    at = {name: variable.value for name, variable in variables.items()}
    bore = at["outside diameter"] - 2 * at["wall"]
    wider = model(at | {"outside diameter": at["outside diameter"] + 1e-4 * bore})
    # The profile factor follows the Reynolds number a little.
    assert math.log(wider / model(at)) / math.log(1.0001) == pytest.approx(exponent, abs=0.03)


def test_the_liquids_sound_speed_hardly_matters_where_time_is_measured(database: Database, job: dict[str, Any]) -> None:
    told = work_step("uncertainty", job, database)["uncertainty"]
    assert "sound speed" not in [item["input"] for item in told["contributions"][:3]]


def test_the_model_gives_back_the_flow_it_was_made_for(database: Database, job: dict[str, Any]) -> None:
    assert work_step("uncertainty", job, database)["uncertainty"]["flow"]["magnitude"] == pytest.approx(150.0, rel=1e-9)


def test_draws_agree_with_the_linear_budget(database: Database, job: dict[str, Any]) -> None:
    told = work_job(job, database, 20_000)["uncertainty"]
    drawn = told["monte_carlo"]["standard_uncertainty"]["magnitude"]
    assert drawn == pytest.approx(told["standard_uncertainty"]["magnitude"], rel=0.05)


def test_thousands_of_friction_factors_at_once_are_those_of_the_library_one_by_one() -> None:
    reynolds = np.logspace(3.7, 8.0, 60)
    for roughness in (0.0, 1e-6, 1e-4, 1e-2):
        at_once = friction_factors(reynolds, np.full_like(reynolds, roughness))
        assert at_once == pytest.approx([friction_factor(each, roughness) for each in reynolds], rel=1e-13)


def test_wholly_correlated_inputs_cancel_in_a_difference() -> None:
    variables = {"a": Variable(1.0, 0.5), "b": Variable(2.0, 0.5)}
    assert propagate(lambda x: x["a"] - x["b"], variables, {("a", "b"): 1.0}).uncertainty == pytest.approx(
        0.0, abs=1e-9
    )
    assert simulate(lambda x: x["a"] - x["b"], variables, {("a", "b"): 1.0}).uncertainty < 1e-7


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_examples_are_worked_in_full(database: Database, example: Path) -> None:
    told = work_job(tomllib.loads(example.read_text()), database)
    assert told["refused"] == []
    assert "nvented" in told["setting"]
    assert told["rows"]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_the_sound_speed_of_no_examples_liquid_is_among_the_first_three(database: Database, example: Path) -> None:
    """All measure the time in the liquid, where the speed of sound cancels to first order."""
    told = work_step("uncertainty", tomllib.loads(example.read_text()), database)["uncertainty"]
    assert "sound speed" not in [item["input"] for item in told["contributions"][:3]]


def test_there_are_twelve_examples_and_none_of_a_thin_stainless_wall(database: Database) -> None:
    jobs = [tomllib.loads(example.read_text()) for example in EXAMPLES]
    assert len(jobs) == 12
    stainless = [job for job in jobs if "stainless" in job["pipe"]["material"]]
    walls = [work_step("pipe", job, database)["pipe"]["wall"]["magnitude"] for job in stainless]
    assert min(walls) > 6.0
    assert sum("mounted" in job for job in jobs) >= 2


def test_a_reading_that_differs_is_given_every_cause_that_would_explain_it(database: Database) -> None:
    job = tomllib.loads((PROJECT / "shared/examples/jobs/drinking-water-ductile-iron.toml").read_text())
    told = work_step("mounted", job, database)["mounted"]
    assert not told["sound_speed"]["agrees"]
    assert {"bore", "wall", "temperature"} <= {item["cause"] for item in told["sound_speed"]["explanations"]}
    assert told["meters"]["agree"]


def test_a_property_the_job_can_do_without_does_not_stop_it(database: Database) -> None:
    """The specific heat of hydrochloric acid is published up to 6.5 % by mass only."""
    job = tomllib.loads((PROJECT / "shared/examples/jobs/hydrochloric-acid-pvdf.toml").read_text())
    assumed = work_step("flow", job, database)["assumptions"]
    assert any(text.startswith("liquid.specific_heat: not given") for text in assumed)


def test_si_and_us_units_give_the_same_job(database: Database, job: dict[str, Any]) -> None:
    """219.075 mm is 8.625 in, 7.112 mm is 0.28 in and 45 degC is 113 degF, all exactly."""
    metric, us = copy.deepcopy(job), copy.deepcopy(job)
    metric["pipe"] |= {"outside_diameter": "219.075 mm", "wall": "7.112 mm"}
    us["pipe"] |= {"outside_diameter": "8.625 in", "wall": "0.28 in"}
    us["liquid"] |= {"temperature": "113 degF"}
    results = []
    for document in (metric, us):
        inputs, path = begin(document, database)
        numbers = {name: item.value for name, item in inputs.found.items()}
        bore = nominal_bore(inputs)
        model, variables = metering_model(inputs, path, 150 / 3600)
        set_at = spacing(2, bore, numbers["sound speed"], path.layers(numbers), path.along)
        results.append([bore, numbers["sound speed"], float(set_at), propagate(model, variables).value])
    assert results[0] == pytest.approx(results[1], rel=1e-12)


def test_sensors_are_fitted_from_spacings() -> None:
    along = float(slowness(math.radians(38.0), 2450.0))
    known = []
    for passes in (2, 4):
        set_at = float(spacing(passes, 0.2, 1480.0, [Layer(0.007, 3230.0)], along, 0.012))
        texts = {"bore": "200 mm", "sound_speed": "1480 m/s", "wall": "7 mm", "wall_speed": "3230 m/s"}
        known.append({"spacing": f"{set_at!r} m", "passes": passes, **texts})
    told = fit({"known": known})
    assert told["slowness"]["magnitude"] == pytest.approx(along, rel=1e-6)
    assert told["offset"]["magnitude"] == pytest.approx(12.0, abs=1e-3)


def test_two_meters_are_compared() -> None:
    names = ("first", "first_expanded_uncertainty", "second", "second_expanded_uncertainty")
    told = compare(dict(zip(names, ("100 m3/h", "3 m3/h", "106 m3/h", "4 m3/h"), strict=True)))
    assert told["normalised_error"] == pytest.approx(6 / 5)
    assert not told["agree"]


def test_a_contradiction_is_refused_by_name(database: Database, job: dict[str, Any]) -> None:
    wrong = copy.deepcopy(job)
    wrong["pipe"] |= {"system": "b36.10", "size": "NPS 10", "designation": "40"}
    with pytest.raises(BadParameter, match=r"^pipe\.size: contradicts"):
        work_job(wrong, database)


def test_an_unknown_member_is_refused_by_name(database: Database, job: dict[str, Any]) -> None:
    with pytest.raises(BadParameter, match=r"^pipe\.colour"):
        work_job(job | {"pipe": job["pipe"] | {"colour": "red"}}, database)


def test_a_wall_well_below_a_wavelength_gets_no_spacing_from_rays(database: Database, job: dict[str, Any]) -> None:
    thin = job | {"pipe": job["pipe"] | {"outside_diameter": "60 mm", "wall": "0.8 mm"}}
    with pytest.raises(OutsideRange, match="plate waves"):
        work_step("spacing", thin, database)


def test_the_command_prints_a_sheet(command: CommandLine) -> None:
    printed = command("job", str(EXAMPLES[0]))
    assert printed.code == 0
    assert "Local codes" in printed.out
    assert "sha256:" in printed.out


def test_the_service_works_a_job_and_each_step(client: Any, job: dict[str, Any]) -> None:
    assert client.post("/v1/jobs", json=job).status_code == 200
    assert client.post("/v1/jobs/waves", json=job).json()["waves"]["liquid_angle"]["unit"] == "deg"
    assert client.post("/v1/jobs", json={"title": "x"}).status_code == 422


def _absorbed(job: dict[str, Any], database: Database) -> tuple[float, float, str]:
    """Least and most absorption on the way, in dB, and where it is from, for one pass."""
    loss = work_step("spacing", job, database)["spacing"]["passes"][0]["loss"]
    low, high = (item["magnitude"] for item in loss["absorption"])
    return low, high, loss["absorption_from"]


def _with_liquid(job: dict[str, Any], **changes: str) -> dict[str, Any]:
    return job | {"liquid": job["liquid"] | changes}


def test_what_is_published_of_the_absorption_is_taken(pending: Database, job: dict[str, Any]) -> None:
    low, high, words = _absorbed(job, pending)
    assert words == "published: row water.absorption_over_frequency_squared"
    assert 1.0 < high / low < 1.2


def test_an_absorption_that_is_given_goes_first(pending: Database, job: dict[str, Any]) -> None:
    low, high, words = _absorbed(_with_liquid(job, absorption="8 Np/m"), pending)
    assert words == "given"
    assert high / low == pytest.approx(1.3 / 0.7)


def test_a_lower_bound_of_the_release_is_told_as_one(pending: Database, job: dict[str, Any]) -> None:
    decane = _with_liquid(job, substance="n-decane")
    low, high, words = _absorbed(decane, pending)
    assert words.startswith("lower bound: row n-decane.absorption_over_frequency_squared")
    assert high == pytest.approx(10.0 * low)
    assert any("lower bound, not a value" in text for text in work_step("spacing", decane, pending)["warnings"])


def test_beyond_what_is_published_a_bound_is_worked_from_the_jobs_own_numbers(
    pending: Database, job: dict[str, Any]
) -> None:
    """Published of water to 60 degC; the formula is the rule's own, so that it must meet the row of n-decane."""
    low, high, words = _absorbed(_with_liquid(job, temperature="90 degC"), pending)
    assert words.startswith("lower bound: from the viscosity, density and sound speed of the job")
    assert high == pytest.approx(10.0 * low)
    state = read_state("45 degC", "0.4 MPa")
    own = {
        name: f"{answer.magnitude!r} {answer.unit}"
        for name in ("sound_speed", "density", "dynamic_viscosity")
        for answer in pending.values("n-decane", [name], state=state)
    }
    nameless = {name: text for name, text in job["liquid"].items() if name != "substance"}
    by_hand = _absorbed(job | {"liquid": nameless | own}, pending)
    by_row = _absorbed(_with_liquid(job, substance="n-decane"), pending)
    assert by_hand[0] == pytest.approx(by_row[0], rel=1e-9)


def test_near_a_bend_the_remark_says_what_a_study_found(database: Database, job: dict[str, Any]) -> None:
    """Synowiec et al. 2021, summary: 1.02 from 8 diameters on; nearer, errors of up to 10.8 %."""
    near = job | {"access": {"upstream": 5, "disturbance": "bend"}}
    remarks = {item["about"]: item for item in work_step("suitability", near, database)["suitability"]}
    assert remarks["straight length"]["verdict"] == "bad"
    assert remarks["straight length"]["source"].startswith("Synowiec et al. 2021")


def test_a_remark_that_no_document_seen_says_is_common_practice(database: Database, job: dict[str, Any]) -> None:
    for item in work_step("suitability", job, database)["suitability"]:
        assert item["source"].startswith("common practice, no source"), item
