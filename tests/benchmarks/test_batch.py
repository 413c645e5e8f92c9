"""A hundred thousand temperatures at once, against numpy alone, in process and over HTTP."""

from __future__ import annotations

import http.client
import time
from collections.abc import Callable
from contextlib import closing

import numpy as np
import orjson
import pyarrow as pa
import pytest

import refdb
from refdb import Quantity
from refdb.units import units
from tests.benchmarks.bare import BareWater
from tests.benchmarks.conftest import Measured

COUNT = 100_000
MOST_IN_PROCESS = 3.0
MOST_OVER_HTTP = 1.5
ROUNDS = 21

Ratio = Callable[[Measured, Measured, int], float]


def _temperatures() -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.linspace(0.5, 99.0, COUNT)


def test_a_hundred_thousand_temperatures_cost_at_most_thrice_the_form_in_numpy(ratio: Ratio) -> None:
    database = refdb.open()
    bare = BareWater(database.row("water.sound_speed")["record"]["form"])
    temperatures = _temperatures()
    state = {"temperature": Quantity(temperatures, units().find("degC", "temperature"))}

    def ours() -> float:
        begun = time.perf_counter()
        found = database.batch("water", ["sound_speed"], state=state).parts[0]
        assert len(found.value) == len(found.standard_uncertainty) == COUNT
        return time.perf_counter() - begun

    def floor() -> float:
        begun = time.perf_counter()
        bare.value(temperatures)
        return time.perf_counter() - begun

    found = database.batch("water", ["sound_speed"], state=state).parts[0].value
    assert found == pytest.approx(bare.value(temperatures), rel=1e-12)
    assert ratio(ours, floor, ROUNDS) <= MOST_IN_PROCESS


def test_an_arrow_batch_over_http_costs_at_most_one_and_a_half_of_numpy_on_the_same_server(
    server: int, ratio: Ratio
) -> None:
    question = orjson.dumps(
        {
            "subject": "water",
            "properties": ["sound_speed"],
            "temperature": {"unit": "degC", "magnitudes": _temperatures().tolist()},
        }
    )

    def asked(path: str) -> bytes:
        headers = {"Content-Type": "application/json", "Accept": "application/vnd.apache.arrow.stream"}
        connection = http.client.HTTPConnection("127.0.0.1", server, timeout=30)
        connection.request("POST", path, body=question, headers=headers)
        with closing(connection):
            return connection.getresponse().read()

    def seconds(path: str) -> float:
        begun = time.perf_counter()
        asked(path)
        return time.perf_counter() - begun

    ours, floor = (pa.ipc.open_stream(asked(path)).read_all() for path in ("/v1/values", "/bare-batch"))
    assert ours.schema.equals(floor.schema, check_metadata=True)
    assert ours["value"].to_numpy() == pytest.approx(floor["value"].to_numpy(), rel=1e-12)
    assert ratio(lambda: seconds("/v1/values"), lambda: seconds("/bare-batch"), ROUNDS) <= MOST_OVER_HTTP
