"""The command that works a job to a sheet, many jobs to a table, and helps to begin one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.job_files import beside_house, read_file, save, with_sensors
from refdb.cli.options import house_url_option, json_option
from refdb.database import Database
from refdb.job.figures import joined, plain
from refdb.job.question import JobQuestion
from refdb.opening import open_database
from refdb.problems import BadParameter

STANDARD_OUTPUT = "-"


@click.command("job")
@click.argument("file", required=False, type=click.Path(exists=True, path_type=Path), metavar="[FILE|FOLDER|TABLE.csv]")
@click.option(
    "--new",
    "kind",
    metavar="KIND",
    is_flag=False,
    flag_value="flow",
    help="A job to fill in: spacing, flow, heat, check.",
)
@click.option("--schema", is_flag=True, help="The JSON Schema of a job's document.")
@click.option("--manual", is_flag=True, help="The page about jobs, in Markdown.")
@click.option(
    "--example", metavar="NAME", is_flag=False, flag_value="", help="A worked example; their names where none is named."
)
@click.option("--out", type=click.Path(path_type=Path), help="Write --new, or the sheets of many jobs, there.")
@click.option("--defaults", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="What all rows share.")
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
@asks(JobQuestion)
@house_url_option
@json_option
def job_command(
    asked: JobQuestion,
    file: Path | None,
    kind: str | None,
    schema: bool,
    manual: bool,
    example: str | None,
    out: Path | None,
    defaults: Path | None,
    draws: int,
    blank: bool,
    html: str | None,
    pdf: str | None,
    other: str | None,
    house_url: str | None,
    as_json: bool,
) -> int:
    """Work the job in FILE (TOML or JSON) to a sheet: verdict, spacing, flow, uncertainty, what to mind.

    A FOLDER of jobs, or a TABLE.csv with one job a row and members such as pipe.wall as columns, is worked to one
    table; --out FOLDER writes their sheets. Without a file, --new, --example, --schema and --manual help to begin.
    """
    offered = _offered(kind, schema, manual, example)
    if offered is not None:
        return _offer(offered, out)
    _check_choices(file, blank=blank, paged=html is not None or pdf is not None, other=other, as_json=as_json)
    if blank:
        from refdb.job.sheet import blank_page

        _write(blank_page(), html if html or pdf else STANDARD_OUTPUT, pdf)
        return 0
    assert file is not None  # noqa: S101 - just checked
    database = open_database(asked.release, asked.as_of)
    if file.is_dir() or file.suffix.lower() == ".csv":
        from refdb.cli.survey import work_many

        return work_many(file, defaults, database, draws, out, as_json, house_url)
    content = with_sensors(read_file(file), file.parent)
    if asked.units is not None:
        content = {**content, "units": asked.units}
    if content.get("layers", "release") != "release":
        database = beside_house(database, house_url)
    return _work(content, database, draws, html, pdf, other, as_json)


def _work(
    content: dict[str, Any],
    database: Database,
    draws: int,
    html: str | None,
    pdf: str | None,
    other: str | None,
    as_json: bool,
) -> int:
    if other is not None:
        _against(content, database, other, as_json)
        return 0
    # Only a job needs the models of its document.
    from refdb.job import work_job

    told = work_job(content, database, draws)
    if html is not None or pdf is not None:
        from refdb.job.sheet import page

        _write(page(told), html, pdf)
    elif as_json:
        printing.print_json(told)
    else:
        from refdb.cli.sheet import print_sheet

        print_sheet(told)
    return 0


def _offered(kind: str | None, schema: bool, manual: bool, example: str | None) -> str | None:
    """What helps to begin a job, as text; None where a job is to be worked.

    Raises:
        BadParameter: there is no such kind, or no such example.
    """
    if kind is not None:
        from refdb.job.starter import starter

        return starter(kind)
    from refdb.job import shipped

    if schema:
        return shipped.schema_text()
    if manual:
        return shipped.manual()
    if example is None:
        return None
    if example:
        return shipped.example(example)
    return "".join(f"{name}: {text.partition(chr(10))[0].lstrip('# ')}\n" for name, text in shipped.examples().items())


def _offer(text: str, out: Path | None) -> int:
    """Print, or write to a file that is not there yet.

    Raises:
        BadParameter: the file is there, or cannot be written.
    """
    if out is None:
        click.echo(text, nl=False)
        return 0
    try:
        with out.open("x", encoding="utf-8") as written:
            written.write(text)
    except FileExistsError:
        raise BadParameter(f"out: {out} is there already; name another file.", parameter="out") from None
    except OSError as error:
        raise BadParameter(
            f"out: {out} cannot be written ({error.strerror}); name another file.", parameter="out"
        ) from None
    click.echo(f"Written to {out}. Fill in what is blank, then: refdb job {out}", err=True)
    return 0


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
        raise BadParameter(
            "FILE: is missing; name the file of a job, or begin one with --new KIND (spacing, flow, heat, check).",
            parameter="file",
        )
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
        save(Path(html), page.encode(), "html")
    if pdf is not None:
        from refdb.job.sheet import pdf as rendered

        save(Path(pdf), rendered(page), "pdf")


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
