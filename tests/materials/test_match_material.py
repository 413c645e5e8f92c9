"""Which materials agree with what was measured on a piece: with covariance, and with what cannot be told apart."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

import pytest
from scipy.stats import chi2

from refdb.database import Database
from refdb.materials.match import AGREES, NEAR
from refdb.problems import BadParameter, OutsideRange, Problem
from tests.conftest import CommandLine

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

STEEL: dict[str, Any] = {"longitudinal_speed": "5920 m/s", "shear_speed": "3240 m/s"}


def _ids(found: Any, which: str = "items") -> list[str]:
    return [item["subject"]["id"] for item in found.document()[which]]


def test_the_limits_are_the_95_percent_quantiles_of_chi_squared() -> None:
    assert set(AGREES) == {1, 2, 3, 4, 5}
    for freedom, limit in AGREES.items():
        assert limit == pytest.approx(chi2.ppf(0.95, freedom), rel=2e-4)


def test_a_piece_of_steel_is_steel_and_not_brass_or_aluminium(database: Database) -> None:
    found = database.match_material(**STEEL, density="7850 kg/m3", limit=400)
    assert "carbon-steel" in _ids(found)[:5]
    assert not {"brass-70-30", "copper", "aluminium", "titanium", "pvc-rigid"} & {
        *_ids(found),
        *_ids(found, "near_misses"),
    }


def test_a_density_tells_apart_what_speeds_do_not(database: Database) -> None:
    speeds = database.match_material(longitudinal_speed="5770 m/s", shear_speed="3080 m/s", limit=400)
    assert {"magnesium", "stainless-316"} <= set(_ids(speeds))
    assert speeds.document()["further"][0]["property"] == "density"
    weighed = database.match_material(
        longitudinal_speed="5770 m/s", shear_speed="3080 m/s", density="1740 kg/m3", limit=400
    )
    assert _ids(weighed)[0] == "magnesium"
    assert not {"stainless-316", "titanium", "carbon-steel"} & set(_ids(weighed))


def test_chi_squared_is_that_of_the_covariance_of_piece_and_rows(database: Database) -> None:
    """Recomputed for two properties by the closed form of a bivariate normal."""
    asked: dict[str, Any] = {"longitudinal_speed_uncertainty": "30 m/s", "shear_speed_uncertainty": "20 m/s"}
    found = database.match_material(**STEEL, **asked, limit=400).document()
    item = next(one for one in found["items"] if one["subject"]["id"] == "carbon-steel")
    row = database.value("carbon-steel", "longitudinal_speed", temperature="20 degC")
    other = database.value("carbon-steel", "shear_speed", temperature="20 degC")
    told = float(row.text.fixed["correlations"]["carbon-steel.shear_speed"])
    sizes = [float(one.standard_uncertainty.magnitude) for one in (row, other)]
    first, second = math.hypot(sizes[0], 30.0), math.hypot(sizes[1], 20.0)
    shared = told * sizes[0] * sizes[1] / (first * second)
    a, b = (5920.0 - float(row.magnitude)) / first, (3240.0 - float(other.magnitude)) / second
    expected = (a * a - 2.0 * shared * a * b + b * b) / (1.0 - shared * shared)
    assert item["chi_squared"] == pytest.approx(expected, rel=1e-3)
    assert expected < AGREES[2]


def test_what_misses_by_much_is_not_told_at_all(database: Database) -> None:
    found = database.match_material(**STEEL, limit=500).document()
    assert all(one["chi_squared"] <= AGREES[2] for one in found["items"])
    assert all(AGREES[2] < one["chi_squared"] <= NEAR * AGREES[2] for one in found["near_misses"])


def test_a_warm_piece_is_compared_with_warm_rows(database: Database) -> None:
    cold = database.value("stainless-316", "shear_speed", temperature="20 degC")
    warm = database.value("stainless-316", "shear_speed", temperature="150 degC")
    asked: dict[str, Any] = {"shear_speed": f"{float(warm.magnitude)} m/s", "temperature": "150 degC"}
    found = database.match_material(**asked, limit=500).document()
    item = next(one for one in found["items"] if one["subject"]["id"] == "stainless-316")
    assert item["compared"][0]["deviation"] == pytest.approx(0.0, abs=1e-3)
    assert float(cold.magnitude) - float(warm.magnitude) > 60.0


def test_what_cannot_be_told_apart_is_said(database: Database) -> None:
    advice = " ".join(database.match_material(**STEEL).advice)
    assert "cannot be told apart" in advice


def test_nothing_that_agrees_is_said_with_the_nearest(database: Database) -> None:
    found = database.match_material(longitudinal_speed="9000 m/s", shear_speed="1000 m/s")
    assert found.document()["items"] == []
    assert "No material" in found.advice[0]


@pytest.mark.parametrize(
    ("asked", "problem", "words"),
    [
        ({}, BadParameter, "nothing is given"),
        ({"shear_speed": "5920 m/s", "longitudinal_speed": "3240 m/s"}, BadParameter, "exchanged"),
        ({"density": "7.85 kg/m3"}, OutsideRange, "check the number and its unit"),
        ({"density_uncertainty": "10 kg/m3", "shear_speed": "3240 m/s"}, BadParameter, "without density"),
        ({"shear_speed": "3240 m/s", "shear_speed_uncertainty": "4000 m/s"}, BadParameter, "below the value"),
        ({"shear_speed": "3240"}, Problem, "unit"),
        ({"shear_speed": "-3240 m/s"}, OutsideRange, "above zero"),
        ({"shear_speed": "3240 m/s", "temperature": "-300 degC"}, Problem, "absolute zero"),
    ],
)
def test_a_wrong_question_is_refused_in_a_sentence(
    database: Database, asked: dict[str, Any], problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words):
        database.match_material(**asked)


def test_command_and_service_give_the_same_document(
    database: Database, command: CommandLine, client: TestClient
) -> None:
    printed = json.loads(
        command("match-material", "--longitudinal-speed", "5920 m/s", "--shear-speed", "3240 m/s", "--json").out
    )
    served = client.get("/v1/materials/match", params=STEEL).json()
    assert printed == served == json.loads(json.dumps(database.match_material(**STEEL).document()))


def test_a_person_reads_deviations_and_the_way_on(command: CommandLine) -> None:
    told = command("match-material", "--shear-speed", "3240 m/s", "--density", "7850 kg/m3")
    assert told.code == 0
    assert "carbon-steel" in told.out
    assert "site rules come first" in " ".join(told.out.split())
