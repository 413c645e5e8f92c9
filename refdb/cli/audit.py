"""Commands that look for what is suspicious: in the evidence of a release, and between two releases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.listing import Listing
from refdb.cli.options import json_option
from refdb.constants import STANDARD_ATMOSPHERE
from refdb.evidence.question import AuditQuestion, ChangesQuestion
from refdb.opening import open_database
from refdb.units.readable import readable

SHOWN = 20
WHY_SHOWN = 2
SUSPICIOUS = 2.0
"""Combined standard uncertainties beyond which a deviation is counted in the summary."""


@click.command("audit")
@asks(AuditQuestion)
@click.option(
    "--limit",
    type=click.IntRange(1, 10_000),
    default=SHOWN,
    show_default=True,
    help="Print at most this many lines of each list; the JSON document has them all.",
)
@json_option
def audit_command(asked: AuditQuestion, limit: int, as_json: bool) -> None:
    """What is suspicious in the evidence for `liquids`, `solids` or `pipes` (SCOPE), the most suspicious first.

    Readings far from what is recommended, readings with doubts, readings left out and why, and recommended values
    that a single lineage supports; of pipes, dimensions that documents print differently, and rows from memory.
    """
    document = open_database(asked.release, asked.as_of).audit(asked.scope)
    return printing.print_json(document) if as_json else show_audit(document, limit)


@click.command("changes")
@asks(ChangesQuestion, required=("since",))
@json_option
def changes_command(asked: ChangesQuestion, as_json: bool) -> None:
    """What release TO changed since release FROM, and by how much recommended values moved."""
    document = open_database().changes(asked.label, asked.since)
    return printing.print_json(document) if as_json else show_changes(document)


def show_audit(document: Mapping[str, Any], limit: int) -> None:
    """A summary in one line, then each list as a table, the most suspicious first."""
    show = printing.show
    lists = _PIPE_LISTS if document["scope"] == "pipes" else _LISTS
    show(f"Audit of {document['scope']}, release {document['release']}: {_audit_summary(document)}")
    for name, title, headings, cells in lists:
        entries = _entries(document, name)
        if not entries:
            continue
        table = Listing(headings, title)
        for entry in entries[:limit]:
            table.add_row(*cells(entry))
        hidden = len(entries) - limit
        show(table, *([f"… and {hidden} more; --limit {len(entries)} prints them all"] if hidden > 0 else []))


def _audit_summary(document: Mapping[str, Any]) -> str:
    counts = document["counts"]
    if document["scope"] == "pipes":
        return (
            f"{counts['flagged']} reading(s) flagged; {counts['disagreements']} dimension(s) printed differently; "
            f"{counts['left_out']} left out; {counts['recalled']} row(s) from memory"
        )
    far = [entry for entry in document["deviations"] if abs(entry["in_uncertainties"] or 0.0) > SUSPICIOUS]
    return (
        f"{counts['deviations']} reading(s) compared, {len(far)} of them beyond {SUSPICIOUS:g} combined standard "
        f"uncertainties; {counts['flagged']} flagged; {counts['left_out']} left out; {counts['single_lineage']} "
        f"recommended value(s) of a single lineage; {counts['not_compared']} not compared"
    )


def _entries(document: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
    """A list of the document; what was left out, or is suspicious, for its flag has been told with the flag."""
    entries: list[dict[str, Any]] = document.get(name, [])
    flagged = {entry["reading"]["id"] for entry in document["flagged"]}
    if name == "left_out":
        return [entry for entry in entries if entry["reading"]["id"] not in flagged]
    if name == "suspicions":
        return [entry for entry in entries if not flagged.issuperset(one["id"] for one in entry["readings"])]
    return entries


def _deviation_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    unit = entry["unit"]
    recommended, read = (readable(entry[which]["value"], unit, 7) for which in ("recommended", "read"))
    sign = "+" if entry["deviation"] >= 0.0 else ""
    relative = "" if entry["relative"] is None else f" ({100.0 * entry['relative']:+.2g} %)"
    role = entry["role"] if entry["independent"] else f"{entry['role']}, not independent"
    return (
        entry["reading"]["id"],
        f"{entry['source']['key']} ({entry['kind']}), {role}",
        state_words(entry["state"]),
        recommended,
        read,
        f"{sign}{readable(entry['deviation'], unit, 3)}{relative}",
        _measure(entry),
    )


def _flagged_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    flags = "; ".join(f"{flag['code']}: {flag['text']}" for flag in entry["flags"])
    return entry["reading"]["id"], _place(entry), flags, _measure(entry["deviation"])


def _left_out_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    return entry["reading"]["id"], _place(entry), entry["reason"], _measure(entry["deviation"])


def _suspicion_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    readings = ", ".join(reading["id"] for reading in entry["readings"])
    return readings, ", ".join(entry["sources"]), entry["code"], entry["text"]


def _single_lineage_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    told = f"{entry['basis']}, {entry['seen']}"
    return entry["row"]["id"], entry["lineage"], str(entry["readings"]), str(entry["left_out"]), told


def _not_compared_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    return entry["reading"]["id"], _place(entry), entry["reason"]


_LISTS: tuple[tuple[str, str, tuple[str, ...], Callable[[Mapping[str, Any]], Sequence[str]]], ...] = (
    (
        "deviations",
        "Readings against what is recommended, where they lie farthest apart",
        ("row", "reading", "at", "recommended", "read", "deviation", "uncertainties"),
        _deviation_cells,
    ),
    ("flagged", "Flagged", ("row", "source, locator", "doubt", "uncertainties"), _flagged_cells),
    (
        "left_out",
        "Left out for other reasons than a flag",
        ("row", "source, locator", "because", "uncertainties"),
        _left_out_cells,
    ),
    (
        "single_lineage",
        "Resting on a single lineage",
        ("row", "lineage", "readings", "left out", "basis, seen"),
        _single_lineage_cells,
    ),
    ("not_compared", "Not compared", ("row", "source, locator", "because"), _not_compared_cells),
    ("suspicions", "What laws and peers speak against", ("readings", "sources", "what", "because"), _suspicion_cells),
)


def _flagged_pipe_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    flags = "; ".join(f"{flag['code']}: {flag['text']}" for flag in entry["flags"])
    return entry["about"], _place(entry), flags


def _disagreement_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    one, other = (f"{reading['printed']} {reading['unit']} ({reading['source']})" for reading in entry["readings"])
    return entry["pipe"], entry["dimension"].replace("_", " "), one, other, f"{100.0 * entry['relative']:.2g} %"


def _left_out_pipe_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    return entry["reading"]["id"], _place(entry), entry["reason"]


def _recalled_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    return entry["row"]["id"], ", ".join(entry["readings"])


def _single_document_cells(entry: Mapping[str, Any]) -> Sequence[str]:
    return entry["system"], str(entry["rows"]), str(entry["alone"])


_PIPE_LISTS: tuple[tuple[str, str, tuple[str, ...], Callable[[Mapping[str, Any]], Sequence[str]]], ...] = (
    (
        "disagreements",
        "Printed differently, beyond rounding",
        ("pipe", "dimension", "one", "other", "apart"),
        _disagreement_cells,
    ),
    ("flagged", "Flagged", ("about", "source, locator", "doubt"), _flagged_pipe_cells),
    (
        "left_out",
        "Left out for other reasons than a flag",
        ("reading", "source, locator", "because"),
        _left_out_pipe_cells,
    ),
    ("single_document", "Seen in one document alone", ("system", "rows", "of one document"), _single_document_cells),
    ("recalled", "From memory", ("row", "readings"), _recalled_cells),
)


def _place(entry: Mapping[str, Any]) -> str:
    return f"{entry['source']['key']}, {entry['source']['locator']}"


def _measure(deviation: Mapping[str, Any] | None) -> str:
    if deviation is None:
        return ""
    if deviation["in_uncertainties"] is None:
        return "no uncertainty"
    return f"{deviation['in_uncertainties']:+.2g}"


def state_words(state: Mapping[str, Any]) -> str:
    """A state of a document in words: `26 degC, 1 atm`."""
    return ", ".join(_part_words(name, part) for name, part in state.items())


def _part_words(name: str, part: Mapping[str, Any]) -> str:
    if name != "pressure":
        return f"{part['magnitude']:.4g} {part['unit']}"
    return "1 atm" if part["magnitude"] == STANDARD_ATMOSPHERE else f"{part['magnitude'] / 1000.0:.4g} kPa"


def show_changes(document: Mapping[str, Any]) -> None:
    """A summary in one line, then what moved, the largest move first, then the names of the other rows."""
    table = Listing(("row", "where", "old", "new", "move", "uncertainties", "why"))
    for name, lines in _MOVED.items():
        for entry in document[name]:
            for line in lines(entry):
                table.add_row(entry["row"], *line, shortened(entry["why"]))
    others = [
        f"{name.capitalize()}: {', '.join(entry['row'] for entry in document[name])}"
        for name in ("added", "withdrawn", "corrected")
        if document[name]
    ]
    sources = [
        f"Document withdrawn on {one['on']}: {one['key']}: {one['reason']}" for one in document["withdrawn_sources"]
    ]
    reasons = [f"{entry['row']}: {shortened(entry['why'])}" for entry in document["withdrawn"] if entry["why"]]
    printing.show(_summary(document), *sources, *([table] if table.row_count else []), *others, *reasons)


def change_lines(document: Mapping[str, Any]) -> Iterator[str]:
    """The same, a line each and without a table: for thousands of rows."""
    yield _summary(document)
    for name, lines in _MOVED.items():
        for entry in document[name]:
            for where, old, new, move, measure in lines(entry):
                size = f", {measure} of its uncertainties" if measure else ""
                yield f"moved: {entry['row']}{f' at {where}' if where else ''}: {old} to {new} ({move}{size})"
    for name in ("added", "withdrawn", "corrected"):
        yield from (f"{name}: {entry['row']}" for entry in document[name])


def _summary(document: Mapping[str, Any]) -> str:
    words = {"moved": "value(s) moved", "moved_pipes": "pipe(s) moved", "moved_roughness": "roughness row(s) moved"}
    counts = ", ".join(f"{count} {words.get(name, name)}" for name, count in document["counts"].items())
    largest = next((entry for entry in document["moved"] if entry["move_in_uncertainties"]), None)
    most = ""
    if largest is not None:
        most = f"; at most by {abs(largest['move_in_uncertainties']):.2g} of its uncertainties ({largest['row']})"
    return f"From {document['from']} to {document['to']}: {counts}{most}"


def _value_lines(entry: Mapping[str, Any]) -> Iterator[Sequence[str]]:
    if entry["move"] is None:
        yield "", "", "", "not comparable", ""
        return
    old, new = (f"{entry[which]['value']:.8g} {entry['unit']}" for which in ("old", "new"))
    yield state_words(entry["state"]), old, new, f"{entry['move']:+.3g}", _measure_of_move(entry)


def _measure_of_move(entry: Mapping[str, Any]) -> str:
    measure = entry["move_in_uncertainties"]
    return "no uncertainty" if measure is None else f"{measure:+.2g}"


def _pipe_lines(entry: Mapping[str, Any]) -> Iterator[Sequence[str]]:
    moved = [one for one in entry["dimensions"] if one["move"] != 0.0]
    for one in moved:
        move = "" if one["move"] is None else f"{one['move']:+.4g}"
        old, new = (
            f"{one[which]} {one['unit']}" if one[which] is not None else "not printed" for which in ("old", "new")
        )
        yield one["dimension"].replace("_", " "), old, new, move, ""
    if not moved:
        yield "", "", "", "none", ""


def _roughness_lines(entry: Mapping[str, Any]) -> Iterator[Sequence[str]]:
    old, new = (f"{entry[which]['value']:.4g} {entry['unit']}" for which in ("old", "new"))
    ratio = "" if entry["ratio"] is None else f" (× {entry['ratio']:.3g})"
    yield "", old, new, f"{entry['move']:+.3g}{ratio}", ""


_MOVED: dict[str, Callable[[Mapping[str, Any]], Iterable[Sequence[str]]]] = {
    "moved": _value_lines,
    "moved_pipes": _pipe_lines,
    "moved_roughness": _roughness_lines,
}


def shortened(reasons: list[str]) -> str:
    """The first reasons, and how many more there are."""
    hidden = len(reasons) - WHY_SHOWN
    return "; ".join(reasons[:WHY_SHOWN]) + (f"; and {hidden} more" if hidden > 0 else "")
