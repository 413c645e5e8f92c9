"""Speed over HTTP, against a bare route of the same server."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator

import pytest

from tests.benchmarks.load import seconds_for
from tests.conftest import PROJECT

REQUESTS = 400
LEAST_SHARE = 0.7
QUESTION = "/v1/liquids/water/values?property=sound_speed&temperature={}%20degC"


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
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


def test_an_answer_is_served_at_least_at_0_7_of_a_bare_route(
    server: int, ratio: Callable[[Callable[[], float], Callable[[], float], int], float]
) -> None:
    temperatures = [5.0 + 0.03 * number for number in range(REQUESTS)]
    ours = [QUESTION.format(f"{t:.2f}") for t in temperatures]
    bare = [f"/bare?temperature={t:.2f}%20degC" for t in temperatures]
    slower = ratio(lambda: seconds_for(server, ours), lambda: seconds_for(server, bare), 41)
    assert 1.0 / slower >= LEAST_SHARE
