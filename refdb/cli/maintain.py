"""Commands for maintainers: build, release, verify, migrate."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refdb.cli import printing
from refdb.cli.options import json_option
from refdb.problems import BadParameter

if TYPE_CHECKING:
    from refdb.build.progress import Progress

TEXT_HELP = "The folder that holds sources/ and shared/; this one by default."
TARGET_HELP = "Compile into this folder; by default into the package, if it runs from this checkout."


@contextmanager
def progress_bar() -> Iterator[Progress]:
    """A progress bar on standard error, one line a stage; nothing where standard error is not a terminal."""
    from rich.console import Console
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

    with Bar(console=Console(stderr=True), transient=True) as bar:
        tasks: dict[str, TaskID] = {}

        def progress(stage: str, done: int, total: int) -> None:
            if stage not in tasks:
                tasks[stage] = bar.add_task(stage, total=total)
            bar.update(tasks[stage], completed=done)

        yield progress


def text_root(text: str) -> Path:
    """The folder of the text, checked.

    Raises:
        BadParameter: it holds no `sources/` and `shared/`.
    """
    root = Path(text).resolve()
    if not (root / "sources").is_dir() or not (root / "shared").is_dir():
        raise BadParameter(
            f"text: {root} holds no sources/ and shared/; run this in a checkout of refdb, or give --text FOLDER."
        )
    return root


def compiled_folder(target: str | None, root: Path) -> Path:
    """Where to compile to.

    Raises:
        BadParameter: no folder was given, and the package that runs belongs to another checkout.
    """
    from refdb.data import PACKAGE_FOLDER

    if target is not None:
        return Path(target)
    if PACKAGE_FOLDER.is_relative_to(root):
        return PACKAGE_FOLDER
    raise BadParameter(
        f"to: refdb does not run from {root}, and its own data would be replaced; give --to FOLDER, and read that "
        "folder with the setting REFDB_DATA=FOLDER.",
        parameter="to",
    )


@click.command("build")
@click.option("--text", default=".", metavar="FOLDER", help=TEXT_HELP)
@click.option("--to", "target", metavar="FOLDER", help=TARGET_HELP)
def build_command(text: str, target: str | None) -> None:
    """Check the text and compile the release store. Safe to repeat, and safe to kill."""
    from refdb.build import build, changes_since, derive_records
    from refdb.build.text import full_records, read_releases

    root = text_root(text)
    folder = compiled_folder(target, root)
    with progress_bar() as progress:
        records = derive_records(root, progress)
        made = build(root, folder, progress)
    releases = read_releases(root)
    pending = changes_since(full_records(releases), records)
    newest = releases[-1].label if releases else "nothing"
    click.echo("Compiled." if made else "The compiled store already belongs to the text.")
    if pending:
        click.echo(
            f"The ledger differs from {newest}: {len(pending.added)} added, {len(pending.changed)} changed, "
            f"{len(pending.withdrawn)} withdrawn. They are served once a release is cut."
        )


@click.group("release")
def release_group() -> None:
    """Cutting releases."""


@release_group.command("cut")
@click.argument("label")
@click.option("--note", required=True, help="What this release is, in a sentence or two.")
@click.option("--text", default=".", metavar="FOLDER", help=TEXT_HELP)
@click.option("--to", "target", metavar="FOLDER", help=TARGET_HELP)
def cut_command(label: str, note: str, text: str, target: str | None) -> None:
    """Freeze what the rules recommend today as release LABEL, such as 2026r1, and compile it."""
    from refdb.build import build, cut_release

    root = text_root(text)
    folder = compiled_folder(target, root)
    today = datetime.datetime.now(datetime.UTC).date()
    with progress_bar() as progress:
        changes = cut_release(root, label, note, today, progress)
        build(root, folder, progress)
    click.echo(
        f"Release {label}: {len(changes.added)} rows added, {len(changes.changed)} changed, "
        f"{len(changes.withdrawn)} withdrawn. Commit sources/releases/{label}/."
    )


@click.command("verify")
@click.option(
    "--folder", metavar="FOLDER", help="Verify the compiled files in this folder instead of the installed ones."
)
@json_option
def verify_command(folder: str | None, as_json: bool) -> int:
    """Recompute every digest of the compiled store: files, rows, releases. Exit code 1 when anything does not fit."""
    from refdb.build import verify
    from refdb.data import FOLDER

    with progress_bar() as progress:
        result = verify(Path(folder) if folder else FOLDER, progress)
    if as_json:
        printing.print_json(result.document())
    else:
        for finding in result.findings:
            click.echo(finding)
        verdict = "Everything fits." if result.sound else f"{len(result.findings)} finding(s)."
        click.echo(f"{result.files} files, {result.releases} release(s), {result.rows} row versions. {verdict}")
    return 0 if result.sound else 1


@click.group("db")
def db_group() -> None:
    """The house store: the database in which an organisation keeps its own values."""


@db_group.command("upgrade")
@click.option("--url", envvar="REFDB_HOUSE_URL", metavar="URL", help="SQLAlchemy URL; also read from REFDB_HOUSE_URL.")
def upgrade_command(url: str | None) -> None:
    """Bring the house store to the newest revision, making it if need be. House values are kept."""
    from refdb.store import house

    address = url or house.default_url()
    before, after = house.upgrade_house(address)
    click.echo(
        f"{house.shown(address)}: {before or 'empty'} -> {after}" + (" (already newest)" if before == after else "")
    )
