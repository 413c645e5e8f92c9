"""What physics or any pipe forbids is refused with the number and the way out; what exists is worked."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from refdb.job.limits import FREE, LIMITS
from refdb.job.models import Job
from refdb.job.reading import members, read_model
from refdb.problems import BadParameter, Problem
from tests.job.conftest import Changed

TEXTS = frozenset(
    {
        *("title", "purpose", "setting", "release", "liquid.substance", "liquid.name", "pipe.system", "pipe.size"),
        *("pipe.designation", "pipe.material", "pipe.surface", "pipe.lining.material", "sensors.file"),
    }
)
"""Members that are no quantities."""
COUNTS = frozenset({"pipe.wall_points", "pipe.age", "sensors.passes", "heat.correlation"})


def test_every_quantity_of_a_job_has_its_limits() -> None:
    """What is left over are choices and counts, and a choice names what it chooses from."""
    schema = json.dumps(Job.model_json_schema())
    left = set(members(Job)) - LIMITS.keys() - FREE - TEXTS - COUNTS
    for member in left:
        name = member.rpartition(".")[2]
        assert re.search(rf'"{name}": {{("anyOf": \[{{)?[^{{}}]*("enum"|"const")', schema), member
    assert LIMITS.keys() <= set(members(Job))


FORBIDDEN: list[tuple[str, dict[str, Any]]] = [
    ("flow.normal", {"flow": {"normal": "60000 m3/h", "maximum": None}}),
    ("sensors.frequency", {"sensors": {"frequency": "20 MHz"}}),
    ("pipe.roughness", {"pipe": {"roughness": "1e300 mm", "surface": None}}),
    ("pipe.roughness", {"pipe": {"roughness": "15 mm", "surface": None}}),
    ("sensors.passes", {"sensors": {"passes": True}}),
    ("liquid.sound_speed", {"liquid": {"sound_speed": "14 km/s"}}),
    ("liquid.density", {"liquid": {"density": "9.8 kg/m3"}}),
    ("liquid.temperature", {"liquid": {"temperature": "-300 degC"}}),
    ("pipe.wall", {"pipe": {"wall": "7.1 m"}}),
    ("pipe.wall_uncertainty", {"pipe": {"wall_uncertainty": "-0.1 mm"}}),
    ("sensors.speed", {"sensors": {"speed": "2.45 m/s"}}),
    ("sensors.angle", {"sensors": {"angle": "0 deg"}}),
    ("liquid.density_uncertainty", {"liquid": {"density": "990 kg/m3", "density_uncertainty": "1200 kg/m3"}}),
    ("pipe.shear_speed_uncertainty", {"pipe": {"shear_speed": "3230 m/s", "shear_speed_uncertainty": "4000 m/s"}}),
    ("mounted.zero_difference", {"mounted": {"zero_difference": "3 s"}}),
]


@pytest.mark.parametrize(("member", "sections"), FORBIDDEN)
def test_what_nothing_is_is_refused_by_name_with_the_way_out(
    database: Database, changed: Changed, member: str, sections: dict[str, Any]
) -> None:
    with pytest.raises(Problem) as refused:
        work_job(changed(**sections), database)
    assert refused.value.detail.startswith(f"{member}: ")
    assert "check" in refused.value.detail or "without quotation marks" in refused.value.detail


def test_everything_that_is_beyond_its_limits_is_told_at_once(database: Database, changed: Changed) -> None:
    job = changed(sensors={"frequency": "20 MHz"}, pipe={"wall": "-3 mm"}, liquid={"temperature": "9999 degC"})
    with pytest.raises(BadParameter) as refused:
        work_job(job, database)
    told = {one["parameter"] for one in refused.value.extensions["errors"]}
    assert told == {"sensors.frequency", "pipe.wall", "liquid.temperature"}
    assert all(
        re.search(r"not between .* and .*: .*; check", one["detail"]) for one in refused.value.extensions["errors"]
    )


EXISTING: list[dict[str, Any]] = [
    {"sound_speed": "1450 m/s", "density": "13534 kg/m3", "dynamic_viscosity": "1.53 mPa.s"},  # mercury
    {"sound_speed": "182 m/s", "density": "125 kg/m3", "dynamic_viscosity": "3.2 uPa.s"},  # liquid helium
    {"sound_speed": "2300 m/s", "density": "850 kg/m3", "dynamic_viscosity": "0.25 mPa.s"},  # molten sodium
    {"sound_speed": "1900 m/s", "density": "1260 kg/m3", "dynamic_viscosity": "1.4 Pa.s"},  # glycerol
]


@pytest.mark.parametrize("liquid", EXISTING)
def test_what_exists_is_read(changed: Changed, liquid: dict[str, Any]) -> None:
    """Orders of magnitude of liquids at their limits (by memory): nothing of them is refused for being strange."""
    read_model(Job, changed(liquid={"substance": None, **liquid}))


@pytest.mark.parametrize(("outside", "wall", "flow"), [("15 mm", "1 mm", "0.5 m3/h"), ("4.1 m", "30 mm", "90000 m3/h")])
def test_small_and_large_pipes_are_worked(
    database: Database, changed: Changed, outside: str, wall: str, flow: str
) -> None:
    pipe = {"outside_diameter": outside, "wall": wall}
    sensors = {"frequency": "4 MHz"} if outside == "15 mm" else {"frequency": "0.5 MHz"}
    told = work_job(
        changed(pipe=pipe, sensors=sensors, flow={"normal": flow, "minimum": None, "maximum": None}), database
    )
    assert told["uncertainty"] is not None
