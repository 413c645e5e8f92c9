"""What the sheet of a job says, in the order in which an engineer reads it: the page and the terminal both print this.

Every uncertainty on a sheet is expanded, k = 2. Nothing here computes: every figure comes from the document.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.job.figures import decided, expanded, number, plain
from refdb.job.sheet.after import after_mounting
from refdb.job.sheet.flow import budget_parts, flow_parts, heat_parts
from refdb.job.sheet.parts import Cell, Drawing, Frame, Paragraph, Part, Points, Sheet, Tabulation
from refdb.job.sheet.sound import loss_table, pass_tables, wave_parts

CAUTION = "Before anything else"
COVERAGE = "Every uncertainty on this sheet is expanded (k = 2, about 95 %)."
VERDICTS = {"good": "good", "unknown": "find out", "mind": "MIND", "bad": "NOT SO"}


def contents(document: Mapping[str, Any]) -> Sheet:
    """The sheet of a whole job.

    Args:
        document: what `refdb.job.work_job` gave.
    """
    sheet = Sheet(document["title"])
    sheet.parts += _head(document)
    sheet.section("Section along the pipe", Drawing("section"))
    sheet.section("Around the pipe", Paragraph(_around(document["arrangement"])), Drawing("clock face"))
    sheet.section("Inputs", *_inputs(document))
    if document["pipe"] is not None:
        sheet.section("Pipe", *_pipe(document["pipe"]))
    if document["waves"] is not None:
        sheet.section("Waves", *wave_parts(document["waves"]))
    if document["spacing"] is not None:
        sheet.section("Spacing and times", *pass_tables(document))
        sheet.section("What the signal loses", *loss_table(document))
    if document["flow"] is not None:
        sheet.section("Flow", *flow_parts(document["flow"]))
    if document["heat"] is not None:
        sheet.section("Heat", *heat_parts(document["heat"]))
    if document["uncertainty"] is not None:
        sheet.section("Uncertainty of the flow", *budget_parts(document["uncertainty"]))
    sheet.section("Whether the place suits", _suitability(document))
    if document["mounted"] is not None:
        sheet.section("After mounting", *after_mounting(document["mounted"]))
    sheet.section("Assumptions", Points(document["assumptions"], "small"))
    sheet.section("Sources", Points(sources(document), "small", numbered=True))
    sheet.section("Release and rows", *_release(document))
    return sheet


def _head(document: Mapping[str, Any]) -> list[Part]:
    parts: list[Part] = [Paragraph(document["title"], "title")]
    if document["setting"]:
        parts.append(Paragraph(f"Setting: {document['setting']}"))
    if document["purpose"]:
        parts.append(Paragraph(f"Purpose: {document['purpose']}"))
    told = document["verdict"]
    parts.append(Frame(f"Verdict: {told['fitness']}", told["because"] or ["nothing speaks against it"], "verdict"))
    parts += [Paragraph(text, "short") for text in _short(document)]
    return [*parts, Frame(CAUTION, document["cautions"])]


def _short(document: Mapping[str, Any]) -> list[str]:
    """The results that are carried to the pipe, never without the verdict."""
    words = []
    worked = worked_on(document)
    if worked is not None:
        spread = expanded(worked["spacing"], worked["standard_uncertainty"])
        sides = "one side of the pipe" if document["arrangement"]["sides"] == "same" else "opposite sides of the pipe"
        passes = "1 pass" if worked["passes"] == 1 else f"{worked['passes']} passes"
        words.append(f"Spacing between the marks {spread}, {passes}, sensors on {sides}.")
        if worked["nearest_setting"] is not None:
            words.append(f"Nearest setting of the rail: {plain(worked['nearest_setting'])}.")
    budget = document["uncertainty"]
    if budget is not None:
        spread = expanded(budget["flow"], budget["standard_uncertainty"])
        relative = number(budget["relative_expanded_uncertainty"]["magnitude"], 2)
        words.append(f"Flow {spread}, which is {relative} %: {document['verdict']['fitness']}.")
    wanted = document["verdict"]["accuracy"]["wanted"]
    if wanted is not None:
        met = {True: "reached", False: "not reached", None: "not worked out"}[document["verdict"]["accuracy"]["met"]]
        words.append(f"Wanted of the flow: {plain(wanted, 3)}; {met}.")
    return [" ".join(words), COVERAGE]


def worked_on(document: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """What the spacing says of the number of passes that is asked for; None where there is no spacing."""
    if document["spacing"] is None:
        return None
    worked: Mapping[str, Any] = document["spacing"]["passes"][document["arrangement"]["passes"] - 1]
    return worked


def _inputs(document: Mapping[str, Any]) -> list[Part]:
    numbers = {words: place for place, words in enumerate(sources(document), 1)}
    rows = []
    for item in document["inputs"]:
        value, spread = _value(item)
        cited = tuple(dict.fromkeys(numbers[_cited(source)] for source in item["sources"]))
        rows.append((item["name"], value, spread, Cell(_origin(item), cited)))
    parts: list[Part] = [Tabulation(("Input", "Value", "± (k = 2)", "Where from"), rows, (1, 2))]
    length = document["arrangement"]["housing_length"]
    if length is not None:
        parts.append(Paragraph(f"Length of a housing: {plain(length)}."))
    return parts


def _value(item: Mapping[str, Any]) -> tuple[str, str]:
    """Value and expanded uncertainty; a bound has no value, only its ends."""
    bound = item["bound"]
    if bound is not None:
        return f"{plain(bound['low'])} to {plain(bound['high'])}", "bound"
    doubled = {**item["standard_uncertainty"], "magnitude": 2.0 * item["standard_uncertainty"]["magnitude"]}
    return decided(item["value"], doubled)


_ORIGINS = {"given": "given", "row": "row", "default": "taken for granted"}


def _origin(item: Mapping[str, Any]) -> str:
    words = item["text"] or _ORIGINS[item["origin"]]
    if item["row"] is not None and not words.startswith(row := f"row {item['row']['id']}"):
        words = row
    if item["origin"] == "default" and item["row"] is None:
        words += " (default)"
    if item["rung"] in {"analogue", "family", "memory"}:
        words += f", ESTIMATE ({item['rung']})"
    if item["bound"] is not None:
        words += f", BOUND: {item['bound']['why']}"
    return f"house value: {words}" if item["layer"] == "house" else words


def _around(arrangement: Mapping[str, Any]) -> str:
    """Where around the pipe the sensors go, in the hours of a clock seen along the flow."""
    orientation, seam = arrangement["orientation"], arrangement["seam"]
    if orientation in {"upward", "downward", "vertical"}:
        words = "anywhere around, off the plane of the last bend"
    else:
        words = "at 3 or 9 o'clock, within 45° of the horizontal diameter: gas gathers on top, sediment at the bottom"
    if seam != "none":
        words += "; off the seam"
    lies = "It is not told how the pipe runs" if orientation == "unknown" else f"The pipe runs {orientation}"
    told = "a seam is not told" if seam == "unknown" else f"seam: {seam}"
    return f"{lies}; {told}. Sensors go {words}."


def _pipe(pipe: Mapping[str, Any]) -> list[Part]:
    bore = expanded(pipe["bore"], pipe["bore_uncertainty"])
    area = expanded(pipe["area"], pipe["area_uncertainty"])
    words = (
        f"Outside diameter {plain(pipe['outside_diameter'])}, wall {plain(pipe['wall'])}, bore {bore}, area {area}; "
        f"grown by {plain(pipe['growth'], 3)} since its dimensions were taken."
    )
    parts: list[Part] = [Paragraph(words)]
    if pipe["candidates"] is not None:
        rows = [
            (f"{100 * item['probability']:.3g} %", item["text"], item["outcome"], item["row"] or "")
            for item in pipe["candidates"]["items"]
        ]
        parts += [
            Paragraph(f"What was measured may be (prior {pipe['candidates']['prior']}):"),
            Tabulation(("Probability", "Pipe", "Is", "Row"), rows, (0,)),
            Points(pipe["candidates"]["advice"], "small"),
        ]
    return parts


def _suitability(document: Mapping[str, Any]) -> Tabulation | None:
    if document["suitability"] is None:
        return None
    rows = [
        (item["about"], VERDICTS[item["verdict"]], item["text"], item["source"]) for item in document["suitability"]
    ]
    return Tabulation(("Look at", "", "Why", "Source"), rows)


def sources(document: Mapping[str, Any]) -> list[str]:
    """The documents behind the inputs, each once, as they come."""
    return list(dict.fromkeys(_cited(source) for item in document["inputs"] for source in item["sources"]))


def _cited(source: Mapping[str, Any]) -> str:
    copy = source.get("reproduced_in")
    seen = f"as reproduced in {copy}" if copy else None
    return ", ".join(filter(None, (source.get("citation"), seen, source.get("locator"))))


def _release(document: Mapping[str, Any]) -> list[Part]:
    words = f"Worked on release {document['release']} of refdb, {document['release_digest']}."
    return [Paragraph(words), Points([f"{row}: {digest}" for row, digest in document["rows"].items()], "small")]
