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


def house_url_option(command: Command) -> Command:
    """`--house-url`: which house store answers, where house values are asked for."""
    return click.option(
        "--house-url",
        envvar="REFDB_HOUSE_URL",
        metavar="URL",
        help="Which house store; also read from REFDB_HOUSE_URL; a SQLite file in your data folder by default.",
    )(command)
