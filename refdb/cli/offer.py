"""Commands for offering a value to the reference."""

from __future__ import annotations

from pathlib import Path

import click

from refdb.opening import open_database


@click.group("offer")
def offer_group() -> None:
    """Offering a published value to the reference: a form that two people fill in, and its validation."""


@offer_group.command("form")
def form_command() -> None:
    """Print a blank form."""
    from refdb.house.offer import FORM

    click.echo(FORM, nl=False)


@offer_group.command("check")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--to", type=click.Path(path_type=Path), metavar="FOLDER", help="Write it as a document below FOLDER.")
def check_offer_command(file: Path, to: Path | None) -> None:
    """Validate the form FILE: citation, locators, units, and that both people keyed the same."""
    from refdb.house.offer import check_offer, write_offer

    offer = check_offer(file, open_database())
    ids = ", ".join(cells["id"] for cells in offer.readings)
    click.echo(f"{offer.key}: in order; {len(offer.readings)} reading(s): {ids}")
    if to is not None:
        click.echo(f"Written to {write_offer(offer, to)}.")
