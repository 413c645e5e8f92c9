"""Jobs worked with an organisation's own values beside the release."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from fastapi.testclient import TestClient

from refdb.database import Database
from refdb.house import House
from refdb.job import work_job
from tests.conftest import PROJECT
from tests.house.conftest import ANN, BOB, ENTRY


@pytest.fixture
def job() -> dict[str, Any]:
    """Cold water in steel, with nothing of the wall's sound given by hand."""
    told = tomllib.loads((PROJECT / "tests/job/data/heating-water.toml").read_text(encoding="utf-8"))
    told["liquid"] = {"substance": "water", "temperature": "20 degC"}
    for name in ("shear_speed", "longitudinal_speed", "density"):
        told["pipe"].pop(name)
    return told


@pytest.fixture
def own_speed(house: House, database: Database) -> str:
    """The row of a shear speed that the organisation measured in its own steel."""
    own = {"property": "shear_speed", "value": "3199", "uncertainty": "8", "valid_temperature": "0 to 60 degC"}
    made = house.add(ENTRY | own, ANN, database)
    house.review(made.id, 1, BOB)
    return f"house.{made.id}"


def _wall_speed(told: dict[str, Any]) -> dict[str, Any]:
    return next(item for item in told["inputs"] if item["name"] == "wall speed")


def test_house_values_go_first_where_they_are_asked_for_and_are_marked(
    house: House, database: Database, own_speed: str, job: dict[str, Any]
) -> None:
    both = database.beside(house)
    own = _wall_speed(work_job(job | {"layers": "house,release"}, both))
    assert own["value"]["magnitude"] == 3199.0
    assert (own["layer"], own["rung"], own["row"]["id"]) == ("house", "house", own_speed)
    released = _wall_speed(work_job(job, both))
    assert released["layer"] == "release"
    assert released["value"]["magnitude"] != 3199.0


@pytest.mark.usefixtures("own_speed")
def test_over_http_house_values_need_a_key_and_are_kept_by_no_cache(
    client: TestClient, keys: dict[str, str], job: dict[str, Any]
) -> None:
    asked = job | {"layers": "house,release"}
    assert client.post("/v1/jobs", json=asked).status_code == 401
    sent = client.post("/v1/jobs", json=asked, headers={"authorization": f"Bearer {keys['reader']}"})
    assert sent.status_code == 200
    assert _wall_speed(sent.json())["value"]["magnitude"] == 3199.0
    assert sent.headers["cache-control"] == "private, no-store"
    assert _wall_speed(client.post("/v1/jobs", json=job).json())["layer"] == "release"
