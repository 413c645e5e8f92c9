"""Counting requests, for operators: a pure ASGI wrapper, which costs next to nothing."""

from __future__ import annotations

import time

from prometheus_client import CollectorRegistry, Counter, Histogram
from starlette.types import ASGIApp, Message, Receive, Scope, Send


class Metrics:
    """Requests by status, and how long they took, of this process."""

    def __init__(self, app: ASGIApp, registry: CollectorRegistry) -> None:
        self._app = app
        requests = Counter("refdb_requests", "Requests answered, by status code.", ["status"], registry=registry)
        self._statuses = {status: requests.labels(str(status)) for status in (200, 404, 406, 409, 422, 500)}
        self._requests = requests
        self._seconds = Histogram("refdb_request_seconds", "Time to answer a request.", registry=registry)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on and count its answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = time.perf_counter()

        async def counted(message: Message) -> None:
            if message["type"] == "http.response.start":
                status = message["status"]
                (self._statuses.get(status) or self._requests.labels(str(status))).inc()
                self._seconds.observe(time.perf_counter() - begun)
            await send(message)

        await self._app(scope, receive, counted)
