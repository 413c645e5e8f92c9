"""Answering: one way out for documents, one for problems."""

from __future__ import annotations

from typing import Any

import orjson
from fastapi import Request, Response
from fastapi.exceptions import HTTPException
from starlette.exceptions import HTTPException as StarletteHTTPException

from refdb.problems import PROBLEM_URI, Problem

JSON = "application/json"
PROBLEM_JSON = "application/problem+json"
_ACCEPTED = ("*/*", "application/*", JSON)


class NotAcceptable(Problem):
    """The client accepts no media type that the route can send."""

    slug, title, status = "not-acceptable", "No acceptable media type", 406


def document(request: Request, content: Any, status: int = 200) -> Response:
    """The document as JSON.

    Raises:
        NotAcceptable: the request's Accept header admits no JSON.
    """
    accept = request.headers.get("accept")
    if accept is not None and not any(kind in accept for kind in _ACCEPTED):
        raise NotAcceptable(f"Accept: '{accept}' admits nothing that this route sends; accept {JSON}.", accepted=[JSON])
    return Response(orjson.dumps(content), status_code=status, media_type=JSON)


async def problem_response(_request: Request, problem: Exception) -> Response:
    """A problem document (RFC 9457) for a question that could not be answered."""
    assert isinstance(problem, Problem)  # noqa: S101 - registered for Problem alone
    return _problem(problem.document(), problem.status)


async def http_problem_response(request: Request, error: Exception) -> Response:
    """The same shape for what the framework refuses: no such route, no such method."""
    assert isinstance(error, StarletteHTTPException | HTTPException)  # noqa: S101 - registered for these alone
    slug, title, detail = _HTTP_WORDS.get(error.status_code, ("http", "The request was refused", str(error.detail)))
    content = {
        "type": PROBLEM_URI + slug,
        "title": title,
        "status": error.status_code,
        "detail": detail.format(method=request.method, path=request.url.path),
    }
    response = _problem(content, error.status_code)
    response.headers.update(error.headers or {})
    return response


async def failure_response(_request: Request, _error: Exception) -> Response:
    """The same shape for a fault of ours, without telling its inside."""
    content = {
        "type": PROBLEM_URI + "failure",
        "title": "refdb failed",
        "status": 500,
        "detail": "The service failed to answer; the question may be right. Its log says more.",
    }
    return _problem(content, 500)


_HTTP_WORDS = {
    404: ("no-such-route", "There is no such route", "There is no route {path}; /docs lists them all."),
    405: (
        "no-such-method",
        "The route has no such method",
        "{path} cannot be asked with {method}; /docs says how.",
    ),
}


def _problem(content: dict[str, Any], status: int) -> Response:
    return Response(orjson.dumps(content), status_code=status, media_type=PROBLEM_JSON)
