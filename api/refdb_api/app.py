"""The application: routes, problems, documentation, metrics."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request, Response
from fastapi_offline import FastAPIOffline
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, generate_latest
from starlette.exceptions import HTTPException

from refdb.data import pinned_whole
from refdb.database import Database
from refdb.documents import ProblemDocument
from refdb.opening import open_database
from refdb.problems import Problem
from refdb_api.documents import HealthDocument
from refdb_api.metrics import Metrics
from refdb_api.respond import document, failure_response, http_problem_response, problem_response
from refdb_api.routes import audit, check, jobs, pipes, subjects, tables, vocabulary
from refdb_api.routes import house as house_values

if TYPE_CHECKING:
    from refdb.house import House

DESCRIPTION = """
Reference values for clamp-on transit-time ultrasonic flow measurement: the sound speeds and density of pipe walls and
linings, the properties of liquids, pipe dimensions and roughness. Every answer names its value, standard uncertainty,
valid range, release, row, digest and sources.

Every quantity is a number with a unit (`20 degC`, `3 bar(g)`, `4 1/2 in`); `/v1/units` lists every accepted spelling.
Problems are RFC 9457 documents. Pin a release with `release=` to get the same answer for ever.

Nominal pipe dimensions are for measuring flow, not for pressure design. Clamp-on work meets hot surfaces, pressure,
hazardous liquids, traffic and heights: local codes, site rules and licensed practice come first.
"""


def create_app(database: Database | None = None, house: House | None = None) -> FastAPI:
    """The service over a database; the installed one by default, hashed whole and opened when the service starts.

    It does not start where the installed files do not fit their SHA-256. A database that is given was opened by
    somebody else, who answers for it.

    Args:
        database: the releases.
        house: the house store beside them; the one that `REFDB_HOUSE_URL` names by default, opened when it is needed.
    """

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        if database is None:
            pinned_whole()
            app.state.database = open_database()
        yield

    app: FastAPI = FastAPIOffline(
        title="refdb",
        summary="Versioned reference data for clamp-on ultrasonic flow measurement",
        description=DESCRIPTION,
        version=version("refdb"),
        lifespan=lifespan,
        license_info={"name": "Apache-2.0 (code), CC0-1.0 (compiled data)"},
        swagger_ui_parameters={"defaultModelsExpandDepth": -1, "tryItOutEnabled": True},
    )
    if database is not None:
        app.state.database = database
    app.state.house = house
    for module in (subjects, pipes, audit, tables, vocabulary, check, house_values, jobs):
        module.routes.add_to(app, "/v1")
    _add_problems(app)
    _add_operations(app)
    _describe_keys(app)
    # Routes are matched in order: the ones that are asked most come first, the documentation's own last.
    app.router.routes.sort(key=lambda route: not getattr(route, "path", "").startswith("/v1"))
    return app


def _add_problems(app: FastAPI) -> None:
    app.add_exception_handler(Problem, problem_response)
    app.add_exception_handler(HTTPException, http_problem_response)
    app.add_exception_handler(Exception, failure_response)


def _add_operations(app: FastAPI) -> None:
    registry = CollectorRegistry()
    app.add_middleware(Metrics, registry=registry)

    @app.get("/health", tags=["operation"], operation_id="health", responses={200: {"model": HealthDocument}})
    async def health(request: Request) -> Response:
        """Whether the process answers, and from which release by default."""
        return document(request, _health(request))

    @app.get(
        "/ready",
        tags=["operation"],
        operation_id="ready",
        responses={200: {"model": HealthDocument}, 503: {"model": ProblemDocument}},
    )
    async def ready(request: Request) -> Response:
        """Whether values can be served."""
        return document(request, _health(request))

    @app.get("/metrics", tags=["operation"], operation_id="metrics")
    async def metrics(_request: Request) -> Response:
        """Counters of this process in the Prometheus text format."""
        return Response(generate_latest(registry), media_type=CONTENT_TYPE_LATEST)


def _describe_keys(app: FastAPI) -> None:
    """Tell the OpenAPI document how a key is sent."""
    described = app.openapi

    def openapi() -> dict[str, Any]:
        document = described()
        schemes = document.setdefault("components", {}).setdefault("securitySchemes", {})
        schemes["key"] = {"type": "http", "scheme": "bearer", "description": "A key made with `refdb house key add`."}
        return document

    app.openapi = openapi  # type: ignore[method-assign]


def _health(request: Request) -> HealthDocument:
    served: Database = request.app.state.database
    return {"status": "ok", "version": request.app.version, "release": served.release().label}


app = create_app()
