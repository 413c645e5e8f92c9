"""How a release was derived: `derivation.jsonl` in its folder, beside the rows and outside their digests.

One canonical JSON a line, sorted by step: the name of a step, what it rests on, the ids and digests of the rows it
made. A folder holds the steps that are new or different since the release before; a step that is gone stands there
with its name alone.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from refdb.recommend import Step
from refdb.records import canonical

FILE = "derivation.jsonl"


def read_steps(folders: Iterable[Path]) -> dict[str, Step]:
    """The steps of the newest of some release folders, by name.

    Args:
        folders: the release folders, oldest first. Those up to 2026r6 hold no derivation.
    """
    steps: dict[str, Step] = {}
    for folder in folders:
        file = folder / FILE
        for line in file.read_bytes().splitlines() if file.is_file() else ():
            entry = json.loads(line)
            steps.pop(entry["step"], None)
            if "made" in entry:
                steps[entry["step"]] = Step(entry["rests_on"], entry["made"])
    return steps


def step_lines(old: Mapping[str, Step], new: Mapping[str, Step]) -> Iterator[bytes]:
    """The lines that lead from the steps of one release to those of the next."""
    for name in sorted(old.keys() | new.keys()):
        if name not in new:
            yield canonical({"step": name})
        elif old.get(name) != new[name]:
            yield canonical({"step": name, "rests_on": dict(new[name].rests_on), "made": dict(new[name].made)})
