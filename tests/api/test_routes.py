"""Every route over HTTP: it answers the document it promises, and takes exactly the parameters it documents."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest

from tests.rows import each
from tests.service import TestClient, create_app
from tests.shapes import declared_shapes, require_shape

QUESTIONS = {
    "/v1/find": "/v1/find?q=316L",
    "/v1/values": "/v1/values?subject=water&property=sound_speed&temperature=20 degC",
    "/v1/materials": "/v1/materials?limit=5",
    "/v1/materials/match": "/v1/materials/match?shear_speed=3080 m/s&density=7980 kg/m3",
    "/v1/materials/unlisted": "/v1/materials/unlisted?like=stainless-316&shear_speed=3080 m/s",
    "/v1/materials/{name}": "/v1/materials/1.4404",
    "/v1/materials/{name}/values": "/v1/materials/carbon-steel/values",
    "/v1/materials/{name}/readings": "/v1/materials/carbon-steel/readings?property=density&source=astm-e494",
    "/v1/liquids": "/v1/liquids",
    "/v1/liquids/match": "/v1/liquids/match?sound_speed=1482 m/s&temperature=20 degC",
    "/v1/liquids/{name}": "/v1/liquids/water",
    "/v1/liquids/{name}/values": "/v1/liquids/water/values?temperature=20 degC",
    "/v1/liquids/{name}/readings": "/v1/liquids/water/readings",
    "/v1/pipes": "/v1/pipes?system=b36.10&size=NPS 8&designation=40",
    "/v1/pipes/match": "/v1/pipes/match?circumference=690 mm&wall=8.1 mm&limit=3",
    "/v1/pipes/{pipe_id}": "/v1/pipes/b36.10-nps-8-sch-40",
    "/v1/linings": "/v1/linings",
    "/v1/roughness": "/v1/roughness?material=carbon-steel",
    "/v1/sources": "/v1/sources",
    "/v1/sources/{key}": "/v1/sources/astm-e494",
    "/v1/rights": "/v1/rights",
    "/v1/releases/{label}/export": "/v1/releases/2026r1/export?without=copyleft",
    "/v1/rows/{row_id}": "/v1/rows/water.sound_speed",
    "/v1/rows/{row_id}/provenance": "/v1/rows/water.sound_speed/provenance",
    "/v1/rows/{row_id}/prov": "/v1/rows/water.sound_speed/prov",
    "/v1/rows/{row_id}/citations": "/v1/rows/water.sound_speed/citations",
    "/v1/rows/{row_id}/history": "/v1/rows/water.sound_speed/history",
    "/v1/audit/{scope}": "/v1/audit/liquids?release=2026r1",
    "/v1/table": "/v1/table?subject=water&property=density&temperature=10..30 step 10 degC",
    "/v1/table/materials": "/v1/table/materials",
    "/v1/strength": "/v1/strength?subject=ethanol-water&strength=40 % vol&temperature=20 degC",
    "/v1/suspension": "/v1/suspension?continuous=water&dispersed=toluene&fraction=10 % vol&temperature=20 degC",
    "/v1/measure-speed": (
        "/v1/measure-speed?thickness=25 mm&thickness_uncertainty=0.02 mm&echo_time=8.45 us&echo_time_uncertainty=20 ns"
    ),
    "/v1/releases": "/v1/releases",
    "/v1/releases/{label}": "/v1/releases/2026r1",
    "/v1/releases/{label}/changes": "/v1/releases/2026r2/changes",
    "/v1/properties": "/v1/properties",
    "/v1/units": "/v1/units?dimension=pressure",
    "/v1/systems": "/v1/systems",
    "/health": "/health",
    "/ready": "/ready",
}
NO_JSON = {("GET", "/metrics"), ("POST", "/v1/jobs/sheet")}


@lru_cache(maxsize=1)
def shapes() -> dict[tuple[str, str], Any]:
    """The type that each route declares for its answers."""
    return declared_shapes(create_app())


def _get_paths(client: TestClient) -> dict[str, Any]:
    paths = client.get("/openapi.json").json()["paths"]
    return {path: methods["get"] for path, methods in paths.items() if "get" in methods}


def test_every_route_is_asked_here(client: TestClient) -> None:
    # House values need a key: tests/house asks for them.
    paths = {path for path in _get_paths(client) if not path.startswith("/v1/house/")}
    assert set(QUESTIONS) == paths - {"/metrics"}


@pytest.mark.parametrize("path", ["/v1/values", "/v1/answers/check"])
def test_a_posted_question_is_answered_with_the_document_it_promises(client: TestClient, path: str) -> None:
    many = {"subject": "water", "properties": ["density"], "temperature": {"unit": "degC", "magnitudes": [20, 400]}}
    saved = {"answers": client.get(QUESTIONS["/v1/values"]).json()["values"]}
    response = client.post(path, json=many if path == "/v1/values" else saved)
    assert response.status_code == 200, response.text
    require_shape(shapes()["POST", path], response.json())


def test_every_route_with_a_json_answer_declares_its_type() -> None:
    assert {route for route, shape in shapes().items() if shape is None} == NO_JSON


def test_what_a_type_does_not_declare_is_refused(client: TestClient) -> None:
    shape = shapes()["GET", "/v1/values"]
    found = client.get(QUESTIONS["/v1/values"]).json()
    found["values"][0]["row"]["colour"] = "blue"
    from pydantic import ValidationError

    with pytest.raises(ValidationError, match=r"values\.0\.row\.colour"):
        require_shape(shape, found)


@each("path", QUESTIONS)
def test_a_route_answers_the_document_it_promises(client: TestClient, path: str) -> None:
    response = client.get(QUESTIONS[path])
    assert response.status_code == 200, response.text
    assert response.headers["content-type"] == "application/json"
    require_shape(shapes()["GET", path], response.json())


@each("path", QUESTIONS)
def test_a_route_refuses_a_parameter_it_does_not_document(client: TestClient, path: str) -> None:
    if path in {"/health", "/ready"}:
        return
    question = QUESTIONS[path]
    response = client.get(question + ("&" if "?" in question else "?") + "flavour=lemon")
    assert response.status_code == 422
    problem = response.json()
    assert problem["parameter"] == "flavour"
    documented = {parameter["name"] for parameter in _get_paths(client)[path].get("parameters", [])}
    in_query = {p["name"] for p in _get_paths(client)[path].get("parameters", []) if p["in"] == "query"}
    assert set(problem["accepted"]) == in_query <= documented


def test_water_at_20_degc_is_the_contract_value(client: TestClient) -> None:
    response = client.get("/v1/liquids/water/values", params={"temperature": "20 degC", "property": "sound_speed"})
    value = response.json()["values"][0]
    assert value["value"]["magnitude"] == pytest.approx(1482.3, abs=0.1)
    assert value["value"] == {"magnitude": value["value"]["magnitude"], "unit": "m/s", "ucum": "m/s"}
    assert value["state"]["temperature"] == {"magnitude": 20.0, "unit": "degC", "ucum": "Cel"}
    assert value["assumptions"] == ["pressure not given: 1 atm"]


def test_the_trades_words_of_a_pipe_answer_over_http(client: TestClient) -> None:
    items = client.get("/v1/pipes", params={"system": "b36.10", "size": "NPS 8", "designation": "40"}).json()["items"]
    assert [item["id"] for item in items] == ["b36.10-nps-8-sch-40"]
    assert items[0]["outside_diameter"]["magnitude"] == 219.1
    us = client.get("/v1/pipes/b36.10-nps-8-sch-40", params={"units": "us"}).json()
    assert (us["outside_diameter"]["magnitude"], us["wall"]["magnitude"]) == (8.625, 0.322)


def test_units_are_chosen_by_property_or_by_system(client: TestClient) -> None:
    question = {"subject": "water", "temperature": "20 degC", "unit": ["density:lb/ft3", "sound_speed:mm/us"]}
    values = client.get("/v1/values", params=question).json()["values"]
    chosen = {value["property"]: value["value"]["unit"] for value in values}
    assert (chosen["density"], chosen["sound_speed"], chosen["specific_heat"]) == ("lb/ft3", "mm/us", "J/(kg.K)")
    values = client.get("/v1/values", params={"subject": "water", "temperature": "68 degF", "units": "us"}).json()[
        "values"
    ]
    assert {value["value"]["unit"] for value in values} == {
        "lb/ft3", "ft/s", "lb/(ft.s)", "ft2/s", "Btu/(lb.degF)", "psi", "1/degF", "dB/(in.MHz2)"
    }  # fmt: skip


def test_a_permalink_gives_the_same_answer(client: TestClient) -> None:
    questions = [
        "/v1/values?subject=water&property=sound_speed&temperature=61.7 degF&pressure=100 kPa",
        "/v1/values?subject=alumina&property=longitudinal_speed&condition=sintered",
        "/v1/values?subject=carbon-steel&property=density",
    ]
    for question in questions:
        value = client.get(question).json()["values"][0]
        again = client.get(value["permalink"]).json()["values"][0]
        for part in ("value", "standard_uncertainty", "row", "release", "permalink"):
            assert again[part] == value[part], question
    pipe = client.get("/v1/pipes/b36.10-nps-8-sch-40").json()
    assert client.get(pipe["permalink"]).json() == pipe


def test_lists_come_in_pages_that_join_without_gap_or_overlap(client: TestClient) -> None:
    whole = [item["id"] for item in client.get("/v1/pipes?system=b36.10&limit=500").json()["items"]]
    seen: list[str] = []
    mark = None
    while True:
        params = {"system": "b36.10", "limit": "73"} | ({"next": mark} if mark else {})
        page = client.get("/v1/pipes", params=params).json()
        seen += [item["id"] for item in page["items"]]
        mark = page["next"]
        if mark is None:
            break
    assert seen[:500] == whole
    assert len(seen) == len(set(seen)) > 500


@pytest.mark.parametrize("params", [{"limit": "0"}, {"limit": "501"}, {"limit": "many"}, {"next": "nonsense"}])
@pytest.mark.parametrize("path", ["/v1/pipes", "/v1/materials", "/v1/find"])
def test_a_page_that_cannot_be_is_refused(client: TestClient, path: str, params: dict[str, str]) -> None:
    response = client.get(path, params=params | ({"q": "steel"} if path == "/v1/find" else {}))
    assert response.status_code == 422
    assert response.json()["parameter"] in params


def test_pinned_releases_and_past_days_are_answered(client: TestClient) -> None:
    question = {"subject": "water", "property": "density", "temperature": "20 degC"}
    assert client.get("/v1/values", params=question | {"release": "2026r1"}).json()["release"] == "2026r1"
    assert client.get("/v1/values", params=question | {"as_of": "2026-12-31"}).json()["release"].startswith("2026r")


def test_the_documentation_needs_no_internet(client: TestClient) -> None:
    page = client.get("/docs").text
    assert "http://" not in page
    assert "https://" not in page
    for asset in ("/static-offline-docs/swagger-ui-bundle.js", "/static-offline-docs/swagger-ui.css"):
        assert asset in page
        assert client.get(asset).status_code == 200


def test_operators_see_counters(client: TestClient) -> None:
    client.get("/health")
    assert 'refdb_requests_total{status="200"}' in client.get("/metrics").text
