"""Describing and collecting routes: summary, parameters and answers, for the OpenAPI document."""

from __future__ import annotations

import re
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.routing import APIRoute
from pydantic import BaseModel

from refdb_api.parameters import PARAMETERS, PATH_PARAMETERS
from refdb_api.respond import PROBLEM_JSON
from refdb_api.schemas import ProblemDocument

_IN_PATH = re.compile(r"\{(\w+)\}")

Endpoint = Callable[[Request], Coroutine[Any, Any, Response]]

_PROBLEMS = {
    404: "Unknown name, or nothing published",
    406: "No acceptable media type",
    409: "Several things have this name",
    422: "The question is wrong: state, range, unit or parameter",
}


class DirectRoute(APIRoute):
    """A route whose endpoint takes the request and gives the response itself.

    FastAPI then has nothing to inject or validate, and need not look; it still describes the route.
    """

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The endpoint as it is."""
        return self.endpoint


class Routes:
    """The routes of one module, to be added to an application one by one.

    FastAPI's nested routers are matched twice a request, which costs a quarter of a small answer.
    """

    def __init__(self, tag: str) -> None:
        self._tag = tag
        self._routes: list[tuple[str, Endpoint, dict[str, Any]]] = []

    def get(
        self,
        path: str,
        operation: str,
        summary: str,
        answer: type[BaseModel],
        parameters: tuple[str, ...] = (),
        required: tuple[str, ...] = (),
    ) -> Callable[[Endpoint], Endpoint]:
        """Declare a route that is asked with GET.

        Args:
            operation: its name for generated clients.
            summary: what it answers, in a phrase.
            answer: the model of its document.
            parameters: the query parameters it takes.
            required: those of them that must be given.
        """
        description = {
            "operation_id": operation,
            "summary": summary,
            "responses": {200: {"model": answer, "description": "Answered"}, **_problem_responses()},
            "openapi_extra": {
                "parameters": [
                    *(_path_parameter(name) for name in _IN_PATH.findall(path)),
                    *(PARAMETERS[name].document(name in required) for name in parameters),
                ]
            },
        }

        def declare(endpoint: Endpoint) -> Endpoint:
            self._routes.append((path, endpoint, description))
            return endpoint

        return declare

    def add_to(self, app: FastAPI, prefix: str) -> None:
        """Add every route to an application, in the order of declaration."""
        for path, endpoint, description in self._routes:
            app.router.add_api_route(
                prefix + path,
                endpoint,
                methods=["GET"],
                tags=[self._tag],
                route_class_override=DirectRoute,
                **description,
            )


def _path_parameter(name: str) -> dict[str, Any]:
    description, example = PATH_PARAMETERS[name]
    return {
        "name": name,
        "in": "path",
        "required": True,
        "description": description,
        "schema": {"type": "string"},
        "example": example,
    }


def _problem_responses() -> dict[int | str, dict[str, Any]]:
    reference = {"$ref": f"#/components/schemas/{ProblemDocument.__name__}"}
    return {
        status: {"description": words, "content": {PROBLEM_JSON: {"schema": reference}}}
        for status, words in _PROBLEMS.items()
    }
