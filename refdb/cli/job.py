"""The command that works a job to a sheet."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.options import json_option
from refdb.database import Database
from refdb.job.figures import joined, plain
from refdb.ledger.files import why_unreadable
from refdb.opening import open_database
from refdb.problems import BadParameter
from refdb.values.question import ReleaseQuestion

STANDARD_OUTPUT = "-"


@click.command("job")
@click.argument("file", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--draws", type=int, default=0, show_default=True, help="Of a Monte Carlo beside the linear budget.")
@click.option("--blank", is_flag=True, help="An empty sheet to fill in by hand on site, in place of a job.")
@click.option(
    "--html",
    type=click.Path(dir_okay=False, allow_dash=True),
    is_flag=False,
    flag_value=STANDARD_OUTPUT,
    help="Write the sheet as one printable page to this file; to standard output where none is named.",
)
@click.option("--pdf", type=click.Path(dir_okay=False), help="Write the sheet as PDF to this file (extra `pdf`).")
@click.option("--against", "other", metavar="RELEASE", help="Tell what another release would change in the job.")
@asks(ReleaseQuestion)
@json_option
def job_command(
    asked: ReleaseQuestion,
    file: Path | None,
    draws: int,
    blank: bool,
    html: str | None,
    pdf: str | None,
    other: str | None,
    as_json: bool,
) -> None:
    """Work the job in FILE (TOML or JSON) to a sheet: pipe, waves, spacing, flow, uncertainty, what to mind."""
    _check_choices(file, blank=blank, paged=html is not None or pdf is not None, other=other, as_json=as_json)
    if blank:
        from refdb.job.sheet import blank_page

        return _write(blank_page(), html if html or pdf else STANDARD_OUTPUT, pdf)
    assert file is not None  # noqa: S101 - just checked
    content, database = read_file(file), open_database(asked.release, asked.as_of)
    if other is not None:
        return _against(content, database, other, as_json)
    # Only a job needs the models of its document.
    from refdb.job import work_job

    told = work_job(content, database, draws)
    if html is not None or pdf is not None:
        from refdb.job.sheet import page

        return _write(page(told), html, pdf)
    if as_json:
        return printing.print_json(told)
    from refdb.cli.sheet import print_sheet

    return print_sheet(told)


def _check_choices(file: Path | None, *, blank: bool, paged: bool, other: str | None, as_json: bool) -> None:
    """Refuse what cannot go together.

    Raises:
        BadParameter: FILE is missing or of no use, or two forms of output are asked for.
    """
    if blank and (file is not None or other is not None or as_json):
        raise BadParameter(
            "blank: an empty sheet takes no FILE, --against or --json; leave them out.", parameter="blank"
        )
    if not blank and file is None:
        raise BadParameter("FILE: is missing; name the file of a job, or ask for --blank.", parameter="file")
    if paged and (other is not None or as_json):
        raise BadParameter(
            "html: a page cannot go together with --json or --against; ask for one at a time.", parameter="html"
        )


def _write(page: str, html: str | None, pdf: str | None) -> None:
    """The page to where it is wanted.

    Raises:
        BadParameter: a file cannot be written, or nothing is there that makes a PDF.
    """
    if html == STANDARD_OUTPUT:
        click.echo(page, nl=False)
    elif html is not None:
        _save(Path(html), page.encode(), "html")
    if pdf is not None:
        from refdb.job.sheet import pdf as rendered

        _save(Path(pdf), rendered(page), "pdf")


def _save(path: Path, content: bytes, field: str) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise BadParameter(
            f"{field}: {path} cannot be written ({error.strerror}); name another file.", parameter=field
        ) from None


def read_file(file: Path) -> dict[str, Any]:
    """The document in a file.

    Raises:
        BadParameter: it is neither TOML nor a JSON object.
    """
    try:
        text = file.read_text(encoding="utf-8")
        content = json.loads(text) if file.suffix == ".json" else tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadParameter(
            f"FILE: {file.name} cannot be read ({why_unreadable(error)}); write TOML or JSON.", parameter="file"
        ) from None
    if not isinstance(content, dict):
        raise BadParameter(f"FILE: {file.name} must hold an object with the members of a job.", parameter="file")
    return content


def _against(content: Mapping[str, Any], database: Database, other: str, as_json: bool) -> None:
    from refdb.job import against

    told = against(content, database, other)
    if as_json:
        return printing.print_json(told)
    releases = f"{told['before']['release']} to {told['after']['release']}"
    parts: list[Any] = [f"{told['title']}: {releases}: {told['text']}"]
    for heading, items in (("input", told["inputs"]), ("result", told["results"])):
        if items:
            parts.append(_changes(heading, items))
    parts += [_row_words(item) for item in told["rows"]]
    parts += [f"Refused by {item['release']}: {item['problem']['detail']}" for item in told["refused"]]
    return printing.show(*parts)


def _changes(heading: str, items: Sequence[Mapping[str, Any]]) -> Any:
    table = printing.grid(heading, "before", "after", "in standard uncertainties")
    for item in items:
        moved = item["in_standard_uncertainties"]
        words = (_change(item["before"]), _change(item["after"]))
        table.add_row(item["name"], *words, "" if moved is None else f"{moved:+.2g}")
    return table


def _change(told: Mapping[str, Any] | None) -> str:
    if told is None:
        return "none"
    uncertainty = told["standard_uncertainty"]
    return plain(told["value"]) if uncertainty is None else joined(told["value"], uncertainty)


def _row_words(item: Mapping[str, Any]) -> str:
    words = [digest if digest is not None else "not used" for digest in (item["before"], item["after"])]
    return f"Row {item['row']}: {words[0]}, then {words[1]}"
