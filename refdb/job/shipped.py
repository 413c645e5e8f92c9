"""What ships with the package for whoever writes a job: the schema, the page and the worked examples."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from refdb.problems import BadParameter

_INSTALLED = Path(__file__).parent / "shipped"
_CHECKED_OUT = Path(__file__).parents[2] / "shared"


def schema() -> dict[str, Any]:
    """The JSON Schema of a job's document."""
    from refdb.job.models import Job

    return Job.model_json_schema()


def schema_text() -> str:
    """The same as text."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def manual() -> str:
    """The page about jobs, in Markdown."""
    installed = _INSTALLED / "jobs.md"
    return (installed if installed.is_file() else _CHECKED_OUT / "docs" / "jobs.md").read_text(encoding="utf-8")


def examples() -> dict[str, str]:
    """The example jobs as TOML, by name."""
    installed = _INSTALLED / "examples"
    folder = installed if installed.is_dir() else _CHECKED_OUT / "examples" / "jobs"
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml"))}


def example(name: str) -> str:
    """One example job.

    Raises:
        BadParameter: there is none of the name.
    """
    found = examples()
    if name not in found:
        raise BadParameter(
            f"example: there is no example '{name}'; there are {', '.join(found)}.",
            parameter="example",
            given=name,
            candidates=list(found),
        )
    return found[name]
