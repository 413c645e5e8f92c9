"""Serving: the address is announced once it can be reached, and one that cannot be had is refused in a sentence."""

from __future__ import annotations

import errno
import json
import os
import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from refdb.cli.serve import address
from refdb.database import Database
from tests.conftest import CommandLine

REFDB = str(Path(sys.executable).parent / "refdb")


@pytest.fixture
def taken() -> Iterator[int]:
    """A port of this machine on which something listens already."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        yield other.getsockname()[1]


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return int(probe.getsockname()[1])


@pytest.mark.parametrize("workers", [1, 2])
def test_whoever_reads_the_announcement_can_connect(workers: int, database: Database) -> None:
    port = _free_port()
    command = [REFDB, "serve", "--port", str(port), "--workers", str(workers)]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as serving:
        try:
            assert serving.stderr is not None
            announced = serving.stderr.readline()
            # Connected at once and once: an address that is announced too early would refuse it.
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/health", timeout=120) as answer:
                told = json.load(answer)
        finally:
            serving.terminate()
    assert told["release"] == database.release().label
    names, rows = len(database.store.names(database.release())), database.release().rows
    assert announced == (
        f"{told['release']}: {names:,} names, {rows:,} rows in {len(database.releases())} releases; "
        f"http://127.0.0.1:{port} (documentation at /docs)\n"
    )


def test_a_port_that_is_taken_is_refused_with_another_one(command: CommandLine, taken: int) -> None:
    printed = command("serve", "--port", str(taken))
    assert printed.code == 2
    assert printed.out == ""
    assert re.fullmatch(
        rf"refdb: port: {taken} on 127\.0\.0\.1 is taken by another program; stop it, or give another port with "
        rf"--port, such as --port \d+\.\n",
        printed.err,
    )


@pytest.mark.parametrize(
    "host",
    [
        "203.0.113.1",  # RFC 5737: for documentation, so that no machine has it
        "no-such-host.invalid",  # RFC 6761: a name that never resolves
    ],
)
def test_a_host_that_is_not_this_machine_is_refused(command: CommandLine, host: str) -> None:
    printed = command("serve", "--host", host, "--port", str(_free_port()))
    assert printed.code == 2
    assert printed.err.startswith(f"refdb: host: '{host}' is no address on which this machine can listen (")
    assert "--host" in printed.err
    assert printed.err.count("\n") == 1


def test_a_port_for_privileged_users_alone_is_refused(command: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    # Tests may run as a user who is refused nothing.
    monkeypatch.setattr(socket, "create_server", refuse)
    printed = command("serve", "--port", "80")
    assert printed.code == 2
    assert printed.err.startswith("refdb: port: 80 on 127.0.0.1 may not be used by this user;")


def test_an_ipv6_address_stands_in_brackets() -> None:
    assert address("::1", 8000) == "http://[::1]:8000"
