"""Commands that print tables."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.options import json_option
from refdb.liquids.question import StrengthQuestion
from refdb.onsite.ask import speed_on_site
from refdb.onsite.question import MeasureSpeedQuestion
from refdb.opening import open_database
from refdb.units import significant
from refdb.values.finite import require_finite
from refdb.values.options import options_of
from refdb.values.question import MaterialsQuestion, TableQuestion
from refdb.values.table import MATERIAL_PROPERTIES, materials_table, table_of

if TYPE_CHECKING:
    from refdb.onsite.documents import (
        LiquidSpeedInput,
        MeasuredInput,
    )


@click.command("table")
@asks(TableQuestion, without=("layers",))
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values, one line for each state.")
@json_option
def table_command(asked: TableQuestion, as_csv: bool, as_json: bool) -> None:
    """A printable table of SUBJECT: one line for each step of a range, and columns where there are two ranges."""
    database = open_database(asked.release, asked.as_of)
    document = table_of(
        database.reader,
        asked.subject,
        asked.property,
        asked.ranges(),
        condition=asked.condition,
        options=options_of(asked),
    ).document()
    if as_json:
        return printing.print_json(document)
    return click.echo(_csv(_long(document)), nl=False) if as_csv else _show(document)


@click.command("materials")
@asks(MaterialsQuestion, without=("unit", "layers"))
@click.option("--csv", "as_csv", is_flag=True, help="Print comma-separated values, one line for each material.")
@json_option
def materials_command(asked: MaterialsQuestion, as_csv: bool, as_json: bool) -> None:
    """The whole list of materials: both speeds, density, slope, uncertainty, row and sources."""
    database = open_database(asked.release, asked.as_of)
    label = database.release().label
    lines = materials_table(database.reader, options=options_of(asked))
    if as_json:
        return printing.print_json({"release": label, "items": lines})
    if as_csv:
        return click.echo(_csv(_material_lines(lines)), nl=False)
    table = printing.grid("material", "cL", "cS", "density", "sources")
    for line in lines:
        told = [_cell_words(line[name]) for name in MATERIAL_PROPERTIES]
        table.add_row(f"{line['name']} ({line['id']})", *told, ", ".join(line["sources"]))
    named = ", ".join(MATERIAL_PROPERTIES)
    return printing.show(
        f"{len(lines)} materials, release {label}; value ± standard uncertainty. The row of a value is the material's "
        f"id, a point and the property: {named}.",
        table,
    )


def _cell_words(cell: Mapping[str, Any] | None) -> str:
    if cell is None:
        return ""
    if cell["limits"] is not None:
        low, high = cell["limits"]
        return f"between {low:.4g} and {high:.4g} {cell['unit']} (bound)"
    words = f"{cell['value']:.5g} ± {cell['standard_uncertainty']:.2g} {cell['unit']}"
    slope = f", {cell['slope']:+.2g} per K" if cell["slope"] is not None else ""
    rung = "" if cell["rung"] == "published" else f" ({cell['rung']})"
    return f"{words}{slope}{rung}"


def _material_lines(lines: Sequence[Mapping[str, Any]]) -> list[list[Any]]:
    parts = ("value", "standard_uncertainty", "limits", "unit", "slope", "rung", "row")
    heading = ["id", "name", "family", *(f"{name} {part}" for name in MATERIAL_PROPERTIES for part in parts), "sources"]
    rows: list[list[Any]] = [heading]
    for line in lines:
        cells: list[Any] = []
        for name in MATERIAL_PROPERTIES:
            cell = line[name]
            cells += ["" if cell is None else cell["row"]["id"] if part == "row" else cell[part] for part in parts]
        rows.append([line["id"], line["name"], line["family"], *cells, " ".join(line["sources"])])
    return rows


def _show(document: Mapping[str, Any]) -> None:
    down, across = document["down"], document["across"]
    subject = document["subject"]
    state = "".join(f", {name} {text}" for name, text in document["state"].items())
    printing.show(f"{subject['name']} ({subject['id']}){state}, release {document['release']}")
    for part in document["tables"]:
        unit = "" if part["unit"] == "1" else f", {part['unit']}"
        columns = [f"{x:g}" for x in across["magnitudes"]] if across is not None else ["value ± standard uncertainty"]
        title = f"{part['property']}{unit}; row {part['row']['id']}"
        if across is not None:
            title += f"; across: {across['name']}, {across['unit']}"
        table = printing.grid(f"{down['name']}, {down['unit']}", *columns, title=title)
        for place, x in enumerate(down["magnitudes"]):
            cells = zip(
                part["values"][place],
                part["standard_uncertainties"][place],
                part["status"][place],
                _limits(part, place),
                strict=True,
            )
            table.add_row(f"{x:g}", *(_value_words(*cell, alone=across is None) for cell in cells))
        refused = [f"Refused ({entry['count']}): {entry['problem']['detail']}" for entry in part["refused"]]
        uncertainties = [
            uncertainty for line in part["standard_uncertainties"] for uncertainty in line if uncertainty is not None
        ]
        uncertainty = (
            [f"Standard uncertainty: {min(uncertainties):.2g} to {max(uncertainties):.2g}{unit}"]
            if uncertainties and across
            else []
        )
        printing.show(table, *uncertainty, *refused, *(f"Assumed: {text}" for text in part["assumptions"]))
    if document["refused"]:
        printing.show(*(f"Refused: {item['problem']['detail']}" for item in document["refused"]))


def _limits(part: Mapping[str, Any], place: int) -> list[tuple[float | None, float | None]]:
    """Both ends of the bounds in one line of a table; None where there are values."""
    if not part["limits"]:
        return [(None, None)] * len(part["status"][place])
    return list(zip(part["limits"]["low"][place], part["limits"]["high"][place], strict=True))


def _value_words(
    value: float | None,
    uncertainty: float | None,
    status: str,
    limits: tuple[float | None, float | None],
    *,
    alone: bool,
) -> str:
    low, high = limits
    if low is not None and high is not None:
        return f"between {low:.4g} and {high:.4g}"
    if value is None or uncertainty is None:
        return status
    return f"{value:.7g} ± {uncertainty:.2g}" if alone else f"{significant(value, 6):g}"


def _long(document: Mapping[str, Any]) -> list[list[Any]]:
    down, across = document["down"], document["across"]
    axes = [f"{axis['name']} ({axis['unit']})" for axis in (down, across) if axis is not None]
    numbers_told = ["value", "standard uncertainty", "low", "high"]
    lines: list[list[Any]] = [["property", *axes, *numbers_told, "unit", "status", "row", "release"]]
    for part in document["tables"]:
        for place, x in enumerate(down["magnitudes"]):
            for column, value in enumerate(part["values"][place]):
                at = [x] if across is None else [x, across["magnitudes"][column]]
                uncertainty, status = part["standard_uncertainties"][place][column], part["status"][place][column]
                numbers = (value, uncertainty, *_limits(part, place)[column])
                told = ["" if number is None else number for number in numbers]
                lines.append(
                    [part["property"], *at, *told, part["unit"], status, part["row"]["id"], document["release"]]
                )
    return lines


def _csv(lines: list[list[Any]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(lines)
    return out.getvalue()


@click.command("strength")
@asks(StrengthQuestion)
@json_option
def strength_command(asked: StrengthQuestion, as_json: bool) -> None:
    """The STRENGTH of a solution on other bases: '40 % ABV', '2 mol/kg', or the density that was measured.

    Through the densities and molar masses of the release: refdb strength ethanol-water '40 % ABV' --to '% mass'.
    """
    database = open_database(asked.release, asked.as_of)
    found = database.strength(asked.subject, asked.strength, temperature=asked.temperature, to=asked.to)
    document = printing.finite(found)
    if as_json:
        return printing.print_json(document)
    given, share, uncertainty = document["given"], document["mass_fraction"], document["standard_uncertainty"]
    spread = f" ± {100.0 * uncertainty['magnitude']:.2g}" if uncertainty["magnitude"] else ""
    table = printing.grid("strength", "unit", "is the")
    for entry in document["strengths"]:
        table.add_row(f"{entry['magnitude']:.6g}", entry["unit"], entry["meaning"])
    return printing.show(
        f"{document['subject']['name']}, {given['magnitude']:g} {given['unit']} ({given['meaning']}): "
        f"{100.0 * share['magnitude']:.6g}{spread} % mass, release {document['release']}",
        table,
        *(f"{entry['unit']} cannot be told: {entry['reason']}" for entry in document["refused"]),
    )


@click.command("measure-speed")
@asks(MeasureSpeedQuestion, without=("release", "as_of"))
@json_option
def measure_speed_command(asked: MeasureSpeedQuestion, as_json: bool) -> None:
    """A speed measured on site, with its uncertainty.

    In a solid part of known thickness from the time of its echoes, after ASTM E494; in a liquid from its travel time
    over a known path, or against water in the same vessel.
    """
    database = open_database()
    found = speed_on_site(database.reader, asked, database.release())
    document = found.document()
    require_finite(document)
    if as_json:
        return printing.print_json(document)
    table = printing.grid("input", "value", "standard uncertainty", "contributes")
    inputs: Sequence[MeasuredInput | LiquidSpeedInput] = document["inputs"]
    for entry in inputs:
        told = (entry["value"], entry["standard_uncertainty"], entry["contribution"])
        table.add_row(entry["input"], *(f"{part['magnitude']:.4g} {part['unit']}" for part in told))
    return printing.show(f"Speed: {found} (standard uncertainty)", table, document["method"], *document["advice"])
