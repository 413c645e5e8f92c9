"""The path of a job's sound: layers, arrivals, thin walls, spacing as set, what the signal loses."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.acoustics.spacing import nearest_setting
from refdb.problems import OutsideRange
from tests.job.conftest import Changed

PLASTIC = {
    "material": "pvdf",
    "longitudinal_speed": "2250 m/s",
    "shear_speed": "1050 m/s",
    "density": "1780 kg/m3",
    "surface": None,
    "roughness": "2 um",
}
WEDGE = {"density": "1180 kg/m3", "other_speed": "1200 m/s"}


def _pass(told: dict[str, Any], passes: int) -> dict[str, Any]:
    item: dict[str, Any] = told["spacing"]["passes"][passes - 1]
    return item


def _spacing(told: dict[str, Any], passes: int = 2) -> float:
    return float(_pass(told, passes)["spacing"]["magnitude"])


def test_a_coating_the_sensors_stand_on_is_a_layer_of_its_own(database: Database, changed: Changed) -> None:
    bare = work_step("spacing", changed(pipe={"coating": "1 mm"}), database)
    coated = work_step("spacing", changed(pipe={"coating": "1 mm", "coating_speed": "2400 m/s"}), database)
    along = math.sin(math.radians(38.0)) / 2450.0
    across = math.sqrt(1.0 / 2400.0**2 - along**2)
    assert _spacing(coated) - _spacing(bare) == pytest.approx(2.0 * 1.0 * along / across, rel=1e-6)
    assert any("coating is taken off" in text for text in bare["assumptions"])


def test_deposits_narrow_the_bore_and_are_crossed(database: Database, changed: Changed) -> None:
    """Deposits as fast as the liquid leave the single pass where it was, and shorten every further one."""
    clean = work_step("spacing", changed(), database)
    soft = work_step("spacing", changed(pipe={"deposits": "3 mm"}), database)
    assert _spacing(soft, 1) == pytest.approx(_spacing(clean, 1), rel=1e-9)
    assert _spacing(soft, 2) < _spacing(clean, 2)
    assert any("pipe.deposits_speed not given" in text for text in soft["assumptions"])


def test_the_budget_of_a_pipe_with_every_layer_is_that_of_its_flow(database: Database, changed: Changed) -> None:
    lining = {"thickness": "4 mm", "shear_speed": "1500 m/s", "wave": "shear", "bonded": "yes"}
    pipe = {"coating": "0.5 mm", "coating_speed": "2400 m/s", "deposits": "1 mm", "lining": lining}
    told = work_step("uncertainty", changed(pipe=pipe), database)["uncertainty"]
    assert told["flow"]["magnitude"] == pytest.approx(150.0, rel=1e-9)
    names = {item["input"] for item in told["contributions"]}
    assert {"coating", "deposits", "deposits speed", "lining thickness", "lining speed"} <= names


def test_in_a_plastic_both_arrivals_are_told_with_what_they_bring(database: Database, changed: Changed) -> None:
    pipe = PLASTIC | {"longitudinal_absorption": "150 dB/m", "shear_absorption": "600 dB/m"}
    told = work_step("waves", changed(pipe=pipe, sensors=WEDGE), database)["waves"]
    arrivals = {arrival["wall_wave"]: arrival for arrival in told["arrivals"]}
    assert all(arrival["travels"] for arrival in arrivals.values())
    assert [arrival["worked_on"] for arrival in arrivals.values()].count(True) == 1
    assert arrivals["longitudinal"]["spacing"] != arrivals["shear"]["spacing"]
    assert arrivals["longitudinal"]["total_time"]["magnitude"] != arrivals["shear"]["total_time"]["magnitude"]
    for arrival in arrivals.values():
        low, high = arrival["transmission"]["wedge_to_wall"]
        assert 0.0 < low <= high < 1.0
        assert 0.0 < arrival["transmission"]["wall_to_liquid"] < 1.0
    # 150 dB/m over both walls of 7.1 mm, at the angle of the longitudinal wave.
    cosine = math.sqrt(1.0 - (math.sin(math.radians(38.0)) / 2450.0 * 2250.0) ** 2)
    for end in arrivals["longitudinal"]["absorption_in_walls"]:
        assert end["magnitude"] == pytest.approx(150.0 * 2 * 0.0071 / cosine, rel=1e-9)
    assert any("Two arrivals" in text for text in told["warnings"])


def test_an_arrival_that_cannot_be_judged_is_not_passed_over(database: Database, changed: Changed) -> None:
    pipe = PLASTIC | {"material": "abs", "shear_speed": None, "wave": "longitudinal"}
    told = work_step("waves", changed(pipe=pipe), database)["waves"]
    assert [arrival["travels"] for arrival in told["arrivals"]] == [True, None]
    assert any("cannot be told" in text for text in told["warnings"])
    assert any("whether the wall carries plate waves cannot be told" in text for text in told["warnings"])


def test_a_lining_multiplies_the_arrivals_and_is_part_of_the_loss(database: Database, changed: Changed) -> None:
    lining = {
        "thickness": "4 mm",
        "longitudinal_speed": "2300 m/s",
        "shear_speed": "1100 m/s",
        "density": "1200 kg/m3",
        "bonded": "yes",
    }
    bare = _pass(work_step("spacing", changed(), database), 2)["loss"]
    told = work_step("waves", changed(pipe={"lining": lining}), database)["waves"]
    assert [(each["wall_wave"], each["lining_wave"]) for each in told["arrivals"] if each["travels"]] == [
        ("shear", "longitudinal"),
        ("shear", "shear"),
    ]
    lined = _pass(work_step("spacing", changed(pipe={"lining": lining}), database), 2)["loss"]
    assert lined["transmission"] != bare["transmission"]
    # Less is reflected at a plastic surface than at steel.
    assert lined["reflections"]["magnitude"] > bare["reflections"]["magnitude"]


@pytest.mark.parametrize(("bonded", "words"), [("no", "not bonded"), ("unknown", "holds only where"), ("yes", None)])
def test_a_lining_that_may_not_be_bonded_is_warned_of(
    database: Database, changed: Changed, bonded: str, words: str | None
) -> None:
    lining = {"thickness": "4 mm", "shear_speed": "1500 m/s", "wave": "shear", "bonded": bonded}
    warnings = work_step("waves", changed(pipe={"lining": lining}), database)["waves"]["warnings"]
    assert any(words in text for text in warnings) if words else not any("bonded" in text for text in warnings)


def test_a_wall_of_about_one_shear_wavelength_is_warned_of_and_still_worked(
    database: Database, changed: Changed
) -> None:
    told = work_job(changed(pipe={"wall": "3.2 mm"}), database)
    assert told["waves"]["thickness_by_wavelength"] == pytest.approx(3.2e-3 * 1e6 / 3230.0)
    for step in ("waves", "spacing"):
        assert any("plate waves" in text and "Massaad" in text for text in told[step]["warnings"])
    assert told["spacing"]["passes"][0]["spacing"] is not None


def test_a_wall_well_below_one_gets_angles_and_no_spacing(database: Database, changed: Changed) -> None:
    thin = changed(pipe={"wall": "1.5 mm"})
    told = work_step("waves", thin, database)["waves"]
    assert told["liquid_angle"]["magnitude"] == pytest.approx(22.72, abs=0.005)
    assert all(arrival["spacing"] is None for arrival in told["arrivals"])
    with pytest.raises(OutsideRange, match=r"^pipe\.wall: .*well below one.*higher frequency"):
        work_step("spacing", thin, database)


def test_spacings_that_are_negative_or_shorter_than_the_housings_say_so(database: Database, changed: Changed) -> None:
    told = work_step("spacing", changed(sensors={"offset": "-120 mm", "housing_length": "120 mm"}), database)
    remarks = [item["remark"] for item in told["spacing"]["passes"]]
    assert "cross over" in remarks[0]
    assert "shorter than the housings" in remarks[1]
    assert remarks[5] is None


def test_a_rail_begins_at_its_first_hole() -> None:
    assert nearest_setting(0.1913, 0.010) == pytest.approx(0.190)
    assert nearest_setting(0.1913, 0.010, 0.036) == pytest.approx(0.196)
    assert nearest_setting(0.010, 0.010, 0.036) == pytest.approx(0.036)


def test_the_whole_time_is_that_of_the_setting_on_the_rail(database: Database, changed: Changed) -> None:
    along = math.sin(math.radians(38.0)) / 2450.0
    free = _pass(work_step("spacing", changed(), database), 2)
    railed = _pass(work_step("spacing", changed(sensors={"rail_step": "10 mm"}), database), 2)
    moved = railed["nearest_setting"]["magnitude"] - free["spacing"]["magnitude"]
    assert railed["nearest_setting"]["magnitude"] == pytest.approx(190.0)
    shift = railed["total_time"]["magnitude"] - free["total_time"]["magnitude"]
    assert shift == pytest.approx(1000.0 * along * moved, rel=1e-6)


@pytest.mark.parametrize(
    ("choice", "entered", "shifted"), [("measured", "no", 1), ("measured", "yes", 0), ("computed", "no", 0)]
)
def test_a_spacing_set_wrong_matters_only_where_it_was_not_entered(
    database: Database, changed: Changed, choice: str, entered: str, shifted: int
) -> None:
    """Set 4 mm too far and not entered: the time in the liquid is taken as too long by sigma ds, the flow too low."""
    job = changed(sensors={"passes": 2, "spacing_set": "195.3 mm", "spacing_entered": entered}, time_in_liquid=choice)
    told = work_step("spacing", job, database)["spacing"]
    apart = told["as_set"]["apart"]["magnitude"]
    assert apart == pytest.approx(4.0, abs=0.06)
    along = math.sin(math.radians(38.0)) / 2450.0
    error = -100.0 * along * apart / 1000.0 / (told["passes"][1]["time_in_liquid"]["magnitude"] * 1e-6)
    assert told["as_set"]["error_of_flow"]["magnitude"] == pytest.approx(shifted * error, rel=1e-9)


def test_the_loss_is_a_range_whose_parts_add_up(database: Database, changed: Changed) -> None:
    loss = _pass(work_step("spacing", changed(sensors=WEDGE | {"width": "20 mm"}), database), 2)["loss"]
    for place, end in enumerate(("low", "high")):
        parts = [loss["transmission"][place], loss["absorption"][place], loss["reflections"], loss["spreading"][place]]
        assert loss[end]["magnitude"] == pytest.approx(sum(part["magnitude"] for part in parts))
    assert 0.0 < loss["low"]["magnitude"] < loss["usual"]["magnitude"] < loss["high"]["magnitude"]


def test_absorption_by_viscosity_goes_with_the_square_of_the_frequency(database: Database, changed: Changed) -> None:
    low, high = (
        _pass(work_step("spacing", changed(sensors={"frequency": text}), database), 2)["loss"]["absorption"]
        for text in ("1 MHz", "2 MHz")
    )
    assert high[0]["magnitude"] == pytest.approx(4.0 * low[0]["magnitude"])


def test_a_viscous_liquid_asks_for_one_pass_and_a_low_frequency(database: Database, changed: Changed) -> None:
    thin = work_step("spacing", changed(), database)["spacing"]["text"]
    thick = work_step("spacing", changed(liquid={"dynamic_viscosity": "1 Pa.s"}), database)["spacing"]["text"]
    assert any("up to 6 passes" in text for text in thin)
    assert any("one pass" in text and "lowest frequency" in text for text in thick)


def test_passes_that_leave_no_signal_are_warned_of_and_never_advised(database: Database, changed: Changed) -> None:
    job = changed(liquid={"dynamic_viscosity": "1 Pa.s"}, sensors={"passes": 4})
    told = work_step("spacing", job, database)
    assert _pass(told, 4)["loss"]["usual"]["magnitude"] > 85.0
    assert any("no usable signal" in text for text in told["spacing"]["warnings"])
    assert not any("more passes" in text for text in told["spacing"]["text"])


def test_echoes_inside_a_wall_of_some_wavelengths_are_told_and_no_one_is_sent_after_them(
    database: Database, changed: Changed
) -> None:
    """In 7.1 mm of steel at 3230 m/s an echo comes out 2 t tan(theta) further along, sin(theta) = 3230 sin 38/2450."""
    told = work_job(changed(mounted={"zero_difference": "0 ns"}), database)
    first = told["waves"]["echoes"]["beyond_the_spacing"][0]["magnitude"]
    wall = next(item["value"]["magnitude"] for item in told["inputs"] if item["name"] == "wall")
    speed = next(item["value"]["magnitude"] for item in told["inputs"] if item["name"] == "wall speed")
    angle = math.asin(speed * math.sin(math.radians(38.0)) / 2450.0)
    assert first == pytest.approx(2.0 * wall * math.tan(angle), rel=1e-6)
    assert "first rise" in told["waves"]["echoes"]["text"]
    assert not any("strongest" in text and "echo" not in text for text in told["mounted"]["when_the_signal_is_weak"])
    assert work_step("waves", changed(pipe={"wall": "25 mm"}), database)["waves"]["echoes"] is None
