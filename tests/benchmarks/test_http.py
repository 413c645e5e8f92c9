"""Speed over HTTP, against a bare route of the same server."""

from __future__ import annotations

from collections.abc import Callable

from tests.benchmarks.load import seconds_for

REQUESTS = 400
LEAST_SHARE = 0.7
QUESTION = "/v1/liquids/water/values?property=sound_speed&temperature={}%20degC"


def test_an_answer_is_served_at_least_at_0_7_of_a_bare_route(
    server: int, ratio: Callable[[Callable[[], float], Callable[[], float], int], float]
) -> None:
    temperatures = [5.0 + 0.03 * number for number in range(REQUESTS)]
    ours = [QUESTION.format(f"{t:.2f}") for t in temperatures]
    bare = [f"/bare?temperature={t:.2f}%20degC" for t in temperatures]
    slower = ratio(lambda: seconds_for(server, ours), lambda: seconds_for(server, bare), 41)
    assert 1.0 / slower >= LEAST_SHARE
