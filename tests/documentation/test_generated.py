"""Documentation that cannot rot: tables come from the database, examples are run, everything public is described."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from types import ModuleType

import click
import pytest

import refdb
import refdb_api
from refdb.cli.main import refdb as command_group
from refdb.forms import FORMS
from refdb.records.models import RECOMMENDED_KINDS
from refdb.records.rules import RULES
from refdb.vocabulary import properties
from refdb_api.app import app
from tests.conftest import PROJECT
from tests.generated import commands_of, generated

DOCUMENTS = generated()
"""Made before any test runs: commands that were run tell their help differently."""


@pytest.mark.parametrize("path", DOCUMENTS)
def test_a_generated_document_is_what_the_code_and_the_database_say(path: str) -> None:
    committed = (PROJECT / path).read_text(encoding="utf-8")
    assert committed == DOCUMENTS[path], f"{path} is out of date; run `make docs`"


def _commands(group: click.Group, prefix: str = "") -> Iterator[tuple[str, click.Command]]:
    for name, command in commands_of(group):
        yield prefix + name, command
        if isinstance(command, click.Group):
            yield from _commands(command, prefix + name + " ")


@pytest.mark.parametrize(
    ("name", "command"), list(_commands(command_group)), ids=lambda part: part if isinstance(part, str) else ""
)
def test_every_command_and_option_says_what_it_is(name: str, command: click.Command) -> None:
    assert command.help, name
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name} {parameter.name}"


def test_every_route_and_parameter_says_what_it_is() -> None:
    for path, methods in app.openapi()["paths"].items():
        for route in methods.values():
            assert route.get("description") or route.get("summary"), path
            for parameter in route.get("parameters", []):
                if parameter["in"] == "query":
                    assert parameter["description"], path
                    assert parameter["example"], path


def test_operations_have_names_that_generated_clients_read_well() -> None:
    names = [route["operationId"] for methods in app.openapi()["paths"].values() for route in methods.values()]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z_]+", name) for name in names)


def test_every_property_rule_and_form_is_in_the_documentation() -> None:
    text = "".join(DOCUMENTS.values())
    for name in (*properties(), *RULES, *FORMS):
        assert name in text


def test_every_rule_of_a_released_row_is_described() -> None:
    database = refdb.open()
    for kind in RECOMMENDED_KINDS:
        for record in database.store.of_kind(kind, database.release()):
            assert record.body["rule"] in RULES


def _modules(package: ModuleType) -> Iterator[ModuleType]:
    yield package
    for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        yield importlib.import_module(found.name)


@pytest.mark.parametrize("module", [*_modules(refdb), *_modules(refdb_api)], ids=lambda module: module.__name__)
def test_every_module_and_public_name_has_a_docstring(module: ModuleType) -> None:
    assert (module.__doc__ or "").strip(), module.__name__
    for name, thing in vars(module).items():
        own = inspect.isclass(thing) or inspect.isfunction(thing)
        if own and not name.startswith("_") and thing.__module__ == module.__name__:
            assert (thing.__doc__ or "").strip(), f"{module.__name__}.{name}"


def test_the_readme_states_the_job_in_one_paragraph_at_its_top() -> None:
    paragraphs = (PROJECT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert paragraphs[0].startswith("# refdb")
    assert len(paragraphs[1].split()) > 60
    assert "make serve" in "".join(paragraphs)
    assert "make test" in "".join(paragraphs)


def test_every_setting_is_in_the_readme() -> None:
    code = "".join(file.read_text(encoding="utf-8") for file in (PROJECT / "refdb").rglob("*.py"))
    settings = set(re.findall(r"REFDB_[A-Z_]+", code))
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    assert settings
    assert all(f"`{setting}`" in readme for setting in settings)


def test_the_changelog_names_every_release() -> None:
    changelog = (PROJECT / "CHANGELOG.md").read_text(encoding="utf-8")
    for release in refdb.open().releases():
        assert release.label in changelog
