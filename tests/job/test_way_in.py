"""From nothing to an answer: a job to fill in, the trade's words, lists of readings, many jobs at once."""

from __future__ import annotations

import csv
import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job, work_step
from refdb.job.models import Job
from refdb.job.shipped import examples
from refdb.job.starter import KINDS, NUMBERS, starter
from refdb.job.survey import read_table, survey
from refdb.job.words import WORDS, understood
from refdb.job.work import begin
from refdb.problems import BadParameter
from tests.conftest import CommandLine
from tests.job.conftest import Changed


def _filled(kind: str) -> str:
    """A starter with the example of every blank put into it, as a person would."""
    return re.sub(r'^(\w+) = ""(  # .* Example: (.*))$', r'\1 = "\3"\2', starter(kind), flags=re.MULTILINE)


@pytest.mark.parametrize("kind", KINDS)
def test_three_commands_lead_from_nothing_to_an_answer(command: CommandLine, tmp_path: Path, kind: str) -> None:
    file = tmp_path / "job.toml"
    assert command("job", "--new", kind, "--out", str(file)).code == 0
    file.write_text(_filled(kind), encoding="utf-8")
    told = command("job", str(file), "--json")
    assert told.code == 0, told.err
    document = json.loads(told.out)
    assert document["refused"] == []
    assert (document["uncertainty"] is not None) == (kind != "spacing")
    assert (document["heat"] is not None) == (kind == "heat")
    assert (document["mounted"] is not None) == (kind == "check")


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_left_blank_is_told_all_that_is_missing_at_once(database: Database, kind: str) -> None:
    with pytest.raises(BadParameter) as refused:
        work_job(tomllib.loads(starter(kind)), database)
    told = [one["parameter"] for one in refused.value.extensions["errors"]]
    assert {"liquid.temperature", "pipe.material", "sensors.angle", "sensors.frequency"} <= set(told)


def test_a_starter_asks_for_members_that_there_are_and_says_what_each_is() -> None:
    for kind, (asked, _) in KINDS.items():
        told = tomllib.loads(starter(kind))
        for member, example, _words in asked:
            section, _, name = member.rpartition(".")
            part = told[section] if section else told
            assert part[name] == (float(example) if member in NUMBERS else "")
            line = next(line for line in starter(kind).splitlines() if line.startswith(f"{name} ="))
            assert re.search(r"# \S.* Example: ", line), line


def test_what_is_offered_is_never_written_over(command: CommandLine, tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text("mine", encoding="utf-8")
    told = command("job", "--new", "flow", "--out", str(file))
    assert told.code == 2
    assert file.read_text(encoding="utf-8") == "mine"
    assert command("job", "--new", "banana").code == 2


def test_schema_examples_and_page_are_at_hand(command: CommandLine) -> None:
    assert json.loads(command("job", "--schema").out) == Job.model_json_schema()
    for name, text in examples().items():
        assert command("job", "--example", name).out == text
        assert name in command("job", "--example").out
    assert "## Velocity and flow" in command("job", "--manual").out
    assert command("job", "--example", "none").code == 2


@pytest.mark.parametrize(
    ("sections", "member", "word"),
    [
        ({"pipe": {"wave": "transverse"}}, "pipe.wave", "shear"),
        ({"pipe": {"seam": "ERW"}}, "pipe.seam", "longitudinal"),
        ({"pipe": {"seam": "Seamless"}}, "pipe.seam", "none"),
        ({"access": {"disturbance": "elbow"}}, "access.disturbance", "bend"),
        ({"access": {"disturbance": "Two elbows out of plane"}}, "access.disturbance", "two bends out of plane"),
        ({"access": {"orientation": "rising"}}, "access.orientation", "upward"),
        ({"access": {"full": True}}, "access.full", "yes"),
        ({"liquid": {"solids": False}}, "liquid.solids", "no"),
    ],
)
def test_the_words_of_the_trade_are_understood_and_said(
    database: Database, changed: Changed, sections: dict[str, Any], member: str, word: str
) -> None:
    content = changed(**sections)
    known, notes = understood(content)
    section, name = member.split(".")
    assert known[section][name] == word
    given = sections[section][name]
    assert notes == ([f"{member}: '{given}' is taken as {word}"] if isinstance(given, str) else [])
    assert set(notes) <= set(work_job(content, database)["assumptions"])


def test_every_other_word_leads_to_a_word_of_the_document() -> None:
    schema = json.dumps(Job.model_json_schema())
    for member, words in WORDS.items():
        for word in words.values():
            assert f'"{word}"' in schema, member


def test_a_vertical_pipe_whose_direction_is_not_told_suits_anywhere_around(
    database: Database, changed: Changed
) -> None:
    told = work_step("suitability", changed(access={"orientation": "vertical"}), database)["suitability"]
    assert next(each for each in told if each["about"] == "where around")["verdict"] == "good"


def test_several_readings_count_with_their_mean_and_their_scatter(database: Database, changed: Changed) -> None:
    even, scattered = (
        begin(changed(pipe={"wall": walls, "wall_points": None}), database)[0]
        for walls in (["7.1 mm"] * 4, ["6.7 mm", "7.5 mm", "6.9 mm", "7.3 mm"])
    )
    assert even.value("wall") == pytest.approx(scattered.value("wall"), rel=1e-9)
    assert scattered["wall"].uncertainty > even["wall"].uncertainty
    assert any("the least 6.7 mm" in text for text in scattered.assumptions)


def test_several_circumferences_give_one_diameter(database: Database, changed: Changed) -> None:
    pipe = {"outside_diameter": None, "circumference": ["688.0 mm", "689.0 mm", "690.0 mm"], "tape_thickness": "0.1 mm"}
    inputs, _ = begin(changed(pipe=pipe), database)
    assert inputs.value("outside diameter") == pytest.approx(0.689 / 3.14159265358979 - 0.0001, rel=1e-6)
    assert any("mean of 3 readings" in text for text in inputs.assumptions)


def test_a_viscosity_in_centistokes_is_taken_times_the_density(database: Database, changed: Changed) -> None:
    inputs, _ = begin(changed(liquid={"kinematic_viscosity": "2 cSt"}), database)
    assert inputs.value("dynamic viscosity") == pytest.approx(2e-6 * inputs.value("density"))
    with pytest.raises(BadParameter, match=r"^liquid\.kinematic_viscosity: stands beside"):
        begin(changed(liquid={"kinematic_viscosity": "2 cSt", "dynamic_viscosity": "2 cP"}), database)


def test_sensors_are_taken_from_their_own_file_and_the_job_goes_first(
    command: CommandLine, tmp_path: Path, changed: Changed
) -> None:
    job = changed()
    sensors = job.pop("sensors")
    (tmp_path / "pair.json").write_text(json.dumps(sensors), encoding="utf-8")
    file = tmp_path / "job.json"
    file.write_text(json.dumps(job | {"sensors": {"file": "pair.json", "passes": 4}}), encoding="utf-8")
    told = json.loads(command("job", str(file), "--json").out)
    assert told["arrangement"]["passes"] == 4
    file.write_text(json.dumps(job | {"sensors": {"file": "none.json"}}), encoding="utf-8")
    refused = command("job", str(file))
    assert refused.code == 2
    assert refused.err.startswith("refdb: sensors.file: there is no file")


def test_the_service_reads_no_file_of_anybody(client: Any, changed: Changed) -> None:
    sent = client.post("/v1/jobs", json=changed(sensors={"file": "/etc/passwd"}))
    assert sent.status_code == 422
    assert sent.json()["detail"].startswith("sensors.file: names a file")


def test_a_table_of_jobs_is_worked_row_by_row_and_a_wrong_row_stops_no_other(
    command: CommandLine, tmp_path: Path, changed: Changed
) -> None:
    table, shared, sheets = tmp_path / "survey.csv", tmp_path / "shared.json", tmp_path / "sheets"
    shared.write_text(json.dumps(changed(title="Invented")), encoding="utf-8")
    with table.open("w", newline="", encoding="utf-8") as written:
        writer = csv.writer(written)
        writer.writerow(["title", "pipe.wall", "flow.normal", "sensors.passes"])
        writer.writerow(["first", "7.1 mm", "150 m3/h", "2"])
        writer.writerow(["second", "7.1 banana", "150 m3/h", "2"])
        writer.writerow(["third", "8.0 mm", "140 m3/h", "4"])
    told = command("job", str(table), "--defaults", str(shared), "--out", str(sheets), "--json")
    assert told.code == 2
    document = json.loads(told.out)
    assert [row["title"] for row in document["jobs"]] == ["first", "second", "third"]
    assert "pipe.wall" in document["jobs"][1]["problem"]["detail"]
    assert document["refused"] == 1
    assert document["measure_first"][0]["mean_share"] > 0.1
    assert {path.name for path in sheets.iterdir()} == {"index.html", "row-1.html", "row-3.html"}
    assert "row-1.html" in (sheets / "index.html").read_text(encoding="utf-8")
    printed = command("job", str(table), "--defaults", str(shared))
    assert "Measure first:" in printed.out


def test_a_folder_of_jobs_is_worked_to_one_table(database: Database, command: CommandLine, tmp_path: Path) -> None:
    for name, text in list(examples().items())[:2]:
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    told = json.loads(command("job", str(tmp_path), "--json").out)
    alone = survey([(name, tomllib.loads(text)) for name, text in list(examples().items())[:2]], database)
    assert told == json.loads(json.dumps(alone))


@pytest.mark.parametrize("text", ["", "title\n", "title,title\na,b\n", "pipe.wall,pipe.wall.x\n7 mm,3\n"])
def test_a_table_without_rows_or_with_a_wrong_column_is_refused(text: str) -> None:
    with pytest.raises(BadParameter, match=r"^FILE: "):
        read_table(text)


def test_units_of_the_command_go_before_those_of_the_job(
    command: CommandLine, tmp_path: Path, changed: Changed
) -> None:
    file = tmp_path / "job.json"
    file.write_text(json.dumps(changed()), encoding="utf-8")
    assert json.loads(command("job", str(file), "--units", "us", "--json").out)["units"] == "us"
