"""The way back from a sound speed at the command line: a table, words, the service's document, one wrong sentence."""

from __future__ import annotations

import json

from refdb.liquids.documents import LiquidMatchDocument, StateMatchDocument
from tests.conftest import CommandLine
from tests.shapes import require_shape

ASKED = ("match-liquid", "--sound-speed", "1482 m/s", "--sound-speed-uncertainty", "3 m/s")


def test_people_read_the_liquids_then_words_assumptions_model_and_caution(command: CommandLine) -> None:
    printed = command(*ASKED, "--temperature", "20 degC")
    assert printed.code == 0, printed.err
    for words in (
        "Measured 1482.0 ± 3.0 m/s at 20 degC ± 0.5 K",
        "water.sound_speed",
        "sound speed alone cannot tell them apart",
        "Assumed: pressure not given: 1 atm",
        "a likelihood is no probability",
        "does not prove what is in a pipe",
    ):
        assert words in " ".join(printed.out.split()), words


def test_people_read_every_temperature_and_every_salinity(command: CommandLine) -> None:
    warm = command(*ASKED[:1], "--sound-speed", "1550 m/s", *ASKED[3:], "--liquid", "water", "--units", "us")
    assert warm.code == 0, warm.err
    assert "not sensitive" in warm.out
    assert "ft/s" in warm.out
    salty = command(*ASKED[:1], "--sound-speed", "1500 m/s", "--temperature", "15 degC", "--solution", "seawater")
    assert "g/kg ±" in salty.out
    assert "m/s/(g/kg)" in salty.out


def test_what_is_never_reached_is_answered_with_what_is(command: CommandLine) -> None:
    printed = command("match-liquid", "--sound-speed", "1700 m/s", "--liquid", "water")
    assert printed.code == 0
    assert "No temperature gives 1700 m/s" in printed.out


def test_json_is_the_document_of_the_service(command: CommandLine) -> None:
    liquids = require_shape(
        LiquidMatchDocument, json.loads(command(*ASKED, "--temperature", "20 degC", "--limit", "1", "--json").out)
    )
    assert liquids["agreeing"] > 1
    assert len(liquids["items"]) == 1
    places = require_shape(StateMatchDocument, json.loads(command(*ASKED, "--liquid", "water", "--json").out))
    assert len(places["items"][0]["roots"]) == 1


def test_a_wrong_question_is_one_sentence_and_code_2(command: CommandLine) -> None:
    for arguments, words in (
        ((), "sound_speed: is missing"),
        (ASKED[1:], "temperature: is missing"),
        (("--sound-speed", "1482", "--temperature", "20 degC"), "has no unit"),
        ((*ASKED[1:], "--liquid", "gouda"), "no liquid is called 'gouda'"),
    ):
        printed = command("match-liquid", *arguments)
        assert (printed.code, printed.out) == (2, "")
        assert words in printed.err
        assert len(printed.err.strip().splitlines()) == 1
