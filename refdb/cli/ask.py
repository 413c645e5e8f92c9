"""Commands that ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.options import json_option, layers_options, release_options, units_option
from refdb.database import MATCH_LIMIT, Database
from refdb.evidence.bibliography import bibtex, csl_items
from refdb.evidence.prov import prov_document
from refdb.liquids.measurement import LiquidQuestion
from refdb.lookup import ReleaseInfo
from refdb.lookup.state import read_state
from refdb.opening import open_database
from refdb.pipes.measurement import PipeQuestion
from refdb.problems import UnknownName
from refdb.values.options import read_options, read_unit_choices
from refdb.values.vocabularies import property_documents, refused_documents, unit_documents


def _opened(release: str | None, as_of: str | None) -> tuple[Database, ReleaseInfo]:
    database = open_database(release, as_of)
    return database, database.release()


@click.command("find")
@click.argument("text", nargs=-1, required=True)
@click.option("--limit", type=click.IntRange(1, 500), default=20, show_default=True, help="At most this many items.")
@release_options
@json_option
def find_command(text: tuple[str, ...], limit: int, release: str | None, as_of: str | None, as_json: bool) -> None:
    """Subjects, pipes and sources whose names or designations fit TEXT, best first.

    The only forgiving question: `exact` is said only of a designation that is TEXT but for spaces, hyphens and case.
    """
    database, _ = _opened(release, as_of)
    items = database.find(" ".join(text), limit)
    if as_json:
        return printing.print_json({"items": [item.document() for item in items]})
    if not items:
        raise UnknownName(f"Nothing resembles '{' '.join(text)}'; try another name or designation.")
    table = printing.grid("", "kind", "id", "name", "matched")
    for item in items:
        matched = f"{item.matched} ({item.designation_kind})"
        table.add_row("exact" if item.exact else "like", item.kind, item.id, item.name, matched)
    return printing.show(table)


@click.command("value")
@click.argument("subject")
@click.argument("properties_asked", metavar="[PROPERTY]...", nargs=-1)
@click.option("--temperature", metavar="QUANTITY", help="Such as '20 degC'. A liquid needs one.")
@click.option("--salinity", metavar="QUANTITY", help="Of sea water: '35 g/kg' absolute, or '35 psu' practical.")
@click.option("--strength", metavar="QUANTITY", help="Of a solution: '30 % mass', '30 % vol', '2 mol/kg'.")
@click.option("--pressure", metavar="QUANTITY", help="Absolute or gauge, such as '3 bar(g)'; 1 atm when not given.")
@click.option("--unit", multiple=True, metavar="PROPERTY:UNIT", help="Answer a property in a unit; may be repeated.")
@click.option("--condition", metavar="CONDITION", help="Such as annealed, where readings tell conditions apart.")
@click.option("--accept", metavar="estimates", help="Also give values that nobody published.")
@layers_options
@units_option
@release_options
@json_option
def value_command(
    subject: str,
    properties_asked: tuple[str, ...],
    temperature: str | None,
    pressure: str | None,
    salinity: str | None,
    strength: str | None,
    unit: tuple[str, ...],
    condition: str | None,
    accept: str | None,
    layers: str | None,
    house_url: str | None,
    unit_system: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
) -> None:
    """The properties of SUBJECT at a state, each with uncertainty, range, row and sources."""
    options = read_options(unit_system, read_unit_choices(list(unit)), accept, layers)
    state = read_state(temperature, pressure, salinity, strength)
    database, _ = _opened(release, as_of)
    if options.house:
        # SQLAlchemy is loaded by questions about house values alone.
        from refdb.house import House

        database = database.beside(House(house_url))
    found = database.values(subject, properties_asked, state=state, condition=condition, options=options)
    if as_json:
        return printing.print_json(found.document())
    return printing.show_values(found.values, found.refused)


@click.command("readings")
@click.argument("subject")
@click.argument("property_id", metavar="[PROPERTY]", required=False)
@click.option("--source", metavar="KEY", help="Only what this source says.")
@release_options
@json_option
def readings_command(
    subject: str,
    property_id: str | None,
    source: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
) -> None:
    """What each source says about SUBJECT, as printed."""
    database, info = _opened(release, as_of)
    items = database.readings(subject, property_id, source)
    if as_json:
        return printing.print_json({"release": info.label, "items": items})
    table = printing.grid("row", "printed", "temperature", "basis, seen", "source, locator", "flags")
    for item in items:
        table.add_row(*_reading_cells(item))
    return printing.show(f"{len(items)} reading(s), release {info.label}", table)


def _reading_cells(item: Mapping[str, Any]) -> tuple[str, ...]:
    return (
        item["row"]["id"],
        printing.printed_words(item),
        printing.temperature_words(item["state"]),
        f"{item['basis']}, {item['seen']}",
        f"{item['source']}, {item['locator']}",
        "; ".join(f"{flag['code']}: {flag['text']}" for flag in item.get("flags", [])),
    )


@click.command("pipe")
@click.argument("system")
@click.argument("size", required=False)
@click.argument("designation", required=False)
@click.option("--accept", metavar="estimates", help="Also give pipes that are only recalled, marked as such.")
@units_option
@release_options
@json_option
def pipe_command(
    system: str,
    size: str | None,
    designation: str | None,
    accept: str | None,
    unit_system: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
) -> None:
    """Dimensions of a pipe: `refdb pipe b36.10 "NPS 8" 40`. Without DESIGNATION, every wall of the size."""
    database, info = _opened(release, as_of)
    pipes = database.pipes(system, size, designation, read_options(unit_system, accept=accept))
    if as_json:
        return printing.print_json({"release": info.label, "items": [pipe.document() for pipe in pipes]})
    return printing.show_pipes(pipes)


@click.command("match-pipe")
@click.option("--circumference", metavar="QUANTITY", help="By a tape around the pipe, such as '690 mm'.")
@click.option("--outside-diameter", multiple=True, metavar="QUANTITY", help="By calipers; repeat it for every reading.")
@click.option("--wall", multiple=True, metavar="QUANTITY", help="By a thickness gauge; repeat it for every reading.")
@click.option("--material", metavar="MATERIAL", help="What the pipe is of, where that is known.")
@click.option("--system", metavar="SYSTEM", help="The pipe system, where that is known.")
@click.option("--wall-points", metavar="NUMBER", help="Of how many points a single wall reading is the mean.")
@click.option("--tape-thickness", metavar="QUANTITY", help="Of the tape; 0 to 0.2 mm when not given.")
@click.option("--coating", metavar="QUANTITY", help="Thickness of paint or coating; none when not given.")
@click.option("--lining", metavar="QUANTITY", help="Thickness of the lining, for the measured bore.")
@click.option("--circumference-uncertainty", metavar="QUANTITY", help="Standard uncertainty of the tape's reading.")
@click.option("--outside-diameter-uncertainty", metavar="QUANTITY", help="Standard uncertainty of the readings' mean.")
@click.option("--wall-uncertainty", metavar="QUANTITY", help="Standard uncertainty of the wall readings' mean.")
@click.option("--gauge-speed", metavar="QUANTITY", help="The speed the gauge was set to, such as '5920 m/s'.")
@click.option(
    "--material-speed", metavar="QUANTITY", help="Longitudinal speed of the pipe's material; its row's if not."
)
@click.option("--gauge-reads-coating", metavar="yes|no", help="Whether the wall holds the coating too; no by default.")
@click.option("--temperature", metavar="QUANTITY", help="Of the wall, such as '80 degC'.")
@click.option(
    "--limit", type=click.IntRange(1, 500), default=MATCH_LIMIT, show_default=True, help="At most so many items."
)
@click.option("--accept", metavar="estimates", help="Also match pipes that are only recalled, marked as such.")
@units_option
@release_options
@json_option
def match_pipe_command(
    limit: int,
    accept: str | None,
    unit_system: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
    **measured: Any,
) -> None:
    """Which pipes it can be, by what was measured: `refdb match-pipe --circumference "690 mm" --wall "8.1 mm"`."""
    database, _ = _opened(release, as_of)
    # click gives what may be repeated as a tuple, an empty one where it was not given.
    asked = PipeQuestion(**{name: given or None for name, given in measured.items()})
    found = database.match_pipe(asked, options=read_options(unit_system, accept=accept), limit=limit)
    return printing.print_json(found.document()) if as_json else printing.show_match(found)


@click.command("match-liquid")
@click.option("--sound-speed", metavar="QUANTITY", help="Of the liquid in the pipe, such as '1207 m/s'.")
@click.option("--temperature", metavar="QUANTITY", help="Of the liquid, such as '20 degC'; not with --liquid.")
@click.option("--pressure", metavar="QUANTITY", help="1 atm when not given, or saturation where the liquid needs it.")
@click.option("--salinity", metavar="QUANTITY", help="Of salty liquids; the one that fits best when not given.")
@click.option("--strength", metavar="QUANTITY", help="Of solutions; the one that fits best when not given.")
@click.option("--sound-speed-uncertainty", metavar="QUANTITY", help="Standard uncertainty, such as '3 m/s'.")
@click.option("--temperature-uncertainty", metavar="QUANTITY", help="Standard uncertainty, such as '0.5 K'.")
@click.option("--liquid", metavar="LIQUID", help="Ask at which temperature this liquid has the speed.")
@click.option("--solution", metavar="LIQUID", help="Ask at which strength or salinity this liquid has the speed.")
@click.option(
    "--limit", type=click.IntRange(1, 500), default=MATCH_LIMIT, show_default=True, help="At most so many liquids."
)
@click.option("--accept", metavar="estimates", help="Also match values that nobody published, marked as such.")
@units_option
@release_options
@json_option
def match_liquid_command(
    limit: int,
    accept: str | None,
    unit_system: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
    **measured: Any,
) -> None:
    """Which liquids have a measured sound speed: `refdb match-liquid --sound-speed "1482 m/s" --temperature "20 degC"`.

    With --liquid, at which temperature this liquid has the speed; with --solution, at which strength or salinity.
    """
    database, _ = _opened(release, as_of)
    options = read_options(unit_system, accept=accept)
    found = database.match_liquid(LiquidQuestion(**measured), options=options, limit=limit)
    document = printing.finite(found)
    return printing.print_json(document) if as_json else printing.show_liquid_match(document)


@click.command("lining")
@click.argument("system", required=False)
@click.argument("size", required=False)
@click.option("--material", metavar="MATERIAL", help="Only linings of this material, by exact name.")
@click.option("--accept", metavar="estimates", help="Also give linings that are only recalled, marked as such.")
@units_option
@release_options
@json_option
def lining_command(
    system: str | None,
    size: str | None,
    material: str | None,
    accept: str | None,
    unit_system: str | None,
    release: str | None,
    as_of: str | None,
    as_json: bool,
) -> None:
    """What standards line pipes of SYSTEM and SIZE with: `refdb lining en545 DN200`."""
    database, info = _opened(release, as_of)
    linings = database.linings(system, size, material, read_options(unit_system, accept=accept))
    if as_json:
        return printing.print_json({"release": info.label, "items": [lining.document() for lining in linings]})
    return printing.show_linings(linings)


@click.command("roughness")
@click.argument("material", required=False)
@units_option
@release_options
@json_option
def roughness_command(
    material: str | None, unit_system: str | None, release: str | None, as_of: str | None, as_json: bool
) -> None:
    """Roughness of the surfaces of MATERIAL, or of all. A name that is not known is refused, never guessed."""
    database, info = _opened(release, as_of)
    rows = database.roughness(material, read_options(unit_system))
    if as_json:
        return printing.print_json({"release": info.label, "items": [row.document() for row in rows]})
    return printing.show_roughness(rows)


@click.command("provenance")
@click.argument("row")
@click.option("--prov", "as_prov", is_flag=True, help="Print it in the words of W3C PROV, as PROV-JSON.")
@release_options
@json_option
def provenance_command(row: str, as_prov: bool, release: str | None, as_of: str | None, as_json: bool) -> None:
    """The chain from ROW to its sources: rule, readings as printed, weights, what was left out and why."""
    database, info = _opened(release, as_of)
    if as_prov:
        return printing.print_json(prov_document(database.store, row, info))
    document = database.provenance(row)
    return printing.print_json(document) if as_json else printing.show_provenance(document)


@click.command("cite")
@click.argument("rows", metavar="ROW...", nargs=-1, required=True)
@click.option(
    "--as", "form", type=click.Choice(("csl-json", "bibtex")), default="bibtex", show_default=True, help="The format."
)
@release_options
def cite_command(rows: tuple[str, ...], form: str, release: str | None, as_of: str | None) -> None:
    """The documents behind rows as a citation list, with the places in them that were used."""
    database, info = _opened(release, as_of)
    items = csl_items(database.store, rows, info)
    return printing.print_json(items) if form == "csl-json" else click.echo(bibtex(items), nl=False)


@click.command("history")
@click.argument("row")
@json_option
def history_command(row: str, as_json: bool) -> None:
    """Every version of ROW with the releases it spans."""
    document = open_database().history(row)
    if as_json:
        return printing.print_json(document)
    table = printing.grid("since", "until", "digest")
    for version in document["versions"]:
        table.add_row(version["since"], version["until"] or "", version["digest"])
    return printing.show(f"Row {row}", table)


@click.command("row")
@click.argument("row")
@release_options
@json_option
def row_command(row: str, release: str | None, as_of: str | None, as_json: bool) -> None:  # noqa: ARG001 - a record has one printed form
    """The record of ROW as it stands in a release, with its digest."""
    database, _ = _opened(release, as_of)
    return printing.print_json(database.row(row))


@click.command("sources")
@click.argument("key", required=False)
@release_options
@json_option
def sources_command(key: str | None, release: str | None, as_of: str | None, as_json: bool) -> None:
    """The published documents, or one of them: citation, where and how it was seen, rights."""
    database, info = _opened(release, as_of)
    if key is not None:
        return printing.print_json(database.source(key))
    items = database.sources()
    if as_json:
        return printing.print_json({"release": info.label, "items": items})
    table = printing.grid("key", "citation", "rights")
    for item in items:
        table.add_row(item["key"], item["citation"], item["rights"])
    return printing.show(table)


@click.command("properties")
@json_option
def properties_command(as_json: bool) -> None:
    """The properties: definition, dimension and units."""
    if as_json:
        return printing.print_json({"items": property_documents()})
    table = printing.grid("property", "of", "SI", "US", "definition")
    for item in property_documents():
        table.add_row(item["id"], ", ".join(item["applies_to"]), item["si"], item["us"], item["definition"])
    return printing.show(table)


@click.command("units")
@click.argument("dimension", required=False)
@json_option
def units_command(dimension: str | None, as_json: bool) -> None:
    """Every unit with every accepted spelling, or those of one DIMENSION; and what is refused, with the way out."""
    documents, refused = unit_documents(dimension), refused_documents(dimension)
    if as_json:
        return printing.print_json({"items": documents, "refused": refused})
    table = printing.grid("unit", "dimension", "UCUM", "also written", "assumed")
    for item in documents:
        table.add_row(
            item["symbol"],
            item["dimension"],
            item["ucum"],
            "  ".join(item["spellings"]),
            item["assume"] or "",
        )
    ambiguous = printing.grid("not accepted", "because", title="Refused")
    for entry in refused:
        ambiguous.add_row("  ".join(entry["spellings"]), entry["why"])
    return printing.show(table, ambiguous)


@click.command("releases")
@json_option
def releases_command(as_json: bool) -> None:
    """The releases, oldest first, with their digests; which of them is corrected by which, and why."""
    items = open_database().releases()
    if as_json:
        return printing.print_json({"items": [item.document() for item in items]})
    table = printing.grid("label", "cut on", "rows", "digest", "note")
    for item in items:
        table.add_row(item.label, item.cut_on, str(item.rows), item.digest, item.note)
    return printing.show(table, *(line for item in items for line in _release_lines(item)))


def _release_lines(release: ReleaseInfo) -> Iterator[str]:
    for cut in release.earlier_cuts:
        yield (
            f"{release.label}: also cut under this label: digest {cut.digest}, superseded on {cut.superseded_on}: "
            f"{cut.why}"
        )
    for one in release.corrects:
        yield f"{release.label}: corrects {one.release}: {one.what}"
    for one in release.corrected_by:
        yield f"{release.label}: corrected by {one.release}: {one.what}"
