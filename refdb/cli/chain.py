"""The chain from a row to its sources as people read it: a paragraph, and a tree."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from refdb.cli.printing import safe, show
from refdb.evidence.printed import printed_words
from refdb.records.working import bare_number
from refdb.units.readable import percent, readable

DIGITS = 12
"""Significant digits of a number of a working: as many as any has."""


def show_provenance(document: Mapping[str, Any], *, full: bool = False) -> None:
    """The paragraph, then the chain as an indented tree, then what else rests on its documents.

    Args:
        full: print what each rule does in full, once.
    """
    from rich.tree import Tree

    chain = document["chain"]
    tree = Tree(safe(_step_line(chain)))
    _Branches(full).grow(tree, chain)
    total = document["rests_on_this_total"]
    resting = ", ".join(entry["row"] for entry in document["rests_on_this"][:8])
    tail = [f"{total} row(s) of the release rest on it: {resting}{'…' if total > 8 else ''}"] if total else []
    for source in document["sources"]:
        also = ", ".join(source["also_rest_on_it"][:8]) + ("…" if source["total"] > 8 else "")
        if source["total"]:
            tail.append(f"{source['total']} other row(s) rest on {source['key']}: {also}")
    show(" ".join(document["summary"]), "", f"Release {document['release']}", tree, *tail)


class _Branches:
    """Grows a tree; what a rule does is told where the rule is met first."""

    def __init__(self, full: bool) -> None:
        self._full = full
        self._told: set[str] = set()

    def grow(self, tree: Any, step: Mapping[str, Any]) -> None:
        """Add what stands below a step."""
        if "rule" in step:
            tree.add(safe(self._rule_line(step["rule"])))
            for entry, text in working_words(step):
                tree.add(safe(f"{entry.replace('_', ' ')}: {text}"))
        elif "source" in step:
            for line in (*reading_words(step), *source_words(step)):
                tree.add(safe(line))
        for entry in step.get("inputs", []):
            branch = tree.add(safe(f"went in: {_entry_line(entry)}"))
            if "rule" in entry:
                self.grow(branch, entry)
        for entry in step.get("left_out", []):
            tree.add(safe(f"left out: {_entry_line(entry)}: {entry['reason']}"))

    def _rule_line(self, rule: Mapping[str, Any]) -> str:
        if rule["name"] in self._told:
            return f"rule {rule['name']}"
        self._told.add(rule["name"])
        if self._full:
            return f"rule {rule['name']}: {rule['method']} [{rule['published']}]"
        return f"rule {rule['name']}: {rule['sentence']}"


def working_words(step: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The entries of a working, with the units of their numbers."""
    units = step["working_units"]
    for entry, text in step["working"].items():
        found = bare_number(text)
        if entry not in units or found is None:
            yield entry, text
        else:
            yield entry, _number_words(float(found[0]), units[entry], step["result"]["unit"]) + found[1]


def _number_words(number: float, unit: str, of_row: str) -> str:
    """A number of a working; without unit it is a part of the value, but in a row that has no unit itself."""
    return percent(number, DIGITS) if unit == "1" != of_row else readable(number, unit, DIGITS)


def _step_line(step: Mapping[str, Any]) -> str:
    result = step.get("result", {})
    uncertainty = result.get("uncertainty")
    stated = f", standard uncertainty {_uncertainty_words(uncertainty)}" if uncertainty else ""
    standing = f"; {result['rung']}, {result['basis']}, {result['seen']}" if "rung" in result else ""
    return f"{step['row']['id']} ({step['kind']}{stated}{standing}) {step['row']['digest'][:19]}…"


def _uncertainty_words(uncertainty: Mapping[str, Any]) -> str:
    return readable(float(uncertainty["number"]), uncertainty["unit"], DIGITS)


def _entry_line(entry: Mapping[str, Any]) -> str:
    told = [entry["row"]["id"]]
    if "source" in entry:
        told += [*reading_words(entry), *source_words(entry)]
    for key in ("value", "standard_uncertainty"):
        if key in entry:
            told.append(f"{key.replace('_', ' ')} {readable(float(entry[key]), entry.get('value_unit', '1'), DIGITS)}")
    told += [f"{key} {entry[key]}" for key in ("weight", "note") if key in entry]
    return "; ".join(told)


def reading_words(reading: Mapping[str, Any]) -> Iterator[str]:
    """What a reading prints, in SI, and how it was corrected."""
    converted: Mapping[str, Any] | None = reading["converted"]
    si = ""
    if converted is not None and converted["by"] != "as printed":
        si = f" = {readable(converted['magnitude'], converted['unit'])}"
    yield f"printed {printed_words(reading['printed'])}{si}"
    for one in reading["corrections"]:
        yield f"corrected to {one['corrected']} ({one['status']}: {one['reason']})"


def source_words(reading: Mapping[str, Any]) -> Iterator[str]:
    """The document of a reading: its citation and the place in it, how and where it was seen, who wrote it down."""
    source = reading["source"]
    yield f"{source.get('citation', source['key'])}, {reading['locator']}"
    if "seen_at" not in source:
        yield f"{reading['basis']}, seen as {reading['seen']}"
        return
    yield f"{reading['basis']}, seen as {reading['seen']} on {source['seen_on']} at {source['seen_at']}"
    if "reproduced_in" in source:
        yield f"in the copy: {source['reproduced_in']}"
    yield f"transcribed by {source['transcribed_by']}, checked by {source['checked_by'] or 'nobody yet'}"
