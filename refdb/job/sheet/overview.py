"""The page that leads to the sheets of many jobs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from refdb.job.figures import expanded, number, plain
from refdb.job.sheet import markup

HEADS = ("Job", "Title", "Verdict", "Spacing (k = 2)", "Flow", "± (k = 2)", "Limited by, or why refused")


def overview(told: Mapping[str, Any], files: Mapping[str, str]) -> str:
    """A table of many jobs, each with a link to its sheet.

    Args:
        told: what `refdb.job.survey.survey` gave.
        files: the file of each job that has a sheet, by its name.
    """
    rows = [_row(item, files) for item in told["jobs"]]
    first = [
        f"{item['input']}: {100 * item['mean_share']:.0f} % of the variance in the mean, largest in "
        f"{item['largest_in']} job(s)"
        for item in told["measure_first"]
    ]
    parts = [
        Markup("<h1>Jobs</h1>"),
        markup.table(HEADS, rows, (3, 4, 5)),
        markup.heading("What to measure first"),
        markup.points(first),
    ]
    return markup.document("Jobs", "A4 landscape", parts)


def _row(item: Mapping[str, Any], files: Mapping[str, str]) -> tuple[str | Markup, ...]:
    name: str | Markup = item["name"]
    if name in files:
        name = Markup('<a href="{}">{}</a>').format(files[name], name)
    if "problem" in item:
        return name, str(item["title"] or ""), "refused", "", "", "", item["problem"]["detail"]
    spacing = expanded(item["spacing"], item["spacing_standard_uncertainty"]) if item["spacing"] is not None else ""
    flow = plain(item["flow"]) if item["flow"] is not None else ""
    relative = item["relative_expanded_uncertainty"]
    spread = f"{number(relative['magnitude'], 2)} %" if relative is not None else ""
    return name, item["title"], item["fitness"], spacing, flow, spread, ", ".join(item["limited_by"])
