"""Every question that is declared, found where questions are."""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil
from types import ModuleType

import refdb
from refdb.questions import Asked, fields_of


def modules() -> list[ModuleType]:
    """The module `question` of every room."""
    found = [one.name for one in pkgutil.walk_packages(refdb.__path__, "refdb.") if one.name.endswith(".question")]
    return [importlib.import_module(name) for name in found]


def questions() -> list[type]:
    """Every class that declares a question."""
    found = (one for module in modules() for one in vars(module).values())
    return list(dict.fromkeys(one for one in found if isinstance(one, type) and dataclasses.is_dataclass(one)))


def fields() -> list[Asked]:
    """Every field of every question, each once, however many questions share it."""
    return list(dict.fromkeys(field for one in questions() for field in fields_of(one)))
