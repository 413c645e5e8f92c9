"""The way back from a sound speed over HTTP: its route is no liquid's name, and it gives what the library gives."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.liquids.documents import LiquidMatchDocument, StateMatchDocument
from refdb.liquids.question import LiquidQuestion
from tests.service import TestClient
from tests.shapes import require_shape

LIQUIDS = {"sound_speed": "1482 m/s", "temperature": "20 degC"}
TEMPERATURES = {"sound_speed": "1550 m/s", "liquid": "water", "sound_speed_uncertainty": "1 m/s"}
SALINITIES = {"sound_speed": "1500 m/s", "temperature": "15 degC", "solution": "seawater"}


@pytest.mark.parametrize(
    ("asked", "shape"),
    [(LIQUIDS, LiquidMatchDocument), (TEMPERATURES, StateMatchDocument), (SALINITIES, StateMatchDocument)],
)
def test_the_service_answers_what_the_library_answers(
    client: TestClient, database: Database, asked: dict[str, str], shape: type
) -> None:
    answer = client.get("/v1/liquids/match", params=asked).json()
    require_shape(shape, answer)
    assert answer == database.match_liquid(LiquidQuestion(**asked)).document()


def test_a_wrong_question_is_a_problem_that_names_its_parameter(client: TestClient) -> None:
    for asked, parameter in (
        ({}, "sound_speed"),
        ({"sound_speed": "1482 m/s"}, "temperature"),
        (LIQUIDS | {"liquid": "water"}, "temperature"),
        (LIQUIDS | {"limit": "0"}, "limit"),
        (SALINITIES | {"salinity": "3 g/kg"}, "salinity"),
    ):
        response = client.get("/v1/liquids/match", params=asked)
        assert (response.status_code, response.json()["parameter"]) == (422, parameter)
