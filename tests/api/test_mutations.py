"""Questions with members off by powers of ten, of the wrong sign, unit or kind: answered or refused by name.

Whatever is asked, no route fails, and no number that is sent is NaN or an infinity.
"""

from __future__ import annotations

import json
import math
import random
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import orjson
import pytest

from refdb.database import Database
from tests.conftest import PROJECT
from tests.service import TestClient, create_app
from tests.tools.mutations import changed_body, changed_query

SEED = 20_261_126
QUERIES = 60
BODIES = 12
"""How often a question is changed; jobs take their time."""

NOT_FINITE = re.compile(r"(?<![\w.])-?(nan|inf)(?!\w)")
"""As a number is printed that is none, on a page too."""

QUESTIONS: list[tuple[str, dict[str, str]]] = [
    (
        "/v1/liquids/match",
        {"sound_speed": "1482 m/s", "sound_speed_uncertainty": "3 m/s", "temperature": "20 degC", "pressure": "1 atm"},
    ),
    ("/v1/liquids/match", {"sound_speed": "1550 m/s", "sound_speed_uncertainty": "1 m/s", "liquid": "water"}),
    ("/v1/liquids/match", {"sound_speed": "1500 m/s", "temperature": "15 degC", "solution": "seawater"}),
    (
        "/v1/suspension",
        {
            "continuous": "water",
            "dispersed": "toluene",
            "fraction": "10 % vol",
            "fraction_uncertainty": "0.5 % vol",
            "temperature": "20 degC",
            "particle_size": "10 um",
            "frequency": "1 MHz",
        },
    ),
    (
        "/v1/suspension",
        {
            "continuous": "seawater",
            "salinity": "35 psu",
            "sound_speed": "1600 m/s",
            "sound_speed_uncertainty": "2 m/s",
            "temperature": "20 degC",
            "solid_density": "2600 kg/m3",
            "solid_longitudinal_speed": "5900 m/s",
            "solid_shear_speed": "3760 m/s",
        },
    ),
    (
        "/v1/suspension",
        {
            "continuous": "water",
            "fraction": "10 % mass",
            "temperature": "20 degC",
            "solid_density": "2600 kg/m3",
            "solid_density_uncertainty": "50 kg/m3",
            "solid_compressibility": "27 1/TPa",
            "solid_compressibility_uncertainty": "3 1/TPa",
        },
    ),
    (
        "/v1/measure-speed",
        {
            "thickness": "12.5 mm",
            "thickness_uncertainty": "0.02 mm",
            "echo_time": "4.23 us",
            "echo_time_uncertainty": "0.01 us",
        },
    ),
    (
        "/v1/measure-speed",
        {
            "path": "100 mm",
            "path_uncertainty": "0.1 mm",
            "travel_time": "67.5 us",
            "travel_time_uncertainty": "0.05 us",
        },
    ),
    (
        "/v1/measure-speed",
        {
            "water_time": "67 us",
            "water_time_uncertainty": "0.05 us",
            "travel_time": "67.5 us",
            "travel_time_uncertainty": "0.05 us",
            "temperature": "20 degC",
            "temperature_uncertainty": "0.2 K",
        },
    ),
]

KNOWN: dict[str, Any] = {
    "spacing": "100 mm",
    "passes": 2,
    "bore": "200 mm",
    "sound_speed": "1480 m/s",
    "wall": "8 mm",
    "wall_speed": "3200 m/s",
    "lining": "3 mm",
    "lining_speed": "2500 m/s",
    "spacing_uncertainty": "0.5 mm",
}


def _jobs() -> list[tuple[str, dict[str, Any]]]:
    """Whole jobs, one with heat and one with a lining, and what stands beside them."""
    texts = [PROJECT / f"shared/examples/jobs/{name}.toml" for name in ("cold-glycol-copper", "heavy-fuel-oil")]
    jobs = [tomllib.loads(text.read_text(encoding="utf-8")) for text in texts]
    lined = PROJECT / "shared/examples/jobs/drinking-water-ductile-iron.toml"
    return [
        *(("/v1/jobs", job) for job in jobs),
        ("/v1/jobs", tomllib.loads(lined.read_text(encoding="utf-8"))),
        ("/v1/jobs/sheet", jobs[0]),
        ("/v1/jobs/fit", {"known": [KNOWN, {**KNOWN, "spacing": "150 mm", "bore": "300 mm"}]}),
        (
            "/v1/jobs/compare",
            {
                "first": "100 m3/h",
                "first_expanded_uncertainty": "3 m3/h",
                "second": "106 m3/h",
                "second_expanded_uncertainty": "4 m3/h",
            },
        ),
        (
            "/v1/values",
            {
                "subject": "water",
                "properties": ["sound_speed"],
                "temperature": {"unit": "degC", "magnitudes": [5, 20, 95]},
                "pressure": "3 bar(g)",
            },
        ),
    ]


def _endless(part: Any) -> Iterator[float]:
    """The numbers of a document that are not finite."""
    if isinstance(part, float) and not math.isfinite(part):
        yield part
    items = part.values() if isinstance(part, dict) else part if isinstance(part, list | tuple) else ()
    for item in items:
        yield from _endless(item)


class _Watched:
    """orjson, which makes null of what is not finite, with an eye on it."""

    JSONDecodeError = orjson.JSONDecodeError
    loads = staticmethod(orjson.loads)

    def __init__(self) -> None:
        self.sent: list[float] = []

    def dumps(self, content: Any) -> bytes:
        self.sent = list(_endless(content))
        return orjson.dumps(content)


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> _Watched:
    """What the last answer held of numbers that are not finite."""
    eye = _Watched()
    monkeypatch.setattr("refdb_api.respond.orjson", eye)
    return eye


def _asked(chance: random.Random) -> Iterator[tuple[str, dict[str, Any], bytes | None]]:
    """Changed questions: path, query, and body."""
    for path, query in QUESTIONS:
        for _ in range(QUERIES):
            yield path, changed_query(chance, query), None
    for path, body in _jobs():
        for _ in range(BODIES):
            changed = changed_body(chance, body)
            yield path, {}, json.dumps(changed).encode()


def test_whatever_is_changed_in_a_question_it_is_answered_or_refused_by_name(
    database: Database, watched: _Watched
) -> None:
    client = TestClient(create_app(database), raise_server_exceptions=False)
    failing, answered = [], 0
    for path, query, body in _asked(random.Random(SEED)):  # noqa: S311 - a seeded choice, no secret
        watched.sent = []
        response = client.get(path, params=query) if body is None else client.post(path, content=body)
        if response.status_code == 200:
            answered += 1
            right = not watched.sent and NOT_FINITE.search(response.text) is None
        else:
            right = response.status_code in {404, 409, 422} and "detail" in response.json()
        if not right:
            failing.append((path, query or body, response.status_code, watched.sent[:3]))
    assert failing == []
    # Many changes are such as people live with; a test that only sees refusals sees little.
    assert answered > 100
