"""The architecture as it is told: every folder of the library has its line, and every room says what it is for."""

from __future__ import annotations

import ast
import re
from graphlib import TopologicalSorter

import grimp

from tests.conftest import PROJECT

DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
ROOMS = sorted(
    folder for folder in (PROJECT / "refdb").rglob("*") if folder.is_dir() and (folder / "__init__.py").is_file()
)


def test_every_room_and_every_module_at_the_top_is_named() -> None:
    named = set(re.findall(r"`([a-z_]+(?:\.py)?)`", DEVELOPERS))
    modules = {file.name for file in (PROJECT / "refdb").glob("*.py") if not file.name.startswith("__")}
    assert {folder.name for folder in ROOMS} | modules <= named


def test_every_room_says_in_a_line_what_it_is_for() -> None:
    for folder in ROOMS:
        told = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8")))
        assert told, folder
        assert told.splitlines()[0].endswith("."), folder


def test_no_files_depend_on_each_other_in_a_circle() -> None:
    graph = grimp.build_graph("refdb", "refdb_api")
    # A package and what lies in it are one: the package gives its members' names on.
    needs = {
        module: {
            needed for needed in graph.find_modules_directly_imported_by(module) if not module.startswith(f"{needed}.")
        }
        for module in graph.modules
    }
    assert len(list(TopologicalSorter(needs).static_order())) >= 200  # raises CycleError with the circle otherwise


def test_no_class_has_the_name_of_another() -> None:
    """One word, one thing; what is told apart by its module alone is mixed up by whoever reads."""
    where: dict[str, list[str]] = {}
    for file in sorted((PROJECT / "refdb").rglob("*.py")):
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where.setdefault(node.name, []).append(file.relative_to(PROJECT).as_posix())
    assert {name: files for name, files in where.items() if len(files) > 1 and name not in TWICE} == {}


TWICE = {
    "Liquid": "a section of a job's document bears the word that its writer reads",
}
