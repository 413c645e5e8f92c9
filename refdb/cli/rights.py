"""Commands about what may be passed on: documents by rights, and a release as a file."""

from __future__ import annotations

from pathlib import Path

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.options import json_option
from refdb.evidence.export import FORMATS, export
from refdb.evidence.question import ExportQuestion, RightsQuestion
from refdb.evidence.rights import rights
from refdb.opening import open_database


@click.command("rights")
@asks(RightsQuestion)
@json_option
def rights_command(asked: RightsQuestion, as_json: bool) -> None:
    """The documents by what the copies allow in which they were seen: copyleft, database right, no licence, ..."""
    database = open_database(asked.release, asked.as_of)
    document = rights(database.store, database.release())
    if as_json:
        return printing.print_json(document)
    for one in document["classes"]:
        click.echo(f"{one['rights']}: {len(one['documents'])} document(s). {one['means']}")
        for told in one["documents"]:
            copies = "; ".join(f"{copy['copy']} ({copy['licence']})" for copy in told["copies"])
            click.echo(f"  {told['key']}{f': {copies}' if copies else ''}")
    return None


@click.command("export")
@asks(ExportQuestion)
@click.option("--format", "form", type=click.Choice(FORMATS), default="json", show_default=True, help="Of the file.")
@click.option("--to", required=True, type=click.Path(path_type=Path), metavar="FILE", help="New file.")
def export_command(asked: ExportQuestion, form: str, to: Path) -> None:
    """Write every record of a release to a file, or those that do without some classes of rights."""
    database = open_database(asked.release, asked.as_of)
    kept = export(database.store, database.release(), form, to, asked.without)
    left_out = ", ".join(f"{count} of kind {kind}" for kind, count in kept.left_out.items())
    click.echo(f"{to}: {len(kept.records)} records{f'; left out: {left_out}' if left_out else ''}.")
