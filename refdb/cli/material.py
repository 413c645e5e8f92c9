"""Commands about a material by what was measured on a piece of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.options import json_option
from refdb.materials.question import MatchMaterialQuestion, UnlistedMaterialQuestion
from refdb.opening import open_database
from refdb.values.options import options_of


@click.command("match-material")
@asks(MatchMaterialQuestion)
@json_option
def match_material_command(asked: MatchMaterialQuestion, as_json: bool) -> None:
    """Which materials it can be: `refdb match-material --longitudinal-speed "5740 m/s" --shear-speed "3120 m/s"`."""
    database = open_database(asked.release, asked.as_of)
    found = database.match_material(asked, options=options_of(asked), limit=asked.limit)
    document = printing.finite(found)
    return printing.print_json(document) if as_json else _show_match(document)


@click.command("unlisted-material")
@asks(UnlistedMaterialQuestion)
@json_option
def unlisted_material_command(asked: UnlistedMaterialQuestion, as_json: bool) -> None:
    """What follows for an alloy in no list: `refdb unlisted-material --like stainless-316 --density "8.1 g/cm3"`.

    Or with --family, or with --composition; whatever was measured on it narrows the rest.
    """
    database = open_database(asked.release, asked.as_of)
    found = database.unlisted_material(asked, options=options_of(asked))
    document = printing.finite(found)
    return printing.print_json(document) if as_json else _show_unlisted(document)


def _show_match(told: Mapping[str, Any]) -> None:
    names = list(told["measured"])
    headings = (f"{name.replace('_', ' ')}: value, deviation" for name in names)
    table = printing.grid("material", *headings, "chi²", "likelihood")
    for item in told["items"] + told["near_misses"]:
        name = item["subject"]["id"]
        cells = [
            f"{printing.uncertain(one)}, {one['deviation']:+.2f}"
            + ("" if one["rung"] == "published" else f" ({one['rung']})")
            for one in item["compared"]
        ]
        table.add_row(
            name if item["agrees"] else f"near miss: {name}",
            *cells,
            f"{item['chi_squared']:.3g}",
            f"{item['likelihood']:.2g}",
        )
    measured = "; ".join(f"{name} {printing.uncertain(one)}" for name, one in told["measured"].items())
    left_out = [f"Left out ({entry['count']}): {entry['text']}." for entry in told["left_out"]]
    printing.show(
        f"Measured at {told['temperature']['magnitude']:g} degC: {measured}, release {told['release']}",
        *([table] if told["items"] or told["near_misses"] else []),
        *told["advice"],
        *left_out,
        *(f"Assumed: {text}" for text in told["assumptions"]),
        f"Model: {told['model']}",
        *told["warnings"],
    )


def _show_unlisted(told: Mapping[str, Any]) -> None:
    table = printing.grid("property", "value ± standard uncertainty", "before measuring", "measured")
    for one in told["values"]:
        table.add_row(
            one["property"],
            printing.uncertain(one),
            printing.uncertain(one["before"]),
            printing.uncertain(one["measured"]) if one["measured"] is not None else "",
        )
    keep = [one["keep"] for one in told["values"] if "keep" in one]
    kind = told["kind"]
    printing.show(
        f"{kind['words']} ({len(kind['members'])} members), at {told['temperature']['magnitude']:g} degC, release "
        f"{told['release']}",
        table,
        f"Chi-squared {told['chi_squared']:.3g}: what was measured {'fits' if told['fits'] else 'does not fit'}.",
        *told["advice"],
        *(["To keep a value:", *keep] if keep else []),
        *(f"Assumed: {text}" for text in told["assumptions"]),
        f"Model: {told['model']}",
        *told["warnings"],
    )
