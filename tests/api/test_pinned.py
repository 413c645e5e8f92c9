"""Pinned answers: the same for ever, and so for a cache; what follows the newest release is asked for again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.database import Database
from refdb.values.options import ESTIMATE_RUNGS
from tests.service import TestClient
from tests.shapes import untyped

if TYPE_CHECKING:
    from refdb.values.documents import ValueDocument


WATER = "/v1/liquids/water/values?temperature=20 degC"
FOR_EVER = "public, max-age=31536000, immutable"

PINNED = [
    f"{WATER}&release=2026r1",
    "/v1/pipes/b36.10-nps-8-sch-40?release=2026r1",
    "/v1/rows/water.sound_speed/provenance?release=2026r2",
    "/v1/releases/2026r2/changes?since=2026r1",
]
FOLLOWING = [
    WATER,
    f"{WATER}&as_of=2026-12-31",
    "/v1/releases",
    "/v1/releases/2026r1",  # a later release may say that it was wrong
    "/v1/units",
    "/v1/rows/water.sound_speed/history",
]


@pytest.mark.parametrize("path", PINNED)
def test_a_pinned_answer_may_be_kept_for_ever(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert response.headers["cache-control"] == FOR_EVER
    assert response.headers["etag"].startswith('"1-')
    assert client.get(path).headers["etag"] == response.headers["etag"]


@pytest.mark.parametrize("path", FOLLOWING)
def test_what_follows_the_newest_release_is_asked_for_again(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert response.headers["cache-control"] == "no-cache"
    again = client.get(path, headers={"if-none-match": response.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == response.headers["etag"]


@pytest.mark.parametrize("known", ['"other", {}', "W/{}", "*"])
def test_a_tag_is_found_among_several(client: TestClient, known: str) -> None:
    tag = client.get(WATER).headers["etag"]
    assert client.get(WATER, headers={"if-none-match": known.format(tag)}).status_code == 304
    assert client.get(WATER, headers={"if-none-match": '"1-0"'}).status_code == 200


def test_different_answers_have_different_tags(client: TestClient) -> None:
    tags = {client.get(f"/v1/liquids/water/values?temperature={t} degC").headers["etag"] for t in range(20, 30)}
    assert len(tags) == 10


@pytest.mark.parametrize("path", ["/v1/liquids/watr/values?release=2026r1", f"{WATER}&release=1999r1"])
def test_a_problem_is_not_kept(client: TestClient, path: str) -> None:
    response = client.get(path)
    assert response.status_code == 404
    assert "etag" not in response.headers
    assert response.headers.get("cache-control") != FOR_EVER


def _same(client: TestClient, document: ValueDocument) -> None:
    (again,) = client.get(document["permalink"]).json()["values"]
    for name in ("value", "standard_uncertainty", "slope", "row", "release", "state"):
        assert again[name] == untyped(document)[name], (document["permalink"], name)


@given(
    celsius=st.floats(min_value=0.5, max_value=95.0),
    kilopascals=st.floats(min_value=200.0, max_value=9000.0),
    unit=st.sampled_from(["m/s", "ft/s", "mm/us", "in/us"]),
    fahrenheit=st.booleans(),
)
def test_a_permanent_link_gives_the_same_answer_to_its_last_digit(
    client: TestClient, database: Database, celsius: float, kilopascals: float, unit: str, fahrenheit: bool
) -> None:
    temperature = f"{celsius * 1.8 + 32.0!r} degF" if fahrenheit else f"{celsius!r} degC"
    answer = database.value("water", "sound_speed", temperature=temperature, pressure=f"{kilopascals!r} kPa", unit=unit)
    _same(client, answer.document())


def test_every_row_has_a_permanent_link_that_gives_it_again(client: TestClient, database: Database) -> None:
    rows = database.store.of_kind("recommended", database.release())
    for record in rows:
        state = {}
        for name, interval in record.body["domain"].items():
            if interval["low"] == "saturation":
                state[name] = f"{interval['high']} {interval['unit']}"
                continue
            low = 0.0 if interval["low"] == "freezing" else float(interval["low"])
            state[name] = f"{(low + float(interval['high'])) / 2:g} {interval['unit']}"
        accept = "estimates" if record.body["rung"] in ESTIMATE_RUNGS else None
        answer = database.value(
            record.body["subject"],
            record.body["property"],
            condition=record.body.get("condition"),
            accept=accept,
            **state,
        )
        _same(client, answer.document())


@pytest.mark.parametrize("asked", ["", "&units=us"])
def test_a_pipe_has_a_permanent_link_that_gives_it_again(client: TestClient, asked: str) -> None:
    for item in client.get(f"/v1/pipes?system=b36.10&size=NPS 8&accept=estimates{asked}").json()["items"]:
        assert client.get(item["permalink"]).json() == item
