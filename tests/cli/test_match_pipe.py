"""Finding a pipe at the command line: a table for people, the service's document, one sentence for a wrong question."""

from __future__ import annotations

import json

from refdb.pipes.documents import PipeMatchDocument
from tests.conftest import CommandLine
from tests.shapes import require_shape

ASKED = ("match-pipe", "--circumference", "690 mm", "--wall", "8.1 mm", "--wall", "8.3 mm", "--material", "steel")


def test_people_read_a_table_then_words_assumptions_prior_and_caution(command: CommandLine) -> None:
    printed = command(*ASKED)
    assert printed.code == 0, printed.err
    for words in (
        "Measured outside diameter 219.",
        "219.1 mm",
        "8.18 mm",
        "b36.10-nps-8-sch-40",
        "none of the pipes here",
        "no gauge tells which was ordered",
        "Assumed: coating not told",
        "Prior usual-pipes/1",
        "not for pressure design",
    ):
        assert words in " ".join(printed.out.split()), words


def test_a_circumference_alone_is_enough(command: CommandLine) -> None:
    printed = command("match-pipe", "--circumference", "27.2 in", "--units", "us")
    assert printed.code == 0, printed.err
    assert "8.625 in" in printed.out
    assert "not measured" in printed.out


def test_json_is_the_document_of_the_service(command: CommandLine) -> None:
    printed = command(*ASKED, "--limit", "3", "--json")
    document = require_shape(PipeMatchDocument, json.loads(printed.out))
    assert document["items"][0]["outcome"] == "pipe"
    assert document["material"] == "carbon-steel"


def test_a_wrong_question_is_one_sentence_and_code_2(command: CommandLine) -> None:
    for arguments, words in (
        ((), "circumference: is missing"),
        (("--circumference", "690"), "has no unit"),
        (("--circumference", "690 mm", "--material", "gouda"), "no material is called 'gouda'"),
    ):
        printed = command("match-pipe", *arguments)
        assert (printed.code, printed.out) == (2, "")
        assert words in printed.err
        assert len(printed.err.strip().splitlines()) == 1
