"""Commands that ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.chain import show_provenance
from refdb.cli.options import house_url_option, json_option
from refdb.evidence.bibliography import bibtex, csl_items
from refdb.evidence.printed import printed_words, temperature_words
from refdb.evidence.prov import prov_document
from refdb.evidence.question import CitationsQuestion, HistoryQuestion, ReadingsQuestion, RowQuestion, SourceQuestion
from refdb.liquids.question import MatchLiquidQuestion
from refdb.lookup import ReleaseInfo
from refdb.lookup.state import read_state
from refdb.opening import open_database
from refdb.pipes.question import LiningsQuestion, MatchPipeQuestion, PipesQuestion, RoughnessQuestion
from refdb.problems import UnknownName
from refdb.values.options import options_of
from refdb.values.question import FindQuestion, UnitsQuestion, ValuesQuestion
from refdb.values.vocabularies import property_documents, refused_documents, unit_documents


@click.command("find")
@asks(FindQuestion)
@json_option
def find_command(asked: FindQuestion, as_json: bool) -> None:
    """Subjects, pipes and sources whose names or designations fit TEXT, best first.

    The only forgiving question: `exact` is said only of a designation that is TEXT but for spaces, hyphens and case.
    """
    items = open_database(asked.release, asked.as_of).find(asked.q, asked.limit)
    if as_json:
        return printing.print_json({"items": [item.document() for item in items]})
    if not items:
        raise UnknownName(f"Nothing resembles '{asked.q}'; try another name or designation.")
    table = printing.grid("", "kind", "id", "name", "matched")
    for item in items:
        matched = f"{item.matched} ({item.designation_kind})"
        table.add_row("exact" if item.exact else "like", item.kind, item.id, item.name, matched)
    return printing.show(table)


@click.command("value")
@asks(ValuesQuestion)
@house_url_option
@json_option
def value_command(asked: ValuesQuestion, house_url: str | None, as_json: bool) -> None:
    """The properties of SUBJECT at a state, each with uncertainty, range, row and sources."""
    options = options_of(asked)
    state = read_state(asked.temperature, asked.pressure, asked.salinity, asked.strength)
    database = open_database(asked.release, asked.as_of)
    if options.house:
        # SQLAlchemy is loaded by questions about house values alone.
        from refdb.house import House

        database = database.beside(House(house_url))
    found = database.values(asked.subject, asked.property, state=state, condition=asked.condition, options=options)
    if as_json:
        return printing.print_json(found.document())
    return printing.show_values(found.values, found.refused)


@click.command("readings")
@asks(ReadingsQuestion)
@json_option
def readings_command(asked: ReadingsQuestion, as_json: bool) -> None:
    """What each source says about SUBJECT, as printed."""
    database = open_database(asked.release, asked.as_of)
    items = database.readings(asked.subject, asked.property, asked.source)
    if as_json:
        return printing.print_json({"release": database.release().label, "items": items})
    table = printing.grid("row", "printed", "temperature", "basis, seen", "source, locator", "flags")
    for item in items:
        table.add_row(*_reading_cells(item))
    return printing.show(f"{len(items)} reading(s), release {database.release().label}", table)


def _reading_cells(item: Mapping[str, Any]) -> tuple[str, ...]:
    return (
        item["row"]["id"],
        printed_words(item),
        temperature_words(item["state"]),
        f"{item['basis']}, {item['seen']}",
        f"{item['source']}, {item['locator']}",
        "; ".join(f"{flag['code']}: {flag['text']}" for flag in item.get("flags", [])),
    )


@click.command("pipe")
@asks(PipesQuestion, required=("system",))
@json_option
def pipe_command(asked: PipesQuestion, as_json: bool) -> None:
    """Dimensions of a pipe: `refdb pipe b36.10 "NPS 8" 40`. Without DESIGNATION, every wall of the size."""
    database = open_database(asked.release, asked.as_of)
    pipes = database.pipes(asked.system, asked.size, asked.designation, options_of(asked))
    if as_json:
        return printing.print_json({"release": database.release().label, "items": [pipe.document() for pipe in pipes]})
    return printing.show_pipes(pipes)


@click.command("match-pipe")
@asks(MatchPipeQuestion)
@json_option
def match_pipe_command(asked: MatchPipeQuestion, as_json: bool) -> None:
    """Which pipes it can be, by what was measured: `refdb match-pipe --circumference "690 mm" --wall "8.1 mm"`."""
    database = open_database(asked.release, asked.as_of)
    found = database.match_pipe(asked, options=options_of(asked), limit=asked.limit)
    return printing.print_json(found.document()) if as_json else printing.show_match(found)


@click.command("match-liquid")
@asks(MatchLiquidQuestion)
@json_option
def match_liquid_command(asked: MatchLiquidQuestion, as_json: bool) -> None:
    """Which liquids have a measured sound speed: `refdb match-liquid --sound-speed "1482 m/s" --temperature "20 degC"`.

    With --liquid, at which temperature this liquid has the speed; with --solution, at which strength or salinity.
    """
    database = open_database(asked.release, asked.as_of)
    found = database.match_liquid(asked, options=options_of(asked), limit=asked.limit)
    document = printing.finite(found)
    return printing.print_json(document) if as_json else printing.show_liquid_match(document)


@click.command("lining")
@asks(LiningsQuestion)
@json_option
def lining_command(asked: LiningsQuestion, as_json: bool) -> None:
    """What standards line pipes of SYSTEM and SIZE with: `refdb lining en545 DN200`."""
    database = open_database(asked.release, asked.as_of)
    linings = database.linings(asked.system, asked.size, asked.material, options_of(asked))
    if as_json:
        return printing.print_json(
            {"release": database.release().label, "items": [lining.document() for lining in linings]}
        )
    return printing.show_linings(linings)


@click.command("roughness")
@asks(RoughnessQuestion, without=("unit",))
@json_option
def roughness_command(asked: RoughnessQuestion, as_json: bool) -> None:
    """Roughness of the surfaces of MATERIAL, or of all. A name that is not known is refused, never guessed."""
    database = open_database(asked.release, asked.as_of)
    rows = database.roughness(asked.material, options_of(asked))
    if as_json:
        return printing.print_json({"release": database.release().label, "items": [row.document() for row in rows]})
    return printing.show_roughness(rows)


@click.command("provenance")
@asks(RowQuestion)
@click.option("--prov", "as_prov", is_flag=True, help="Print it in the words of W3C PROV, as PROV-JSON.")
@click.option("--full", is_flag=True, help="Print in full what each rule does and where that is published.")
@json_option
def provenance_command(asked: RowQuestion, as_prov: bool, full: bool, as_json: bool) -> None:
    """The chain from ROW to its sources: rule, readings as printed, weights, what was left out and why.

    It begins with a paragraph that says the same in plain sentences.
    """
    database = open_database(asked.release, asked.as_of)
    if as_prov:
        return printing.print_json(prov_document(database.store, asked.row, database.release()))
    document = database.provenance(asked.row)
    return printing.print_json(document) if as_json else show_provenance(document, full=full)


@click.command("cite")
@asks(CitationsQuestion)
@click.option(
    "--as", "form", type=click.Choice(("csl-json", "bibtex")), default="bibtex", show_default=True, help="The format."
)
def cite_command(asked: CitationsQuestion, form: str) -> None:
    """The documents behind rows as a citation list, with the places in them that were used."""
    database = open_database(asked.release, asked.as_of)
    items = csl_items(database.store, asked.rows, database.release())
    return printing.print_json(items) if form == "csl-json" else click.echo(bibtex(items), nl=False)


@click.command("history")
@asks(HistoryQuestion)
@json_option
def history_command(asked: HistoryQuestion, as_json: bool) -> None:
    """Every version of ROW with the releases it spans."""
    document = open_database().history(asked.row)
    if as_json:
        return printing.print_json(document)
    table = printing.grid("since", "until", "digest")
    for version in document["versions"]:
        table.add_row(version["since"], version["until"] or "", version["digest"])
    return printing.show(f"Row {asked.row}", table)


@click.command("row")
@asks(RowQuestion)
@json_option
def row_command(asked: RowQuestion, as_json: bool) -> None:  # noqa: ARG001 - a record has one printed form
    """The record of ROW as it stands in a release, with its digest."""
    return printing.print_json(open_database(asked.release, asked.as_of).row(asked.row))


@click.command("sources")
@asks(SourceQuestion)
@json_option
def sources_command(asked: SourceQuestion, as_json: bool) -> None:
    """The published documents, or one of them: citation, where and how it was seen, rights."""
    database = open_database(asked.release, asked.as_of)
    if asked.key is not None:
        return printing.print_json(database.source(asked.key))
    items = database.sources()
    if as_json:
        return printing.print_json({"release": database.release().label, "items": items})
    table = printing.grid("key", "citation", "rights", "its copies")
    for item in items:
        copies = sorted({carrier["rights"] for carrier in item.get("carriers", [])})
        table.add_row(item["key"], item["citation"], item["rights"], ", ".join(copies))
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
@asks(UnitsQuestion)
@json_option
def units_command(asked: UnitsQuestion, as_json: bool) -> None:
    """Every unit with every accepted spelling, or those of one DIMENSION; and what is refused, with the way out."""
    documents, refused = unit_documents(asked.dimension), refused_documents(asked.dimension)
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
