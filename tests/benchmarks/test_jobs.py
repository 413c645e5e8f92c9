"""What a whole job costs, against a hundred values in the same process; and a Monte Carlo, against a whole job."""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable

from refdb.database import Database
from refdb.job import work_job
from refdb.job.flow.metering import metering_model
from refdb.job.uncertainty import simulate
from refdb.job.work import begin
from tests.conftest import PROJECT

Ratio = Callable[[Callable[[], float], Callable[[], float], int], float]
JOB = tomllib.loads((PROJECT / "shared/examples/jobs/cold-glycol-copper.toml").read_text(encoding="utf-8"))
DRAWS = 10_000


def _seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def test_a_whole_job_with_its_budget_takes_at_most_15_times_a_hundred_values(database: Database, ratio: Ratio) -> None:
    texts = [f"{5.0 + 0.4 * number:.2f} degC" for number in range(100)]

    def values() -> None:
        for text in texts:
            database.value("water", "sound_speed", temperature=text)

    assert ratio(lambda: _seconds(lambda: work_job(JOB, database)), lambda: _seconds(values), 9) <= 15.0


def test_ten_thousand_draws_take_at_most_3_times_a_whole_job(database: Database, ratio: Ratio) -> None:
    inputs, path = begin(JOB, database)
    model, variables = metering_model(inputs, path, 8.0 / 3600.0)

    def draws() -> None:
        simulate(model, variables, draws=DRAWS)

    assert ratio(lambda: _seconds(draws), lambda: _seconds(lambda: work_job(JOB, database)), 9) <= 3.0
