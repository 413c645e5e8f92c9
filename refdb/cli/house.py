"""Commands for house values: entering, reviewing, withdrawing, listing, moving, and the keys to them."""

from __future__ import annotations

import getpass
import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.maintain import house_url_option
from refdb.cli.options import Command, json_option
from refdb.house.question import EntryQuestion, HouseValueQuestion, HouseValuesQuestion
from refdb.opening import open_database
from refdb.problems import BadParameter
from refdb.questions import fields_of

if TYPE_CHECKING:
    from refdb.house import House
    from refdb.store.keys import Key
    from refdb.store.values import Version, Writer

UNASKED = ("temperature_scale", "name_printed")
"""Of an entry, what is for documents that are imported."""

MOST_VERSIONS = 999_999_999
"""Versions of a value that a store can count."""


def attach_option(command: Command) -> Command:
    """`--attach`: files that belong to an entry."""
    return click.option(
        "--attach",
        multiple=True,
        type=click.Path(exists=True, dir_okay=False, path_type=Path),
        metavar="FILE",
        help="A file that belongs to it, kept by its name and SHA-256; may be repeated.",
    )(command)


def by_option(command: Command) -> Command:
    """`--by`: who writes."""
    return click.option("--by", metavar="PERSON", help="Who does this; the user of this machine by default.")(command)


def version_option(command: Command) -> Command:
    """`--version`: which version the writer saw."""
    return click.option(
        "--version",
        "seen",
        type=click.IntRange(1, MOST_VERSIONS),
        required=True,
        help="The version that you saw, and mean.",
    )(command)


def opened_house(url: str | None) -> House:
    """The house store at an address, or the user's own."""
    from refdb.house import House

    return House(url)


def writer(by: str | None) -> Writer:
    """Who writes at the command line.

    Raises:
        BadParameter: the name is none.
    """
    from refdb.store.keys import checked_person
    from refdb.store.values import Writer

    return Writer(checked_person(by if by is not None else getpass.getuser()))


@click.group("house")
def house_group() -> None:
    """House values: what your organisation measured or prefers, entered by one person and reviewed by another.

    Ask for them beside the releases with `refdb value ... --layers house,release`.
    """


@house_group.command("add")
@asks(EntryQuestion, without=UNASKED, required=("subject", "property"))
@attach_option
@by_option
@house_url_option
@json_option
def add_command(asked: EntryQuestion, by: str | None, url: str | None, as_json: bool, attach: tuple[Path, ...]) -> None:
    """Enter a value of PROPERTY of SUBJECT as a draft. It is answered once another person has reviewed it."""
    entry = entry_of(asked, attach)
    show_version(opened_house(url).add(entry, writer(by), open_database()), as_json)


@house_group.command("change")
@click.argument("value_id", metavar="ID")
@asks(EntryQuestion, without=("subject", "property", *UNASKED))
@attach_option
@version_option
@click.option("--reason", metavar="TEXT", help="Why it is changed.")
@by_option
@house_url_option
@json_option
def change_command(
    asked: EntryQuestion,
    value_id: str,
    seen: int,
    reason: str | None,
    by: str | None,
    url: str | None,
    as_json: bool,
    attach: tuple[Path, ...],
) -> None:
    """Enter a new draft of the value ID: its parts as they stand, but for the options that are given.

    A reviewed version stays in force until the draft is reviewed.
    """
    house = opened_house(url)
    current = house.store.current(value_id)
    before = {name: text for name, text in (current.entry or {}).items() if name != "format"}
    given_parts = entry_of(asked, attach)
    for one, other in (("value", "points"), ("points", "value")):
        if one in given_parts:
            before.pop(other, None)
    changed = house.change(value_id, seen, before | given_parts, writer(by), open_database(), reason)
    show_version(changed, as_json)


@house_group.command("review")
@click.argument("value_id", metavar="ID")
@version_option
@click.option("--note", "reason", metavar="TEXT", help="What was checked.")
@by_option
@house_url_option
@json_option
def review_command(
    value_id: str, seen: int, reason: str | None, by: str | None, url: str | None, as_json: bool
) -> None:
    """Put the draft ID into force. Another person than those who entered it must do this."""
    show_version(opened_house(url).review(value_id, seen, writer(by), reason), as_json)


@house_group.command("withdraw")
@click.argument("value_id", metavar="ID")
@version_option
@click.option("--reason", required=True, metavar="TEXT", help="Why it is withdrawn.")
@by_option
@house_url_option
@json_option
def withdraw_command(value_id: str, seen: int, reason: str, by: str | None, url: str | None, as_json: bool) -> None:
    """Take the value ID out of force, for good. Its history stays."""
    show_version(opened_house(url).withdraw(value_id, seen, writer(by), reason), as_json)


@house_group.command("list")
@asks(HouseValuesQuestion)
@house_url_option
@json_option
def list_command(asked: HouseValuesQuestion, url: str | None, as_json: bool) -> None:
    """The newest version of every house value, or of those of a SUBJECT and a PROPERTY."""
    items = opened_house(url).listed(open_database(), asked.subject, asked.property, asked.status)
    if as_json:
        return printing.print_json({"items": items})
    return show_versions(items)


@house_group.command("history")
@asks(HouseValueQuestion)
@house_url_option
@json_option
def house_history_command(asked: HouseValueQuestion, url: str | None, as_json: bool) -> None:
    """Every version of the value ID: who entered, reviewed and withdrew it, when and why."""
    from refdb.house import version_document

    items = [version_document(version) for version in opened_house(url).store.history(asked.value_id)]
    if as_json:
        return printing.print_json({"items": items})
    return show_versions(items)


@house_group.command("writes")
@house_url_option
@json_option
def writes_command(url: str | None, as_json: bool) -> None:
    """The log of writes: who did what, when, with which key."""
    items = opened_house(url).store.writes()
    if as_json:
        return printing.print_json({"items": items})
    table = printing.grid("at", "person", "action", "target", "version", "key")
    for item in items:
        table.add_row(*(str(item[name] or "") for name in ("at", "person", "action", "target", "version", "key")))
    return printing.show(table)


@house_group.command("verify")
@house_url_option
def house_verify_command(url: str | None) -> int:
    """Recompute the digest of every version of every house value. Exit code 1 when anything does not fit."""
    faults = opened_house(url).store.verify()
    for fault in faults:
        click.echo(fault)
    click.echo("Everything fits." if not faults else f"{len(faults)} finding(s).")
    return 1 if faults else 0


@house_group.command("export")
@click.option("--to", required=True, type=click.Path(path_type=Path), metavar="FOLDER", help="A new document folder.")
@click.option("--title", required=True, help="Of the document.")
@click.option("--organisation", required=True, help="Whose values they are.")
@click.option("--rights", required=True, help="An SPDX identifier, facts-only, unknown, or withheld.")
@click.option("--subject", help="Only values of this subject.")
@house_url_option
def export_command(to: Path, title: str, organisation: str, rights: str, subject: str | None, url: str | None) -> None:
    """Write the values in force as a document in the text format of sources/, ready to be offered to the reference."""
    from refdb.house.text import write_document

    database = open_database()
    about = database.subject(subject).id if subject is not None else None
    standing = opened_house(url).store.in_force(about)
    ids = write_document(standing, to, database, title=title, organisation=organisation, rights=rights)
    click.echo(f"{to}: {len(ids)} reading(s): {', '.join(ids)}")


@house_group.command("import")
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@by_option
@house_url_option
def import_command(folder: Path, by: str | None, url: str | None) -> None:
    """Enter what a document folder holds, each reading as a draft; all of them, or none if anything is wrong."""
    from refdb.house.text import read_document

    house, database = opened_house(url), open_database()
    entries = read_document(folder, database)
    made = house.store.add_all(entries, writer(by))
    click.echo(f"{len(made)} draft(s): {', '.join(version.id for version in made)}")


@house_group.group("key")
def key_group() -> None:
    """Keys to the house values over HTTP. A key is shown once, when it is made; only its digest is kept."""


@key_group.command("add")
@click.argument("person")
@click.option("--role", required=True, metavar="ROLE", help="reader, editor, reviewer or administrator.")
@click.option("--expires", metavar="DATE", help="The last day (UTC) on which it opens anything; for ever without one.")
@by_option
@house_url_option
@json_option
def key_add_command(
    person: str, role: str, expires: str | None, by: str | None, url: str | None, as_json: bool
) -> None:
    """Make a key for PERSON, whose name their writes carry."""
    from refdb.store.keys import make_key

    key, secret = make_key(opened_house(url).store, person, role, expires, writer(by))
    if as_json:
        return printing.print_json({**key.document(), "key": secret})
    click.echo(f"{key.id}: {key.role} key of {key.person}, {_end(key)}. It is shown this once:")
    return click.echo(secret)


@key_group.command("list")
@house_url_option
@json_option
def key_list_command(url: str | None, as_json: bool) -> None:
    """Every key that was ever made: whose, for which role, until when; never the key itself."""
    from refdb.store.keys import keys

    found = keys(opened_house(url).store)
    if as_json:
        return printing.print_json({"items": [key.document() for key in found]})
    table = printing.grid("id", "person", "role", "state", "until", "made")
    for key in found:
        table.add_row(key.id, key.person, key.role, key.state, key.expires_at or "", key.created_at)
    return printing.show(table)


@key_group.command("expire")
@click.argument("key_id", metavar="ID")
@click.option("--on", "on", required=True, metavar="DATE", help="The last day (UTC), or a moment.")
@by_option
@house_url_option
def key_expire_command(key_id: str, on: str, by: str | None, url: str | None) -> None:
    """Let the key ID end on a date."""
    from refdb.store.keys import expire_key

    key = expire_key(opened_house(url).store, key_id, on, writer(by))
    click.echo(f"{key.id}: {_end(key)}")


@key_group.command("revoke")
@click.argument("key_id", metavar="ID")
@by_option
@house_url_option
def key_revoke_command(key_id: str, by: str | None, url: str | None) -> None:
    """Let the key ID open nothing from now on."""
    from refdb.store.keys import revoke_key

    key = revoke_key(opened_house(url).store, key_id, writer(by))
    click.echo(f"{key.id}: revoked")


def entry_of(asked: EntryQuestion, attach: tuple[Path, ...]) -> dict[str, Any]:
    """The parts of an entry that were given on the command line."""
    given = {field.name: getattr(asked, field.name) for field in fields_of(EntryQuestion)}
    parts: dict[str, Any] = {name: text for name, text in given.items() if text is not None}
    if attach:
        parts["attachments"] = [_attached(file) for file in attach]
    return parts


def _attached(file: Path) -> dict[str, str]:
    try:
        with file.open("rb") as stream:
            return {"name": file.name, "sha256": hashlib.file_digest(stream, "sha256").hexdigest()}
    except OSError as error:
        raise BadParameter(f"attach: {file} cannot be read: {error.strerror}.", parameter="attach") from error


def _end(key: Key) -> str:
    return f"until {key.expires_at}" if key.expires_at else "without an end"


def show_version(version: Version, as_json: bool) -> None:
    """A version that was just written."""
    from refdb.house import version_document

    if as_json:
        return printing.print_json(version_document(version))
    return click.echo(f"{version.id}: version {version.version}, {version.status}, by {version.entered_by}")


def show_versions(items: Sequence[Mapping[str, Any]]) -> None:
    """Versions as a table."""
    table = printing.grid("id", "version", "status", "of", "value", "by", "at", "reason")
    for item in items:
        entry = item["entry"] or {}
        said = f"{entry.get('value') or entry.get('points', '')} {entry.get('unit', '')}".strip() or "of an older form"
        table.add_row(
            item["id"],
            str(item["version"]),
            item["status"],
            f"{item['subject']}.{item['property']}",
            said,
            item["entered_by"],
            item["entered_at"],
            item["reason"] or "",
        )
    printing.show(f"{len(items)} version(s)", table)
