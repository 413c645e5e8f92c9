"""The command `refdb`, its exit codes and its one-sentence errors."""

from __future__ import annotations

import sys

import click

from refdb.cli.lazy import LazyGroup
from refdb.problems import HouseUnavailable, IntegrityError, LedgerError, Problem

ANSWERED, FAILED, WRONG_QUESTION = 0, 1, 2


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
def refdb() -> None:
    """What must be known about a pipe and the liquid in it before a clamp-on flow measurement can be trusted.

    Every answer names its value, uncertainty, range, release, row and sources. Exit code 0: answered; 2: the question
    is wrong, and standard error says how to put it right; 1: refdb failed.
    """


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
    except HouseUnavailable as problem:
        click.echo(f"refdb: {problem.detail} ({problem.inside})", err=True)
        return FAILED
    except Problem as problem:
        click.echo(f"refdb: {problem.detail}", err=True)
        return FAILED if isinstance(problem, IntegrityError) else WRONG_QUESTION
    except BrokenPipeError:
        # The reader of our output, such as `head`, has seen enough.
        sys.stderr.close()
        return ANSWERED
    return result if isinstance(result, int) else ANSWERED
