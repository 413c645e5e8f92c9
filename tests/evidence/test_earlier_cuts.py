"""Answers saved from a cut that bears its label no more: recognised, superseded, and proved as far as can be."""

from __future__ import annotations

import copy
import datetime
import json
from pathlib import Path
from typing import Any

import pytest

import refdb
from refdb.data import current
from refdb.database import Database
from refdb.evidence.check import check_answers
from refdb.lookup import ReleaseStore
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from refdb_api.documents import CheckedAnswers
from tests.conftest import CommandLine
from tests.invented import FIRST_READINGS, READINGS_HEADER, write_earlier_cut
from tests.service import TestClient
from tests.shapes import require_shape, untyped

DAY = datetime.date(2026, 1, 2)
SAVED = json.loads((Path(__file__).parent / "answers_of_earlier_cuts.json").read_text(encoding="utf-8"))
"""Answers of the three earlier cuts; `tests/release/test_earlier_cuts.py` holds them against what the cuts answered."""

CUTS = {
    cut.digest.removeprefix("sha256:")[:8]: (release.label, cut)
    for release in refdb.open().releases()
    for cut in release.earlier_cuts
}
HELD = ("1-3-propanediol.density", "2-methoxyethanol.sound_speed")
"""Rows whose version in the earlier cuts of 2026r6 is that of 2026r5, which is held."""


@pytest.mark.parametrize("saved", SAVED, ids=lambda saved: f"{saved['cut']} {saved['answer']['row']['id']}")
def test_an_answer_of_an_earlier_cut_is_superseded_and_says_from_which(
    database: Database, saved: dict[str, Any]
) -> None:
    answer = saved["answer"]
    label, cut = CUTS[saved["cut"]]
    (item,) = check_answers(database.reader, answer)
    assert item["verdict"] == "superseded"
    assert item["release"] == label
    assert item["reason"].startswith(f"from an earlier cut of {label} (digest sha256:")
    assert "that was cut again under the same label" in item["reason"]
    assert cut.digest in item["reason"]
    assert ("its numbers are not proved" in item["reason"]) == (answer["row"]["id"] not in HELD)


@pytest.mark.parametrize("saved", SAVED, ids=lambda saved: f"{saved['cut']} {saved['answer']['row']['id']}")
def test_the_effect_is_told_as_of_any_superseded_answer(database: Database, saved: dict[str, Any]) -> None:
    answer = saved["answer"]
    (item,) = map(untyped, check_answers(database.reader, answer))
    now = item["now"]
    assert now["release"] == database.release().label
    assert now["row"]["id"] == answer["row"]["id"]
    move = now["value"]["magnitude"] - answer["value"]["magnitude"]
    unit = answer["value"]["unit"]
    assert item["effect"]["moves"]["value"] == {"magnitude": pytest.approx(move, rel=1e-4), "unit": unit}
    doubt = answer["standard_uncertainty"]["magnitude"]
    assert item["effect"]["in_uncertainties"] == pytest.approx(move / doubt, rel=1e-3)


def test_a_version_that_two_cuts_held_names_both(database: Database) -> None:
    both = next(one["answer"] for one in SAVED if one["answer"]["row"]["id"] == "2-methoxyethanol.sound_speed")
    (item,) = check_answers(database.reader, both)
    assert all(CUTS[short][1].digest in item["reason"] for short in ("e947f280", "f989fb0e"))


@pytest.mark.parametrize(
    ("place", "forged", "words"),
    [
        (["row", "digest"], "sha256:" + "0" * 64, "the digest does not fit"),
        (["row", "id"], "water.sound_speed", "the digest does not fit"),
        (["release"], "2026r6", "the digest does not fit"),
        (["subject", "id"], "water", "the subject does not fit the row: it is triethylene-glycol"),
        (["property"], "density", "the property does not fit the row: it is sound_speed"),
    ],
)
def test_what_no_cut_answered_is_still_not_ours(database: Database, place: list[str], forged: str, words: str) -> None:
    answer = part = copy.deepcopy(SAVED[0]["answer"])
    for name in place[:-1]:
        part = part[name]
    part[place[-1]] = forged
    (item,) = check_answers(database.reader, answer)
    assert item["verdict"] == "not ours"
    assert words in item["reason"], item["reason"]


def test_where_a_release_holds_the_version_its_numbers_are_proved(database: Database) -> None:
    answer = copy.deepcopy(next(one["answer"] for one in SAVED if one["answer"]["row"]["id"] == HELD[0]))
    answer["value"]["magnitude"] += 1.0
    (item,) = check_answers(database.reader, answer)
    assert (item["verdict"], "the numbers do not fit the row: value" in item["reason"]) == ("not ours", True)


def test_a_version_that_the_newest_release_holds_again_is_current(invented_text: Path, tmp_path: Path) -> None:
    cut_release(invented_text, "2026r1", "The first.", DAY)
    readings = invented_text / "sources" / "documents" / "read" / "first-article" / "readings.csv"
    readings.write_text(READINGS_HEADER + FIRST_READINGS.replace("5000", "5010"))
    cut_release(invented_text, "2026r2", "Changed.", DAY)
    build(invented_text, tmp_path / "before")
    answer = _open(tmp_path / "before").value("invented-metal", "longitudinal_speed").document()
    write_earlier_cut(invented_text, "2026r1", [(answer["row"]["id"], answer["row"]["digest"])])
    build(invented_text, tmp_path / "target")
    (item,) = check_answers(_open(tmp_path / "target").reader, answer | {"release": "2026r1"})
    assert item["verdict"] == "current"
    assert item["reason"].startswith("from an earlier cut of 2026r1 ")
    assert item["reason"].endswith("release 2026r2 advises the same")


def _open(target: Path) -> Database:
    return Database(Reader(ReleaseStore(current(target).store)))


def test_the_command_and_the_route_say_it_too(command: CommandLine, client: TestClient, tmp_path: Path) -> None:
    answers = [one["answer"] for one in SAVED]
    file = tmp_path / "answers.json"
    file.write_text(json.dumps(answers))
    printed = command("check-answers", str(file))
    assert (printed.code, f"{len(answers)} answer(s): {len(answers)} superseded" in printed.out) == (0, True)
    response = client.post("/v1/answers/check", json={"answers": answers})
    items = require_shape(CheckedAnswers, response.json())["items"]
    assert [item["reason"].split(" (digest")[0] for item in items] == [
        f"from an earlier cut of {answer['release']}" for answer in answers
    ]


def test_releases_tell_what_bore_their_label_before(command: CommandLine, client: TestClient) -> None:
    # The digests are those of release.toml in the commits that sources/earlier-cuts names.
    cuts = client.get("/v1/releases/2026r6").json()["earlier_cuts"]
    assert [(cut["digest"][7:15], cut["superseded_on"]) for cut in cuts] == [
        ("e947f280", "2026-11-25"),
        ("f989fb0e", "2026-11-26"),
    ]
    assert client.get("/v1/releases/2026r4").json()["earlier_cuts"] == []
    flowing = " ".join(command("releases").out.split())
    for short, (label, cut) in CUTS.items():
        told = f"{label}: also cut under this label: digest {cut.digest}, superseded on {cut.superseded_on}: {cut.why}"
        assert told in flowing, short
