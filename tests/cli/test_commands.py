"""The command line: for people by default, the service's document with --json, exit codes that scripts can use."""

from __future__ import annotations

import datetime
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from refdb.records.names import names_of
from refdb.release import cut_release
from refdb.release.text import read_releases
from tests.conftest import CommandLine
from tests.rows import each
from tests.service import TestClient

SAME_AS_HTTP = [
    (["value", "water", "sound_speed", "--temperature", "20 degC"],
     "/v1/values?subject=water&property=sound_speed&temperature=20 degC"),
    (["value", "carbon-steel", "--units", "us"], "/v1/values?subject=carbon-steel&units=us"),
    (["value", "alumina", "density", "--condition", "sintered", "--unit", "density:g/cm3"],
     "/v1/values?subject=alumina&property=density&condition=sintered&unit=density:g/cm3"),
    (["provenance", "water.sound_speed"], "/v1/rows/water.sound_speed/provenance"),
    (["history", "water.sound_speed"], "/v1/rows/water.sound_speed/history"),
    (["row", "b36.10-nps-8-sch-40"], "/v1/rows/b36.10-nps-8-sch-40"),
    (["sources", "astm-e494"], "/v1/sources/astm-e494"),
    (["releases"], "/v1/releases"),
    (["properties"], "/v1/properties"),
    (["units", "pressure"], "/v1/units?dimension=pressure"),
]  # fmt: skip

SAME_ITEMS_AS_HTTP = [
    (["find", "316L"], "/v1/find?q=316L"),
    (["readings", "carbon-steel", "density"], "/v1/materials/carbon-steel/readings?property=density"),
    (["pipe", "b36.10", "NPS 8", "40"], "/v1/pipes?system=b36.10&size=NPS 8&designation=40"),
    (["roughness", "carbon-steel"], "/v1/roughness?material=carbon-steel"),
    (["sources"], "/v1/sources"),
]


@each(("arguments", "path"), SAME_AS_HTTP, ids=lambda part: " ".join(part) if isinstance(part, list) else "")
def test_json_is_the_document_of_the_service(
    command: CommandLine, client: TestClient, arguments: list[str], path: str
) -> None:
    printed = command(*arguments, "--json")
    assert printed.code == 0, printed.err
    assert json.loads(printed.out) == client.get(path).json()


@pytest.mark.parametrize(
    ("arguments", "path"), SAME_ITEMS_AS_HTTP, ids=lambda part: " ".join(part) if isinstance(part, list) else ""
)
def test_lists_hold_the_items_of_the_service(
    command: CommandLine, client: TestClient, arguments: list[str], path: str
) -> None:
    printed = command(*arguments, "--json")
    assert json.loads(printed.out)["items"] == list(_all_pages(client, path))


def _all_pages(client: TestClient, path: str) -> Iterator[dict[str, Any]]:
    """The service gives lists in pages; a command gives them whole."""
    mark: str | None = None
    while True:
        page = client.get(f"{path}{'&' if '?' in path else '?'}next={mark}" if mark else path).json()
        yield from page["items"]
        mark = page.get("next")
        if mark is None:
            return


@each(
    ("arguments", "words"),
    [
        (["value", "water", "--temperature", "20 degC"], ["1482.346 ± 0.0", "water.sound_speed", "Marczak", "Assumed"]),
        (["value", "carbon-steel"], ["longitudinal_speed", "m/s", "carbon-steel.longitudinal_speed", "ASTM"]),
        (["value", "abs"], ["Refused: longitudinal_speed", "density"]),
        (["find", "stainles 316"], ["like", "stainless-316"]),
        (["find", "1.4404"], ["exact", "EN number"]),
        (["readings", "carbon-steel", "longitudinal_speed"], ["5900 m/s", "not stated", "wrong-kind"]),
        (["pipe", "b36.10", "NPS 8", "40"], ["219.1 mm", "8.18 mm", "202.74 mm", "not for pressure design"]),
        (["pipe", "b36.10", "NPS 8", "40", "--units", "us"], ["8.625 in", "0.322 in"]),
        (["pipe", "b36.10", "NPS 8"], ["b36.10-nps-8-sch-160", "none printed"]),
        (["roughness", "carbon-steel"], ["Steel, rusty", "mm"]),
        (["provenance", "carbon-steel.longitudinal_speed"], ["went in", "left out", "between sources"]),
        (["history", "water.density"], ["2026r1", "sha256:"]),
        (["sources"], ["marczak-1997"]),
        (["properties"], ["longitudinal_speed", "m/s"]),
        (["units", "pressure"], ["bar(g)", "psig", "[psi]", "write kPa, kPa(g), psi or psig"]),
        (["releases"], ["2026r1"]),
        (["verify"], ["Everything fits."]),
    ],
)  # fmt: skip
def test_people_read_what_they_need(command: CommandLine, arguments: list[str], words: list[str]) -> None:
    printed = command(*arguments)
    assert printed.code == 0, printed.err
    flowing = re.sub(r"\s+", " ", printed.out)
    for word in words:
        assert word in flowing


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["value", "watr", "--temperature", "20 degC"], "nearest names"),
        (["value", "stainless steel"], "several subjects"),
        (["value", "water", "--temperature", "20"], "has no unit"),
        (["value", "water", "--temperature", "20 m"], "temperature is needed"),
        (["value", "water", "sound_speed", "--temperature", "220 degC"], "200 degC"),
        (["value", "water", "sound_speed", "--temperature", "120 degC"], "liquid only above 198.7 kPa absolute"),
        (["value", "seawater", "--temperature", "15 degC"], "35 psu"),
        (["value", "water"], "temperature=20 degC"),
        (["value", "water", "--temperature", "20 degC", "--layers", "house"], "house,release"),
        (["value"], "Missing argument"),
        (["pipe", "b36.10", "NPS 7"], "near sizes"),
        (["roughness", "banana"], "no roughness is published"),
        (["provenance", "nothing"], "no row 'nothing'"),
        (["releases", "extra"], "unexpected extra argument"),
        (["frobnicate"], "No such command"),
        (["find", "qqqqqqqqqqqqqqqq"], "Nothing resembles"),
        (["build", "--text", "/nowhere"], "holds no sources/"),
        (["release", "cut", "2026r1", "--note", "x", "--text", "/nowhere"], "holds no sources/"),
        (["db", "upgrade", "--url", "nonsense"], "url: "),
        (["build", "--text", "INVENTED"], "to: refdb does not run from"),
        (["release", "cut", "2026r9", "--note", "x", "--text", "INVENTED"], "to: refdb does not run from"),
        (["serve", "--port", "0"], "--port"),
        (["units", "beauty"], "there is none called"),
    ],
)
def test_a_wrong_question_exits_with_2_and_one_sentence_on_standard_error(
    command: CommandLine, invented_text: Path, arguments: list[str], words: str
) -> None:
    printed = command(*(str(invented_text) if part == "INVENTED" else part for part in arguments))
    assert printed.code == 2
    assert printed.out == ""
    assert words in printed.err
    assert printed.err.startswith("refdb: ")
    assert printed.err.count("\n") == 1


def test_house_store_is_made_and_upgraded(command: CommandLine, tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'house.sqlite'}"
    assert "empty ->" in command("db", "upgrade", "--url", url).out
    assert "already newest" in command("db", "upgrade", "--url", url).out


def test_a_text_is_built_and_released_from_the_command_line(
    command: CommandLine, invented_text: Path, tmp_path: Path
) -> None:
    target = str(tmp_path / "target")
    first = command("build", "--text", str(invented_text), "--to", target)
    assert first.code == 0
    assert first.out.startswith("Compiled: no release yet.\nThe ledger differs from nothing: ")
    cut_release(invented_text, "2026r1", "The first.", datetime.date(2026, 1, 2))
    (release,) = read_releases(invented_text)
    names = sum(len(names_of(record)) for record in release.records.values())
    held = f"2026r1: {names} names, {release.rows} rows in 1 release."
    # Nothing differs now, and nothing is said of it.
    assert command("build", "--text", str(invented_text), "--to", target).out == f"Compiled: {held}\n"
    again = command("build", "--text", str(invented_text), "--to", target)
    assert again.out == f"The compiled store already belongs to the text: {held}\n"


def test_building_tells_in_a_log_what_it_does_a_line_for_each_stage(
    command: CommandLine, invented_text: Path, tmp_path: Path
) -> None:
    printed = command("build", "--text", str(invented_text), "--to", str(tmp_path / "target"))
    lines = printed.err.splitlines()
    assert {"refdb: reading releases", "refdb: packing records"} <= set(lines)
    assert len(lines) == len(set(lines)) < 10
    assert "\x1b" not in printed.err


def test_findings_in_the_text_are_listed_and_nothing_is_changed(
    command: CommandLine, invented_text: Path, tmp_path: Path
) -> None:
    (invented_text / "sources" / "documents" / "read" / "empty").mkdir()
    printed = command("build", "--text", str(invented_text), "--to", str(tmp_path / "target"))
    assert printed.code == 2
    assert "sources/documents/read/empty: source.toml: is missing" in printed.err
    assert not (tmp_path / "target").exists()


def test_a_damaged_store_fails_with_1_and_names_what_does_not_fit(
    command: CommandLine, invented_text: Path, tmp_path: Path
) -> None:
    target = tmp_path / "target"
    command("build", "--text", str(invented_text), "--to", str(target))
    assert command("verify", "--folder", str(target)).code == 0
    vocabulary = next(target.glob("vocabulary-*"))
    vocabulary.write_bytes(vocabulary.read_bytes() + b" ")
    printed = command("verify", "--folder", str(target))
    assert printed.code == 1
    assert f"file {vocabulary.name}: does not fit its SHA-256" in printed.out
    assert command("verify", "--folder", str(tmp_path)).code == 1


def test_the_installed_command_answers_in_a_process_of_its_own() -> None:
    refdb = Path(sys.executable).parent / "refdb"
    done = subprocess.run(
        [refdb, "value", "water", "sound_speed", "--temperature", "20 degC"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "1482.346 ± 0.0" in done.stdout


def test_a_lining_that_no_document_gives_is_refused(command: CommandLine) -> None:
    printed = command("lining", "b36.10", "NPS 8", "--release", "2026r1")
    assert printed.code == 2
    assert "measure" in printed.err


LOADED = """
import sys
from refdb.cli import main
sys.argv = ["refdb", "value", "water", "density", "--temperature", "20 degC", "--json"]
try:
    main()
except SystemExit as ended:
    assert not ended.code
print([name for name in sys.modules if name.endswith(".documents") or name in {"pydantic", "typing_extensions"}])
"""


def test_an_answer_costs_neither_the_types_of_documents_nor_what_they_are_made_of() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
