"""Commands for who enters documents: begin one, see what it would move, have it read a second time."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refdb.cli.maintain import TEXT_HELP, text_root
from refdb.cli.options import Command, json_option
from refdb.cli.progress import progress_shown

if TYPE_CHECKING:
    from refdb.transcription.preview import Preview
    from refdb.transcription.second_reading import EnteredDocument, SecondReading

DIFFERENT = 1
SHOWN = 20


def text_option(command: Command) -> Command:
    """`--text`: the folder of the text."""
    return click.option("--text", default=".", metavar="FOLDER", help=TEXT_HELP)(command)


@click.group("source")
def source_group() -> None:
    """Entering documents, in a checkout of refdb: begin one, see what it would move, have it read a second time."""


@source_group.command("new")
@click.argument("key", metavar="KEY|DOI")
@click.option("--group", default="read", show_default=True, help="By how it is seen; sources/README.md explains.")
@click.option("--table", default="readings", show_default=True, help="The table to begin with.")
@click.option("--record", type=click.Path(path_type=Path), metavar="FILE", help="CSL-JSON to take the citation from.")
@text_option
def new_command(key: str, group: str, table: str, record: Path | None, text: str) -> None:
    """Begin a document: a folder with a source.toml to fill in and a table with its header.

    KEY says who, when and, if need be, what: doe-1987-tubes. A DOI gets its key from the record, or from itself.
    """
    from refdb.transcription.scaffold import new_document

    root = text_root(text)
    folder = new_document(root, key, group, table, record, _today())
    click.echo(f"Made {folder.relative_to(root)}. Fill in source.toml and the table, then:")
    click.echo(f"  refdb source preview {folder.name}   # tells every fault, then what it would move")
    click.echo("Columns: shared/docs/source-tables.md. Subjects that are new go into shared/subjects/.")


@source_group.command("preview")
@click.argument("key")
@text_option
@json_option
def preview_command(key: str, text: str, as_json: bool) -> None:
    """What document KEY would move, were a release cut today: which rows, by how much, why, beside other readings.

    Every fault of the text is told first, all at once. Nothing is written.
    """
    from refdb.cli import printing
    from refdb.ledger.folders import folder_of
    from refdb.release import draft_release
    from refdb.transcription.preview import preview

    root = text_root(text)
    folder_of(root, key)
    with progress_shown() as progress:
        draft = draft_release(root, progress)
    found = preview(draft, key)
    if as_json:
        return printing.print_json(
            {"key": found.key, "changes": found.changes, "rows": found.rows, "unused": found.unused}
        )
    for line in _preview_lines(found):
        click.echo(line)
    return None


def _preview_lines(found: Preview) -> Iterator[str]:
    from refdb.cli.audit import change_lines
    from refdb.evidence.printed import printed_words

    yield from change_lines(found.changes)
    moved = [*found.changes["moved"], *found.changes["moved_pipes"], *found.changes["moved_roughness"]]
    why = {entry["row"]: entry["why"] for entry in moved}
    for row in found.rows:
        yield ""
        yield f"{row.row}: {row.value or 'dimensions'} (rule {row.rule})"
        if why.get(row.row):
            yield f"  because {'; '.join(why[row.row])}"
        for one in row.beside[:SHOWN]:
            mark = "*" if one.own else " "
            source = one.reading.get("source", "a row of its own")
            words = printed_words(one.reading) if "source" in one.reading else one.reading["id"]
            yield f"  {mark} {words}: {one.became} [{source}]"
        if len(row.beside) > SHOWN:
            yield f"    and {len(row.beside) - SHOWN} more"
    if found.rows:
        yield ""
        yield f"Readings of {found.key} are marked *."
    for reading, reason in found.unused.items():
        yield f"Goes into no row: {reading}: {reason}"


@source_group.command("check")
@click.argument("key")
@click.option(
    "--carrier",
    "place",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="Where a pinned carrier is: its file, folder, git directory, wheel; an installed package needs none.",
)
@click.option("--by", metavar="NAME", help="The second person, who keys the numbers again from the print.")
@click.option(
    "--keyed", type=click.Path(path_type=Path), metavar="FILE", help="What that person keyed: reading,place,number."
)
@click.option("--show", is_flag=True, help="Only list what was entered, with its place in the document.")
@text_option
def check_command(key: str, place: Path | None, by: str | None, keyed: Path | None, show: bool, text: str) -> int:
    """Have document KEY read a second time, and write down who or what did it, when and against what.

    Without --by, its pinned carriers are read again and every number is compared. With --by, a second person is asked
    for each number without being shown the one that was entered. Readings with a number that differs, or that was not
    found, are not written down. Exit code 1 when a number differs.
    """
    from refdb.ledger import load_ledger
    from refdb.release.vocabulary import compile_vocabulary
    from refdb.transcription.rereading import reread
    from refdb.transcription.second_reading import document_of, keyed_again, read_keyed, write_down

    root = text_root(text)
    ledger = load_ledger(root, compile_vocabulary(root))
    document = document_of(ledger, root, key)
    if show:
        return _show(document)
    if by is not None:
        numbers = read_keyed(keyed) if keyed is not None else dict(_asked(document))
        readings = [keyed_again(document, by, numbers)]
    else:
        readings = reread(document, ledger, place)
    for reading in readings:
        _tell(reading)
    for words in write_down(document, readings, _today()):
        click.echo(f"Written down: {words}.")
    return DIFFERENT if any(reading.different for reading in readings) else 0


def _show(document: EnteredDocument) -> int:
    from refdb.records.numbers import numbers_of

    for reading in document.readings:
        click.echo(f"{reading.id} ({reading.locator})")
        for number in numbers_of(reading):
            click.echo(f"  {number.place}: {number.text}")
    return 0


def _asked(document: EnteredDocument) -> Iterator[tuple[tuple[str, str], str]]:
    """Ask for every number of a document; an empty answer passes over it, and `stop` ends."""
    from refdb.records.numbers import numbers_of

    click.echo("Key what the print says. Enter alone passes over a number, `stop` ends.")
    for reading in document.readings:
        unit = getattr(reading, "unit", "")
        click.echo(f"{reading.locator}: {reading.name_printed or reading.id}, {_what(reading.plain())} {unit}".rstrip())
        for number in numbers_of(reading):
            answer = click.prompt(f"  {number.place}", default="", show_default=False).strip()
            if answer == "stop":
                return
            if answer:
                yield (reading.id, number.place), answer


def _what(record: Mapping[str, object]) -> str:
    named = (record.get(name) for name in ("property", "pipe", "surface", "tolerance", "lining"))
    return str(next((one for one in named if one is not None), "")).replace("_", " ")


def _tell(reading: SecondReading) -> None:
    total = reading.numbers + len(reading.different) + len(reading.missing)
    click.echo(f"Against {reading.against} ({reading.how}): {reading.numbers} numbers equal, in whole readings.")
    for one in reading.different[:SHOWN]:
        click.echo(f"  differs: {one.number.reading} {one.number.place}: entered {one.number.text}, there {one.found}")
    for one in reading.missing[:SHOWN]:
        click.echo(f"  not found: {one.number.reading} {one.number.place}: {one.number.text}")
    left = max(0, len(reading.different) - SHOWN) + max(0, len(reading.missing) - SHOWN)
    if left:
        click.echo(f"  and {left} more of {total}")


def _today() -> str:
    return datetime.datetime.now(datetime.UTC).date().isoformat()
