"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def json_option(command: Command) -> Command:
    """`--json`: print the document that the service returns."""
    return click.option("--json", "as_json", is_flag=True, help="Print the JSON document that the service returns.")(
        command
    )


def release_options(command: Command) -> Command:
    """`--release` and `--as-of`: which release answers."""
    command = click.option("--release", metavar="LABEL", help="Answer from this release; the newest by default.")(
        command
    )
    return click.option(
        "--as-of", metavar="DATE", help="Answer from the newest release cut on or before this UTC date."
    )(command)


def units_option(command: Command) -> Command:
    """`--units si|us`: the system of units to answer in."""
    return click.option("--units", "unit_system", metavar="si|us", help="Answer in SI (default) or US units.")(command)


def layers_options(command: Command) -> Command:
    """`--layers` and `--house-url`: whether house values answer first, and from which store."""
    command = click.option(
        "--house-url",
        envvar="REFDB_HOUSE_URL",
        metavar="URL",
        help="Which house store; also read from REFDB_HOUSE_URL; a SQLite file in your data folder by default.",
    )(command)
    return click.option(
        "--layers", metavar="release|house,release", help="Let reviewed house values answer first; not by default."
    )(command)
