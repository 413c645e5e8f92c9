"""POST /values: columns in JSON and Arrow, and what is refused."""

from __future__ import annotations

from typing import Any

import orjson
import pyarrow as pa
import pytest

from refdb.database import Database
from refdb.documents import ProblemDocument
from refdb.values.documents import BatchDocument
from refdb_api.bodies import BatchBody
from tests.rows import each
from tests.service import TestClient, respond
from tests.shapes import require_shape

QUESTION: dict[str, Any] = {
    "subject": "water",
    "properties": ["sound_speed"],
    "temperature": {"unit": "degC", "magnitudes": [5.0, 20.0, 95.0]},
}


def test_the_columns_are_the_documented_ones_and_agree_with_single_answers(client: TestClient) -> None:
    BatchBody.model_validate(QUESTION)
    found = require_shape(BatchDocument, client.post("/v1/values", json=QUESTION).json())
    assert list(found["columns"]) == ["value", "standard_uncertainty", "status", "row"]
    alone = client.get("/v1/values?subject=water&property=sound_speed&temperature=20%20degC").json()["values"][0]
    assert found["columns"]["value"][1] == alone["value"]["magnitude"]
    assert found["columns"]["standard_uncertainty"][1] == alone["standard_uncertainty"]["magnitude"]
    assert found["properties"][0]["row"]["digest"] == alone["row"]["digest"]


def test_arrow_is_sent_to_who_asks_for_it(client: TestClient) -> None:
    response = client.post("/v1/values", json=QUESTION, headers={"Accept": respond.ARROW})
    assert response.headers["content-type"] == respond.ARROW
    table = pa.ipc.open_stream(response.content).read_all()
    columns = client.post("/v1/values", json=QUESTION).json()["columns"]
    assert table["value"].to_pylist() == pytest.approx(columns["value"], rel=1e-11)
    assert table["status"].to_pylist() == columns["status"]
    assert table.schema.field("value").metadata[b"unit"] == b"m/s"


def test_a_pinned_release_answers_a_batch(client: TestClient) -> None:
    found = client.post("/v1/values", json=QUESTION | {"release": "2026r1"}).json()
    assert found["release"] == "2026r1"


def test_without_properties_every_subject_is_answered_with_all_it_has_or_refused_plainly(
    client: TestClient, database: Database
) -> None:
    failing = []
    for kind in ("material", "liquid"):
        for subject in database.subjects(kind):
            state = _state_for(subject["id"], database)
            response = client.post("/v1/values", json={"subject": subject["id"], **state})
            told = response.json()
            if response.status_code == 200:
                answered = [part["property"] for part in told["properties"]]
                # A property that only conditions tell apart is refused beside the others.
                asked = {part["property"] for part in told["refused"]}
                right = answered == [name for name in subject["properties"] if name not in asked]
            else:
                words = f"release {subject['release']} advises no value for {subject['id']}"
                right = response.status_code == 404 and words in told["detail"] and not subject["properties"]
            if not right:
                failing.append((subject["id"], response.status_code, told.get("detail")))
    assert failing == []


def _state_for(subject: str, database: Database) -> dict[str, Any]:
    """A state that holds all that a subject may depend on."""
    state: dict[str, Any] = {"temperature": {"unit": "degC", "magnitudes": [20.0, 25.0]}}
    if "solution" in database.subject(subject).body:
        return state | {"strength": "10 % mass"}
    return state | {"salinity": "35 psu"} if subject == "seawater" else state


def test_a_subject_without_rows_is_told_from_one_with_estimates(client: TestClient) -> None:
    states = {"temperature": "20 degC"}
    nothing = client.post("/v1/values", json={"subject": "1-propoxy-2-propanol-water", **states}).json()
    assert nothing["type"].endswith(":not-available")
    assert nothing["estimate_available"] is False
    assert "`refdb measure-speed" in nothing["detail"]
    estimated = client.post("/v1/values", json={"subject": "alloy-800", **states}).json()
    assert estimated["estimate_available"] is True
    assert "accept=estimates" in estimated["detail"]
    accepted = client.post("/v1/values", json={"subject": "alloy-800", **states, "accept": "estimates"})
    assert {part["property"] for part in accepted.json()["properties"]} >= {"longitudinal_speed"}


def test_of_an_open_question_what_cannot_be_answered_is_told_beside_what_can(client: TestClient) -> None:
    asked = {"subject": "alloy-400", "condition": "annealed"}
    alone = client.get("/v1/values", params=asked).json()
    response = client.post("/v1/values", json={**asked, "temperature": "20 degC"})
    found = require_shape(BatchDocument, response.json())
    assert [part["property"] for part in found["properties"]] == [item["property"] for item in alone["values"]]
    assert {item["property"] for item in found["refused"]} == {item["property"] for item in alone["refused"]}
    assert "no row for 'annealed'" in found["refused"][0]["problem"]["detail"]
    accepted = {"Accept": respond.ARROW}
    table = client.post("/v1/values", json={**asked, "temperature": "20 degC"}, headers=accepted).content
    metadata = pa.ipc.open_stream(table).schema.metadata
    assert b"no row for 'annealed'" in metadata[b"refused:shear_speed"]


@each(
    ("content", "status", "slug", "parameter"),
    [
        (b"{", 422, "bad-parameter", "body"),
        (b"[]", 422, "bad-parameter", "body"),
        (b"{}", 422, "bad-parameter", "subject"),
        (orjson.dumps(QUESTION | {"colour": "blue"}), 422, "bad-parameter", "colour"),
        (orjson.dumps(QUESTION | {"properties": "sound_speed"}), 422, "bad-parameter", "properties"),
        (orjson.dumps(QUESTION | {"unit": ["m/s"]}), 422, "bad-parameter", "unit"),
        (orjson.dumps(QUESTION | {"release": 1}), 422, "bad-parameter", "release"),
        (orjson.dumps(QUESTION | {"release": "1999r1"}), 404, "unknown-name", "release"),
        (orjson.dumps(QUESTION | {"units": "cgs"}), 422, "bad-parameter", "units"),
        (orjson.dumps(QUESTION | {"subject": "wine-dark"}), 404, "unknown-name", "subject"),
    ],
)
def test_a_wrong_body_is_a_problem_document(
    client: TestClient, content: bytes, status: int, slug: str, parameter: str
) -> None:
    _refused(client, content, status, slug, parameter)


def test_a_body_that_is_too_long_is_a_problem_document(client: TestClient) -> None:
    _refused(client, b" " * (respond.MOST_BYTES + 1), 413, "too-large", "body")


def _refused(client: TestClient, content: bytes, status: int, slug: str, parameter: str) -> None:
    response = client.post("/v1/values", content=content)
    problem = require_shape(ProblemDocument, response.json())
    assert response.status_code == problem["status"] == status
    assert problem["type"].endswith(f":{slug}")
    assert problem["parameter"] == parameter


def test_a_client_that_takes_neither_json_nor_arrow_is_told(client: TestClient) -> None:
    response = client.post("/v1/values", json=QUESTION, headers={"Accept": "text/csv"})
    assert response.status_code == 406


def test_the_description_of_the_body_stands_on_its_own(client: TestClient) -> None:
    """A reference that leads nowhere shows as an error on the documentation page."""
    described = client.get("/openapi.json").json()
    references = [text.split('"')[0] for text in orjson.dumps(described).decode().split('"$ref":"')[1:]]
    for reference in references:
        assert reference.rpartition("/")[2] in described["components"]["schemas"], reference
        assert reference.startswith("#/components/schemas/")
