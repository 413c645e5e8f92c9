"""What the instrument showed after mounting, on the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from refdb.job.figures import joined, number, plain
from refdb.job.sheet import markup


def after_mounting(told: Mapping[str, Any] | None) -> list[Markup | None]:
    """The sound speed, the zero and a second meter, and what to try where the signal is weak."""
    if told is None:
        return []
    parts: list[Markup | None] = [markup.heading("After mounting")]
    if told["sound_speed"] is not None:
        parts += _speed(told["sound_speed"])
    if told["zero"] is not None:
        velocity = plain(told["zero"]["residual_velocity"], 3)
        parts.append(markup.paragraph(f"Zero: at rest the instrument would show {velocity} along the path."))
    if told["flow"] is not None:
        parts.append(markup.paragraph(_flow(told["flow"])))
    if told["meters"] is not None:
        agree = "agree" if told["meters"]["agree"] else "do not agree"
        error = number(told["meters"]["normalised_error"], 3)
        parts.append(markup.paragraph(f"The two meters {agree}: |En| = {error} ({told['meters']['standard']})."))
    tried = told["when_the_signal_is_weak"]
    return [*parts, markup.paragraph("When the signal is weak, in this order:"), markup.points(tried, "small")]


def _speed(told: Mapping[str, Any]) -> list[Markup | None]:
    apart = joined(told["difference"], told["standard_uncertainty_of_difference"])
    words = f"Sound speed: expected {plain(told['expected'])}, shown {plain(told['measured'])}; apart {apart}; "
    causes = [f"{item['cause']}: {_cause(item)}" for item in told["explanations"]]
    return [markup.paragraph(f"{words}{told['text']}."), markup.points(causes)]


def _flow(told: Mapping[str, Any]) -> str:
    """The flow of a time difference; what it may be where it lies between laminar and turbulent."""
    low, high = map(plain, told["volume_flow_interval"])
    wide = f", 95 % between {low} and {high}" if low != high else ""
    return f"Flow by the time difference that was shown: {plain(told['volume_flow'])}{wide} ({told['regime']})."


def _cause(item: Mapping[str, Any]) -> str:
    """The values that would explain the speed, beside the one that was entered."""
    if not item["roots"]:
        return str(item["text"])
    roots = " or ".join(plain(root, 4) for root in item["roots"])
    return f"{roots} in place of {plain(item['entered'], 4)}; {item['text']}"
