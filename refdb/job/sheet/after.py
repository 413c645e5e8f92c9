"""What the instrument showed after mounting, on the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.job.figures import expanded, number, plain
from refdb.job.sheet.parts import Paragraph, Part, Points, Tabulation


def after_mounting(told: Mapping[str, Any]) -> list[Part]:
    """The sound speed, the zero, the flow and a second meter, and what to try where the signal is weak."""
    parts: list[Part] = []
    if told["sound_speed"] is not None:
        parts += _speed(told["sound_speed"])
    if told["zero"] is not None:
        zero = told["zero"]
        of_flow = plain(zero["of_normal_flow"], 2)
        words = f"Zero: {plain(zero['residual_velocity'], 3)}{f', {of_flow} of the normal flow' if of_flow else ''}; "
        parts.append(Paragraph(f"{words}{'it matters' if zero['matters'] else 'it does not matter'}: {zero['text']}."))
    if told["flow"] is not None:
        parts.append(Paragraph(_flow(told["flow"])))
    if told["flow_shown"] is not None:
        parts.append(Paragraph(_shown(told["flow_shown"])))
    if told["meters"] is not None:
        agree = "agree" if told["meters"]["agree"] else "DO NOT AGREE"
        error = number(told["meters"]["normalised_error"], 3)
        parts.append(Paragraph(f"The two meters {agree}: |En| = {error} ({told['meters']['standard']})."))
    tried = told["when_the_signal_is_weak"]
    return [*parts, Paragraph("When the signal is weak, in this order:"), Points(tried, "small")]


def _speed(told: Mapping[str, Any]) -> list[Part]:
    apart = expanded(told["difference"], told["standard_uncertainty_of_difference"])
    agrees = "agrees" if told["agrees"] else "DOES NOT AGREE"
    speeds = f"expected {plain(told['expected'])}, shown {plain(told['measured'])}; apart {apart}"
    rows = [
        (
            item["cause"],
            plain(item["entered"], 4),
            " or ".join(plain(root, 4) for root in item["roots"]) or "none",
            number(item["deviation"], 2) if item["deviation"] is not None else "unknown",
            "likely" if item["likely"] else "not likely",
            item["text"],
        )
        for item in told["explanations"]
    ]
    heads = ("Would explain it", "Entered", "In place of it", "Standard uncertainties away", "", "Why")
    return [Paragraph(f"Sound speed {agrees}: {speeds}; {told['text']}."), Tabulation(heads, rows, (1, 2, 3))]


def _flow(told: Mapping[str, Any]) -> str:
    """The flow of a time difference; what it may be where it lies between laminar and turbulent."""
    low, high = map(plain, told["volume_flow_interval"])
    wide = f", 95 % between {low} and {high}" if low != high else ""
    factor = f"{told['profile_factor']:.4f} ± {2 * told['profile_factor_uncertainty']:.4f}"
    return (
        f"Flow by the time difference that was shown: {plain(told['volume_flow'])}{wide} ({told['regime']}, Reynolds "
        f"number {number(told['reynolds'], 3)}, profile factor {factor}, {plain(told['path_velocity'], 4)} along the "
        "path)."
    )


def _shown(told: Mapping[str, Any]) -> str:
    agree = "agree" if told["agree"] else "DO NOT AGREE"
    apart = expanded(told["difference"], told["standard_uncertainty_of_difference"])
    relative = f", {plain(told['relative'], 3)}" if told["relative"] is not None else ""
    return (
        f"Flow shown {plain(told['shown'])} and flow computed {plain(told['computed'])} {agree}: apart {apart}"
        f"{relative}; {told['text']}."
    )
