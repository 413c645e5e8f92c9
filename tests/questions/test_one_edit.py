"""A field of a question is declared in one place, and every surface follows: command line, HTTP, Python."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from fastapi import Request

from refdb.cli.asking import asks as command_asks
from refdb.cli.main import refdb as command_group
from refdb.database import Database
from refdb.liquids.question import LiquidQuestion
from refdb.onsite.question import LiquidSpeedQuestion
from refdb.pipes.question import MatchPipeQuestion, PipeQuestion
from refdb.problems import BadParameter
from refdb.questions import asked, fields_of, question
from refdb.questions.methods import asks as method_asks
from refdb.suspensions.question import SuspensionQuestion
from refdb.values.question import ValueQuestion
from refdb_api.app import app
from refdb_api.bodies import body_of
from refdb_api.parameters import Parameters
from refdb_api.question import read_question
from tests.conftest import PROJECT
from tests.questions.declared import fields, questions
from tests.tools.generated import commands_of


@question
class Longer(MatchPipeQuestion):
    """A question with one field more than the one it is made of."""

    flange: Sequence[str] = asked("Of the flange beside it.", "25 mm", dimension="length", repeatable=True)


UNDECLARED = {
    "audit": {"limit"},
    "check-answers": {"file", "house_url"},
    "cite": {"form"},
    "export": {"form", "to"},
    "house add": {"attach", "by", "url"},
    "house change": {"attach", "by", "url", "seen", "reason"},
    "house history": {"url"},
    "house list": {"url"},
    "job": {
        *("file", "kind", "schema", "manual", "example", "out", "defaults", "draws", "blank", "html", "pdf", "other"),
        "house_url",
    },
    "materials": {"as_csv"},
    "provenance": {"as_prov", "full"},
    "table": {"as_csv"},
    "value": {"house_url"},
}
"""Of the commands that ask: what says how and where to print, or names files and stores; beside `--json`."""

KEEPING = ("build", "db", "house", "offer", "release", "serve", "source", "verify")
"""Commands that keep the data and ask nothing of it, but for those of house values above."""


def _request(query: str) -> Request:
    return Request({"type": "http", "query_string": query.encode(), "path_params": {}, "headers": []})


def test_a_new_field_is_an_option_of_the_command() -> None:
    given: list[Any] = []
    command = click.command("longer")(command_asks(Longer)(given.append))
    assert "--flange QUANTITY" in command.get_help(click.Context(command))
    assert "Of the flange beside it. Such as '25 mm'. May be repeated." in " ".join(
        command.get_help(click.Context(command)).split()
    )
    done = CliRunner().invoke(command, ["--flange", "25 mm", "--flange", "26 mm", "--limit", "3"])
    assert done.exit_code == 0, done.output
    assert (given[0].flange, given[0].limit, given[0].wall) == (("25 mm", "26 mm"), 3, None)


def test_a_new_field_is_a_parameter_of_the_service_and_of_its_description() -> None:
    before: Parameters[Any] = Parameters(MatchPipeQuestion)
    after: Parameters[Any] = Parameters(Longer)
    assert [one for one in after.documents() if one not in before.documents()] == [
        {
            "name": "flange",
            "in": "query",
            "required": False,
            "description": "Of the flange beside it. May be repeated.",
            "schema": {"type": "array", "items": {"type": "string"}},
            "example": ["25 mm"],
        }
    ]
    assert after.read(_request("flange=25%20mm&flange=26%20mm")).flange == ["25 mm", "26 mm"]
    with pytest.raises(BadParameter, match=r"^flange: this route takes no such parameter"):
        before.read(_request("flange=25%20mm"))


def test_a_new_field_is_a_member_of_a_body_and_of_its_schema() -> None:
    assert read_question(Longer, {"flange": ["25 mm"]}).flange == ["25 mm"]
    with pytest.raises(BadParameter, match=r'^flange: must be a list of texts, as in \["25 mm"\]'):
        read_question(Longer, {"flange": 25})
    described = body_of(Longer, "Longer").model_json_schema()["properties"]["flange"]
    assert described["description"] == "Of the flange beside it."


def test_a_new_field_is_in_the_help_of_the_method() -> None:
    @method_asks(Longer)
    def match(**measured: Any) -> None:
        """Which pipes it can be."""

    assert "flange (length): Of the flange beside it. Such as '25 mm'." in (match.__doc__ or "")
    assert "flange" in inspect.signature(match).parameters


@pytest.mark.parametrize(
    ("method", "asks"),
    [
        (Database.value, ValueQuestion),
        (Database.match_pipe, PipeQuestion),
        (Database.match_liquid, LiquidQuestion),
        (Database.measure_liquid_speed, LiquidSpeedQuestion),
        (Database.suspension, SuspensionQuestion),
    ],
    ids=lambda one: one.__name__,
)
def test_the_help_of_a_method_tells_every_field(method: Callable[..., Any], asks: type) -> None:
    for field in fields_of(asks):
        name = field.parameter or field.name
        assert name in inspect.signature(method).parameters
        line = next(
            line for line in (method.__doc__ or "").splitlines() if line.strip().startswith((f"{name} (", f"{name}:"))
        )
        assert field.words in line
        assert repr(field.example) in line


def _sources() -> Iterator[tuple[Path, ast.Module]]:
    for folder in ("refdb", "api"):
        for file in (PROJECT / folder).rglob("*.py"):
            yield file, ast.parse(file.read_text(encoding="utf-8"))


def _texts() -> list[str]:
    """Every text in the source: literals as Python reads them, docstrings and parts of f-strings too."""
    nodes = (node for _, tree in _sources() for node in ast.walk(tree))
    return [node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)]


TEXTS = _texts()


@pytest.mark.parametrize("words", sorted({field.words for field in fields()}))
def test_the_words_of_a_field_are_written_once(words: str) -> None:
    assert sum(words.rstrip(".") in text for text in TEXTS) == 1


def test_no_command_declares_by_hand_what_a_question_declares() -> None:
    declared = {f"--{(field.option or field.name).replace('_', '-')}" for field in fields()}
    found = {
        (file.name, literal)
        for file, tree in _sources()
        if file.parent.name == "cli"
        and file.name not in {"asking.py", "maintain.py", "serve.py", "house.py", "offer.py", "source.py", "rights.py"}
        for literal in _literals(tree)
        if literal in declared
    }
    # How many lines are printed of each list; the question about the evidence has no such field.
    assert found == {("audit.py", "--limit")}


def _literals(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "option":
            yield from (str(one.value) for one in node.args if isinstance(one, ast.Constant))


def _asking_commands() -> Iterator[tuple[str, click.Command]]:
    for name, command in commands_of(command_group):
        if name not in KEEPING:
            yield name, command
        if name == "house" and isinstance(command, click.Group):
            yield from ((f"house {own}", one) for own, one in commands_of(command) if f"house {own}" in UNDECLARED)


@pytest.mark.parametrize(
    ("name", "command"), list(_asking_commands()), ids=lambda part: part if isinstance(part, str) else ""
)
def test_whatever_a_command_asks_is_declared(name: str, command: click.Command) -> None:
    known: dict[str, set[str]] = {}
    for field in fields():
        known.setdefault(field.name, set()).add(field.words)
    asked_for = [one for one in command.params if one.name not in {"as_json", *UNDECLARED.get(name, ())}]
    for one in asked_for:
        assert one.name in known, f"{name}: {one.name} is in no question"
        if isinstance(one, click.Option):
            assert any((one.help or "").startswith(words) for words in known[one.name]), f"{name} --{one.name}"


def test_whatever_the_service_takes_is_declared() -> None:
    known = {(field.part or field.name, field.words) for field in fields()}
    known |= {(field.name, field.words) for field in fields()}
    for path, methods in app.openapi()["paths"].items():
        for route in methods.values():
            for one in route.get("parameters", []):
                if one["in"] != "header":
                    assert any(name == one["name"] and one["description"].startswith(words) for name, words in known), (
                        f"{path}: {one['name']}"
                    )


def test_every_question_can_be_asked_somewhere() -> None:
    source = "".join(
        file.read_text(encoding="utf-8")
        for folder in ("refdb", "api")
        for file in (PROJECT / folder).rglob("*.py")
        if file.name != "question.py"
    )
    assert [one.__name__ for one in questions() if one.__name__ not in source] == []
