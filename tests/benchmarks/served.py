"""The service with one bare route beside its own, so that both are asked of the same server."""

from __future__ import annotations

import os

from fastapi import Response

from refdb_api.app import create_app

app = create_app()


@app.get("/bare")
async def bare(temperature: str) -> Response:
    """The least a FastAPI route with one parameter can do: constant JSON of the same size."""
    return Response(CONSTANT, media_type="application/json")


# Routes are matched in order; the floor must not pay for ours.
app.router.routes.insert(0, app.router.routes.pop())

CONSTANT = b'{"filler":"' + b"x" * int(os.environ.get("REFDB_BARE_BYTES", "4000")) + b'"}'
