"""Everything that a job's document warns of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any


def warnings_of(document: Mapping[str, Any]) -> list[str]:
    """Every warning of a document, of the job and of its steps, each once."""
    steps = [text for step in ("pipe", "waves", "spacing", "flow", "mounted") for text in _of_step(document, step)]
    return list(dict.fromkeys([*document["warnings"], *steps]))


def _of_step(document: Mapping[str, Any], step: str) -> Sequence[str]:
    told = document[step]
    found: Sequence[str] = told.get("warnings", []) if told is not None else []
    return found
