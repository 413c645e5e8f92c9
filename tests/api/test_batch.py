"""POST /values: columns in JSON and Arrow, and what is refused."""

from __future__ import annotations

from typing import Any

import orjson
import pyarrow as pa
import pytest
from fastapi.testclient import TestClient

from refdb_api.respond import ARROW, MOST_BYTES
from refdb_api.schemas import BatchDocument, BatchQuestion, ProblemDocument

QUESTION: dict[str, Any] = {
    "subject": "water",
    "properties": ["sound_speed"],
    "temperature": {"unit": "degC", "magnitudes": [5.0, 20.0, 95.0]},
}


def test_the_columns_are_the_documented_ones_and_agree_with_single_answers(client: TestClient) -> None:
    BatchQuestion.model_validate(QUESTION)
    found = BatchDocument.model_validate(client.post("/v1/values", json=QUESTION).json())
    assert list(found.columns) == ["value", "standard_uncertainty", "status", "row"]
    alone = client.get("/v1/values?subject=water&property=sound_speed&temperature=20%20degC").json()["values"][0]
    assert found.columns["value"][1] == alone["value"]["magnitude"]
    assert found.columns["standard_uncertainty"][1] == alone["standard_uncertainty"]["magnitude"]
    assert found.properties[0].row.digest == alone["row"]["digest"]


def test_arrow_is_sent_to_who_asks_for_it(client: TestClient) -> None:
    response = client.post("/v1/values", json=QUESTION, headers={"Accept": ARROW})
    assert response.headers["content-type"] == ARROW
    table = pa.ipc.open_stream(response.content).read_all()
    columns = client.post("/v1/values", json=QUESTION).json()["columns"]
    assert table["value"].to_pylist() == pytest.approx(columns["value"], rel=1e-11)
    assert table["status"].to_pylist() == columns["status"]
    assert table.schema.field("value").metadata[b"unit"] == b"m/s"


def test_a_pinned_release_answers_a_batch(client: TestClient) -> None:
    found = client.post("/v1/values", json=QUESTION | {"release": "2026r1"}).json()
    assert found["release"] == "2026r1"


@pytest.mark.parametrize(
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
        (b" " * (MOST_BYTES + 1), 413, "too-large", "body"),
    ],
)
def test_a_wrong_body_is_a_problem_document(
    client: TestClient, content: bytes, status: int, slug: str, parameter: str
) -> None:
    response = client.post("/v1/values", content=content)
    problem = ProblemDocument.model_validate(response.json())
    assert response.status_code == problem.status == status
    assert problem.type.endswith(f":{slug}")
    assert problem.parameter == parameter


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
