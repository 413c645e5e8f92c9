"""Every route of house values answers the document it promises, and so does an answer that is a house value."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

from refdb.database import Database
from refdb.house import House
from refdb_api.app import create_app
from tests.house.conftest import ENTRY, keys_of
from tests.shapes import declared_shapes, require_shape


def test_every_route_answers_the_document_it_promises(sqlite_house: House, database: Database) -> None:
    keys = keys_of(sqlite_house)
    app = create_app(database, sqlite_house)
    shapes = declared_shapes(app)
    asked: set[tuple[str, str]] = set()
    with TestClient(app) as client:

        def answered(method: str, path: str, sender: str, seen: int = 0, body: Any = None, **names: Any) -> Any:
            headers = {"authorization": f"Bearer {keys[sender]}", "if-match": f'"v{seen}"'}
            response = client.request(method, path.format(**names), headers=headers, json=body)
            assert response.is_success, response.text
            asked.add((method, path))
            return require_shape(shapes[method, path], response.json())

        made = answered("POST", "/v1/house/values", "editor", body=ENTRY)["id"]
        one = "/v1/house/values/{value_id}"
        answered("GET", one, "reader", value_id=made)
        answered("PUT", one, "editor", 1, {**ENTRY, "value": "5912", "reason": "invented"}, value_id=made)
        answered("POST", f"{one}/review", "reviewer", 2, {}, value_id=made)
        answered("GET", "/v1/house/values", "reader")
        answered("GET", f"{one}/history", "reader", value_id=made)
        answered("GET", f"{one}/versions/{{version}}", "reader", value_id=made, version=1)
        answered("GET", "/v1/house/writes", "administrator")
        layered = client.get(
            "/v1/values?subject=carbon-steel&property=longitudinal_speed&temperature=20 degC&layers=house,release",
            headers={"authorization": f"Bearer {keys['reader']}"},
        ).json()
        assert require_shape(shapes["GET", "/v1/values"], layered)["values"][0]["house"]["id"] == made
        answered("POST", f"{one}/withdraw", "reviewer", 3, {"reason": "invented"}, value_id=made)
    assert asked == {route for route in shapes if "/house/" in route[1]}
