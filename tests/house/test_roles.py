"""Every route of the service, tried with every role: a route that is not in the table fails the test."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from refdb.database import Database
from refdb.house import House
from refdb.store.keys import ROLES
from tests.house.conftest import ANN, ENTRY, keys_of
from tests.service import TestClient, create_app

OPEN = "open"
VALUE = "/v1/house/values/{value_id}"
HOUSE_ROUTES = {
    ("GET", "/v1/house/values"): "reader",
    ("POST", "/v1/house/values"): "editor",
    ("GET", VALUE): "reader",
    ("PUT", VALUE): "editor",
    ("POST", f"{VALUE}/review"): "reviewer",
    ("POST", f"{VALUE}/withdraw"): "editor",
    ("GET", f"{VALUE}/history"): "reader",
    ("GET", f"{VALUE}/versions/{{version}}"): "reader",
    ("GET", "/v1/house/writes"): "administrator",
}
"""The least role of every route that has to do with house values."""

LAYERED = {
    ("GET", "/v1/values"): "/v1/values?subject=carbon-steel",
    ("GET", "/v1/materials/{name}/values"): "/v1/materials/carbon-steel/values?",
    ("GET", "/v1/liquids/{name}/values"): "/v1/liquids/water/values?temperature=20 degC",
}
"""Routes that answer from releases without a key, and from house values with a reader's."""

OPEN_ROUTES = {
    ("GET", "/v1/find"),
    ("POST", "/v1/values"),
    ("POST", "/v1/answers/check"),
    ("POST", "/v1/jobs"),
    ("POST", "/v1/jobs/pipe"),
    ("POST", "/v1/jobs/waves"),
    ("POST", "/v1/jobs/spacing"),
    ("POST", "/v1/jobs/flow"),
    ("POST", "/v1/jobs/uncertainty"),
    ("POST", "/v1/jobs/suitability"),
    ("POST", "/v1/jobs/heat"),
    ("POST", "/v1/jobs/mounted"),
    ("POST", "/v1/jobs/fit"),
    ("POST", "/v1/jobs/compare"),
    ("POST", "/v1/jobs/sheet"),
    ("POST", "/v1/jobs/against"),
    ("GET", "/v1/materials"),
    ("GET", "/v1/materials/{name}"),
    ("GET", "/v1/materials/{name}/readings"),
    ("GET", "/v1/liquids"),
    ("GET", "/v1/liquids/{name}"),
    ("GET", "/v1/liquids/{name}/readings"),
    ("GET", "/v1/liquids/match"),
    ("GET", "/v1/strength"),
    ("GET", "/v1/suspension"),
    ("GET", "/v1/pipes"),
    ("GET", "/v1/materials/match"),
    ("GET", "/v1/materials/unlisted"),
    ("GET", "/v1/pipes/match"),
    ("GET", "/v1/pipes/{pipe_id}"),
    ("GET", "/v1/linings"),
    ("GET", "/v1/roughness"),
    ("GET", "/v1/sources"),
    ("GET", "/v1/sources/{key}"),
    ("GET", "/v1/rights"),
    ("GET", "/v1/releases/{label}/export"),
    ("GET", "/v1/rows/{row_id}"),
    ("GET", "/v1/rows/{row_id}/provenance"),
    ("GET", "/v1/rows/{row_id}/prov"),
    ("GET", "/v1/rows/{row_id}/citations"),
    ("GET", "/v1/rows/{row_id}/history"),
    ("GET", "/v1/audit/{scope}"),
    ("GET", "/v1/table"),
    ("GET", "/v1/table/materials"),
    ("GET", "/v1/measure-speed"),
    ("GET", "/v1/releases"),
    ("GET", "/v1/releases/{label}"),
    ("GET", "/v1/releases/{label}/changes"),
    ("GET", "/v1/properties"),
    ("GET", "/v1/units"),
    ("GET", "/v1/systems"),
    ("GET", "/health"),
    ("GET", "/ready"),
    ("GET", "/metrics"),
}
"""Routes that answer everybody, and never with a house value."""

SENDERS = ("nobody", "unknown", "expired", "revoked", *ROLES)


def _routes() -> set[tuple[str, str]]:
    return {(method.upper(), path) for path, methods in create_app().openapi()["paths"].items() for method in methods}


def test_every_route_is_in_one_of_the_tables() -> None:
    assert _routes() == set(HOUSE_ROUTES) | set(LAYERED) | OPEN_ROUTES
    hidden = {getattr(route, "path", "") for route in create_app().routes} - {path for _, path in _routes()}
    assert {path for path in hidden if path.startswith("/v1")} == set()


@pytest.fixture
def served(sqlite_house: House, database: Database) -> Iterator[tuple[TestClient, dict[str, str], str]]:
    """The service, the keys by role, and the id of a house value."""
    keys = keys_of(sqlite_house) | {"unknown": "refdb_not-a-key-of-this-store"}
    made = sqlite_house.add(ENTRY, ANN, database)
    with TestClient(create_app(database, sqlite_house)) as client:
        yield client, keys, made.id


def _headers(keys: dict[str, str], sender: str) -> dict[str, str]:
    return {"authorization": f"Bearer {keys[sender]}"} if sender in keys else {}


@pytest.mark.parametrize(("method", "path"), sorted(HOUSE_ROUTES), ids=" ".join)
def test_a_route_of_house_values_opens_to_its_role_and_those_above(
    served: tuple[TestClient, dict[str, str], str], method: str, path: str
) -> None:
    client, keys, value = served
    least = HOUSE_ROUTES[method, path]
    asked = path.replace("{value_id}", value).replace("{version}", "1")
    for sender in SENDERS:
        # The body is no JSON: it must not have been looked at before the key.
        response = client.request(method, asked, headers=_headers(keys, sender), content=b"{not json")
        if sender not in ROLES:
            assert response.status_code == 401, (sender, response.text)
            assert response.headers["www-authenticate"] == "Bearer"
        elif ROLES.index(sender) < ROLES.index(least):
            assert response.status_code == 403, (sender, response.text)
        else:
            assert response.status_code not in {401, 403}, (sender, response.text)
            assert response.status_code == (200 if method == "GET" else 428 if "{" in path else 422)
    assert len(client.get("/v1/house/values", headers=_headers(keys, "reader")).json()["items"]) == 1


@pytest.mark.parametrize("route", sorted(LAYERED), ids=" ".join)
def test_house_values_are_read_beside_a_release_with_a_key_alone(
    served: tuple[TestClient, dict[str, str], str], route: tuple[str, str]
) -> None:
    client, keys, _ = served
    for sender in SENDERS:
        headers = _headers(keys, sender)
        assert client.get(LAYERED[route], headers=headers).status_code == 200
        layered = client.get(f"{LAYERED[route]}&layers=house,release", headers=headers)
        assert layered.status_code == (200 if sender in ROLES else 401), sender


@pytest.mark.parametrize("scheme", ["Basic {}", "{}", "Bearer", "Bearer  ", "Token {}"])
def test_a_key_that_is_not_sent_as_a_bearer_is_none(
    served: tuple[TestClient, dict[str, str], str], scheme: str
) -> None:
    client, keys, _ = served
    headers = {"authorization": scheme.format(keys["administrator"])}
    assert client.get("/v1/house/values", headers=headers).status_code == 401


def test_a_key_is_shown_once_and_never_stored(sqlite_house: House) -> None:
    keys = keys_of(sqlite_house)
    stored = open(sqlite_house.store.url.removeprefix("sqlite:///"), "rb").read()  # noqa: SIM115 - one read
    for secret in keys.values():
        assert secret.encode() not in stored
        assert secret.removeprefix("refdb_").encode() not in stored


def test_an_editor_does_not_review_and_a_reviewer_not_what_they_entered(
    served: tuple[TestClient, dict[str, str], str],
) -> None:
    client, keys, _ = served
    seen = {"if-match": '"v1"'}
    for entered_by, reviewed_by, status in (
        ("editor", "editor", 403),
        ("reviewer", "reviewer", 403),
        ("administrator", "administrator", 403),
        ("editor", "reviewer", 200),
    ):
        entry = ENTRY | {"property": "shear_speed", "value": "3200"}
        made = client.post("/v1/house/values", json=entry, headers=_headers(keys, entered_by))
        path = f"{made.headers['location']}/review"
        response = client.post(path, json={}, headers=_headers(keys, reviewed_by) | seen)
        assert response.status_code == status, response.text


def test_an_editor_withdraws_drafts_and_a_reviewer_what_is_in_force(
    served: tuple[TestClient, dict[str, str], str],
) -> None:
    client, keys, value = served
    path = f"/v1/house/values/{value}"
    reviewed = client.post(f"{path}/review", json={}, headers=_headers(keys, "reviewer") | {"if-match": '"v1"'})
    assert reviewed.headers["etag"] == '"v2"'
    for sender, status in (("editor", 403), ("reviewer", 200)):
        headers = _headers(keys, sender) | {"if-match": '"v2"'}
        response = client.post(f"{path}/withdraw", json={"reason": "wrong specimen"}, headers=headers)
        assert response.status_code == status, response.text
    draft = client.post("/v1/house/values", json=ENTRY, headers=_headers(keys, "editor"))
    headers = _headers(keys, "editor") | {"if-match": '"v1"'}
    response = client.post(f"{draft.headers['location']}/withdraw", json={"reason": "typed wrong"}, headers=headers)
    assert response.json()["status"] == "withdrawn"


CASES: list[tuple[dict[str, str], Any, int, str]] = [
    ({}, ENTRY, 428, "version-needed"),
    ({"if-match": "*"}, ENTRY, 428, "version-needed"),
    ({"if-match": '"v0"'}, ENTRY, 428, "version-needed"),
    ({"if-match": 'W/"v1"'}, ENTRY, 428, "version-needed"),
    ({"if-match": '"v2"'}, ENTRY, 412, "changed"),
    ({"if-match": '"v1"'}, ["not", "an", "object"], 422, "bad-parameter"),
    ({"if-match": '"v1"'}, ENTRY | {"unit": "kg"}, 422, "wrong-dimension"),
    ({"if-match": '"v1"'}, ENTRY | {"property": "density", "unit": "kg/m3"}, 409, "conflict"),
    ({"if-match": '"v1"'}, ENTRY | {"reason": 7}, 422, "bad-parameter"),
]


@pytest.mark.parametrize(("headers", "entry", "status", "slug"), CASES)
def test_a_change_that_cannot_be_made_is_a_problem_document(
    served: tuple[TestClient, dict[str, str], str], headers: dict[str, str], entry: Any, status: int, slug: str
) -> None:
    client, keys, value = served
    path = f"/v1/house/values/{value}"
    response = client.put(path, json=entry, headers=_headers(keys, "editor") | headers)
    assert (response.status_code, response.json()["type"]) == (status, f"urn:refdb:problem:{slug}")
    assert client.get(path, headers=_headers(keys, "reader")).headers["etag"] == '"v1"'


def test_what_was_written_is_read_again(served: tuple[TestClient, dict[str, str], str]) -> None:
    client, keys, value = served
    path = f"/v1/house/values/{value}"
    editor, reader = _headers(keys, "editor"), _headers(keys, "reader")
    changed = client.put(
        path, json=ENTRY | {"value": "5912", "reason": "a slip"}, headers=editor | {"if-match": '"v1"'}
    )
    assert (changed.status_code, changed.headers["etag"]) == (200, '"v2"')
    assert changed.json()["entry"]["value"] == "5912"
    assert client.get(path, headers=reader).json() == changed.json()
    history = client.get(f"{path}/history", headers=reader).json()["items"]
    assert [(item["version"], item["entry"]["value"], item["reason"]) for item in history] == [
        (1, "5911", None),
        (2, "5912", "a slip"),
    ]
    first = client.get(f"{path}/versions/1", headers=reader)
    assert first.json() == history[0]
    assert first.headers["cache-control"] == "private, no-store"
    assert client.get(f"{path}/versions/3", headers=reader).status_code == 404
    assert client.get(f"{path}/versions/one", headers=reader).status_code == 404
    listed = client.get("/v1/house/values?subject=carbon steel&status=draft&limit=1", headers=reader).json()
    assert listed["items"] == [changed.json()]
    writes = client.get("/v1/house/writes", headers=_headers(keys, "administrator")).json()["items"]
    assert [line["action"] for line in writes if line["target"] == value] == ["add", "change"]
    assert re.fullmatch(r"[0-9a-f-]{36}", writes[-1]["key"])


def test_nothing_is_written_for_whom_cannot_be_answered(served: tuple[TestClient, dict[str, str], str]) -> None:
    """A refusal must not come after the write."""
    client, keys, value = served
    path = f"/v1/house/values/{value}"
    headers = _headers(keys, "administrator") | {"accept": "image/png", "if-match": '"v1"'}
    before = client.get("/v1/house/writes", headers=_headers(keys, "administrator")).json()["items"]
    for method, asked, body in (
        ("POST", "/v1/house/values", ENTRY),
        ("PUT", path, ENTRY | {"value": "5912"}),
        ("POST", f"{path}/review", {}),
        ("POST", f"{path}/withdraw", {"reason": "because"}),
    ):
        assert client.request(method, asked, json=body, headers=headers).status_code == 406, (method, asked)
    assert client.get("/v1/house/writes", headers=_headers(keys, "administrator")).json()["items"] == before


def test_routes_that_answer_from_a_release_alone_refuse_other_layers(
    served: tuple[TestClient, dict[str, str], str],
) -> None:
    client, keys, _ = served
    reader = _headers(keys, "reader")
    for path in ("/v1/pipes?system=b36.10", "/v1/table?subject=carbon-steel", "/v1/roughness", "/v1/linings"):
        joined = f"{path}{'&' if '?' in path else '?'}layers=house,release"
        response = client.get(joined, headers=reader)
        assert (response.status_code, response.json()["parameter"]) == (422, "layers"), path
    asked = {"subject": "carbon-steel", "layers": "house,release"}
    assert client.post("/v1/values", json=asked, headers=reader).status_code == 422
