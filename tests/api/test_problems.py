"""One shape for every problem: RFC 9457, one sentence, the field, the way out."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.database import Database
from refdb.documents import ProblemDocument
from refdb.problems import ALL_PROBLEMS, PROBLEM_URI
from tests.rows import each
from tests.service import TestClient, create_app
from tests.shapes import require_shape

WATER = "/v1/liquids/water/values"

CASES: list[tuple[str, dict[str, Any], int, str, str | None]] = [
    ("/v1/liquids/watr/values", {"temperature": "20 degC"}, 404, "unknown-name", "subject"),
    ("/v1/materials/stainless steel/values", {}, 409, "ambiguous-name", "subject"),
    ("/v1/materials/water/values", {}, 404, "unknown-name", "subject"),
    ("/v1/values", {}, 422, "bad-parameter", "subject"),
    (WATER, {}, 422, "missing-state", "temperature"),
    (WATER, {"temperature": "20"}, 422, "bad-quantity", "temperature"),
    (WATER, {"temperature": "20 kg"}, 422, "wrong-dimension", "temperature"),
    (WATER, {"temperature": "20 C"}, 422, "unknown-unit", "temperature"),
    (WATER, {"temperature": "20 Pa"}, 422, "wrong-dimension", "temperature"),
    (WATER, {"temperature": "220 degC"}, 422, "outside-range", "temperature"),
    (WATER, {"temperature": "120 degC", "property": "density"}, 422, "missing-state", "pressure"),
    (WATER, {"temperature": "120 degC", "pressure": "1 atm", "property": "density"}, 422, "outside-range", "pressure"),
    (WATER, {"temperature": "20 degC", "pressure": "11 MPa", "property": "density"}, 422, "outside-range", "pressure"),
    (WATER, {"temperature": "20 degC", "property": "taste"}, 404, "unknown-name", "property"),
    (WATER, {"temperature": "20 degC", "property": "shear_speed"}, 422, "bad-parameter", "property"),
    (WATER, {"temperature": ["20 degC", "21 degC"]}, 422, "bad-parameter", "temperature"),
    (WATER, {"temperature": "20 degC", "units": "furlongs"}, 422, "bad-parameter", "units"),
    (WATER, {"temperature": "20 degC", "unit": "density"}, 422, "bad-parameter", "unit"),
    (WATER, {"temperature": "20 degC", "unit": "taste:m/s"}, 404, "unknown-name", "unit"),
    (WATER, {"temperature": "20 degC", "unit": "density:m/s"}, 422, "wrong-dimension", "unit"),
    (WATER, {"temperature": "20 degC", "accept": "anything"}, 422, "bad-parameter", "accept"),
    (WATER, {"temperature": "20 degC", "layers": "release,house"}, 422, "bad-parameter", "layers"),
    ("/v1/pipes", {"system": "b36.10", "layers": "house,release"}, 422, "bad-parameter", "layers"),
    (WATER, {"temperature": "20 degC", "release": "1999r1"}, 404, "unknown-name", "release"),
    (WATER, {"temperature": "20 degC", "as_of": "soon"}, 422, "bad-parameter", "as_of"),
    (WATER, {"temperature": "20 degC", "release": "2026r1", "as_of": "2026-12-31"}, 422, "bad-parameter", "as_of"),
    ("/v1/materials/abs/values", {"property": "longitudinal_speed"}, 404, "not-available", "property"),
    ("/v1/pipes/b36.10-nps-8-sch-41", {}, 404, "unknown-name", "id"),
    ("/v1/pipes", {"system": "b36.10", "size": "enormous"}, 422, "bad-parameter", "size"),
    ("/v1/roughness", {"material": "banana"}, 404, "unknown-name", "material"),
    ("/v1/sources/nobody-1999", {}, 404, "unknown-name", "source"),
    ("/v1/rows/nothing", {}, 404, "unknown-name", "row"),
    ("/v1/rows/nothing/history", {}, 404, "unknown-name", "row"),
    ("/v1/releases/2020r1", {}, 404, "unknown-name", "release"),
    ("/v1/releases/2026r1/changes", {"since": "2020r1"}, 404, "unknown-name", "since"),
    ("/v1/audit/gases", {}, 404, "unknown-name", "scope"),
    ("/v1/units", {"dimension": "beauty"}, 404, "unknown-name", "dimension"),
    ("/v1/find", {"q": " "}, 422, "bad-parameter", "q"),
    ("/v1/nothing", {}, 404, "no-such-route", None),
]


@each(("path", "params", "status", "slug", "parameter"), CASES)
def test_a_wrong_question_is_a_problem_document(
    client: TestClient, path: str, params: dict[str, Any], status: int, slug: str, parameter: str | None
) -> None:
    response = client.get(path, params=params)
    problem = require_shape(ProblemDocument, response.json())
    assert response.headers["content-type"] == "application/problem+json"
    assert response.status_code == problem["status"] == status
    assert problem["type"] == PROBLEM_URI + slug
    assert problem.get("parameter") == parameter
    assert problem["detail"].endswith((".", "find."))
    assert "\n" not in problem["detail"]


def test_every_problem_type_of_a_question_is_met_above() -> None:
    met = {slug for _, _, _, slug, _ in CASES}
    # Those of house values are met in tests/house, and what overflows in tests/values/test_finite.py.
    of_house = {"key-needed", "not-allowed", "conflict", "changed", "version-needed", "house-unavailable"}
    of_maintainers = {"integrity", "ledger", "library-needed"}
    questions = {problem.slug for problem in ALL_PROBLEMS} - {"not-finite"} - of_maintainers - of_house
    assert questions <= met


def test_a_range_problem_gives_machines_the_range_and_the_nearest_state(client: TestClient) -> None:
    problem = client.get(WATER, params={"temperature": "220 degC", "property": "sound_speed"}).json()
    assert problem["valid_range"] == {"temperature": ["0.01 degC", "200 degC"], "pressure": ["saturation", "10 MPa"]}
    assert problem["nearest"] == "200 degC"
    assert problem["given"] == "220 degC"


def test_candidates_are_listed_for_machines(client: TestClient) -> None:
    assert "stainless-316l" in client.get("/v1/materials/stainless steel/values").json()["candidates"]


def test_a_method_the_route_does_not_have_is_a_problem_too(client: TestClient) -> None:
    response = client.post(WATER)
    assert response.status_code == 405
    assert response.json()["type"] == PROBLEM_URI + "no-such-method"
    assert "GET" in response.headers["allow"]


def test_a_client_that_accepts_no_json_is_told(client: TestClient) -> None:
    response = client.get("/v1/releases", headers={"accept": "image/png"})
    assert response.status_code == 406
    assert response.json()["accepted"] == ["application/json"]


def test_a_fault_of_ours_tells_nothing_of_its_inside(database: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_arguments: object) -> None:
        raise RuntimeError("a secret")

    monkeypatch.setattr(Database, "releases", fail)
    response = TestClient(create_app(database), raise_server_exceptions=False).get("/v1/releases")
    assert response.status_code == 500
    assert response.json()["type"] == PROBLEM_URI + "failure"
    assert "secret" not in response.text


@each(
    "hostile",
    [
        "9**9**9 m",
        "1e400 m",
        "9" * 10_000,
        "__import__('os')",
        "nan degC",
        "20",
        "\x00",
        "🌡",
        "%",
        "20 degC; DROP TABLE name",
    ],
)
def test_hostile_text_is_refused_with_the_field_named(client: TestClient, hostile: str) -> None:
    response = client.get(WATER, params={"temperature": hostile})
    assert response.status_code == 422
    assert response.json()["parameter"] == "temperature"
    for path in (f"/v1/find?q={'a' * 5000}", "/v1/materials/" + "x" * 3000 + "/values"):
        assert client.get(path).status_code in {404, 422}
