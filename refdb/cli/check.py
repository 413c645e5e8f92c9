"""The command that looks at saved answers again."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.options import json_option
from refdb.evidence.check import check_answers
from refdb.ledger.files import why_unreadable
from refdb.opening import open_database
from refdb.problems import BadParameter

WHY_SHOWN = 3


@click.command("check-answers")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path))
@click.option(
    "--house-url", envvar="REFDB_HOUSE_URL", metavar="URL", help="The house store, where house values are among them."
)
@json_option
def check_answers_command(file: Path, house_url: str | None, as_json: bool) -> None:
    """Say of every answer in FILE whether it is still the advice, superseded, or none of refdb's.

    FILE holds what `--json` or the service gave: one answer, several, job sheets, or a JSON document a line; - reads
    standard input.
    """
    database = open_database()
    if house_url is not None:
        from refdb.house import House

        database = database.beside(House(house_url))
    items = check_answers(database.reader, read_saved(file))
    if as_json:
        return printing.print_json({"items": items})
    table = printing.grid("verdict", "row", "release", "move", "why")
    for item in items:
        table.add_row(item["verdict"], item["row"]["id"], item["release"] or "", _move(item), _short(item["reason"]))
    counted = Counter(item["verdict"] for item in items)
    summary = ", ".join(f"{count} {verdict}" for verdict, count in sorted(counted.items()))
    corrections = dict.fromkeys(
        f"Release {item['release']} is corrected by {one['release']}: {one['what']}"
        for item in items
        for one in item["corrections"]
    )
    return printing.show(f"{len(items)} answer(s): {summary}", table, *corrections)


def read_saved(file: Path) -> Any:
    """The JSON document in a file, or the documents, one a line.

    Raises:
        BadParameter: it is neither.
    """
    try:
        with click.open_file(str(file), encoding="utf-8") as stream:
            text = stream.read()
    except (OSError, UnicodeDecodeError) as error:
        raise BadParameter(f"file: {file} cannot be read as text: {error}.", parameter="file") from error
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as whole:
        try:
            return [json.loads(line) for line in text.splitlines() if line.strip()]
        except (ValueError, RecursionError):
            raise BadParameter(
                f"file: {file} is neither a JSON document nor one a line ({why_unreadable(whole)}); give what --json "
                "printed.",
                parameter="file",
            ) from None


def _short(reason: str) -> str:
    phrases = reason.split("; ")
    hidden = len(phrases) - WHY_SHOWN
    return "; ".join(phrases[:WHY_SHOWN]) + (f"; and {hidden} more" if hidden > 0 else "")


def _move(item: Mapping[str, Any]) -> str:
    effect = item["effect"]
    if effect is None:
        return ""
    moves = [f"{name} {move['magnitude']:+g} {move['unit']}" for name, move in effect["moves"].items()]
    in_doubts = effect["in_uncertainties"]
    return "; ".join(moves) + (f" ({in_doubts:+.2g} uncertainties)" if in_doubts is not None else "")
