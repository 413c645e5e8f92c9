"""Jobs changed in their meaning: whatever is in a member, a job is worked to finite numbers or refused by name.

Powers of ten, signs, other units, blanks, other types, words in place of numbers, absurd combinations; a share of them
in every run, many more in the long one.
"""

from __future__ import annotations

import copy
import json
import math
import random
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from refdb.job.sheet import page
from refdb.job.sheet.geometry import millimetres
from refdb.problems import Problem
from tests.conftest import PROJECT

EXAMPLES = [
    tomllib.loads(path.read_text(encoding="utf-8"))
    for path in sorted((PROJECT / "shared/examples/jobs").glob("*.toml"))
]
SEED = 18
SHORT, LONG = 2_000, 100_000
WORDS = (
    *("", " ", "nan", "inf", "-inf", "1e400 mm", "١٢ mm", "12", "12 banana", "mm", "twelve mm", "0x1F mm", "1/0 mm"),
    *(
        "20 degC",
        "-40 degC",
        "1e-300 m",
        "1e300 m",
        "-1 m/s",
        "3 bar(g)",
        "5 %",
        "yes",
        "no",
        "unknown",
        "\x00",
        "𝟙 mm",
    ),
    *("' OR 1=1 --", "<b>1 mm</b>", "9**9**9 mm", "a" * 300, "1 mm; 2 mm", "1,5 mm", "1.5.2 mm", "--5 mm", "+5 mm"),
)
UNITS = (
    "mm",
    "m",
    "in",
    "ft",
    "m/s",
    "ft/s",
    "degC",
    "degF",
    "K",
    "Pa",
    "bar",
    "kg/m3",
    "mPa.s",
    "cSt",
    "MHz",
    "ns",
    "%",
)
OTHER: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    7,
    2.5,
    1e308,
    [],
    ["5 mm"],
    ["5 mm", "6 mm"],
    {},
    {"a": 1},
    [[]],
)


def members(job: dict[str, Any], where: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, item in job.items():
        if isinstance(item, dict):
            yield from members(item, (*where, name))
        else:
            yield (*where, name)


def changed_number(text: str, chance: random.Random) -> str:
    """A number with its unit, moved by powers of ten, turned, or given another unit."""
    number, _, unit = text.partition(" ")
    try:
        amount = float(number)
    except ValueError:
        return chance.choice(WORDS)
    match chance.randrange(4):
        case 0:
            amount *= 10.0 ** chance.randint(-12, 12)
        case 1:
            amount = -amount
        case 2:
            unit = chance.choice(UNITS)
        case _:
            amount *= chance.uniform(0.0, 5.0)
    return f"{amount!r} {unit}"


def mutation(chance: random.Random) -> dict[str, Any]:
    """An example with one to four members changed, taken out, moved or added."""
    job = copy.deepcopy(chance.choice(EXAMPLES))
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        way = chance.choice(list(members(job)))
        part = job
        for step in way[:-1]:
            part = part[step]
        name, old = way[-1], part[way[-1]]
        match chance.randrange(6):
            case 0:
                del part[name]
            case 1:
                part[name] = chance.choice(WORDS)
            case 2:
                part[name] = chance.choice(OTHER)
            case 3:
                other = chance.choice(EXAMPLES)
                place = chance.choice(list(members(other)))
                value: Any = other
                for step in place:
                    value = value[step]
                part[name] = value
            case _:
                part[name] = changed_number(old, chance) if isinstance(old, str) else chance.choice(OTHER)
    if chance.random() < 0.1:
        job["accept"] = "estimates"
    if chance.random() < 0.1:
        job["units"] = "us"
    return job


def not_finite(part: Any) -> bool:
    if isinstance(part, float):
        return not math.isfinite(part)
    if isinstance(part, dict):
        return any(not_finite(item) for item in part.values())
    return any(not_finite(item) for item in part) if isinstance(part, list) else False


SIZES = ("outside diameter", "wall")


def accepted(told: dict[str, Any], job: dict[str, Any]) -> None:
    """What physics asks of every document that was given."""
    assert not not_finite(told), job
    inputs = {item["name"]: millimetres(item["value"]) for item in told["inputs"] if item["name"] in SIZES}
    assert all(item["standard_uncertainty"]["magnitude"] >= 0.0 for item in told["inputs"]), job
    assert inputs["outside diameter"] > 2.0 * inputs["wall"] > 0.0, job
    if told["pipe"] is not None:
        assert told["pipe"]["bore"]["magnitude"] > 0.0, job
    if told["flow"] is not None:
        for point in told["flow"]["points"]:
            assert 0.7 < point["profile_factor"] <= 1.0, job
            assert point["reynolds"] > 0.0, job
    if told["spacing"] is not None:
        for item in told["spacing"]["passes"]:
            loss = item["loss"]
            assert loss is None or loss["low"]["magnitude"] <= loss["high"]["magnitude"] + 1e-9, job
    if told["uncertainty"] is not None:
        assert told["uncertainty"]["expanded_uncertainty"]["magnitude"] > 0.0, job


def worked_or_refused(job: dict[str, Any], database: Database) -> str:
    try:
        told = work_job(job, database)
    except Problem as problem:
        said = problem.detail
        told = None
    if told is None:
        assert said.endswith("."), (job, said)
        assert len(said) < 2500, (job, said)
        return "refused"
    json.dumps(told, allow_nan=False)
    accepted(told, job)
    return "worked"


def campaign(count: int, seed: int, database: Database) -> None:
    chance = random.Random(seed)  # noqa: S311 - no secret
    told = {"worked": 0, "refused": 0}
    for number in range(count):
        job = mutation(chance)
        outcome = worked_or_refused(job, database)
        told[outcome] += 1
        if outcome == "worked" and number % 50 == 0:
            assert page(work_job(job, database)).startswith("<!DOCTYPE html>")
    # Both must happen, or the campaign tries nothing.
    assert min(told.values()) > count // 20, told


@pytest.mark.parametrize("share", range(4))
def test_whatever_is_in_a_job_it_is_worked_or_refused_by_name(database: Database, share: int) -> None:
    campaign(SHORT // 4, SEED + share, database)


@pytest.mark.long
@pytest.mark.parametrize("share", range(10))
def test_a_hundred_thousand_jobs_are_worked_or_refused_by_name(database: Database, share: int) -> None:
    campaign(LONG // 10, 1000 + share, database)


def test_over_http_none_of_them_is_the_services_own_fault(client: Any) -> None:
    chance = random.Random(SEED)  # noqa: S311 - no secret
    for _ in range(60):
        job = mutation(chance)
        try:
            body = json.dumps(job, allow_nan=False)
        except ValueError:
            continue
        sent = client.post("/v1/jobs", content=body, headers={"content-type": "application/json"})
        assert sent.status_code < 500, (job, sent.text)
        if sent.status_code != 200:
            assert sent.json()["detail"], job
