"""Describing and collecting routes: summary, parameters and answers, for the OpenAPI document."""

from __future__ import annotations

import re
from collections.abc import Callable, Coroutine
from types import UnionType
from typing import TYPE_CHECKING, Any, TypeVar

from fastapi import FastAPI, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse
from fastapi.routing import APIRoute
from pydantic import BaseModel
from starlette.types import ASGIApp, Receive, Scope, Send

from refdb.documents import ProblemDocument
from refdb.values.question import NoQuestion
from refdb_api.keys import required_key
from refdb_api.parameters import Parameters
from refdb_api.respond import PROBLEM_JSON

if TYPE_CHECKING:
    from refdb.store.keys import Role

_IN_PATH = re.compile(r"\{(\w+)\}")

Q = TypeVar("Q")
Endpoint = Callable[[Request], Coroutine[Any, Any, Response]]
Asking = Callable[[Request, Q], Coroutine[Any, Any, Response]]

_PROBLEMS = {
    404: "Unknown name, or nothing published",
    406: "No acceptable media type",
    409: "Several things have this name",
    422: "The question is wrong: state, range, unit or parameter",
}

KEYED = "/house/"
"""Every path below it needs a key."""

_KEYED_PROBLEMS = {
    401: "There is no key, or it is unknown, expired or revoked",
    403: "The key's role is too small, or its holder entered the value that is to be reviewed",
    412: "If-Match names another version than the current one",
    428: "A change needs If-Match",
    503: "The house store is not made or does not answer",
}

IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "required": True,
    "description": "The ETag of the version that is changed.",
    "schema": {"type": "string"},
    "example": '"v1"',
}


class DirectRoute(APIRoute):
    """A route whose endpoint takes the request and gives the response itself.

    FastAPI then has nothing to inject, validate or clean up, and need not look; it still describes the route. Problems
    are told by the application's own handlers.
    """

    def __init__(self, path: str, endpoint: Endpoint, **description: Any) -> None:
        super().__init__(path, endpoint, **description)
        self.app = _direct(endpoint)


def _direct(endpoint: Endpoint) -> ASGIApp:
    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        response = await endpoint(Request(scope, receive, send))
        await response(scope, receive, send)

    return app


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
        answer: type | UnionType,
        question: type[Q],
        key: Role | None = None,
    ) -> Callable[[Asking[Q]], Asking[Q]]:
        """Declare a route that is asked with GET; its endpoint is given the question that the request asks.

        Args:
            operation: its name for generated clients.
            summary: what it answers, in a phrase.
            answer: the type of its document, or several.
            question: the declaration of its parameters.
            key: the role whose key is needed; it is looked at before the question is.
        """
        parameters = Parameters(question, _IN_PATH.findall(path))
        described = {"parameters": parameters.documents()}
        declare = self._declare("GET", path, operation, summary, {200: _answered(answer)}, described)

        def declared(endpoint: Asking[Q]) -> Asking[Q]:
            async def asked(request: Request) -> Response:
                if key is not None:
                    await required_key(request, key)
                return await endpoint(request, parameters.read(request))

            # Not functools.wraps: FastAPI would look for the endpoint behind, and into its question.
            asked.__name__, asked.__doc__ = endpoint.__name__, endpoint.__doc__
            declare(asked)
            return endpoint

        return declared

    def post(
        self,
        path: str,
        operation: str,
        summary: str,
        question: type[BaseModel],
        answer: type,
        other_media: tuple[str, ...] = (),
        keyed: int | None = None,
        about: type = NoQuestion,
    ) -> Callable[[Endpoint], Endpoint]:
        """Declare a route that is asked with POST; nothing is stored without a key.

        Args:
            question: the model of its body.
            answer: the type of its document.
            other_media: what it answers with beside JSON, by `Accept`.
            keyed: the status with which a route that needs a key answers.
            about: the declaration of what its path names.
        """
        body = {"required": True, "content": {"application/json": {"schema": _in_place(question)}}}
        answered = _answered(answer)
        if other_media:
            answered["content"] = {media: {} for media in other_media}
        described = _with_path(path, about, {"requestBody": body})
        responses: dict[int | str, dict[str, Any]] = {
            keyed or 200: answered,
            413: _problem_response("The body is too large"),
        }
        return self._declare("POST", path, operation, summary, responses, described)

    def post_for_page(
        self, path: str, operation: str, summary: str, question: type[BaseModel]
    ) -> Callable[[Endpoint], Endpoint]:
        """Declare a route that is asked with POST and answers with a page of HTML.

        Args:
            question: the model of its body.
        """
        body = {"required": True, "content": {"application/json": {"schema": _in_place(question)}}}
        responses: dict[int | str, dict[str, Any]] = {
            200: {"description": "Answered"},
            413: _problem_response("The body is too large"),
        }
        described = {"requestBody": body}
        return self._declare("POST", path, operation, summary, responses, described, HTMLResponse)

    def put(
        self,
        path: str,
        operation: str,
        summary: str,
        question: type[BaseModel],
        answer: type,
        about: type,
    ) -> Callable[[Endpoint], Endpoint]:
        """Declare a route that is changed with PUT, which needs a key.

        Args:
            question: the model of its body.
            answer: the type of its document.
            about: the declaration of what its path names.
        """
        body = {"required": True, "content": {"application/json": {"schema": _in_place(question)}}}
        responses: dict[int | str, dict[str, Any]] = {
            200: _answered(answer),
            413: _problem_response("The body is too large"),
        }
        described = _with_path(path, about, {"requestBody": body})
        return self._declare("PUT", path, operation, summary, responses, described)

    def _declare(
        self,
        method: str,
        path: str,
        operation: str,
        summary: str,
        responses: dict[int | str, dict[str, Any]],
        described: dict[str, Any],
        response: type[Response] = JSONResponse,
    ) -> Callable[[Endpoint], Endpoint]:
        keyed = path.startswith(KEYED)
        if keyed:
            described = {**described, "security": [{"key": []}]}
            if method != "GET" and "{" in path:
                described = {**described, "parameters": [*described.get("parameters", []), IF_MATCH]}
        description = {
            "methods": [method],
            "operation_id": operation,
            "summary": summary,
            "responses": {**responses, **_problem_responses(_PROBLEMS | _KEYED_PROBLEMS if keyed else _PROBLEMS)},
            "openapi_extra": described,
            "response_class": response,
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
                tags=[self._tag],
                route_class_override=DirectRoute,
                **description,
            )


def _in_place(question: type[BaseModel]) -> Any:
    """The schema of a body with its definitions written out: FastAPI collects those of answers only."""
    schema = question.model_json_schema()
    definitions = schema.pop("$defs", {})

    def written_out(part: Any) -> Any:
        if isinstance(part, list):
            return [written_out(item) for item in part]
        if not isinstance(part, dict):
            return part
        if "$ref" in part:
            return written_out(definitions[part["$ref"].rpartition("/")[2]])
        return {key: written_out(value) for key, value in part.items()}

    return written_out(schema)


def _answered(answer: type | UnionType) -> dict[str, Any]:
    return {"model": answer, "description": "Answered"}


def _problem_response(words: str) -> dict[str, Any]:
    reference = {"$ref": f"#/components/schemas/{ProblemDocument.__name__}"}
    return {"description": words, "content": {PROBLEM_JSON: {"schema": reference}}}


def _problem_responses(problems: dict[int, str]) -> dict[int | str, dict[str, Any]]:
    return {status: _problem_response(words) for status, words in problems.items()}


def _with_path(path: str, about: type, described: dict[str, Any]) -> dict[str, Any]:
    named = Parameters(about, _IN_PATH.findall(path)).documents()
    return {**described, "parameters": named} if named else described
