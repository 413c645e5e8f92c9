"""Many jobs at once: worked one by one, told in one table, with what to measure first over all of them."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from refdb.database import Database
from refdb.job.work import work_job
from refdb.problems import BadParameter, Problem

NUMBERS = frozenset(
    {"sensors.passes", "pipe.wall_points", "pipe.age", "access.upstream", "access.downstream", "heat.correlation"}
)
"""Members that are numbers in a document and texts in a table."""
WHOLE = frozenset({"sensors.passes", "pipe.wall_points"})
MOST_ROWS = 10_000
FIRST = 5
"""How many inputs are named that would be measured first."""

Worked = Callable[[str, dict[str, Any]], None]
Progress = Callable[[str, int, int], None]


def survey(
    jobs: Sequence[tuple[str, Mapping[str, Any]]],
    database: Database,
    draws: int = 0,
    each: Worked | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Jobs worked one by one; one that is refused is told as such, and the others go on.

    Args:
        jobs: a name and a job's document each.
        each: called with the name and the document of every job that was worked.
        progress: called with what is being done, how many jobs are done, and of how many.
    """
    rows: list[dict[str, Any]] = []
    shares: Counter[str] = Counter()
    places: Counter[str] = Counter()
    for done, (name, content) in enumerate(jobs, 1):
        if progress is not None:
            progress("jobs", done, len(jobs))
        try:
            told = work_job(content, database, draws)
        except Problem as problem:
            rows.append({"name": name, "title": content.get("title"), "problem": problem.document()})
            continue
        rows.append(_row(name, told))
        budget = told["uncertainty"]
        for place, item in enumerate(budget["contributions"] if budget is not None else ()):
            shares[item["input"]] += item["share"]
            places[item["input"]] += place == 0
        if each is not None:
            each(name, told)
    count = sum(1 for row in rows if row.get("flow") is not None) or 1
    return {
        "jobs": rows,
        "measure_first": [
            {"input": name, "mean_share": float(f"{share / count:.6g}"), "largest_in": places[name]}
            for name, share in shares.most_common(FIRST)
        ],
        "refused": sum(1 for row in rows if "problem" in row),
    }


def _row(name: str, told: Mapping[str, Any]) -> dict[str, Any]:
    spacing, budget = told["spacing"], told["uncertainty"]
    worked = spacing["passes"][told["arrangement"]["passes"] - 1] if spacing is not None else None
    return {
        "name": name,
        "title": told["title"],
        "fitness": told["verdict"]["fitness"],
        "because": told["verdict"]["because"][:1],
        "passes": told["arrangement"]["passes"],
        "spacing": worked["spacing"] if worked is not None else None,
        "spacing_standard_uncertainty": worked["standard_uncertainty"] if worked is not None else None,
        "flow": budget["flow"] if budget is not None else None,
        "expanded_uncertainty": budget["expanded_uncertainty"] if budget is not None else None,
        "relative_expanded_uncertainty": budget["relative_expanded_uncertainty"] if budget is not None else None,
        "limited_by": [item["input"] for item in budget["contributions"][:2]] if budget is not None else [],
    }


def read_table(text: str, defaults: Mapping[str, Any] | None = None) -> list[tuple[str, dict[str, Any]]]:
    """The jobs of a table in CSV: one row a job, its columns the members of the document (`pipe.wall`).

    Args:
        defaults: a document that every row starts from.

    Raises:
        BadParameter: the table has no rows, too many, or a column that is named twice or is no member.
    """
    reader = csv.reader(io.StringIO(text))
    heads = [head.strip() for head in next(reader, [])]
    doubled = [head for head, count in Counter(heads).items() if count > 1]
    if doubled:
        raise BadParameter(f"FILE: the column {doubled[0]} stands twice; leave one out.", parameter="file")
    rows = [row for row in reader if any(cell.strip() for cell in row)]
    if not 0 < len(rows) <= MOST_ROWS:
        raise BadParameter(f"FILE: a table of jobs has 1 to {MOST_ROWS} rows; this has {len(rows)}.", parameter="file")
    found = []
    for place, row in enumerate(rows, 1):
        job = _copy(defaults or {})
        for head, cell in _cells(heads, row):
            _put(job, head, cell)
        job.setdefault("title", f"row {place}")
        found.append((f"row {place}", job))
    return found


def _cells(heads: Sequence[str], row: Sequence[str]) -> Iterator[tuple[str, str]]:
    for head, cell in zip(heads, row, strict=False):
        if head and cell.strip():
            yield head, cell.strip()


def _copy(part: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _copy(item) if isinstance(item, Mapping) else item for name, item in part.items()}


def _put(job: dict[str, Any], member: str, cell: str) -> None:
    *way, name = member.split(".")
    part = job
    for step in way:
        inside = part.setdefault(step, {})
        if not isinstance(inside, dict):
            raise BadParameter(
                f"FILE: the column {member} names a member of {step}, which has none; name a member of the document, "
                "as pipe.wall.",
                parameter="file",
            )
        part = inside
    part[name] = _number(member, cell)


def _number(member: str, cell: str) -> str | float | int:
    if member not in NUMBERS:
        return cell
    try:
        return int(cell) if member in WHOLE else float(cell)
    except ValueError:
        return cell
