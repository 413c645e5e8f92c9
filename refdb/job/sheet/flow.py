"""Flow, heat and the budget on the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.job.figures import expanded, number, plain
from refdb.job.sheet.parts import Drawing, Paragraph, Part, Points, Tabulation
from refdb.job.sheet.sound import NOTHING


def flow_parts(flow: Mapping[str, Any]) -> list[Part]:
    """Every flow of the range, and the profile."""
    rows, more = [], []
    for item in flow["points"]:
        low, high = (number(end, 4) for end in item["profile_factor_interval"])
        rows.append(
            (
                item["name"],
                plain(item["volume_flow"]),
                plain(item["mass_flow"], 4),
                plain(item["velocity"], 4),
                item["regime"],
                f"{item['profile_factor']:.4f} ± {2 * item['profile_factor_uncertainty']:.4f}",
                plain(item["time_difference"], 4),
            )
        )
        more.append(
            (
                item["name"],
                f"{number(item['reynolds'], 3)} ± {number(2 * item['reynolds_uncertainty'], 2)}",
                f"{100 * item['turbulent_share']:.3g} %",
                f"{low} to {high}",
                number(item["friction_factor"], 3) if item["friction_factor"] is not None else NOTHING,
                number(item["relative_roughness"], 3),
                " to ".join(number(end, 4) for end in item["time_difference_interval"]) + " ns",
                plain(item["entrance_length"], 3) or NOTHING,
            )
        )
    heads = ("Flow", "Volume flow", "Mass flow", "Mean velocity", "Regime", "Profile factor", "Time difference")
    further = (
        *("Flow", "Reynolds number", "Turbulent", "Factor, regime open", "Friction factor", "Roughness over bore"),
        *("Difference, regime open", "Entrance"),
    )
    texts = list(dict.fromkeys(item["text"] for item in flow["points"] if item["text"]))
    sensitivity = (
        f"Sensitivity to the bore: {flow['sensitivity']['bore']} (time in the liquid "
        f"{flow['sensitivity']['time_in_liquid']}); bore {plain(flow['bore'])}, area {plain(flow['area'])}."
    )
    return [
        Tabulation(heads, rows, (1, 2, 3, 5, 6)),
        Tabulation(further, more, (1, 2, 3, 4, 5, 6, 7)),
        Points(texts),
        Paragraph(sensitivity),
        Paragraph(flow["profile"]["text"]),
        Drawing("profile factor"),
        Paragraph("The profile factor rests on:"),
        Points(flow["profile"]["documents"], "small"),
    ]


def heat_parts(heat: Mapping[str, Any]) -> list[Part]:
    """The power and what it comes from."""
    words = (
        f"Heat, {heat['service']}: {expanded(heat['power'], heat['standard_uncertainty'])}, meter in the "
        f"{heat['meter_in']}; {heat['text']}. Difference "
        f"{expanded(heat['difference'], heat['uncertainty_of_difference'])} (correlation "
        f"{number(heat['correlation'], 3)}); heat coefficient {plain(heat['heat_coefficient'])} ({heat['standard']}); "
        f"{plain(heat['energy_per_volume'], 4)}."
    )
    rows = [(item["input"], plain(_doubled(item["relative"]), 2)) for item in heat["contributions"]]
    return [
        Paragraph(words),
        Tabulation(("Contribution", "Of the power, k = 2"), rows, (1,)),
        Points(heat["assumptions"], "small"),
    ]


def _doubled(relative: Mapping[str, Any]) -> dict[str, Any]:
    return {**relative, "magnitude": 2.0 * relative["magnitude"]}


def budget_parts(budget: Mapping[str, Any]) -> list[Part]:
    """The budget, the largest contribution first."""
    low, high = (plain(end) for end in budget["interval_95"])
    words = (
        f"Flow {expanded(budget['flow'], budget['standard_uncertainty'])}, "
        f"{plain(budget['relative_expanded_uncertainty'], 3)}; the true flow lies between {low} and {high} (95 %). "
        f"{budget['method']}; k = {budget['coverage_factor']:g}."
    )
    rows = [
        (
            item["input"],
            plain(_doubled(item["relative"]), 2),
            f"{100 * item['share']:.2g} %",
            number(item["elasticity"], 3),
        )
        for item in budget["contributions"]
    ]
    pairs = [
        f"{' and '.join(item['inputs'])} err together: correlation {number(item['coefficient'], 3)}"
        for item in budget["correlations"]
    ]
    parts: list[Part] = [
        Paragraph(words),
        Drawing("budget"),
        Tabulation(("Contribution", "Of the flow, k = 2", "Share", "% of flow per % of it"), rows, (1, 2, 3)),
        Points(pairs, "small"),
    ]
    drawn = budget["monte_carlo"]
    if drawn is not None:
        low, high = (plain(end) for end in drawn["interval_95"])
        mean = expanded(drawn["mean"], drawn["standard_uncertainty"])
        parts.append(Paragraph(f"{drawn['draws']} draws ({drawn['method']}): {mean}, 95 % between {low} and {high}."))
    if budget["advice"]:
        parts += [Paragraph("What would make it better, most first:"), Points(budget["advice"])]
    return parts
