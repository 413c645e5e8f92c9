"""The document, the page and the terminal say the same: every fact of a job's document is found on both sheets."""

from __future__ import annotations

import html
import io
import json
import re
import tomllib
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from refdb.job.figures import decided, number, plain
from refdb.job.sheet import page
from refdb.job.sheet.contents import VERDICTS
from refdb.problems import Problem
from refdb.units import parse_quantity
from tests.conftest import PROJECT, CommandLine
from tests.job.conftest import Changed

EXAMPLES = sorted((PROJECT / "shared/examples/jobs").glob("*.toml"))

STRANGE: dict[str, dict[str, Any]] = {
    "everything after mounting": {
        "mounted": {
            "sound_speed": "1540 m/s",
            "zero_difference": "-1.2 ns",
            "flow": "58 m3/h",
            "time_difference": "80 ns",
            "flow_expanded_uncertainty": "2 m3/h",
            "other_flow": "70 m3/h",
            "other_flow_expanded_uncertainty": "1 m3/h",
        }
    },
    "not full, bubbles, a pump at 6 diameters": {
        "access": {"full": "no", "disturbance": "pump", "upstream": 6},
        "liquid": {"gas_bubbles": "yes"},
    },
    "heat": {"heat": {"supply": "45 degC", "return": "35 degC", "meter_in": "supply"}},
    "US units": {"units": "us", "flow": {"normal": "600 US gal/min", "minimum": None, "maximum": None}},
    "litres a second and degrees Fahrenheit": {
        "flow": {"normal": "40 L/s", "minimum": None, "maximum": None},
        "liquid": {"temperature": "140 degF"},
    },
    "a wall too thin": {"pipe": {"wall": "1.5 mm"}},
    "a lining, a coating and deposits": {
        "pipe": {
            "coating": "0.4 mm",
            "coating_speed": "2400 m/s",
            "deposits": "2 mm",
            "lining": {
                "thickness": "4 mm",
                "longitudinal_speed": "2300 m/s",
                "shear_speed": "1100 m/s",
                "density": "1200 kg/m3",
                "bonded": "unknown",
            },
        }
    },
    "a spacing set wrong": {"sensors": {"spacing_set": "195.3 mm", "spacing_entered": "no", "passes": 2}},
    "wanted more exactly than it can be": {"flow": {"accuracy": "0.2 %"}},
    "viscous": {"liquid": {"dynamic_viscosity": "1 Pa.s"}, "sensors": {"passes": 4}},
    "a rail and housings": {"sensors": {"rail_step": "10 mm", "housing_length": "60 mm", "width": "15 mm"}},
}

# What is for machines alone, with the reason.
FOR_MACHINES = {
    "units": "the figures show it",
    "ucum": "the code of a unit that is shown beside it",
    "digest": "stands once, in the list of rows",
    "step": "its words name it",
    "type": "of a problem; its words are shown",
    "status": "of a problem",
    "title": "of a problem; its words are shown",
    "parameter": "its words begin with it",
    "key": "the citation stands for it",
    "carriers": "the words 'as reproduced in' stand for them",
    "checked_by": "second readings are told with the row's provenance",
    "worked_on": "a word in the table of arrivals",
    "sides": "told in words at the top",
    "passes": "a column",
    "layer": "told where it is the house's",
    "rung": "told where it is an estimate",
    "origin": "told in words",
    "mode": "told in words",
    "wedge": "a number in the table",
}
SHOWN_AS_EXPANDED = re.compile(r"(standard_uncertainty|_uncertainty|expanded_uncertainty|standard_uncertainty_of_)")


def facts(part: Any, where: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf of a document with its place; a quantity is one leaf."""
    if isinstance(part, list):
        for item in part:
            yield from facts(item, where)
    elif isinstance(part, dict):
        if "magnitude" in part:
            yield where, part
            return
        for name, item in part.items():
            yield from facts(item, f"{where}.{name}")
    elif part is not None and not isinstance(part, bool):
        yield where, part


def written(fact: Any) -> list[str]:
    """The ways in which a fact may be written on a sheet."""
    if isinstance(fact, dict):
        size = fact["magnitude"]
        return (
            [plain({**fact, "magnitude": each}, digits) for each in (size, abs(size)) for digits in range(2, 8)]
            + [number(size, digits) for digits in range(3, 8)]
            + [f"{size:.{places}f}" for places in range(1, 6)]
            + [f"{round(size, -places):.0f}" for places in range(4)]
        )
    if isinstance(fact, float):
        scaled = [fact, 100.0 * fact]
        return (
            [number(each, digits) for each in scaled for digits in range(2, 8)]
            + [f"{fact:.{places}f}" for places in range(1, 6)]
            + [f"{100 * fact:.{digits}g}" for digits in range(2, 4)]
        )
    # What is not known is said in words of its own.
    return [VERDICTS.get(fact, fact), "not told"] if fact == "unknown" else [VERDICTS.get(str(fact), str(fact))]


def missing(document: dict[str, Any], sheet: str) -> list[tuple[str, Any]]:
    """The facts of a document that a sheet does not tell."""
    flat = " ".join(sheet.split())
    found = []
    for where, fact in facts(document):
        names = set(where.split("."))
        if names & FOR_MACHINES.keys() or any(SHOWN_AS_EXPANDED.search(name) for name in names):
            continue
        if not any(" ".join(text.split()) in flat for text in written(fact)):
            found.append((where, fact))
    return found


def words_of(page_text: str) -> str:
    """What a page says, without its marks and drawings."""
    return html.unescape(re.sub(r"<[^>]+>", " ", re.sub(r"<(style|svg).*?</\1>", " ", page_text, flags=re.DOTALL)))


@pytest.fixture
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A terminal so wide that no cell is folded."""
    monkeypatch.setattr("refdb.cli.printing.PLAIN_WIDTH", 1500)


def printed(told: dict[str, Any]) -> str:
    """What a terminal shows of a document."""
    from refdb.cli.sheet import print_sheet

    out = io.StringIO()
    with redirect_stdout(out):
        print_sheet(told)
    return out.getvalue()


@pytest.mark.usefixtures("wide")
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_every_fact_of_an_example_stands_on_the_page_and_on_the_terminal(database: Database, example: Path) -> None:
    told = work_job(tomllib.loads(example.read_text(encoding="utf-8")), database)
    assert missing(told, words_of(page(told))) == []
    assert missing(told, printed(told)) == []


@pytest.mark.usefixtures("wide")
@pytest.mark.parametrize("name", STRANGE)
def test_every_fact_of_a_strange_job_stands_on_the_page_and_on_the_terminal(
    database: Database, changed: Changed, name: str
) -> None:
    told = work_job(changed(**STRANGE[name]), database)
    assert missing(told, words_of(page(told))) == []
    assert missing(told, printed(told)) == []


def test_the_command_prints_that_sheet_and_that_document(
    database: Database, command: CommandLine, tmp_path: Path, changed: Changed
) -> None:
    content = changed(**STRANGE["everything after mounting"])
    file = tmp_path / "job.json"
    file.write_text(json.dumps(content), encoding="utf-8")
    told = work_job(content, database)
    assert command("job", str(file)).out == printed(told)
    assert json.loads(command("job", str(file), "--json").out) == json.loads(json.dumps(told))


def test_a_flow_is_never_told_before_the_verdict(database: Database, changed: Changed) -> None:
    told = work_job(changed(**STRANGE["not full, bubbles, a pump at 6 diameters"]), database)
    assert told["verdict"]["fitness"] == "unfit for this purpose"
    assert "does not run full" in told["verdict"]["because"][0]
    assert list(told)[:2] == ["title", "verdict"]
    words = words_of(page(told))
    assert words.index("unfit for this purpose") < words.index("Flow ")


@pytest.mark.parametrize(
    ("sections", "fitness"),
    [
        (
            {
                "access": {
                    "full": "yes",
                    "upstream": 60,
                    "downstream": 10,
                    "disturbance": "bend",
                    "opposite_side": "yes",
                },
                "liquid": {"gas_bubbles": "no", "solids": "no"},
                "pipe": {"wall": "15 mm", "seam": "none"},
            },
            "fit",
        ),
        ({}, "fit with conditions"),
        (STRANGE["wanted more exactly than it can be"], "unfit for this purpose"),
        (STRANGE["viscous"], "unfit for this purpose"),
        (STRANGE["a wall too thin"], "unfit for this purpose"),
    ],
)
def test_the_verdict_follows_from_the_place_the_signal_and_what_is_wanted(
    database: Database, changed: Changed, sections: dict[str, Any], fitness: str
) -> None:
    assert work_job(changed(**sections), database)["verdict"]["fitness"] == fitness


def test_in_us_units_no_metric_unit_stands_in_any_text(database: Database, changed: Changed) -> None:
    told = work_job(
        changed(units="us", heat={"supply": "113 degF", "return": "95 degF", "meter_in": "supply"}), database
    )
    given = re.compile(r"\d (degC|mm|m/s|kPa|K|delta_K|kg/m3|m3/h|s2/m)\b")
    texts = [
        fact
        for where, fact in facts(told)
        if isinstance(fact, str) and not where.startswith((".inputs", ".setting", ".title", ".flow.profile"))
    ]
    assert [text for text in texts if given.search(text)] == []


def test_what_the_user_gave_is_shown_in_the_unit_he_gave_it_in(database: Database, changed: Changed) -> None:
    told = work_job(changed(**STRANGE["litres a second and degrees Fahrenheit"]), database)
    units = {item["name"]: item["value"]["unit"] for item in told["inputs"]}
    assert units["liquid temperature"] == "degF"
    assert told["flow"]["points"][0]["volume_flow"]["unit"] == told["uncertainty"]["flow"]["unit"] == "L/s"


DIMENSIONS = (
    *("length", "speed", "volume_flow", "temperature", "density", "dynamic_viscosity", "pressure", "time", "angle"),
    *("specific_heat", "frequency", "absorption_per_frequency_squared", "absorption", "per_temperature"),
)


@pytest.mark.parametrize("units", ["si", "us"])
def test_every_quantity_of_the_inputs_can_be_typed_back(database: Database, changed: Changed, units: str) -> None:
    told = work_job(changed(units=units), database)
    shown = [item["value"] for item in told["inputs"]] + [point["volume_flow"] for point in told["flow"]["points"]]
    for value in shown:
        text = decided(value, {"magnitude": 0.0, "unit": ""})[0]
        if not value["unit"].replace("1", ""):
            continue
        assert any(
            _reads(text, dimension) for dimension in (*DIMENSIONS, "angle", "specific_heat", "frequency", *MORE)
        ), text


MORE = ("absorption_per_frequency_squared", "absorption", "per_temperature")


def _reads(text: str, dimension: str) -> bool:
    try:
        parse_quantity(text, dimension, "x")
    except Problem:
        return False
    return True
