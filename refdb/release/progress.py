"""How long work tells what it is doing."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

Progress = Callable[[str, int, int], None]
"""Called with a stage's name, the steps done and the steps in all."""

SECONDS_BETWEEN_LINES = 5.0


def stepper(progress: Progress | None, stage: str, total: int) -> Callable[[str], None]:
    """A function to be called once per step of a stage; the stage is told at once."""
    done = 0
    if progress is not None:
        progress(stage, 0, total)

    def step(_name: str) -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(stage, min(done, total), total)

    return step


@contextmanager
def stage(progress: Progress | None, name: str) -> Iterator[None]:
    """A stage of a single step."""
    step = stepper(progress, name, 1)
    yield
    step(name)


def plain_lines(stream: TextIO | None = None, clock: Callable[[], float] = time.monotonic) -> Progress:
    """Progress for logs: a line when a stage begins, then at most one every few seconds, without control codes.

    Args:
        stream: where to write; standard error by default.
        clock: gives seconds.
    """
    begun: set[str] = set()
    last = 0.0

    def progress(name: str, done: int, total: int) -> None:
        nonlocal last
        now = clock()
        if name in begun and (now - last < SECONDS_BETWEEN_LINES or done >= total):
            return
        amount = f": {done:,} of {total:,}" if name in begun else ""
        begun.add(name)
        last = now
        print(f"refdb: {name}{amount}", file=stream or sys.stderr, flush=True)

    return progress
