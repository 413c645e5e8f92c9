"""The command that serves."""

from __future__ import annotations

import errno
import socket
from contextlib import suppress

import click

from refdb.problems import BadParameter

WAITING = 2048
"""Connections that may wait to be answered, as uvicorn itself has it."""


@click.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True, help="Port to listen on.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes that answer.")
def serve_command(host: str, port: int, workers: int) -> int:
    """Serve the HTTP API and its documentation (at /docs), with no internet.

    The compiled files are hashed first; nothing is served from files that do not fit.
    """
    from refdb.cli.progress import holdings
    from refdb.data import pinned_whole
    from refdb.lookup import ReleaseStore

    store = ReleaseStore(pinned_whole().store)
    store.release()
    with bound(host, port) as listening:
        # Whoever asks from now on is answered, if only when the service has been loaded.
        click.echo(f"{holdings(store)}; {address(host, port)} (documentation at /docs)", err=True)
        return answer_on(listening, workers)


def bound(host: str, port: int) -> socket.socket:
    """A socket that listens.

    Raises:
        BadParameter: this machine has no such address, or the port is taken or may not be used.
    """
    try:
        family, _, _, _, where = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
        return socket.create_server(where[:2], family=family, backlog=WAITING)
    except OSError as error:
        raise _not_bound(host, port, error) from error


def address(host: str, port: int) -> str:
    """Where the service is found, as a URL."""
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def answer_on(listening: socket.socket, workers: int) -> int:
    """Answer on a socket until the process is stopped; 0, or 1 if the service could not be started."""
    from uvicorn import Config, Server
    from uvicorn.supervisors import Multiprocess

    config = Config("refdb_api.app:app", workers=workers, log_level="warning", access_log=False, backlog=WAITING)
    with suppress(KeyboardInterrupt):
        if workers > 1:
            Multiprocess(config, sockets=[listening]).run()
            return 0
        server = Server(config)
        server.run(sockets=[listening])
        return 0 if server.started else 1
    return 0


def _not_bound(host: str, port: int, error: OSError) -> BadParameter:
    if error.errno == errno.EADDRINUSE:
        wrong = f"port: {port} on {host} is taken by another program; stop it, or give another port with --port"
        return BadParameter(f"{wrong}, such as --port {port + 1 if port < 65535 else port - 1}.", parameter="port")
    if error.errno == errno.EACCES:
        wrong = f"port: {port} on {host} may not be used by this user; give one above 1023 with --port"
        return BadParameter(f"{wrong}, such as --port 8000.", parameter="port")
    return BadParameter(
        f"host: '{host}' is no address on which this machine can listen ({error.strerror}); give one of its own with "
        "--host, such as 127.0.0.1 (for this machine alone) or 0.0.0.0 (all its IPv4 addresses).",
        parameter="host",
        given=host,
    )
