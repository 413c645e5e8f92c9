"""The sheet of a job, put together in the order in which an engineer reads a calculation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from refdb.job.figures import decided, joined, number, plain
from refdb.job.sheet import markup
from refdb.job.sheet.after import after_mounting
from refdb.job.sheet.chart import chart
from refdb.job.sheet.drawing import drawing
from refdb.job.sheet.factor_chart import factor_chart
from refdb.job.sheet.sources import Sources
from refdb.job.warnings import warnings_of

CAUTION = "Before anything else"
NO_DRAWING = "No drawing: there is no spacing to draw; what is refused says why."
CROSSED = "No drawing: the sensors would cross over at this number of passes."


def page(document: Mapping[str, Any]) -> str:
    """A job's document as a printable page of HTML, which loads nothing and runs nothing.

    Args:
        document: what `refdb.job.work_job` gave, in SI or US units.
    """
    sources = Sources()
    parts: list[Markup | None] = [
        _head(document),
        markup.box(CAUTION, document["cautions"]),
        _short(document),
        *_minded(document),
        *_drawn(document),
        *_inputs(document, sources),
        *_waves(document),
        *_spacing(document),
        *_flow(document),
        *_heat(document),
        *_budget(document),
        *_suitability(document),
        *after_mounting(document["mounted"]),
        *_listed("Assumptions", document["assumptions"]),
        *sources.listed(),
        *_release(document),
        markup.SIGNATURE,
    ]
    return markup.document(document["title"], markup.PAPER[document["units"]], parts)


def _head(document: Mapping[str, Any]) -> Markup:
    lines = [markup.paragraph(f"Setting: {document['setting']}")] if document["setting"] else []
    if document["purpose"]:
        lines.append(markup.paragraph(f"Purpose: {document['purpose']}"))
    return Markup("<h1>{}</h1>{}").format(document["title"], Markup("").join(lines))


def _short(document: Mapping[str, Any]) -> Markup:
    """The results that are carried to the pipe."""
    words = []
    worked = _worked_on(document)
    if worked is not None:
        spread = joined(worked["spacing"], worked["standard_uncertainty"])
        sides = "one side of the pipe" if document["arrangement"]["sides"] == "same" else "opposite sides of the pipe"
        passes = "1 pass" if worked["passes"] == 1 else f"{worked['passes']} passes"
        words.append(f"Spacing between the marks {spread} (standard), {passes}, sensors on {sides}.")
        if worked["nearest_setting"] is not None:
            words.append(f"Nearest setting of the rail: {plain(worked['nearest_setting'])}.")
    budget = document["uncertainty"]
    if budget is not None:
        _, expanded = decided(budget["flow"], budget["expanded_uncertainty"])
        relative = number(budget["relative_expanded_uncertainty"]["magnitude"], 2)
        factor = f"k\u00a0=\u00a0{budget['coverage_factor']:g}"
        words.append(f"Flow {plain(budget['flow'])} ± {expanded}, which is {relative} % (expanded, {factor}).")
    return markup.paragraph(" ".join(words), "short")


def _worked_on(document: Mapping[str, Any]) -> Mapping[str, Any] | None:
    if document["spacing"] is None:
        return None
    passes = document["arrangement"]["passes"]
    worked: Mapping[str, Any] = next(item for item in document["spacing"]["passes"] if item["passes"] == passes)
    return worked


def _minded(document: Mapping[str, Any]) -> list[Markup | None]:
    refused = [f"Refused ({item['step']}): {item['problem']['detail']}" for item in document["refused"]]
    texts = refused + warnings_of(document)
    if not texts:
        return []
    return [markup.heading("To mind"), Markup('<div class="mind">{}</div>').format(markup.points(texts))]


def _drawn(document: Mapping[str, Any]) -> list[Markup | None]:
    drawn = drawing(document)
    if drawn is None:
        drawn = markup.paragraph(NO_DRAWING if document["spacing"] is None else CROSSED)
    return [Markup('<div class="keep">{}{}</div>').format(markup.heading("Section along the pipe"), drawn)]


def _inputs(document: Mapping[str, Any], sources: Sources) -> list[Markup | None]:
    rows = [
        (item["name"], *decided(item["value"], item["standard_uncertainty"]), sources.origin(item))
        for item in document["inputs"]
    ]
    told = markup.table(("Input", "Value", "Standard uncertainty", "Where from"), rows, (1, 2))
    return [markup.heading("Inputs"), told, *_candidates(document["pipe"])]


def _candidates(pipe: Mapping[str, Any] | None) -> list[Markup | None]:
    """The pipes that what was measured may be."""
    if pipe is None or pipe["candidates"] is None:
        return []
    texts = [item["text"] for item in pipe["candidates"]["items"]]
    return [markup.paragraph("What was measured may be:"), markup.points(texts, "small")]


def _waves(document: Mapping[str, Any]) -> list[Markup | None]:
    waves = document["waves"]
    if waves is None:
        return []
    angles = [f"{layer['layer']} {plain(layer['angle'], 4)} ({layer['mode']})" for layer in waves["layers"]]
    words = f"Angles to the normal: {', '.join([*angles, 'liquid ' + plain(waves['liquid_angle'], 4)])}."
    travels = {True: "travels", False: "does not travel", None: "unknown"}
    rows = [
        (
            " and ".join(filter(None, (item["wall_wave"], item["lining_wave"]))),
            travels[item["travels"]] + (", worked on" if item["worked_on"] else ""),
            plain(item["speed"]),
            plain(item["angle"], 4),
            plain(item["spacing"], 4),
            plain(item["total_time"]),
        )
        for item in waves["arrivals"]
    ]
    heads = ("Wave in wall (and lining)", "", "Speed in wall", "Angle in wall", "Spacing", "Time")
    return [
        markup.heading("Waves"),
        markup.paragraph(words),
        markup.table(heads, rows, (2, 3, 4, 5)),
    ]


def _spacing(document: Mapping[str, Any]) -> list[Markup | None]:
    spacing = document["spacing"]
    if spacing is None:
        return []
    rows = []
    for item in spacing["passes"]:
        amount, uncertainty = decided(item["spacing"], item["standard_uncertainty"])
        rows.append(
            (
                str(item["passes"]),
                amount,
                uncertainty,
                plain(item["nearest_setting"]) or "–",
                plain(item["total_time"]),
                plain(item["time_difference_per_velocity"], 4),
                _loss(item["loss"]),
                item["remark"] or "",
            )
        )
    heads = ("Passes", "Spacing", "Std. unc.", "Rail", "Total time", "Difference per velocity", "Loss", "Remark")
    chosen = document["arrangement"]["passes"] - 1
    return [
        markup.heading("Spacing and times"),
        markup.table(heads, rows, range(1, 7), chosen),
        *_as_set(spacing["as_set"]),
    ]


def _loss(loss: Mapping[str, Any] | None) -> str:
    if loss is None:
        return "–"
    low, high = number(loss["low"]["magnitude"], 2), number(loss["high"]["magnitude"], 2)
    return f"{low} dB" if low == high else f"{low} to {high} dB"


def _as_set(told: Mapping[str, Any] | None) -> list[Markup | None]:
    if told is None:
        return []
    return [markup.paragraph(f"As set: {plain(told['apart'], 3)} from the spacing above; {told['text']}.")]


def _flow(document: Mapping[str, Any]) -> list[Markup | None]:
    flow = document["flow"]
    if flow is None:
        return []
    rows = [
        (
            item["name"],
            plain(item["volume_flow"]),
            plain(item["velocity"], 4),
            number(item["reynolds"], 3),
            item["regime"],
            f"{item['profile_factor']:.4f} ± {item['profile_factor_uncertainty']:.4f}",
            plain(item["time_difference"], 4),
        )
        for item in flow["points"]
    ]
    heads = ("Flow", "Volume flow", "Mean velocity", "Reynolds number", "Regime", "Profile factor", "Time difference")
    texts = list(dict.fromkeys(item["text"] for item in flow["points"] if item["text"]))
    told = markup.table(heads, rows, (1, 2, 3, 5, 6))
    words = markup.paragraph(flow["profile"]["text"])
    return [
        markup.heading("Flow"),
        told,
        markup.points(texts),
        Markup('<div class="keep">{}{}</div>').format(words, factor_chart(flow)),
        markup.paragraph("The profile factor rests on:"),
        markup.points(flow["profile"]["documents"], "small"),
    ]


def _heat(document: Mapping[str, Any]) -> list[Markup | None]:
    heat = document["heat"]
    if heat is None:
        return []
    power = joined(heat["power"], heat["standard_uncertainty"])
    words = f"{heat['service'].capitalize()} {power} (standard), meter in the {heat['meter_in']}; "
    words += f"heat coefficient {plain(heat['heat_coefficient'])} ({heat['standard']})."
    return [markup.heading("Heat"), markup.paragraph(words), markup.points(heat["assumptions"], "small")]


def _budget(document: Mapping[str, Any]) -> list[Markup | None]:
    budget = document["uncertainty"]
    if budget is None:
        return []
    title = markup.heading("Uncertainty of the flow")
    words = f"Standard uncertainty that each input brings, in per cent of the flow. {budget['method']}."
    parts: list[Markup | None] = [
        Markup('<div class="keep">{}{}{}</div>').format(title, markup.paragraph(words), chart(budget))
    ]
    drawn = budget["monte_carlo"]
    if drawn is not None:
        low, high = drawn["interval_95"]
        ends = f"{plain(low)} to {plain(high)}"
        parts.append(markup.paragraph(f"{drawn['draws']} draws ({drawn['method']}): 95 % between {ends}."))
    if budget["advice"]:
        parts += [markup.paragraph("What would make it better, most first:"), markup.points(budget["advice"])]
    return parts


_VERDICTS = {"good": "good", "unknown": "find out", "mind": "MIND", "bad": "NOT SO"}


def _suitability(document: Mapping[str, Any]) -> list[Markup | None]:
    if document["suitability"] is None:
        return []
    rows = [
        (item["about"], _VERDICTS.get(item["verdict"]) or str(item["verdict"]), item["text"], item["source"])
        for item in document["suitability"]
    ]
    told: list[Markup | None] = [markup.heading("Whether the place suits")]
    return [*told, markup.table(("Look at", "", "Why", "Source"), rows)]


def _listed(title: str, texts: Sequence[str]) -> list[Markup | None]:
    return [markup.heading(title), markup.points(texts, "small")] if texts else []


def _release(document: Mapping[str, Any]) -> list[Markup | None]:
    words = f"Worked on release {document['release']} of refdb, {document['release_digest']}."
    rows = markup.points([f"{row}: {digest}" for row, digest in document["rows"].items()], "small")
    return [markup.heading("Release and rows"), markup.paragraph(words), rows]
