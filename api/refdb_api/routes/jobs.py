"""Jobs: a whole one, and each step alone; nothing is stored."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fastapi import Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse

from refdb.database import Database
from refdb.job import STEPS, against, compare, fit, work_job, work_step
from refdb.job.documents import JobDocument
from refdb.job.models import AgainstQuestion, CompareQuestion, FitQuestion, Job
from refdb.job.reading import read_model
from refdb.job.sheet import page
from refdb_api.describe import Endpoint, Routes
from refdb_api.keys import with_house
from refdb_api.respond import document, private, read_body
from refdb_api.routes.common import database

routes = Routes("jobs")
PAGE_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""A sheet carries its own style and needs nothing else."""


Worked = Callable[[dict[str, Any], Database], Response]


async def _worked(request: Request, work: Worked) -> Response:
    """What is made of the job in a request; with house values beside, for the holder of a key alone."""
    content = await read_body(request)
    if content.get("layers", "release") == "release":
        return work(content, database(request))
    served = await with_house(request)
    # The house store is read with SQL, which must not keep other requests waiting.
    return private(await run_in_threadpool(work, content, served))


@routes.post("/jobs", "work_job", "A whole job worked", Job, JobDocument)
async def job(request: Request) -> Response:
    """One pipe, one liquid and one pair of sensors, worked from end to end."""
    return await _worked(request, lambda content, served: document(request, work_job(content, served)))


@routes.post("/jobs/fit", "fit_sensors", "Sensors fitted to known spacings", FitQuestion, JobDocument)
async def fitted(request: Request) -> Response:
    """The slowness and offset of sensors whose data nobody has."""
    return document(request, fit(await read_body(request)))


@routes.post("/jobs/compare", "compare_meters", "Two meters in one line", CompareQuestion, JobDocument)
async def compared(request: Request) -> Response:
    """Two meters compared by |E_n| of ISO/IEC 17043."""
    return document(request, compare(await read_body(request)))


@routes.post_for_page("/jobs/sheet", "job_sheet", "The sheet of a job, to print", Job)
async def sheet(request: Request) -> Response:
    """A whole job worked, as one printable page that loads and runs nothing."""
    headers = {"content-security-policy": PAGE_POLICY}
    return await _worked(
        request, lambda content, served: HTMLResponse(page(work_job(content, served)), headers=headers)
    )


@routes.post("/jobs/against", "job_against", "What another release would change in a job", AgainstQuestion, JobDocument)
async def compared_releases(request: Request) -> Response:
    """The inputs that another release changes, and the results that move, in units of their uncertainties."""
    content = await read_body(request)
    asked = read_model(AgainstQuestion, content)
    return document(request, against(content["job"], database(request), asked.release))


def _step(name: str) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        return await _worked(request, lambda content, served: document(request, work_step(name, content, served)))

    endpoint.__doc__ = f"The step `{name}` of a job, by itself."
    endpoint.__name__ = f"job_{name}"
    return endpoint


for _name in STEPS:
    routes.post(f"/jobs/{_name}", f"job_{_name}", f"One step of a job: {_name}", Job, JobDocument)(_step(_name))
