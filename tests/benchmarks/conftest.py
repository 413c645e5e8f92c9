"""Ratios: what is measured and the floor it is held against, taken by turns in one run so that the machine cancels."""

from __future__ import annotations

import os
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.conftest import PROJECT

Measured = Callable[[], float]


@pytest.fixture
def ratio(benchmark: Any) -> Callable[[Measured, Measured, int], float]:
    """How much more `measured` costs than `floor`, each a function that returns seconds (or bytes).

    The median of the ratios of neighbours in time: whatever else the machine does then slows both.
    """

    def compare(measured: Measured, floor: Measured, rounds: int) -> float:
        ours: list[float] = []
        floors: list[float] = []

        def one_round() -> None:
            floors.append(floor())
            ours.append(measured())

        benchmark.pedantic(one_round, rounds=rounds, warmup_rounds=1)
        result = statistics.median(mine / floor for mine, floor in zip(ours, floors, strict=True))
        benchmark.extra_info.update(
            ratio=round(result, 3), measured=statistics.median(ours), floor=statistics.median(floors)
        )
        return result

    return compare


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def server() -> Iterator[int]:
    """The port of a server with one worker that has the bare route beside refdb's own."""
    port = _free_port()
    size = len(_answer_bytes())
    command = [sys.executable, "-m", "uvicorn", "tests.benchmarks.served:app", "--port", str(port)]
    quiet = ["--log-level", "warning", "--no-access-log"]
    process = subprocess.Popen(command + quiet, cwd=PROJECT, env={**os.environ, "REFDB_BARE_BYTES": str(size - 13)})
    try:
        _wait_for(port)
        yield port
    finally:
        process.terminate()
        process.wait(10)


def _answer_bytes() -> bytes:
    """One answer, to make the bare route's as long."""
    import orjson

    import refdb
    from refdb.lookup.state import read_state

    found = refdb.open().values("water", ["sound_speed"], state=read_state("20.5 degC"))
    return orjson.dumps(found.document())


def _wait_for(port: int) -> None:
    for _ in range(200):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/health", timeout=1).read()
            return
        except OSError:
            time.sleep(0.05)
    raise RuntimeError("the server did not start")
