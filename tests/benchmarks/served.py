"""The service with one bare route beside its own, so that both are asked of the same server."""

from __future__ import annotations

import os

import numpy as np
import orjson
import pyarrow as pa
from fastapi import Request, Response

import refdb
from refdb_api.app import create_app
from tests.benchmarks.bare import PERCENT_AT_1_ATM, BareWater

app = create_app()


@app.get("/bare")
async def bare(temperature: str) -> Response:
    """The least a FastAPI route with one parameter can do: constant JSON of the same size."""
    return Response(CONSTANT, media_type="application/json")


@app.post("/bare-batch")
async def bare_batch(request: Request) -> Response:
    """The least a route can do that answers a batch: read JSON, evaluate with numpy, write the same Arrow columns."""
    celsius = np.array(orjson.loads(await request.body())["temperature"]["magnitudes"])
    value = WATER.value(celsius)
    codes = pa.array(np.zeros(len(value), dtype=np.int8))
    columns = [pa.array(value), pa.array(value * PERCENT)]
    columns += [pa.DictionaryArray.from_arrays(codes, pa.array([word])) for word in ("ok", "water.sound_speed")]
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, SCHEMA) as writer:
        writer.write_table(pa.table(columns, schema=SCHEMA))
    return Response(sink.getvalue().to_pybytes(), media_type="application/vnd.apache.arrow.stream")


# Routes are matched in order; the floor of small answers must not pay for ours.
app.router.routes.insert(0, next(route for route in app.router.routes if getattr(route, "path", "") == "/bare"))

DATABASE = refdb.open()
WATER = BareWater(DATABASE.row("water.sound_speed")["record"]["form"])
PERCENT = PERCENT_AT_1_ATM / 100.0
SCHEMA = DATABASE.batch("water", ["sound_speed"], state={"temperature": "20 degC"}).arrow().schema

CONSTANT = b'{"filler":"' + b"x" * int(os.environ.get("REFDB_BARE_BYTES", "4000")) + b'"}'
