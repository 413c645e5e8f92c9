"""Whole numbers, fractions and marks that no question has: refused by name or answered, and never a failure of ours."""

from __future__ import annotations

import base64
from typing import Any

from refdb.documents import ProblemDocument
from tests.rows import each
from tests.service import TestClient
from tests.shapes import require_shape

DIGITS = "9" * 5_000
"""More digits than Python turns into a number without being told to."""


def _mark(text: str) -> str:
    return base64.urlsafe_b64encode(text.encode()).decode("ascii").rstrip("=")


NUMBERS = (
    DIGITS,
    "9" * 400,
    "1" + "0" * 30,
    "1/0",
    "2 1/0",
    "0/0",
    "-1",
    "0",
    "1.5",
    "1e3",
    "nan",
    "²",
    "٣",
    "",
    "\x00",
)
MARKS = (*NUMBERS, *(_mark(f"LABEL:{start}") for start in (DIGITS, "9" * 4_000, "-1", "²", "")), "ü", "====")

QUESTIONS: dict[str, dict[str, str]] = {
    "/v1/find": {"q": "steel"},
    "/v1/liquids/match": {"sound_speed": "1482 m/s", "temperature": "20 degC"},
    "/v1/pipes": {"system": "din11850"},
    "/v1/linings": {"system": "c151"},
    "/v1/pipes/match": {"circumference": "690 mm", "wall": "8.1 mm"},
    "/v1/measure-speed": {
        "thickness": "12.5 mm",
        "thickness_uncertainty": "0.02 mm",
        "echo_time": "4.23 us",
        "echo_time_uncertainty": "0.01 us",
    },
}
"""What else a route needs to be asked."""
COUNTED = ("limit", "next", "wall_points", "echoes", "size", "designation")
"""The parameters that are whole numbers, hold one, or are read as a fraction."""


PAGED = ("limit", "next")
"""Read in one place for every list; the lists themselves take their time."""


def _asked(client: TestClient) -> list[tuple[str, str]]:
    """Every route that answers everybody, with each of its counted parameters."""
    return [
        (path, parameter["name"])
        for path, methods in client.get("/openapi.json").json()["paths"].items()
        for parameter in methods.get("get", {}).get("parameters", [])
        if parameter["name"] in COUNTED and "{" not in path and "/house/" not in path
    ]


def test_no_number_or_mark_makes_a_route_fail(client: TestClient) -> None:
    release = client.get("/health").json()["release"]
    asked = _asked(client)
    assert {name for _, name in asked} == set(COUNTED)
    failing = []
    for path, name in asked:
        texts = MARKS if name == "next" else NUMBERS
        for text in texts if name not in PAGED or path == "/v1/sources" else texts[:1]:
            given = text.replace("LABEL", release)
            response = client.get(path, params={**QUESTIONS.get(path, {}), name: given})
            refused = response.status_code in {404, 422} and response.json()["parameter"] == name
            if not (response.status_code == 200 or refused):
                failing.append((path, name, text[:20], response.status_code))
    assert failing == []


CASES: list[tuple[str, str, str, str]] = [
    ("/v1/pipes", "size", "1/0", "is not a size word"),
    ("/v1/pipes", "size", "NPS 2 1/0", "is not a size word"),
    ("/v1/pipes", "size", "OD " + "9" * 400, "longer than any size"),
    ("/v1/pipes", "designation", DIGITS, "longer than any"),
    ("/v1/materials", "limit", DIGITS, "whole number from 1 to 500"),
    ("/v1/find", "limit", DIGITS, "whole number from 1 to 500"),
    ("/v1/materials", "next", _mark(f"2026r1:{DIGITS}"), "take it from the previous page"),
    ("/v1/pipes/match", "wall_points", DIGITS, "is not 1 to 1000"),
    ("/v1/measure-speed", "echoes", DIGITS, "is not a whole number"),
]


@each(("path", "name", "text", "words"), CASES)
def test_such_a_number_is_refused_in_a_sentence_of_bounded_length(
    client: TestClient, path: str, name: str, text: str, words: str
) -> None:
    asked: dict[str, Any] = {**QUESTIONS.get(path, {}), name: text}
    response = client.get(path, params=asked | ({"release": "2026r1"} if name == "next" else {}))
    problem = require_shape(ProblemDocument, response.json())
    assert response.status_code == 422
    assert problem["parameter"] == name
    assert words in problem["detail"]
    assert len(response.content) < 1_000


def test_a_whole_number_in_a_body_may_be_of_any_length(client: TestClient) -> None:
    body = f'{{"subject": "water", "temperature": {{"unit": "degC", "magnitudes": [20, 1{"0" * 400}]}}}}'
    response = client.post("/v1/values", content=body)
    assert response.status_code == 422
    assert response.json()["parameter"] in {"temperature", "body"}
