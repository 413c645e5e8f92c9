"""A job's document that is not in order: everything wrong at once, each with the nearest right word."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.job.models import Access, FitQuestion, Job, KnownSpacing
from refdb.job.reading import read_model
from refdb.problems import BadParameter

SENSORS = {"angle": "40 deg", "speed": "2400 m/s", "frequency": "1 MHz"}
SPACING = {"spacing": "50 mm", "passes": 2, "bore": "100 mm", "sound_speed": "1480 m/s", "wall": "5 mm"}


def _refused(model: Any, content: dict[str, Any]) -> BadParameter:
    with pytest.raises(BadParameter) as refusal:
        read_model(model, content)
    return refusal.value


def test_all_that_is_wrong_is_told_at_once_and_what_is_missing_together() -> None:
    content = {"title": "Invented", "liquid": {"temprature": "20 degC"}, "pipe": {"sytem": "x"}, "sensors": SENSORS}
    refusal = _refused(Job, content)
    assert refusal.detail == (
        "liquid.temprature: there is no such member; the nearest is temperature; "
        "pipe.sytem: there is no such member; the nearest is system; "
        "liquid.temperature, pipe.material: are missing, and nothing can be assumed in their place; add them."
    )
    told = [one["parameter"] for one in refusal.extensions["errors"]]
    assert sorted(told) == ["liquid.temperature", "liquid.temprature", "pipe.material", "pipe.sytem"]


def test_one_fault_is_told_as_before() -> None:
    refusal = _refused(Job, {"title": "Invented", "liquid": {"temperature": "20 degC"}, "sensors": SENSORS})
    assert refusal.detail == "pipe: is missing, and nothing can be assumed in its place; add it."
    assert "errors" not in refusal.extensions


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ({"pipe": {"material": "x", "lining": {"thickness": "3 mm", "thikness": "3 mm"}}}, "the nearest is thickness"),
        ({"heat": {"retrun": "40 degC"}}, "heat.retrun: there is no such member; the nearest is return"),
        ({"qqqq": 1}, "qqqq: there is no such member; there are title, purpose"),
    ],
)
def test_the_nearest_member_of_that_part_is_named(content: dict[str, Any], said: str) -> None:
    assert said in _refused(Job, content).detail


def test_a_member_of_a_list_is_named_by_its_number() -> None:
    refusal = _refused(FitQuestion, {"known": [SPACING | {"wall_speed": "3200 m/s"}, SPACING | {"wallspeed": "x"}]})
    assert "known.1.wallspeed: there is no such member; the nearest is wall_speed" in refusal.detail


@pytest.mark.parametrize("passes", [True, "2", 2.5, [2]])
def test_passes_are_a_whole_number_and_nothing_that_could_be_read_as_one(passes: Any) -> None:
    refusal = _refused(KnownSpacing, SPACING | {"passes": passes, "wall_speed": "3200 m/s"})
    assert refusal.detail.startswith("passes: must be a whole number, without quotation marks")


@pytest.mark.parametrize("upstream", [True, [10]])
def test_a_straight_length_is_a_number_of_diameters_or_a_length_and_said_to_be_so(upstream: Any) -> None:
    told = "upstream: must be a number of pipe diameters as 12, or a text as '12 D' or '3.5 m'."
    assert _refused(Access, {"upstream": upstream}).detail == told


def test_a_part_that_is_none_is_said_to_need_members() -> None:
    content = {"liquid": {"temperature": "20 degC"}, "pipe": 3, "sensors": SENSORS}
    assert _refused(Job, content).detail == "pipe: must be a part with members of its own, as [pipe] in TOML."
