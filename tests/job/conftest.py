"""What the tests of jobs share: one job that works, to be changed in one member at a time."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from tests.conftest import PROJECT

Changed = Callable[..., dict[str, Any]]


@pytest.fixture
def changed() -> Changed:
    """A job of hot water in steel, with members of its sections changed: `changed(pipe={"wall": "8 mm"})`.

    None takes a member out; a section that is not there is added.
    """
    start = tomllib.loads((PROJECT / "tests/job/data/heating-water.toml").read_text(encoding="utf-8"))

    def change(**sections: Any) -> dict[str, Any]:
        job = copy.deepcopy(start)
        for name, members in sections.items():
            if not isinstance(members, dict):
                job[name] = members
                continue
            section = job.setdefault(name, {}) | members
            job[name] = {key: value for key, value in section.items() if value is not None}
        return job

    return change
