"""The command `refdb`, its exit codes and its one-sentence errors."""

from __future__ import annotations

import sys

import click

from refdb.cli.ask import (
    find_command,
    history_command,
    lining_command,
    match_liquid_command,
    match_pipe_command,
    pipe_command,
    properties_command,
    provenance_command,
    readings_command,
    releases_command,
    roughness_command,
    row_command,
    sources_command,
    units_command,
    value_command,
)
from refdb.cli.audit import audit_command, changes_command
from refdb.cli.job import job_command
from refdb.cli.maintain import build_command, db_group, release_group, verify_command
from refdb.cli.serve import serve_command
from refdb.cli.table import materials_command, measure_speed_command, strength_command, table_command
from refdb.problems import IntegrityError, LedgerError, Problem

ANSWERED, FAILED, WRONG_QUESTION = 0, 1, 2


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
def refdb() -> None:
    """What must be known about a pipe and the liquid in it before a clamp-on flow measurement can be trusted.

    Every answer names its value, uncertainty, range, release, row and sources. Exit code 0: answered; 2: the question
    is wrong, and standard error says how to put it right; 1: refdb failed.
    """


for command in (
    find_command,
    value_command,
    table_command,
    materials_command,
    measure_speed_command,
    strength_command,
    readings_command,
    pipe_command,
    match_pipe_command,
    match_liquid_command,
    lining_command,
    roughness_command,
    job_command,
    provenance_command,
    history_command,
    row_command,
    sources_command,
    properties_command,
    units_command,
    releases_command,
    changes_command,
    audit_command,
    verify_command,
    build_command,
    release_group,
    db_group,
    serve_command,
):
    refdb.add_command(command)


def main() -> None:
    """Run the command line and exit with its code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run the command line with these arguments; the exit code is returned."""
    try:
        result = refdb.main(arguments, prog_name="refdb", standalone_mode=False)
    except click.exceptions.Exit as stop:
        return int(stop.exit_code)
    except click.Abort:
        click.echo("refdb: stopped before it was done.", err=True)
        return FAILED
    except click.UsageError as wrong:
        where = wrong.ctx.command_path if wrong.ctx is not None else "refdb"
        click.echo(f"refdb: {wrong.format_message().rstrip('.')}. See `{where} --help`.", err=True)
        return WRONG_QUESTION
    except LedgerError as problem:
        for finding in problem.findings:
            click.echo(finding, err=True)
        click.echo(f"refdb: {len(problem.findings)} finding(s) in the text; nothing was changed.", err=True)
        return WRONG_QUESTION
    except Problem as problem:
        click.echo(f"refdb: {problem.detail}", err=True)
        return FAILED if isinstance(problem, IntegrityError) else WRONG_QUESTION
    except BrokenPipeError:
        # The reader of our output, such as `head`, has seen enough.
        sys.stderr.close()
        return ANSWERED
    return result if isinstance(result, int) else ANSWERED
