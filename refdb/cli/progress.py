"""Telling how far work is, as a bar on a terminal and as plain lines in a log; and what it has made."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from refdb.lookup import ReleaseStore
    from refdb.release.progress import Progress


@contextmanager
def progress_shown() -> Iterator[Progress]:
    """Progress on standard error: a bar for each stage where that is a terminal, else a line for each."""
    if not sys.stderr.isatty():
        from refdb.release.progress import plain_lines

        yield plain_lines()
        return
    from rich.console import Console
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

    with Bar(console=Console(stderr=True), transient=True) as bar:
        tasks: dict[str, TaskID] = {}

        def progress(stage: str, done: int, total: int) -> None:
            if stage not in tasks:
                tasks[stage] = bar.add_task(stage, total=total)
            bar.update(tasks[stage], completed=done)

        yield progress


def holdings(store: ReleaseStore) -> str:
    """What a store answers from by default, such as `2026r6: 12,537 names, 24,889 rows in 6 releases`."""
    if not store.releases:
        return "no release yet"
    newest, count = store.releases[-1], len(store.releases)
    releases = "1 release" if count == 1 else f"{count} releases"
    return f"{newest.label}: {store.count_names(newest):,} names, {newest.rows:,} rows in {releases}"
