"""Writing the golden answers of a release that has just been cut; the file is never written twice."""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import refdb
from refdb.database import Database
from refdb.records.models import RECOMMENDED_KINDS
from refdb.values.options import ESTIMATE_RUNGS

FOLDER = Path(__file__).parents[1] / "golden"
WATER_STATES: tuple[dict[str, str], ...] = (
    *({"temperature": t} for t in ("0.01 degC", "4 degC", "20 degC", "37.5 degC", "68 degF", "74 degC", "95 degC")),
    {"temperature": "20 degC", "pressure": "10 MPa"},
    {"temperature": "150 degC", "pressure": "2 MPa"},
)


WATER_TO = 150.0
"""degC that a row of water must reach to be asked at all of them."""


def questions(database: Database) -> Iterator[dict[str, Any]]:
    """What is asked: every recommended value once, water at several states, every pipe and roughness row."""
    for record in database.store.of_kind("recommended", database.release()):
        body = record.body
        for state in _states(body):
            yield {
                "subject": body["subject"],
                "property_id": body["property"],
                "condition": body.get("condition"),
                **({"accept": "estimates"} if body["rung"] in ESTIMATE_RUNGS else {}),
                **state,
            }


def _states(body: dict[str, Any]) -> Iterator[dict[str, str]]:
    if body["subject"] == "water" and float(body["domain"]["temperature"]["high"]) >= WATER_TO:
        for state in WATER_STATES:
            if "pressure" not in state or "pressure" in body["domain"]:
                yield state
        return
    yield {name: _middle(interval) for name, interval in body["domain"].items()}


def _middle(interval: dict[str, str]) -> str:
    """Between the ends of an interval; at its high end from saturation on, halfway to it where freezing begins it."""
    if interval["low"] == "saturation":
        return f"{interval['high']} {interval['unit']}"
    low = 0.0 if interval["low"] == "freezing" else float(interval["low"])
    return f"{(low + float(interval['high'])) / 2:g} {interval['unit']}"


def answers(database: Database) -> Iterator[dict[str, Any]]:
    """Every question with its answer."""
    for question in questions(database):
        yield {"question": question, "answer": value_answer(database, question)}


def value_answer(database: Database, question: dict[str, Any]) -> dict[str, Any]:
    """The parts of an answer that must never change."""
    document = database.value(**question).document()
    slopes = {name: slope["magnitude"] for name, slope in document["slope"].items()}
    value, uncertainty = document["value"], document["standard_uncertainty"]
    if value is None or uncertainty is None:
        return {"bound": document["bound"], "row": document["row"]}
    return {
        "value": value["magnitude"],
        "unit": value["unit"],
        "standard_uncertainty": uncertainty["magnitude"],
        "slope": slopes.pop("temperature", None),
        **({"other_slopes": slopes} if slopes else {}),
        "row": document["row"],
    }


def rows(database: Database) -> dict[str, str]:
    """Id and digest of every recommended row of a release."""
    release = database.release()
    return {record.id: record.digest for kind in RECOMMENDED_KINDS for record in database.store.of_kind(kind, release)}


def write(label: str) -> None:
    """Write the golden answers of a release."""
    file = FOLDER / f"{label}.json"
    if file.exists():
        raise SystemExit(f"{file} exists; golden answers are never written again")
    database = refdb.open(label)
    golden = {"release": label, "answers": list(answers(database)), "rows": rows(database)}
    file.write_text(json.dumps(golden, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    _pin(label)


def _pin(label: str) -> None:
    """Note the digest of the release folder's own list of digests."""
    file = FOLDER / "releases" / "digests.json"
    file.parent.mkdir(exist_ok=True)
    pinned = json.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
    sums = FOLDER.parent.parent / "sources" / "releases" / label / "SHA256SUMS"
    pinned[label] = hashlib.sha256(sums.read_bytes()).hexdigest()
    file.write_text(json.dumps(pinned, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write(sys.argv[1])
