"""The tables of `shared/docs/jobs.md`: its text is written by hand, what stands between marks is worked out here."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from refdb.database import Database
from refdb.job import work_job
from refdb.job.flow.profile import profile
from refdb.job.flow.profile_evidence import MEASURED, SIMULATED
from refdb.job.inputs.held import DEFAULTS, RELATIVE_DEFAULTS
from refdb.job.inputs.place import CROSS, OFF
from refdb.job.inputs.surface import ROUGHNESS_SPREAD

PROJECT = Path(__file__).parents[2]
EXAMPLES = sorted((PROJECT / "shared/examples/jobs").glob("*.toml"))
Table = Callable[..., str]

_MARKED = re.compile(r"(<!-- begin (?P<name>[a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def jobs_page(text: str, database: Database, table: Table) -> str:
    """The page with its marked tables made again, from the code's defaults and from the examples worked.

    Args:
        text: the page as it is.
        table: writes headings and rows as Markdown.
    """
    worked = {path: work_job(tomllib.loads(path.read_text(encoding="utf-8")), database) for path in EXAMPLES}
    made = {
        "defaults": lambda: _defaults(table),
        "straight lengths": lambda: _straight(table),
        "profiles": lambda: _profiles(table),
        "places": lambda: _places(table, worked),
        "flows": lambda: _flows(table, worked),
        "budgets": lambda: _budgets(table, worked),
        "further": lambda: _further(table, worked),
    }
    return _MARKED.sub(lambda found: found[1] + "\n" + made[found["name"]]() + "\n" + found[3], text)


def _defaults(table: Table) -> str:
    fixed = [(f"`{name}`", amount, words) for name, (_, amount, words) in DEFAULTS.items()]
    parts = [(f"`{name}`", f"{100 * part:g} % of the value", "") for name, part in RELATIVE_DEFAULTS.items()]
    roughness = ("`pipe.roughness`", f"{100 * ROUGHNESS_SPREAD:g} % of the value", "given or from a row")
    return table(
        "member", "standard uncertainty where none is given", "stands for", rows=iter([*fixed, *parts, roughness])
    )


def _straight(table: Table) -> str:
    rows = (
        (kind, f"{least:g} and more", f"{100 * low:+g} % to {100 * high:+g} %", f"{100 * _cross(kind, least):g} %")
        for kind, steps in OFF.items()
        for least, low, high in steps
    )
    heads = ("after", "straight diameters", "true flow against the reading", "velocity across, of the mean")
    return table(*heads, rows=rows)


def _cross(kind: str, diameters: float) -> float:
    return next(part for least, part in CROSS[kind] if diameters >= least)


def _profiles(table: Table) -> str:
    kinds = [("measured", MEASURED), ("simulated", SIMULATED)]
    points = sorted((reynolds, factor, kind) for kind, told in kinds for reynolds, factor in told)

    def rows() -> Iterator[tuple[Any, ...]]:
        for reynolds, factor, kind in points:
            found = profile(reynolds, 0.0)
            apart = f"{100.0 * (found.factor / factor - 1.0):+.2f} %"
            yield (
                f"{reynolds:.0f}",
                f"{found.factor:.4f}",
                f"{factor:.4f}",
                kind,
                apart,
                f"{2.0 * found.uncertainty:.4f}",
            )

    return table("Re", "k here", "k of the profile", "from", "difference", "2 u(k)", rows=rows())


def _places(table: Table, worked: Mapping[Path, Mapping[str, Any]]) -> str:
    def rows() -> Iterator[tuple[Any, ...]]:
        for path, told in worked.items():
            inputs = {item["name"]: item for item in told["inputs"]}
            passes = _job(path)["sensors"]["passes"]
            spacing = told["spacing"]["passes"][passes - 1]
            sound = inputs["sound speed"]
            origin = f"`{sound['row']['id']}`" if sound["row"] else "its own data"
            yield (
                f"[{told['title']}](../examples/jobs/{path.name})",
                _shown(told["flow"]["bore"]),
                f"{_shown(sound['value'])}, {origin}",
                passes,
                f"{_shown(spacing['spacing'])} ± {_shown(spacing['standard_uncertainty'], 2)}",
                _shown(spacing["time_in_liquid"]),
                _shown(spacing["time_difference_per_velocity"]),
            )

    headings = ("job", "bore", "sound speed", "passes", "spacing", "time in the liquid", "time difference")
    return table(*headings, rows=rows())


def _flows(table: Table, worked: Mapping[Path, Mapping[str, Any]]) -> str:
    def rows() -> Iterator[tuple[Any, ...]]:
        for told in worked.values():
            for point in told["flow"]["points"]:
                factor = f"{point['profile_factor']:.4f} ± {point['profile_factor_uncertainty']:.4f}"
                flow, velocity = _shown(point["volume_flow"]), _shown(point["velocity"], 3)
                yield (told["title"], flow, velocity, f"{point['reynolds']:.3g}", point["regime"], factor)

    return table("job", "flow", "velocity", "Reynolds number", "regime", "profile factor", rows=rows())


def _budgets(table: Table, worked: Mapping[Path, Mapping[str, Any]]) -> str:
    def rows() -> Iterator[tuple[Any, ...]]:
        for told in worked.values():
            budget = told["uncertainty"]
            largest = ", ".join(f"{item['input']} {100 * item['share']:.0f} %" for item in budget["contributions"][:3])
            expanded = _shown(budget["relative_expanded_uncertainty"], 2)
            yield told["title"], _shown(budget["flow"]), expanded, largest, budget["advice"][0]

    headings = ("job", "flow", "expanded uncertainty, k = 2", "largest parts of the variance", "first thing to do")
    return table(*headings, rows=rows())


def _further(table: Table, worked: Mapping[Path, Mapping[str, Any]]) -> str:
    def rows() -> Iterator[tuple[Any, ...]]:
        for told in worked.values():
            yield from ((told["title"], text) for text in _extras(told))

    return table("job", "what it says beside", rows=rows())


def _extras(told: Mapping[str, Any]) -> Iterator[str]:
    heat, mounted = told["heat"], told["mounted"]
    if heat is not None:
        coefficient = _shown(heat["heat_coefficient"], 4)
        yield f"{heat['service']}: {_shown(heat['power'], 3)}, heat coefficient {coefficient}; {heat['standard']}"
    speed = mounted and mounted["sound_speed"]
    if speed:
        causes = ", ".join(item["cause"] for item in speed["explanations"])
        found = "which agrees" if speed["agrees"] else f"which differs; explanations: {causes}"
        yield f"measured {_shown(speed['measured'])} against {_shown(speed['expected'])}, {found}"
    if mounted and mounted["zero"]:
        yield mounted["zero"]["text"]
    if mounted and mounted["meters"]:
        verdict = "agree" if mounted["meters"]["agree"] else "do not agree"
        yield f"two meters {verdict}: normalised error {mounted['meters']['normalised_error']:.2f}"
    yield from told["waves"]["warnings"]


def _job(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _shown(quantity: Mapping[str, Any], digits: int = 5) -> str:
    return f"{quantity['magnitude']:.{digits}g} {quantity['unit']}"
