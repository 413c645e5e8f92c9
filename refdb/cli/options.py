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
