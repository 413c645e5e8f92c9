"""How long a technician waits for the pipe that was measured."""

from __future__ import annotations

import statistics
import time

from refdb.database import Database

MOST_SECONDS = 0.05
TIMES = 25


def test_a_match_among_all_pipes_takes_less_than_50_ms_once_warm(pending: Database) -> None:
    def seconds(number: int) -> float:
        begun = time.perf_counter()
        pending.match_pipe(circumference=f"{600 + 7 * number} mm", wall="8.1 mm").document()
        return time.perf_counter() - begun

    seconds(0)
    assert statistics.median(seconds(number) for number in range(TIMES)) < MOST_SECONDS
