"""Five worked examples on warm, plastic, lined and wound walls, each with a check of its own."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from tests.conftest import PROJECT

EXAMPLES = PROJECT / "shared" / "examples" / "jobs"


def _worked(database: Database, name: str) -> dict[str, Any]:
    return work_job(tomllib.loads((EXAMPLES / f"{name}.toml").read_text()), database)


def _input(told: dict[str, Any], name: str) -> dict[str, Any]:
    item: dict[str, Any] = next(each for each in told["inputs"] if each["name"] == name)
    return item


def _number(told: dict[str, Any], name: str) -> float:
    return float(_input(told, name)["value"]["magnitude"])


def test_hot_caustic_runs_in_a_wall_that_is_slower_than_at_20_degc(database: Database) -> None:
    """EN 10088-1 lets the modulus of 1.4404 fall from 200 to 194 GPa at 100 degC (by memory): 0.9 % less at 75 degC."""
    told = _worked(database, "hot-caustic-316l")
    cold = float(database.value("stainless-316l", "shear_speed", temperature="20 degC").magnitude)
    fall = 1.0 - _number(told, "wall speed") / cold
    assert fall == pytest.approx(0.5 * 0.03 * 55.0 / 80.0 - 1.5 * 16e-6 * 55.0, abs=0.006)
    assert 0.008 < fall < 0.014
    assert _input(told, "thermal expansion")["row"]["id"] == "stainless-316l.thermal_expansion"


def test_hot_copper_has_grown_as_its_association_says(database: Database) -> None:
    """Copper Development Association: 17.0e-6/K from 20 to 100 degC (by memory): 0.077 % over 45 K."""
    told = _worked(database, "hot-water-copper")
    grown = _number(told, "thermal expansion") * 45.0
    assert grown == pytest.approx(17.0e-6 * 45.0, rel=0.05)
    assert told["refused"] == []


def test_a_warm_outfall_has_grown_since_it_was_measured(database: Database) -> None:
    """15 K at 0.1 to 0.2 mm/(m.K): 0.3 to 0.6 % of the area (common practice, no source)."""
    told = _worked(database, "cooling-water-outfall-hdpe")
    area = (_number(told, "outside diameter") / 502.5) ** 2 - 1.0
    assert 0.003 < area < 0.006
    assert _input(told, "wall speed")["row"]["id"] == "hdpe.longitudinal_speed"


def test_rubber_behind_steel_turns_the_beam_by_snells_law(database: Database) -> None:
    told = _worked(database, "tailings-rubber-lined-steel")
    slowness = math.sin(math.radians(_number(told, "wedge angle"))) / _number(told, "wedge speed")
    angles = {layer["layer"]: layer["angle"]["magnitude"] for layer in told["waves"]["layers"]}
    angles["liquid"] = told["waves"]["liquid_angle"]["magnitude"]
    for layer, name in (("wall", "wall speed"), ("lining", "lining speed"), ("liquid", "sound speed")):
        assert angles[layer] == pytest.approx(math.degrees(math.asin(slowness * _number(told, name))), abs=0.01)


def test_a_wound_wall_warns_that_a_radial_speed_is_no_substitute(database: Database) -> None:
    told = _worked(database, "brine-gre")
    assert any("not isotropic" in text for text in told["warnings"])
    assert any("no substitute" in text for text in told["warnings"])
    low, high = (
        float(end.magnitude)
        for end in database.value("gre-filament-wound", "longitudinal_speed", accept="estimates").limits or ()
    )
    assert low < _number(told, "wall speed") < high


def test_a_wound_wall_can_be_worked_on_the_bound_alone(database: Database) -> None:
    job = tomllib.loads((EXAMPLES / "brine-gre.toml").read_text())
    for name in ("longitudinal_speed", "longitudinal_speed_uncertainty"):
        del job["pipe"][name]
    told = work_job(job, database)
    assert _input(told, "wall speed")["bound"]["high"]["magnitude"] > 3000.0
    assert told["verdict"]["fitness"] != "fit"
