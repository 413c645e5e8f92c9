"""Saved answers, looked at again: an auditor's questions about last year's job sheets."""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import refdb
from refdb.database import Database
from refdb.evidence.check import check_answers
from refdb.problems import BadParameter
from refdb_api.documents import CheckedAnswers
from tests.conftest import CommandLine
from tests.rows import each
from tests.service import TestClient
from tests.shapes import require_shape, untyped

FIRST = "2026r1"


def _water(release: str, **question: Any) -> Any:
    asked = {"temperature": "20 degC"} | question
    return untyped(refdb.open(release).value("water", "sound_speed", **asked).document())


def test_an_answer_of_the_newest_release_is_current(database: Database) -> None:
    answers = [
        database.value("water", "sound_speed", temperature="37 degC", pressure="3 bar(g)", unit="ft/s").document(),
        database.value("carbon-steel", "density").document(),
        database.pipe("b36.10", "NPS 8", "40").document(),
        database.roughness("carbon-steel")[0].document(),
        database.linings()[0].document(),
    ]
    for item in check_answers(database.reader, answers):
        assert item["verdict"] == "current", item
        assert (item["now"], item["effect"]) == (None, None)


def test_a_superseded_answer_says_by_what_and_with_what_effect(database: Database) -> None:
    saved = _water(FIRST)
    (item,) = map(untyped, check_answers(database.reader, saved))
    now = database.value("water", "sound_speed", temperature="20 degC").document()
    assert item["verdict"] == "superseded"
    assert item["now"]["row"] == now["row"]
    assert item["now"]["value"] == now["value"]
    assert now["value"] is not None
    move = now["value"]["magnitude"] - saved["value"]["magnitude"]
    assert item["effect"]["moves"]["value"] == {"magnitude": pytest.approx(move, rel=1e-4), "unit": "m/s"}
    assert item["effect"]["in_uncertainties"] == pytest.approx(
        move / saved["standard_uncertainty"]["magnitude"], rel=1e-3
    )
    assert "rule reference/1 became grid/4" in item["reason"]


def test_the_effect_is_told_in_the_unit_of_the_saved_answer(database: Database) -> None:
    (item,) = map(untyped, check_answers(database.reader, _water(FIRST, unit="ft/s")))
    assert item["now"]["value"]["unit"] == item["effect"]["moves"]["value"]["unit"] == "ft/s"


def test_where_the_newest_release_does_not_answer_any_more_that_is_said(database: Database) -> None:
    # The first release followed an equation from 0 degC; the newest begins at the triple point, 0.01 degC.
    (item,) = check_answers(database.reader, _water(FIRST, temperature="0 degC"))
    assert item["verdict"] == "superseded"
    assert "does not answer at this state" in item["reason"]
    assert item["effect"] is None


FORGERIES: list[tuple[list[str], Any, str]] = [
    (["value", "magnitude"], 1483.5, "the numbers do not fit the row: value"),
    (["value", "unit"], "ft/s", "the numbers do not fit the row: value"),
    (["value", "unit"], "kg", "does not answer so"),
    (["standard_uncertainty", "magnitude"], 0.001, "the numbers do not fit the row: standard_uncertainty"),
    (["state", "temperature", "magnitude"], 21.0, "the numbers do not fit the row"),
    (["state", "temperature", "magnitude"], 4000.0, "does not answer so"),
    (["state", "temperature", "magnitude"], "20", "does not answer so"),
    (["row", "digest"], "sha256:" + "0" * 64, "the digest does not fit"),
    (["row", "id"], "water.density", "the digest does not fit"),
    (["row", "id"], "water.taste", "has no row"),
    (["subject", "id"], "seawater", "the subject does not fit the row"),
    (["property"], "density", "the property does not fit the row"),
    (["release"], "2020r1", "there is no release '2020r1'"),
    (["release"], None, "it names no release"),
    (["layer"], "house", "a house value"),
    (["value", "magnitude"], float("nan"), "does not fit"),
]


@each(("place", "forged", "words"), FORGERIES)
def test_what_was_not_answered_so_is_not_ours(database: Database, place: list[str], forged: Any, words: str) -> None:
    answer = _water(FIRST)
    part = answer
    for name in place[:-1]:
        part = part[name]
    part[place[-1]] = forged
    if forged != forged:  # not a number: nothing but the uncertainty is left to hold against the row
        del answer["standard_uncertainty"]
        words = "holds no number"
    (item,) = check_answers(database.reader, answer)
    assert item["verdict"] == "not ours"
    assert words in item["reason"], item["reason"]


@pytest.mark.parametrize(("name", "forged"), [("wall", 9.0), ("outside_diameter", 220.0), ("bore", 200.0)])
def test_a_pipe_with_another_dimension_is_not_ours(database: Database, name: str, forged: float) -> None:
    answer = database.pipe("b36.10", "NPS 8", "40").document()
    untyped(answer)[name]["magnitude"] = forged
    (item,) = check_answers(database.reader, answer)
    assert item["verdict"] == "not ours"
    assert name in item["reason"]


def test_answers_are_found_wherever_they_stand_and_take_the_release_around_them(database: Database) -> None:
    inner = _water(FIRST)
    release = inner.pop("release")
    sheet = {"job": "invented", "release": release, "steps": [{"liquid": {"values": [inner]}}, "words"]}
    (item,) = check_answers(database.reader, sheet)
    assert (item["place"], item["verdict"]) == ("$.steps[0].liquid.values[0]", "superseded")


@pytest.mark.parametrize("saved", [{}, [], "text", 7, None, {"row": {"id": "x"}}, [[[[]]]]])
def test_a_document_without_answers_is_refused(database: Database, saved: Any) -> None:
    with pytest.raises(BadParameter, match="none is in there"):
        check_answers(database.reader, saved)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda parts: st.lists(parts, max_size=3) | st.dictionaries(st.text(max_size=8), parts, max_size=3),
    max_leaves=6,
)


@given(data=st.data())
def test_whatever_a_saved_answer_has_been_turned_into_gets_a_verdict(database: Database, data: st.DataObject) -> None:
    answer = copy.deepcopy(data.draw(st.sampled_from(_answers())))
    part = answer
    while True:
        name = data.draw(st.sampled_from(sorted(part)))
        if not isinstance(part[name], dict) or not part[name] or data.draw(st.booleans()):
            part[name] = data.draw(JSON)
            break
        part = part[name]
    try:
        items = check_answers(database.reader, answer)
    except BadParameter:
        return
    assert {item["verdict"] for item in items} <= {"current", "superseded", "not ours"}


@cache
def _answers() -> list[dict[str, Any]]:
    return [
        refdb.open(FIRST).value("water", "density", temperature="20 degC").document(),
        refdb.open().pipe("b36.10", "NPS 8", "40").document(),
        refdb.open().roughness("carbon-steel")[0].document(),
        refdb.open().linings()[0].document(),
        json.loads((Path(__file__).parent / "answers_of_earlier_cuts.json").read_text(encoding="utf-8"))[0]["answer"],
    ]


def test_the_command_reads_a_document_or_one_a_line(command: CommandLine, database: Database, tmp_path: Path) -> None:
    answers = [_water(FIRST), _water(database.release().label)]
    whole, lines = tmp_path / "whole.json", tmp_path / "lines.jsonl"
    whole.write_text(json.dumps({"answers": answers}))
    lines.write_text("\n".join(json.dumps(answer) for answer in answers) + "\n")
    for file in (whole, lines):
        document = json.loads(command("check-answers", str(file), "--json").out)
        assert [item["verdict"] for item in document["items"]] == ["superseded", "current"]
        printed = command("check-answers", str(file))
        assert printed.code == 0
        assert "2 answer(s): 1 current, 1 superseded" in printed.out
    nonsense = tmp_path / "nonsense"
    nonsense.write_text("{no json\n")
    refused = command("check-answers", str(nonsense))
    assert (refused.code, "neither a JSON document nor one a line" in refused.err) == (2, True)


def test_the_route_says_the_same(client: TestClient, database: Database) -> None:
    saved = {"answers": [_water(FIRST)]}
    response = client.post("/v1/answers/check", json=saved)
    assert require_shape(CheckedAnswers, response.json())
    assert response.json()["items"] == check_answers(database.reader, saved)
    assert client.post("/v1/answers/check", json={"nothing": 1}).status_code == 422
