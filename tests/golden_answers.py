"""Writing the golden answers of a release that has just been cut; the file is never written twice."""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import refdb
from refdb.answer import Database
from refdb.records.models import RECOMMENDED_KINDS

FOLDER = Path(__file__).parent / "golden"
WATER_TEMPERATURES = ("0.01 degC", "4 degC", "20 degC", "37.5 degC", "68 degF", "74 degC", "95 degC")


def questions(database: Database) -> Iterator[dict[str, Any]]:
    """What is asked: every recommended value once, water at several temperatures, every pipe and roughness row."""
    release = database.release()
    for record in database.store.of_kind("recommended", release):
        body = record.body
        domain = body["domain"]["temperature"]
        middle = f"{(float(domain['low']) + float(domain['high'])) / 2:g} {domain['unit']}"
        temperatures = WATER_TEMPERATURES if body["subject"] == "water" else (middle,)
        for temperature in temperatures:
            yield {
                "subject": body["subject"],
                "property_id": body["property"],
                "temperature": temperature,
                "condition": body.get("condition"),
            }


def answers(database: Database) -> Iterator[dict[str, Any]]:
    """Every question with its answer."""
    for question in questions(database):
        yield {"question": question, "answer": value_answer(database, question)}


def value_answer(database: Database, question: dict[str, Any]) -> dict[str, Any]:
    """The parts of an answer that must never change."""
    document = database.value(**question).document()
    return {
        "value": document["value"]["magnitude"],
        "unit": document["value"]["unit"],
        "standard_uncertainty": document["standard_uncertainty"]["magnitude"],
        "slope": document["slope"]["temperature"]["magnitude"],
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
