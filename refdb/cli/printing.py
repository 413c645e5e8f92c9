"""Printing for people and for machines."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import click

from refdb.units import Quantity, significant, units, with_uncertainty
from refdb.values.finite import require_finite

if TYPE_CHECKING:
    from rich.table import Table

    from refdb.pipes.lining import LiningAnswer
    from refdb.pipes.match import PipeMatch
    from refdb.pipes.outcomes import PipeMatchItem
    from refdb.pipes.pipe import PipeAnswer
    from refdb.pipes.roughness import RoughnessAnswer
    from refdb.pipes.tolerance import ToleranceAnswer
    from refdb.values.documents import ReleaseSays
    from refdb.values.value import Answer

PLAIN_WIDTH = 120


def print_json(document: Any) -> None:
    """The document as indented JSON.

    Raises:
        NotFinite: a number of it is not finite.
    """
    require_finite(document)
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


Told = TypeVar("Told", covariant=True)


class Answered(Protocol[Told]):
    """What was asked for, with its document."""

    def document(self) -> Told:
        """The answer as plain JSON values."""
        ...


def finite(found: Answered[Told]) -> Told:
    """The document of an answer that was calculated from what people measured, to be printed.

    Raises:
        NotFinite: a number of it is not finite.
    """
    document = found.document()
    require_finite(document)
    return document


def grid(*headings: str, title: str | None = None) -> Table:
    """An empty table."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, title=title, title_justify="left", pad_edge=False)
    for heading in headings:
        table.add_column(heading, overflow="fold", no_wrap=heading == "row")
    return table


def show(*parts: Any) -> None:
    """Print tables and lines; the width of the terminal, or a fixed one where there is none."""
    from rich.console import Console

    console = Console(highlight=False, soft_wrap=False, markup=False)
    if not console.is_terminal:
        console.width = PLAIN_WIDTH
    for part in parts:
        console.print(part)


def show_values(answers: list[Answer], refused: Sequence[Mapping[str, Any]]) -> None:
    """Values of one subject: a table, then range, sources, assumptions and refusals."""
    first = answers[0]
    table = grid("property", "value ± standard uncertainty", "valid", "rung, basis, seen", "row")
    for item in answers:
        fixed = item.text.fixed
        valid = "; ".join(f"{name} {low} to {high}" for name, (low, high) in fixed["valid_range"].items())
        standing = f"{fixed['rung']}, {fixed['basis']}, {fixed['seen']}"
        table.add_row(
            item.property_id,
            item.words,
            valid,
            standing,
            item.row,
        )
    subject = first.text.subject
    lines = [f"{subject['name']} ({subject['id']}) at {_state_words(first)}, release {first.release}"]
    notes = list(dict.fromkeys(f"Assumed: {text}" for item in answers for text in item.assumptions))
    notes += list(dict.fromkeys(text for item in answers for text in item.warnings))
    refusals = [_refusal(detail, names) for detail, names in _by_detail(refused).items()]
    show(
        *lines,
        table,
        *_bound_lines(answers),
        *_frequency_lines(answers),
        *_layer_lines(answers),
        *_source_lines([source for item in answers for source in item.sources]),
        *notes,
        *refusals,
    )


def _bound_lines(answers: list[Answer]) -> Iterator[str]:
    """Why there is no more than a bound."""
    for item in answers:
        if item.limits is not None:
            yield f"Bound, not a value: {item.property_id}: {item.text.fixed['uncertainty_basis']['text']}"


def _frequency_lines(answers: list[Answer]) -> Iterator[str]:
    """Where in frequency a speed holds that rises with it."""
    for item in answers:
        told = item.text.fixed.get("frequency")
        if told is not None:
            yield (
                f"Frequency: {item.property_id} is told for {told['number']} {told['unit']} and covers {told['low']} "
                f"to {told['high']} {told['unit']}; it rises by {told['per_decade']} % a decade"
            )


def _layer_lines(answers: list[Answer]) -> Iterator[str]:
    """Which answers are house values, and what the release says beside them."""
    for item in answers:
        document = item.document()
        if "house" in document and "release_says" in document:
            house, words = document["house"], _released_words(document["release_says"])
            people = f"entered by {', '.join(house['entered_by'])}, reviewed by {house['reviewed_by']}"
            yield (
                f"House value: {item.property_id} is version {house['version']}, {people}; release {item.release} "
                f"says {words}"
            )
        yield from (text for text in document["warnings"] if text not in item.warnings)


def _released_words(says: ReleaseSays) -> str:
    released, problem = says["answer"], says["problem"]
    if released is not None:
        value, uncertainty = released["value"], released["standard_uncertainty"]
        if value is None or uncertainty is None:
            return "no more than a bound"
        return f"{value['magnitude']:g} ± {uncertainty['magnitude']:.2g} {value['unit']}"
    return f"nothing ({problem['detail']})" if problem is not None else "nothing"


def _by_detail(refused: Sequence[Mapping[str, Any]]) -> dict[str, list[str]]:
    """The properties that were refused, by the sentence that refuses them: several often share one."""
    names: dict[str, list[str]] = {}
    for entry in refused:
        names.setdefault(entry["problem"]["detail"], []).append(entry["property"])
    return names


def _refusal(detail: str, names: list[str]) -> str:
    """One line for a refusal; a sentence that begins with its property need not repeat it."""
    return f"Refused: {detail}" if detail.startswith(names[0]) else f"Refused ({', '.join(names)}): {detail}"


def show_pipes(pipes: list[PipeAnswer]) -> None:
    """Pipes: size, designations and dimensions, with the standing caution."""
    table = grid("size", "designation", "outside diameter", "wall", "bore", "row")
    for pipe in pipes:
        body = pipe.record.body
        size = ", ".join(f"{word} {text}" for word, text in body["size"].items())
        words = ", ".join(body["designations"]) or "none printed"
        wall, bore = (str(pipe.wall), str(pipe.bore)) if pipe.printed_wall is not None else ("", "")
        table.add_row(size, words, str(pipe.outside_diameter), wall, bore, pipe.id)
    document = pipes[0].document()
    system = document["system"]
    title = f"{system['name']}, edition {system['edition']}, release {pipes[0].release}"
    sources = [source for pipe in pipes for source in pipe.sources]
    notes = list(dict.fromkeys(f"Assumed: {text}" for pipe in pipes for text in pipe.assumptions))
    show(title, table, *_tolerance_lines(pipes), *_source_lines(sources), *notes, *document["warnings"])


def _tolerance_lines(pipes: list[PipeAnswer]) -> list[str]:
    """The limits of one pipe as numbers; of several, the rules by which they follow."""
    limits = [limit for pipe in pipes for limit in pipe.tolerance.values() if limit is not None]
    if len(pipes) == 1:
        return [f"Tolerance ({limit.document()['standard']}): {_limits(limit)}" for limit in limits]
    texts = (f"Tolerance ({told['standard']}): {told['text']}" for told in (limit.document() for limit in limits))
    return list(dict.fromkeys(texts))


def _limits(limit: ToleranceAnswer) -> str:
    minus = f"minus {limit.minus}" if limit.minus is not None else "minus not told"
    plus = (
        "no upper limit"
        if limit.plus_unlimited
        else f"plus {limit.plus}"
        if limit.plus is not None
        else "plus not told"
    )
    return f"{limit.document()['text']} ({minus}, {plus})"


def show_match(match: PipeMatch) -> None:
    """What a measured pipe can be: a table, then words, assumptions and the standing caution."""
    from refdb.pipes.match_words import names_words

    told = finite(match)
    table = grid("probability", "outside diameter", "wall", "bore, from the limits", "names", "row")
    for item, words in zip(match.items, told["items"], strict=True):
        pipe = item.pipe
        row = pipe.id if pipe is not None and item.outcome == "pipe" else ""
        outside = str(pipe.outside_diameter) if pipe is not None else ""
        bore = words["bore"]["nominal"]
        nominal = uncertain(bore) if bore is not None else ""
        names = names_words(match, item)
        table.add_row(f"{item.probability:.3f}", outside, _wall_words(item), nominal, names, row)
    unlisted = [f"Not listed: {match.unlisted:.3f}"] if match.unlisted >= 0.0005 else []
    prior = told["prior"]
    show(
        f"Measured {_measured(told['measured'])}, release {match.release}",
        table,
        *unlisted,
        *match.advice,
        *(f"Assumed: {text}" for text in told["assumptions"]),
        f"Prior {prior['name']}: {prior['text']}",
        f"Model: {prior['model']}",
        *told["warnings"],
    )


def _wall_words(item: PipeMatchItem) -> str:
    if item.outcome == "size":
        return "not measured"
    if item.outcome == "worn":
        return "worn or other"
    return str(item.pipe.printed_wall or "none printed") if item.pipe is not None else ""


def _measured(told: Mapping[str, Any]) -> str:
    named = ((name.replace("_", " "), value) for name, value in told.items() if value is not None)
    return ", ".join(f"{name} {uncertain(value)}" for name, value in named)


def uncertain(told: Mapping[str, Any]) -> str:
    """A quantity of a document with its standard uncertainty."""
    unit = units().find(told["value"]["unit"])
    value, uncertainty = (Quantity(told[key]["magnitude"], unit) for key in ("value", "standard_uncertainty"))
    return with_uncertainty(value, uncertainty)


def show_liquid_match(told: Mapping[str, Any]) -> None:
    """What a measured sound speed says: liquids that agree, or the places where one liquid has it."""
    table = _agreeing_liquids(told) if told["sought"] == "liquid" else _places(told)
    speed = uncertain(told["measured"]["sound_speed"])
    at = told["measured"]["temperature"]
    state = f" at {_held(at['value'])} ± {at['standard_uncertainty']['magnitude']:g} K" if at is not None else ""
    about = f" in {told['subject']['name']}" if "subject" in told else ""
    keys = dict.fromkeys(source["key"] for item in told["items"] for source in item.get("sources", []))
    sources = _source_lines(told["sources"]) if "sources" in told else [f"Sources: {', '.join(keys) or 'none'}"]
    left_out = [f"Left out ({entry['count']}): {entry['text']}." for entry in told.get("left_out", [])]
    show(
        f"Measured {speed}{state}{about}, release {told['release']}",
        *([table] if told["items"] else []),
        *told["advice"],
        *left_out,
        *sources,
        *(f"Assumed: {text}" for text in told["assumptions"]),
        f"Model: {told['model']}",
        *told["warnings"],
    )


def _agreeing_liquids(told: Mapping[str, Any]) -> Table:
    table = grid("liquid", "value ± standard uncertainty", "difference", "deviation", "likelihood", "rung", "row")
    for item in told["items"] + told["near_misses"]["items"]:
        fitting = item["best_fitting"]
        name = item["subject"]["name"] + (f", {fitting} {_held(item['state'][fitting])}" if fitting else "")
        table.add_row(
            name if item["agrees"] else f"near miss: {name}",
            uncertain(item),
            f"{item['difference']['magnitude']:+.3g} {item['difference']['unit']}",
            f"{item['deviation']:+.2f}",
            f"{item['likelihood']:.2g}",
            item["rung"],
            item["row"]["id"],
        )
    return table


def _places(told: Mapping[str, Any]) -> Table:
    table = grid(told["sought"], "from (k = 2)", "to (k = 2)", "change of the speed", "row")
    for item in told["items"]:
        ends = (_held(item["low"]), _held(item["high"]), "", told["row"]["id"])
        if not item["roots"]:
            table.add_row("nowhere exactly", *ends)
        for root in item["roots"]:
            slope = f"{root['slope']['magnitude']:+.3g} {root['slope']['unit']}"
            spread = f" ± {_step(root['standard_uncertainty'])}" if item["sensitive"] else ", not sensitive"
            table.add_row(f"{_held(root['at'])}{spread}", *ends[:2], slope, ends[3])
    return table


def _held(told: Mapping[str, Any]) -> str:
    """A part of a state in few digits, a strength in percent."""
    if told["unit"] == "kg/kg":
        return f"{100.0 * told['magnitude']:.4g} % mass"
    return f"{told['magnitude']:.5g} {told['unit']}"


def _step(told: Mapping[str, Any]) -> str:
    """A difference between states, in two digits."""
    if told["unit"] == "kg/kg":
        return f"{100.0 * told['magnitude']:.2g} % mass"
    return f"{told['magnitude']:.2g} {told['ucum']}"


def show_linings(linings: list[LiningAnswer]) -> None:
    """Linings: standard, material, pipes and thickness."""
    table = grid("standard", "material", "side", "pipes", "thickness", "least", "row")
    for lining in linings:
        told = lining.document()
        ends = " to ".join(str(end) for end in lining.printed_range or ())
        table.add_row(
            told["standard"],
            told["material"],
            told["side"],
            told["pipes"],
            str(lining.thickness) if lining.thickness is not None else ends,
            str(lining.minimum or ""),
            lining.id,
        )
    sources = [source for lining in linings for source in lining.sources]
    show(f"Linings, release {linings[0].release}" if linings else "No linings", table, *_source_lines(sources))


def show_roughness(rows: list[RoughnessAnswer]) -> None:
    """Roughness of surfaces: value, printed range, row and sources."""
    table = grid("surface", "roughness", "printed range", "row")
    for row in rows:
        surface = row.document()["surface"]["name"]
        span = " to ".join(map(str, row.printed_range)) if row.printed_range else "a single value"
        table.add_row(surface, str(row.value), span, row.id)
    show(
        f"Release {rows[0].release}",
        table,
        *_source_lines([source for row in rows for source in row.sources]),
    )


def _state_words(item: Answer) -> str:
    state = item.evaluated.state
    parts = [
        f"{significant(state.celsius):g} degC" if state.celsius is not None else "",
        f"{significant(state.pascals) / 1000.0:g} kPa" if state.pascals is not None else "",
        f"{significant(state.salinity):g} g/kg" if state.salinity is not None else "",
        f"{100.0 * significant(state.strength):g} % mass" if state.strength is not None else "",
    ]
    return ", ".join(filter(None, parts))


def _source_lines(sources: Sequence[Mapping[str, Any]]) -> list[str]:
    """One line per document, with every locator used."""
    locators: dict[str, dict[str, None]] = {}
    told: dict[str, str] = {}
    for source in sources:
        locators.setdefault(source["key"], {}).update(dict.fromkeys(source["locator"].split("; ")))
        told[source["key"]] = f"{source['citation']}. {_seen_in(source)}"
    return [f"Source {key}: {told[key]} {'; '.join(places)}." for key, places in locators.items()]


def _seen_in(source: Mapping[str, Any]) -> str:
    copy = source.get("reproduced_in")
    return f"As reproduced in {copy}, at" if copy else "At"


def safe(text: str) -> str:
    """A text in which nothing is taken for markup."""
    from rich.markup import escape

    return escape(text)
