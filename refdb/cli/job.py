"""The command that works a job to a sheet."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import click

from refdb.answer import open_database
from refdb.cli import printing
from refdb.cli.options import json_option, release_options
from refdb.problems import BadParameter


@click.command("job")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--draws", type=int, default=0, show_default=True, help="Of a Monte Carlo beside the linear budget.")
@release_options
@json_option
def job_command(file: Path, draws: int, release: str | None, as_of: str | None, as_json: bool) -> None:
    """Work the job in FILE (TOML or JSON) to a sheet: pipe, waves, spacing, flow, uncertainty, what to mind."""
    # Only a job needs the models of its document.
    from refdb.job import work_job

    told = work_job(read_file(file), open_database(release, as_of), draws)
    return printing.print_json(told) if as_json else _show(told)


def read_file(file: Path) -> dict[str, Any]:
    """The document in a file.

    Raises:
        BadParameter: it is neither TOML nor a JSON object.
    """
    try:
        text = file.read_text(encoding="utf-8")
        content = json.loads(text) if file.suffix == ".json" else tomllib.loads(text)
    except (tomllib.TOMLDecodeError, json.JSONDecodeError, UnicodeDecodeError) as error:
        raise BadParameter(
            f"FILE: {file.name} cannot be read ({error}); write TOML or JSON.", parameter="file"
        ) from None
    if not isinstance(content, dict):
        raise BadParameter(f"FILE: {file.name} must hold an object with the members of a job.", parameter="file")
    return content


def _show(told: dict[str, Any]) -> None:
    inputs = printing.grid("input", "value", "standard uncertainty", "from")
    for item in told["inputs"]:
        row = item["row"]["id"] if item["row"] else item["text"]
        inputs.add_row(item["name"], _words(item["value"]), _words(item["standard_uncertainty"]), row or item["origin"])
    parts: list[Any] = [f"{told['title']}. {told['setting'] or ''}", inputs]
    shown = ((_spacing, "spacing"), (_flow, "flow"), (_budget, "uncertainty"), (_suitability, "suitability"))
    for show, step in shown:
        if told[step] is not None:
            parts += show(told[step])
    if told["heat"] is not None:
        parts.append(f"Heat: {_words(told['heat']['power'])}; {told['heat']['standard']}")
    warned = told["warnings"] + [text for step in ("pipe", "waves") for text in (told[step] or {}).get("warnings", [])]
    parts += [f"Mind: {text}" for text in warned]
    parts += [f"Refused ({item['step']}): {item['problem']['detail']}" for item in told["refused"]]
    parts += [f"Assumed: {text}" for text in told["assumptions"]]
    parts += list(told["cautions"])
    printing.show(*parts, f"Release {told['release']}, {told['release_digest']}")


def _words(quantity: dict[str, Any]) -> str:
    return f"{quantity['magnitude']:.6g} {quantity['unit']}"


def _spacing(told: dict[str, Any]) -> list[Any]:
    table = printing.grid("passes", "spacing", "± standard", "total time", "per m/s", "remark")
    for item in told["passes"]:
        cells = (
            item["spacing"],
            item["standard_uncertainty"],
            item["total_time"],
            item["time_difference_per_velocity"],
        )
        table.add_row(str(item["passes"]), *map(_words, cells), item["remark"] or "")
    loss = told["passes"][0]["loss"]
    return [table] if loss is None else [table, f"Absorption: {loss['absorption_from']}"]


def _flow(told: dict[str, Any]) -> list[Any]:
    table = printing.grid("flow", "velocity", "Reynolds number", "regime", "profile factor", "time difference")
    for item in told["points"]:
        low, high = item["profile_factor_interval"]
        factor = f"{low:.4f}" if item["profile_factor"] is not None else f"{low:.3f} to {high:.3f}"
        difference = _words(item["time_difference"]) if item["time_difference"] is not None else "not one figure"
        reynolds = f"{item['reynolds']:.0f}"
        words = (_words(item["volume_flow"]), _words(item["velocity"]), reynolds, item["regime"], factor, difference)
        table.add_row(*words)
    return [table]


def _budget(told: dict[str, Any]) -> list[Any]:
    table = printing.grid("contribution", "of the flow", "share")
    for item in told["contributions"][:8]:
        table.add_row(item["input"], _words(item["relative"]), f"{100 * item['share']:.0f} %")
    expanded = _words(told["relative_expanded_uncertainty"])
    lines = [f"Flow {_words(told['flow'])} ± {expanded} (k = {told['coverage_factor']:g})", table]
    if told["monte_carlo"] is not None:
        low, high = told["monte_carlo"]["interval_95"]
        lines.append(f"Monte Carlo, {told['monte_carlo']['draws']} draws: 95 % from {_words(low)} to {_words(high)}")
    return lines + [f"Better: {text}" for text in told["advice"]]


def _suitability(told: list[dict[str, str]]) -> list[Any]:
    table = printing.grid("look at", "", "why", "source")
    for item in told:
        table.add_row(item["about"], item["verdict"], item["text"], item["source"])
    return [table]
