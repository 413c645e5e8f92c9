"""Inputs of a job: contradictions refused by name, defaults told, corrections of what was measured."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.work import begin
from refdb.problems import Problem
from tests.job.conftest import Changed

SCH_40 = {"system": "b36.10", "size": "NPS 8", "designation": "40"}

CONTRADICTIONS: list[tuple[str, dict[str, Any]]] = [
    ("pipe.circumference", {"pipe": {"circumference": "720 mm"}}),
    ("pipe.wall", {"pipe": {"wall": "110 mm"}}),
    ("pipe.lining.thickness", {"pipe": {"lining": {"thickness": "103 mm", "shear_speed": "1500 m/s"}}}),
    ("pipe.deposits", {"pipe": {"deposits": "103 mm"}}),
    ("pipe.size", {"pipe": SCH_40 | {"size": "NPS 10"}}),
    ("pipe.designation", {"pipe": SCH_40 | {"wall": "12.5 mm"}}),
    ("pipe.coating_speed", {"pipe": {"coating_speed": "2400 m/s"}}),
    ("pipe.deposits_speed", {"pipe": {"deposits_speed": "2400 m/s"}}),
    ("pipe.tape_thickness", {"pipe": {"tape_thickness": "0.2 mm"}}),
    ("pipe.gauge_reads_coating", {"pipe": {"gauge_reads_coating": "yes"}}),
    ("pipe.wave", {"pipe": {"wave": "longitudinal"}}),
    ("flow.minimum", {"flow": {"minimum": "200 m3/h"}}),
    ("flow.normal", {"flow": {"maximum": "100 m3/h"}}),
    ("sensors.spacing_set", {"sensors": {"spacing_set": "190 mm"}}),
    ("sensors.angle", {"sensors": {"angle": "91 deg"}}),
    ("sensors.greatest_temperature", {"sensors": {"greatest_temperature": "40 degC"}}),
    ("sensors.least_temperature", {"sensors": {"least_temperature": "50 degC"}}),
    (
        "sensors.couplant_least_temperature",
        {"sensors": {"couplant_least_temperature": "50 degC", "couplant_greatest_temperature": "40 degC"}},
    ),
    ("sensors.speed_temperature", {"sensors": {"speed_temperature": "20 degC"}}),
    ("sensors.rail_first", {"sensors": {"rail_first": "20 mm"}}),
    ("sensors.offset_uncertainty", {"sensors": {"offset_uncertainty": "-1 mm"}}),
    ("liquid.atmosphere", {"liquid": {"atmosphere": "0.9 bar"}}),
    ("liquid.absorption_uncertainty", {"liquid": {"absorption_uncertainty": "1 Np/m"}}),
    ("mounted.sound_speed_uncertainty", {"mounted": {"sound_speed_uncertainty": "1 m/s"}}),
]


@pytest.mark.parametrize(("field", "sections"), CONTRADICTIONS, ids=[field for field, _ in CONTRADICTIONS])
def test_a_contradiction_is_refused_by_the_name_of_its_member(
    database: Database, changed: Changed, field: str, sections: dict[str, Any]
) -> None:
    with pytest.raises(Problem) as refused:
        work_job(changed(**sections), database)
    assert refused.value.detail.startswith(f"{field}: ")


def test_what_only_sounds_like_a_contradiction_is_worked(database: Database, changed: Changed) -> None:
    access = {"orientation": "downward", "full": "yes"}
    told = work_job(changed(access=access, pipe=SCH_40 | {"wall": "8.1 mm"}), database)
    assert told["refused"] == []


def test_tape_and_calipers_that_agree_are_both_welcome(database: Database, changed: Changed) -> None:
    inputs, _ = begin(changed(pipe={"circumference": "688.5 mm"}), database)
    # C / pi less half of the 0 to 0.2 mm that a tape may be thick.
    assert 1000.0 * inputs.value("outside diameter") == pytest.approx(688.5 / math.pi - 0.1, abs=0.01)
    assert any("circumference is worked on" in text for text in inputs.assumptions)


def test_a_wall_far_below_its_designation_is_told_and_not_refused(database: Database, changed: Changed) -> None:
    told = work_job(changed(pipe=SCH_40 | {"wall": "5 mm"}), database)
    assert any("corroded" in text for text in told["warnings"])


def test_a_gauge_set_to_another_speed_is_put_right(database: Database, changed: Changed) -> None:
    inputs, _ = begin(changed(pipe={"gauge_speed": "6000 m/s"}), database)
    assert 1000.0 * inputs.value("wall") == pytest.approx(7.1 * 5900.0 / 6000.0, rel=1e-9)


def test_every_default_uncertainty_is_told(database: Database, changed: Changed) -> None:
    told = work_job(changed(pipe={"deposits": "1 mm"}), database)["assumptions"]
    for name in ("liquid.temperature", "sensors.angle", "sensors.offset", "sensors.delay", "sensors.zero_stability"):
        assert any(text.startswith(f"{name}: standard uncertainty") for text in told), name
    assert any(text.startswith("deposits: standard uncertainty 50 %") for text in told)


def test_a_pipe_measured_cold_has_grown_hot(database: Database, changed: Changed) -> None:
    """12e-6 per kelvin over 25 K: 0.03 % of every length."""
    pipe = {"thermal_expansion": "12e-6 1/K", "measured_at": "20 degC"}
    cold, hot = (begin(changed(pipe=each), database)[0] for each in ({}, pipe))
    for name in ("outside diameter", "wall"):
        assert hot.value(name) / cold.value(name) == pytest.approx(1.0 + 12e-6 * 25.0, rel=1e-12)


def test_a_nominal_pipe_is_nominal_at_20_degrees(database: Database, changed: Changed) -> None:
    pipe = SCH_40 | {"outside_diameter": None, "wall": None}
    at_20, grown = (
        begin(changed(pipe=pipe | {"thermal_expansion": text}), database)[0] for text in ("0 1/K", "12e-6 1/K")
    )
    assert grown.value("outside diameter") / at_20.value("outside diameter") == pytest.approx(1.0003, rel=1e-9)


def test_a_pipe_whose_expansion_nobody_tells_may_have_grown_as_much_as_its_kin(
    database: Database, changed: Changed
) -> None:
    """0 to 3e-5 per kelvin over 25 K, so 0.0375 % and a rectangle of that half width; of vanadium nobody tells more."""
    pipe = SCH_40 | {"outside_diameter": None, "wall": None, "material": "vanadium"}
    unknown, at_20 = (
        begin(changed(pipe=pipe | more), database)[0]["outside diameter"]
        for more in ({}, {"thermal_expansion": "0 1/K"})
    )
    assert unknown.value / at_20.value == pytest.approx(1.000375, rel=1e-9)
    grown = math.sqrt(unknown.uncertainty**2 - at_20.uncertainty**2)
    assert grown == pytest.approx(0.000375 / math.sqrt(3.0) * at_20.value, rel=1e-6)


def test_a_pipe_by_its_standard_lies_between_the_limits_of_the_standard(database: Database, changed: Changed) -> None:
    """The wall of SDR 11 at 315 mm has grade V of ISO 11922-1: 28.6 mm to 31.6 mm, as in the matching of pipes."""
    pipe = {"outside_diameter": None, "wall": None, "system": "iso4427", "size": "315", "designation": "SDR 11"}
    wall = begin(changed(pipe=pipe | {"thermal_expansion": "0 1/K"}), database)[0]["wall"]
    assert wall.value == pytest.approx(0.0301)
    assert wall.uncertainty == pytest.approx(0.0015 / math.sqrt(3.0))
    assert wall.distribution == "rectangular"


@pytest.mark.parametrize(
    ("material", "age", "surface"),
    [
        ("carbon-steel", None, "roughness.steel-new"),
        ("carbon-steel", 30, "roughness.steel-used"),
        ("stainless-316l", 30, "roughness.stainless-new"),
        ("ductile-iron", None, "roughness.ductile-iron-new"),
        ("copper", None, "roughness.drawn-metal-new"),
        ("alloy-625", None, "roughness.stainless-new"),
        ("hdpe", None, "roughness.plastic-new"),
        ("concrete", 40, "roughness.concrete-used"),
    ],
)
def test_the_surface_of_a_bare_pipe_is_the_usual_one_of_its_material_and_age(
    database: Database, changed: Changed, material: str, age: float | None, surface: str
) -> None:
    from refdb.job.inputs.read import read_inputs
    from refdb.job.models import Job
    from refdb.job.reading import read_model

    content = changed(pipe={"material": material, "age": age, "surface": None, "roughness": None})
    inputs = read_inputs(read_model(Job, content), database)
    assert inputs["roughness"].words == f"row {surface}"
    assert any(surface in text and "judgement" in text for text in inputs.assumptions)


def test_an_oval_pipe_makes_one_reading_of_calipers_less_certain(database: Database, changed: Changed) -> None:
    round_, oval = (
        begin(changed(pipe=each), database)[0]["outside diameter"].uncertainty for each in ({}, {"ovality": "2 %"})
    )
    assert math.sqrt(oval**2 - round_**2) == pytest.approx(0.02 * 0.2191 / math.sqrt(8.0), rel=1e-6)


def test_gauge_pressure_counts_from_the_standard_atmosphere_or_the_one_told(
    database: Database, changed: Changed
) -> None:
    def pressure(**liquid: str) -> float:
        return begin(changed(liquid=liquid), database)[0].value("pressure")

    assert pressure(pressure="3 bar(g)") == pytest.approx(401325.0)
    assert pressure(pressure="3 bar(g)", atmosphere="0.8 bar") == pytest.approx(380000.0)
    assert pressure(pressure="4.01325 bar") == pytest.approx(401325.0)


def test_the_wedges_speed_is_that_at_its_own_temperature(database: Database, changed: Changed) -> None:
    sensors = {"speed_slope": "-2.5 m/(s.K)", "speed_temperature": "20 degC", "temperature": "30 degC"}
    inputs, _ = begin(changed(sensors=sensors), database)
    assert inputs.value("wedge speed") == pytest.approx(2425.0)
    # 3 K of doubt about the wedge's temperature stand in the doubt of its speed.
    assert inputs["wedge speed"].uncertainty >= 2.5 * 3.0


def test_an_implausible_wall_gets_a_word(database: Database, changed: Changed) -> None:
    told = work_step("pipe", changed(pipe={"wall": "60 mm"}), database)["pipe"]
    assert any("implausible" in text for text in told["warnings"])


def test_the_pipe_tells_bore_and_area_with_their_uncertainty_and_growth(database: Database, changed: Changed) -> None:
    pipe = {"thermal_expansion": "12e-6 1/K", "measured_at": "20 degC"}
    told = work_step("pipe", changed(pipe=pipe), database)["pipe"]
    relative = told["bore_uncertainty"]["magnitude"] / told["bore"]["magnitude"]
    assert told["area_uncertainty"]["magnitude"] / told["area"]["magnitude"] == pytest.approx(2.0 * relative)
    assert told["growth"]["magnitude"] == pytest.approx(0.03)
