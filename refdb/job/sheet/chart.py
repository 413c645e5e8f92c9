"""The uncertainty budget as horizontal bars, the largest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from refdb.job.figures import number
from refdb.job.sheet.canvas import Canvas

WIDTH, LABELS, FIGURES, ROW, BAR = 180.0, 40.0, 62.0, 5.2, 3.4
"""Of the whole, of the names, of the figures; of a row and a bar, mm."""
MOST_BARS = 12


def chart(budget: Mapping[str, Any]) -> Markup:
    """Bars of what each input brings to the relative expanded uncertainty of the flow.

    Args:
        budget: the step `uncertainty` of a job's document.
    """
    return drawn_chart(budget).svg("The table below holds the same figures.")


def drawn_chart(budget: Mapping[str, Any]) -> Canvas:
    """The same as a canvas, whose texts can be looked at."""
    rows = _rows(budget)
    longest = max((amount for _, amount, _ in rows), default=1.0) or 1.0
    canvas = Canvas(WIDTH, ROW * len(rows) + 1.0, "What each input brings to the uncertainty of the flow")
    room = WIDTH - LABELS - FIGURES
    for index, (name, amount, share) in enumerate(rows):
        top = ROW * index + (ROW - BAR) / 2.0
        combined = share is None
        canvas.text((LABELS - 2.0, top + BAR - 0.6), name, "end")
        canvas.box(LABELS, top, max(room * amount / longest, 0.3), BAR, "whole" if combined else "bar")
        words = f"{number(amount, 2)} %" + ("" if share is None else f" ({100 * share:.0f} % of the variance)")
        canvas.text((LABELS + room * amount / longest + 1.5, top + BAR - 0.6), words)
    return canvas


def _rows(budget: Mapping[str, Any]) -> list[tuple[str, float, float | None]]:
    """Name, size in per cent of the flow and share of the variance; at the end what is left, and the combined one."""
    items: Sequence[Mapping[str, Any]] = budget["contributions"]
    rows: list[tuple[str, float, float | None]] = [
        (item["input"], 2.0 * abs(item["relative"]["magnitude"]), item["share"]) for item in items[:MOST_BARS]
    ]
    rest = items[MOST_BARS:]
    if rest:
        size = 2.0 * sum(item["relative"]["magnitude"] ** 2 for item in rest) ** 0.5
        rows.append((f"{len(rest)} others together", size, sum(item["share"] for item in rest)))
    combined = budget["relative_expanded_uncertainty"]["magnitude"]
    return [*rows, ("combined, k = 2", combined, None)]
