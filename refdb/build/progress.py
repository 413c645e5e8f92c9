"""How long work tells what it is doing."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, int, int], None]
"""Called with a stage's name, the steps done and the steps in all."""


def stepper(progress: Progress | None, stage: str, total: int) -> Callable[[str], None]:
    """A function to be called once per step of a stage."""
    done = 0

    def step(_name: str) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(stage, min(done, total), total)

    return step
