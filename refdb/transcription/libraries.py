"""Libraries from which values were taken: in the version that is named, or a sentence that says which is needed."""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from typing import Any, NamedTuple

from refdb.problems import LibraryNeeded

_NAMED = re.compile(r"\b(?P<name>CoolProp|aquasol|chemicals|fluids|gsw|iapws|thermo) (?P<version>\d+(?:\.\d+)+)")


class Library(NamedTuple):
    """A library in one version."""

    name: str
    version: str


def library_named(text: str) -> Library | None:
    """The first library that a text names with its version, such as `fluids 1.3.1`; None where it names none."""
    found = _NAMED.search(text)
    return None if found is None else Library(found["name"], found["version"])


@cache
def module_of(library: Library, module: str) -> Any:
    """A module of a library, where the library is installed in that very version.

    Raises:
        LibraryNeeded: it is not installed, or in another version.
    """
    try:
        installed = version(library.name)
    except PackageNotFoundError:
        installed = None
    if installed != library.version:
        there = "it is not installed" if installed is None else f"{installed} is installed"
        raise LibraryNeeded(
            f"library: {library.name} {library.version} is needed to read these values again, but {there}; run "
            f"pip install {library.name}=={library.version}.",
            parameter="library",
            given=installed,
            accepted=[library.version],
        )
    return import_module(module)
