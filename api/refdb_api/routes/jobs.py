"""Jobs: a whole one, and each step alone; nothing is stored."""

from __future__ import annotations

from typing import Any

from fastapi import Request, Response
from fastapi.responses import HTMLResponse

from refdb.job import STEPS, against, compare, fit, work_job, work_step
from refdb.job.documents import JobDocument
from refdb.job.models import AgainstQuestion, CompareQuestion, FitQuestion, Job
from refdb.job.reading import read_model
from refdb.job.sheet import page
from refdb_api.describe import Endpoint, Routes
from refdb_api.respond import document, read_body
from refdb_api.routes.common import database

routes = Routes("jobs")
PAGE_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""A sheet carries its own style and needs nothing else."""


@routes.post("/jobs", "work_job", "A whole job worked", Job, JobDocument)
async def job(request: Request) -> Response:
    """One pipe, one liquid and one pair of sensors, worked from end to end."""
    return document(request, work_job(await read_body(request), database(request)))


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
    told = work_job(await read_body(request), database(request))
    return HTMLResponse(page(told), headers={"content-security-policy": PAGE_POLICY})


@routes.post("/jobs/against", "job_against", "What another release would change in a job", AgainstQuestion, JobDocument)
async def compared_releases(request: Request) -> Response:
    """The inputs that another release changes, and the results that move, in units of their uncertainties."""
    content = await read_body(request)
    asked = read_model(AgainstQuestion, content)
    return document(request, against(content["job"], database(request), asked.release))


def _step(name: str) -> Endpoint:
    async def endpoint(request: Request) -> Response:
        content: dict[str, Any] = await read_body(request)
        return document(request, work_step(name, content, database(request)))

    endpoint.__doc__ = f"The step `{name}` of a job, by itself."
    endpoint.__name__ = f"job_{name}"
    return endpoint


for _name in STEPS:
    routes.post(f"/jobs/{_name}", f"job_{_name}", f"One step of a job: {_name}", Job, JobDocument)(_step(_name))
