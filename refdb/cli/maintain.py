"""Commands for maintainers: build, release, verify, and the keeping of the house store."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refdb.cli.options import Command, json_option
from refdb.cli.progress import holdings, progress_shown
from refdb.problems import BadParameter

if TYPE_CHECKING:
    from refdb.release import Draft
    from refdb.store.backup import Backup

SHOWN = 20
"""How many changes a build tells."""

TEXT_HELP = "The folder that holds sources/ and shared/; this one by default."
TARGET_HELP = "Compile into this folder; by default into the package, if it runs from this checkout."


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
    from refdb.data import current
    from refdb.lookup import ReleaseStore
    from refdb.release import build, draft_release
    from refdb.release.text import read_releases

    root = text_root(text)
    folder = compiled_folder(target, root)
    with progress_shown() as progress:
        releases = cache(partial(read_releases, root, progress))
        draft = draft_release(root, progress, releases=releases)
        made = build(root, folder, progress, releases)
    pending = draft.changes
    store = ReleaseStore(current(folder).store)
    click.echo(f"{'Compiled' if made else 'The compiled store already belongs to the text'}: {holdings(store)}.")
    if pending:
        click.echo(
            f"The ledger differs from {draft.label or 'nothing'}: {len(pending.added)} added, "
            f"{len(pending.changed)} changed, {len(pending.withdrawn)} withdrawn. "
            "They are served once a release is cut."
        )
        lines = list(draft_lines(draft, "today"))
        for line in lines[:SHOWN]:
            click.echo(f"  {line}")
        if len(lines) > SHOWN:
            click.echo(f"  and {len(lines) - SHOWN} more; `refdb source preview KEY` tells those of one document.")
    if draft.other_words is not None:
        click.echo(f"The vocabulary differs from {draft.other_words}'s. The next release that is cut will name it.")


@click.group("release")
def release_group() -> None:
    """Cutting releases."""


@release_group.command("cut")
@click.argument("label")
@click.option("--note", required=True, help="What this release is, in a sentence or two.")
@click.option(
    "--corrects",
    multiple=True,
    metavar="LABEL: WHAT",
    help="A release that was found wrong, and what was wrong with it; may be repeated.",
)
@click.option("--text", default=".", metavar="FOLDER", help=TEXT_HELP)
@click.option("--to", "target", metavar="FOLDER", help=TARGET_HELP)
@click.option("--preview", is_flag=True, help="Only say what it would add, change and withdraw; write nothing.")
def cut_command(label: str, note: str, corrects: tuple[str, ...], text: str, target: str | None, preview: bool) -> None:
    """Freeze what the rules recommend today as release LABEL, such as 2026r1, and compile it.

    Before anything is written, what moves is told, in units of its uncertainty.
    """
    from refdb.release import build, check_cut, draft_release, write_draft

    root = text_root(text)
    folder = compiled_folder(target, root)
    check_cut(root, label, corrects)
    with progress_shown() as progress:
        draft = draft_release(root, progress)
    show_draft(draft, label)
    if preview:
        click.echo("Nothing was written: this was a preview.")
        return
    write_draft(root, draft, label, note, datetime.datetime.now(datetime.UTC).date(), corrects)
    with progress_shown() as progress:
        build(root, folder, progress)
    changes = draft.changes
    click.echo(
        f"Release {label}: {len(changes.added)} rows added, {len(changes.changed)} changed, "
        f"{len(changes.withdrawn)} withdrawn. Commit sources/releases/{label}/."
    )


def show_draft(draft: Draft, label: str) -> None:
    """What a release would add, withdraw and move, a line each, and how many of its steps were computed."""
    if draft.label and draft.changes:
        for line in draft_lines(draft, label):
            click.echo(line)
    click.echo(f"{draft.computed} of {len(draft.steps)} steps of derivation were computed, the others carried forward.")


def draft_lines(draft: Draft, label: str) -> Iterator[str]:
    """What differs between the newest release and a draft, a line each."""
    from refdb.cli.audit import change_lines
    from refdb.evidence.changes import compared, unreleased

    old, new = (
        {row: unreleased(record) for row, record in records.items()} for records in (draft.released, draft.records)
    )
    yield from change_lines(compared(draft.label, label, old, new))


@release_group.command("key")
@click.option(
    "--private", required=True, type=click.Path(path_type=Path), metavar="FILE", help="New file, kept secret."
)
@click.option("--public", required=True, type=click.Path(path_type=Path), metavar="FILE", help="New file, to be given.")
def key_command(private: Path, public: Path) -> None:
    """Make a pair of Ed25519 keys to sign releases with."""
    from refdb.release.sign import make_key

    click.echo(f"Public key {make_key(private, public)}. Keep {private} secret; give {public} to whoever verifies.")


@release_group.command("sign")
@click.argument("label")
@click.option("--key", required=True, type=click.Path(path_type=Path), metavar="FILE", help="The private key, in PEM.")
@click.option("--text", default=".", metavar="FOLDER", help=TEXT_HELP)
def sign_command(label: str, key: Path, text: str) -> None:
    """Sign release LABEL; the signature lies beside it in sources/signatures/, and is compiled with it."""
    from refdb.release.sign import sign_release

    made = sign_release(text_root(text), label, key)
    click.echo(f"{made.release}: signed with {made.public_key}. Commit sources/signatures/, and run `refdb build`.")


@click.command("verify")
@click.option(
    "--folder", metavar="FOLDER", help="Verify the compiled files in this folder instead of the installed ones."
)
@click.option(
    "--public-key",
    "key_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="An Ed25519 public key in PEM; every release must be signed with it then.",
)
@json_option
def verify_command(folder: str | None, key_file: Path | None, as_json: bool) -> int:
    """Recompute all that the manifests of the releases cover, from the bytes up, and try every signature.

    That is files, rows, names, links, dates, notes, the order of the releases and the vocabulary. Exit code 1 when
    anything does not fit. A release need not be signed, unless a public key is given; then the vocabulary must be the
    one that the newest release was cut with, too.
    """
    from refdb.cli import printing
    from refdb.data import FOLDER
    from refdb.release import verify
    from refdb.release.sign import public_key_of

    public_key = public_key_of(key_file) if key_file is not None else None
    with progress_shown() as progress:
        result = verify(Path(folder) if folder else FOLDER, progress, public_key)
    if as_json:
        printing.print_json(result.document())
    else:
        for finding in result.findings:
            click.echo(finding)
        for remark in result.remarks:
            click.echo(f"Remark: {remark}")
        for label, signers in result.signed_by.items():
            signed = f"signed with {', '.join(signers)}" if signers else "unsigned"
            click.echo(f"{label}: {signed}, manifest {result.manifests[label]}")
        verdict = "Everything fits." if result.sound else f"{len(result.findings)} finding(s)."
        click.echo(f"{result.files} files, {result.releases} release(s), {result.rows} row versions. {verdict}")
    return 0 if result.sound else 1


def house_url_option(command: Command) -> Command:
    """`--url`: which house store; the user's own file by default."""
    text = "SQLAlchemy URL; also read from REFDB_HOUSE_URL; a SQLite file in your data folder by default."
    return click.option("--url", envvar="REFDB_HOUSE_URL", metavar="URL", help=text)(command)


@click.group("db")
def db_group() -> None:
    """The house store: the database in which an organisation keeps its own values."""


@db_group.command("status")
@house_url_option
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def status_command(url: str | None, as_json: bool) -> None:
    """Show engine, revision and number of values of the house store. Nothing is made or changed."""
    from refdb.cli import printing
    from refdb.store import house, maintain

    status = maintain.status(url or house.default_url())
    if as_json:
        printing.print_json(status.document())
        return
    if status.state == "empty":
        click.echo(f"{status.url}: {status.engine}, empty; `refdb db upgrade` makes its tables.")
        return
    standing = {
        "newest": "the newest",
        "older": f"the newest is {status.head}, and `refdb db upgrade` goes there",
        "unknown": f"not known to this refdb, which knows none after {status.head}",
    }
    click.echo(
        f"{status.url}: {status.engine}, revision {status.revision} ({standing[status.state]}), "
        f"{status.values} value(s) in {status.versions} version(s)"
    )


@db_group.command("upgrade")
@house_url_option
@click.option(
    "--backup-to",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="New file, or folder, for the back-up; by default beside a SQLite store, in your data folder for PostgreSQL.",
)
@click.option("--no-backup", is_flag=True, help="Write no back-up first.")
def upgrade_command(url: str | None, backup_to: Path | None, no_backup: bool) -> None:
    """Bring the house store to the newest revision, making it if need be. House values are kept.

    A store that holds values is backed up first. All of the upgrade happens or none of it.
    """
    from refdb.store import house, maintain

    if no_backup and backup_to is not None:
        raise BadParameter("backup-to: contradicts --no-backup; give one of the two.", parameter="backup_to")
    address = url or house.default_url()
    done = maintain.upgrade_house(address, back_up=not no_backup, backup_to=backup_to)
    if done.backup is not None:
        show_backup(done.backup)
    elif no_backup and done.before not in (None, done.after):
        click.echo("No back-up was written, as asked.")
    newest = " (already newest)" if done.before == done.after else ""
    click.echo(f"{house.shown(address)}: {done.before or 'empty'} -> {done.after}{newest}")


@db_group.command("backup")
@house_url_option
@click.option(
    "--to",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="New file, or folder; by default beside a SQLite store, in your data folder for PostgreSQL.",
)
def backup_command(url: str | None, to: Path | None) -> None:
    """Back the house store up into one file, which `refdb db restore` reads into a store of either engine."""
    from refdb.store import house, maintain

    show_backup(maintain.back_up_house(url or house.default_url(), to))


@db_group.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@house_url_option
def restore_command(file: Path, url: str | None) -> None:
    """Load the back-up FILE into an empty house store and bring it to the newest revision."""
    from refdb.store import house, maintain

    address = url or house.default_url()
    restored = maintain.restore_house(file, address)
    click.echo(f"{house.shown(address)}: restored {contents_words(restored)} from revision {restored.revision}")


def show_backup(written: Backup) -> None:
    """Where a back-up is and what it holds."""
    click.echo(f"Back-up: {written.path} (revision {written.revision}: {contents_words(written)})")


def contents_words(written: Backup) -> str:
    """`3 rows of house_value, 12 rows of house_value_version`; tables without rows are left out."""
    return ", ".join(f"{held.rows} row(s) of {name}" for name, held in written.contents.items() if held.rows)
