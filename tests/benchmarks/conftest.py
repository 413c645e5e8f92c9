"""Ratios: what is measured and the floor it is held against, taken by turns in one run so that the machine cancels."""

from __future__ import annotations

import statistics
from collections.abc import Callable
from typing import Any

import pytest

Measured = Callable[[], float]


@pytest.fixture
def ratio(benchmark: Any) -> Callable[[Measured, Measured, int], float]:
    """Median of `measured` over median of `floor`, each a function that returns seconds (or bytes)."""

    def compare(measured: Measured, floor: Measured, rounds: int) -> float:
        ours: list[float] = []
        floors: list[float] = []

        def one_round() -> None:
            floors.append(floor())
            ours.append(measured())

        benchmark.pedantic(one_round, rounds=rounds, warmup_rounds=1)
        result = statistics.median(ours) / statistics.median(floors)
        benchmark.extra_info.update(
            ratio=round(result, 3), measured=statistics.median(ours), floor=statistics.median(floors)
        )
        return result

    return compare
