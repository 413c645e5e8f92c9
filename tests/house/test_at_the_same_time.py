"""Two editors and a reviewer at once, over HTTP, through two servers of which one is killed in the middle.

Whatever was acknowledged is there; what was not is there as a whole or not at all; no change was made over another.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

from refdb.database import Database
from refdb.house import House
from tests.conftest import PROJECT
from tests.house.conftest import ANN, ENTRY, keys_of

VALUES = 4
PATIENCE_SECONDS = 120.0


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Server:
    """`refdb serve` in a process of its own, on a port of its own, that can be killed and started again."""

    def __init__(self, url: str) -> None:
        self.port = _free_port()
        self._url = url
        self.start()

    def start(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "uvicorn", "refdb_api.app:app", "--port", str(self.port), "--log-level", "error"],
            cwd=PROJECT,
            env={**os.environ, "REFDB_HOUSE_URL": self._url},
        )
        deadline = time.monotonic() + PATIENCE_SECONDS
        while True:
            try:
                if _request(self.port, "GET", "/health").status == 200:
                    return
            except OSError:
                assert time.monotonic() < deadline, "the server did not come up"
                time.sleep(0.1)

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()


@dataclass
class Answered:
    """What a server answered."""

    status: int
    etag: str
    document: Any


def _request(port: int, method: str, path: str, body: Any = None, headers: dict[str, str] | None = None) -> Answered:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    try:
        connection.request(method, path, json.dumps(body) if body is not None else None, headers or {})
        response = connection.getresponse()
        read = response.read()
        return Answered(response.status, response.headers.get("etag", ""), json.loads(read))
    except http.client.HTTPException as error:
        raise OSError("the server died while it was asked") from error
    finally:
        connection.close()


@dataclass
class Person:
    """Somebody who writes through both servers by turns, and keeps what was acknowledged and what is unknown."""

    name: str
    key: str
    ports: list[int]
    values: list[str]
    acknowledged: list[tuple[str, str]] = field(default_factory=list)
    unknown: list[tuple[str, str]] = field(default_factory=list)
    refused: list[int] = field(default_factory=list)

    def work(self, writes: int, seed: int) -> None:
        chance = random.Random(seed)  # noqa: S311 - a seeded choice, no secret
        for number in range(writes):
            value = chance.choice(self.values)
            self._once(chance.choice(self.ports), value, f"{self.name}-{number}")

    def _once(self, port: int, value: str, token: str) -> None:
        headers = {"authorization": f"Bearer {self.key}", "content-type": "application/json"}
        path = f"/v1/house/values/{value}"
        try:
            seen = _request(port, "GET", path, headers=headers)
        except OSError:
            time.sleep(0.05)
            return
        headers["if-match"] = seen.etag
        try:
            done = self._write(port, path, seen, token, headers)
        except OSError:
            # Nobody can say whether it was written.
            self.unknown.append((value, token))
            return
        if done.status == 200:
            self.acknowledged.append((value, token))
        else:
            assert done.status in {409, 412}, done.document
            self.refused.append(done.status)

    def _write(self, port: int, path: str, seen: Answered, token: str, headers: dict[str, str]) -> Answered:
        if self.name == "reviewer":
            return _request(port, "POST", f"{path}/review", {"reason": token}, headers)
        entry = seen.document["entry"]
        changed = entry | {"note": f"{entry.get('note', '')} {token}".strip(), "reason": token}
        return _request(port, "PUT", path, changed, headers)


@contextmanager
def _servers(url: str) -> Iterator[list[Server]]:
    running = [Server(url) for _ in range(2)]
    try:
        yield running
    finally:
        for server in running:
            server.kill()


@pytest.mark.parametrize("writes", [25, pytest.param(250, marks=pytest.mark.long)])
def test_no_update_is_lost_no_row_is_half_and_the_history_is_whole(
    house: House, database: Database, writes: int
) -> None:
    keys = keys_of(house)
    # One value for each temperature, since two values in force may not hold at one state.
    values = [
        house.add(ENTRY | {"temperature": f"{10 + n} degC", "valid_temperature": None}, ANN, database).id
        for n in range(VALUES)
    ]
    with _servers(house.store.url) as servers:
        ports = [server.port for server in servers]
        people = [
            Person(name, keys[role], ports, values)
            for name, role in (("first", "editor"), ("second", "administrator"), ("reviewer", "reviewer"))
        ]
        threads = [threading.Thread(target=one.work, args=(writes, seed)) for seed, one in enumerate(people)]
        for thread in threads:
            thread.start()
        while sum(len(one.acknowledged) for one in people) < writes // 2 and any(t.is_alive() for t in threads):
            time.sleep(0.01)
        servers[0].kill()
        servers[0].start()
        for thread in threads:
            thread.join(timeout=600)
            assert not thread.is_alive()
    assert house.store.verify() == []
    acknowledged = {pair for one in people for pair in one.acknowledged}
    unknown = {pair for one in people for pair in one.unknown}
    assert len(acknowledged) > writes
    written: set[tuple[str, str]] = set()
    for value in values:
        history = house.store.history(value)
        assert [version.version for version in history] == list(range(1, len(history) + 1))
        tokens = [version.reason for version in history[1:]]
        assert len(set(tokens)) == len(tokens)
        written |= {(value, token or "") for token in tokens}
        # Every change stands on the one before: the last note has every token that an editor wrote, in order.
        notes = str((history[-1].entry or {}).get("note", "")).split()
        assert notes == [token for token in tokens if token is not None and not token.startswith("reviewer")]
        log = [(line["action"], line["version"]) for line in house.store.writes(value)]
        assert [version for _, version in log] == [version.version for version in history]
    assert acknowledged <= written <= acknowledged | unknown
