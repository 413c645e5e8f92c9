"""Many jobs from the command line: a folder of them, or a table with one a row."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refdb.cli import printing
from refdb.cli.job_files import beside_house, read_file, save, with_sensors
from refdb.cli.progress import progress_shown
from refdb.database import Database
from refdb.job.figures import expanded, number, plain
from refdb.job.survey import read_table, survey
from refdb.problems import BadParameter

JOBS = (".toml", ".json")


def work_many(
    place: Path,
    defaults: Path | None,
    database: Database,
    draws: int,
    out: Path | None,
    as_json: bool,
    house_url: str | None,
) -> int:
    """Work the jobs of a folder or a table; exit code 2 where one was refused.

    Raises:
        BadParameter: there are no jobs, a file cannot be read, or the sheets cannot be written.
    """
    shared = read_file(defaults, "defaults") if defaults is not None else {}
    jobs = _of_folder(place, shared) if place.is_dir() else _of_table(place, shared)
    if any(content.get("layers", "release") != "release" for _, content in jobs):
        database = beside_house(database, house_url)
    pages: dict[str, str] = {}
    with progress_shown() as progress:

        def each(name: str, told: Mapping[str, Any]) -> None:
            if out is not None:
                from refdb.job.sheet import page

                pages[name] = page(told)

        told = survey(jobs, database, draws, each, progress)
    if out is not None:
        _write_pages(out, pages, told)
    if as_json:
        printing.print_json(told)
    else:
        _show(told)
    return 2 if told["refused"] else 0


def _of_folder(place: Path, shared: Mapping[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    files = sorted(path for path in place.iterdir() if path.suffix in JOBS)
    if not files:
        raise BadParameter(f"FOLDER: {place} holds no job in TOML or JSON; name another.", parameter="file")
    return [(path.stem, with_sensors({**shared, **read_file(path)}, place)) for path in files]


def _of_table(place: Path, shared: Mapping[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    try:
        text = place.read_text(encoding="utf-8-sig")
    except (OSError, ValueError):
        raise BadParameter(f"FILE: {place.name} cannot be read; write it as CSV in UTF-8.", parameter="file") from None
    return [(name, with_sensors(job, place.parent)) for name, job in read_table(text, shared)]


def _write_pages(out: Path, pages: Mapping[str, str], told: Mapping[str, Any]) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadParameter(f"out: {out} cannot be made ({error.strerror}); name another.", parameter="out") from None
    files = {name: f"{re.sub(r'[^A-Za-z0-9._-]+', '-', name)}.html" for name in pages}
    for name, text in pages.items():
        save(out / files[name], text.encode(), "out")
    from refdb.job.sheet.overview import overview

    save(out / "index.html", overview(told, files).encode(), "out")


def _show(told: Mapping[str, Any]) -> None:
    table = printing.grid(
        "job", "title", "verdict", "spacing (k = 2)", "flow (k = 2)", "", "limited by, or why refused"
    )
    for item in told["jobs"]:
        table.add_row(*survey_row(item))
    first = [
        f"Measure first: {item['input']} ({100 * item['mean_share']:.0f} % of the variance in the mean, largest in "
        f"{item['largest_in']} job(s))"
        for item in told["measure_first"]
    ]
    printing.show(table, *first, f"{len(told['jobs'])} job(s), {told['refused']} refused")


def survey_row(item: Mapping[str, Any]) -> tuple[str, ...]:
    """One job of a survey in words."""
    if "problem" in item:
        return item["name"], str(item["title"] or ""), "refused", "", "", "", item["problem"]["detail"]
    spacing = expanded(item["spacing"], item["spacing_standard_uncertainty"]) if item["spacing"] is not None else ""
    flow = relative = ""
    if item["flow"] is not None:
        flow = plain(item["flow"])
        relative = f"± {number(item['relative_expanded_uncertainty']['magnitude'], 2)} %"
    return item["name"], item["title"], item["fitness"], spacing, flow, relative, ", ".join(item["limited_by"])
