"""A bounded load of GET requests over kept-alive connections to a server on this machine."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator, Sequence

CONNECTIONS = 8


def seconds_for(port: int, paths: Sequence[str]) -> float:
    """Seconds to have every path answered with 200."""
    return asyncio.run(_load(port, paths))


async def _load(port: int, paths: Sequence[str]) -> float:
    waiting = iter(paths)
    begun = time.perf_counter()
    await asyncio.gather(*(_client(port, waiting) for _ in range(CONNECTIONS)))
    return time.perf_counter() - begun


async def _client(port: int, paths: Iterator[str]) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for path in paths:
        writer.write(f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        head = await reader.readuntil(b"\r\n\r\n")
        if not head.startswith(b"HTTP/1.1 200"):
            raise RuntimeError(f"{path}: {head.splitlines()[0]!r}")
        length = next(line for line in head.lower().splitlines() if line.startswith(b"content-length"))
        await reader.readexactly(int(length.split(b":")[1]))
    writer.close()
    await writer.wait_closed()
