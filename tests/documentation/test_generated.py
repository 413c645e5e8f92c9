"""Documentation that cannot rot: tables come from the database, examples are run, everything public is described."""

from __future__ import annotations

import importlib
import inspect
import json
import pickle
import pkgutil
import re
import subprocess
import sys
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
from tests.conftest import PROJECT
from tests.rows import failing
from tests.service import create_app
from tests.tools.calibration import Campaign


@pytest.fixture(scope="module")
def documents(left_out: Campaign, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Path below the project to text, from a process of its own: commands that were run tell their help differently."""
    kept = tmp_path_factory.mktemp("generated") / "campaign.pickle"
    kept.write_bytes(pickle.dumps(left_out))
    program = [sys.executable, "-m", "tests.tools.generated", "--json", str(kept)]
    printed = subprocess.run(program, cwd=PROJECT, capture_output=True, text=True, encoding="utf-8", check=False)
    assert printed.returncode == 0, printed.stderr
    made: dict[str, str] = json.loads(printed.stdout)
    return made


def test_a_generated_document_is_what_the_code_and_the_database_say(documents: dict[str, str]) -> None:
    def check(path: str) -> None:
        committed = (PROJECT / path).read_text(encoding="utf-8")
        assert committed == documents[path], f"{path} is out of date; run `make docs`"

    assert failing(check, documents, str) == []


def _commands(group: click.Group, prefix: str = "") -> Iterator[tuple[str, click.Command]]:
    # It loads the service.
    from tests.tools.generated import commands_of

    for name, command in commands_of(group):
        yield prefix + name, command
        if isinstance(command, click.Group):
            yield from _commands(command, prefix + name + " ")


def test_every_command_and_option_says_what_it_is() -> None:
    def check(named: tuple[str, click.Command]) -> None:
        name, command = named
        assert command.help, name
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{name} {parameter.name}"

    assert failing(check, _commands(command_group), lambda named: named[0]) == []


def test_every_route_and_parameter_says_what_it_is() -> None:
    for path, methods in create_app().openapi()["paths"].items():
        for route in methods.values():
            assert route.get("description") or route.get("summary"), path
            for parameter in route.get("parameters", []):
                if parameter["in"] == "query":
                    assert parameter["description"], path
                    assert parameter["example"], path


def test_operations_have_names_that_generated_clients_read_well() -> None:
    names = [route["operationId"] for methods in create_app().openapi()["paths"].values() for route in methods.values()]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z_]+", name) for name in names)


def test_every_property_rule_and_form_is_in_the_documentation(documents: dict[str, str]) -> None:
    text = "".join(documents.values())
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


def test_every_module_and_public_name_has_a_docstring() -> None:
    modules = [*_modules(refdb), *_modules(refdb_api)]
    assert failing(_has_docstrings, modules, lambda module: module.__name__) == []


def _has_docstrings(module: ModuleType) -> None:
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
