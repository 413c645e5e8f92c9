"""Answering: one way out for documents, one for problems."""

from __future__ import annotations

import hashlib
import logging
from typing import TYPE_CHECKING, Any

import orjson
from fastapi import Request, Response
from fastapi.exceptions import HTTPException
from starlette.exceptions import HTTPException as StarletteHTTPException

from refdb.problems import PROBLEM_URI, BadParameter, HouseUnavailable, IntegrityError, KeyNeeded, Problem
from refdb.values.finite import require_finite

if TYPE_CHECKING:
    import pyarrow

    from refdb.documents import ProblemDocument

LOG = logging.getLogger("refdb")
"""What is for the operator's eyes alone; written to standard error where nothing else is set up."""

JSON = "application/json"
PROBLEM_JSON = "application/problem+json"
ARROW = "application/vnd.apache.arrow.stream"
MOST_BYTES = 32 * 1024 * 1024
ANSWER_FORMAT = 1
"""The version of the form in which answers are told; it goes up when the document of a pinned answer changes."""

NULL, NO_BOUND = b"null", b'"bound":null'
"""Nothing, and the one member of a usual answer that holds it."""

TAG_DIGITS = 32
FOR_EVER = "public, max-age=31536000, immutable"
ASK_AGAIN = "no-cache"
_ACCEPTED = ("*/*", "application/*", JSON)


class NotAcceptable(Problem):
    """The client accepts no media type that the route can send."""

    slug, title, status = "not-acceptable", "No acceptable media type", 406


class TooLarge(Problem):
    """The body of a request is longer than the service reads."""

    slug, title, status = "too-large", "The body is too large", 413


async def read_body(request: Request) -> dict[str, Any]:
    """The JSON object in the body of a request.

    Raises:
        TooLarge: the body is longer than the service reads; the rest of it is left unread.
        BadParameter: the body is no JSON object.
    """
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > MOST_BYTES:
            raise TooLarge(
                f"body: is larger than {MOST_BYTES // 1024 // 1024} MiB; ask in several questions.", parameter="body"
            )
        parts.append(part)
    try:
        content = orjson.loads(b"".join(parts))
    except orjson.JSONDecodeError as error:
        raise BadParameter(f"body: is not JSON ({error}); send a JSON object.", parameter="body") from error
    if not isinstance(content, dict):
        raise BadParameter("body: must be a JSON object, with its subject and state as members.", parameter="body")
    return content


def wants_arrow(request: Request) -> bool:
    """Whether the client asks for an Arrow stream rather than JSON."""
    return ARROW in (request.headers.get("accept") or "")


def arrow(table: pyarrow.Table) -> Response:
    """The table as an Arrow IPC stream."""
    import pyarrow as pa

    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table)
    return Response(sink.getvalue().to_pybytes(), media_type=ARROW)


def require_json(request: Request) -> None:
    """Nothing, if the client takes JSON; asked before anything is written, since a refusal must not come after.

    Raises:
        NotAcceptable: the request's Accept header admits no JSON.
    """
    accept = request.headers.get("accept")
    if accept is not None and not any(kind in accept for kind in _ACCEPTED):
        raise NotAcceptable(f"Accept: '{accept}' admits nothing that this route sends; accept {JSON}.", accepted=[JSON])


def document(request: Request, content: Any, status: int = 200) -> Response:
    """The document as JSON.

    Raises:
        NotAcceptable: the request's Accept header admits no JSON.
        NotFinite: a number of the document is not finite.
    """
    require_json(request)
    body = orjson.dumps(content)
    # What is not finite becomes null there. Counting is cheap; looking at every number is not, and hardly ever needed.
    if body.count(NULL) > body.count(NO_BOUND):
        require_finite(content)
    if request.scope["method"] == "GET":
        return _cached(request, body, status)
    return Response(body, status_code=status, media_type=JSON)


def private(response: Response) -> Response:
    """The response for the holder of a key alone: no cache may keep it."""
    response.headers["cache-control"] = "private, no-store"
    if "etag" in response.headers:
        del response.headers["etag"]
    return response


def asked_again(response: Response) -> Response:
    """The response of a route that names a release and still tells what later ones say of it: no pinned answer."""
    response.headers["cache-control"] = ASK_AGAIN
    return response


def _cached(request: Request, body: bytes, status: int) -> Response:
    """Pinned answers never change and may be kept for ever; what follows the newest release is asked for again.

    The tag is strong: a digest of the bytes, after the version of the form in which answers are told.
    """
    tag = f'"{ANSWER_FORMAT}-{hashlib.sha256(body).hexdigest()[:TAG_DIGITS]}"'
    headers = {"etag": tag, "cache-control": FOR_EVER if is_pinned(request) else ASK_AGAIN}
    known = request.headers.get("if-none-match")
    if known is not None and (
        known.strip() == "*" or tag in {one.strip().removeprefix("W/") for one in known.split(",")}
    ):
        return Response(status_code=304, headers=headers)
    return Response(body, status_code=status, headers=headers, media_type=JSON)


def is_pinned(request: Request) -> bool:
    """Whether a request names its release, in its path or its query."""
    query: bytes = request.scope["query_string"]
    return "label" in request.path_params or query.startswith(b"release=") or b"&release=" in query


async def problem_response(_request: Request, problem: Exception) -> Response:
    """A problem document (RFC 9457) for a question that could not be answered."""
    assert isinstance(problem, Problem)  # noqa: S101 - registered for Problem alone
    content = problem.document()
    if isinstance(problem, HouseUnavailable):
        LOG.error("%s (%s)", problem.detail, problem.inside)
    elif isinstance(problem, IntegrityError):
        # It names files of this machine.
        LOG.error("%s", problem.detail)
        content["detail"] = "The service's stored data do not fit; the question may be right. Its log says more."
    response = _problem(content, problem.status)
    if problem.status == KeyNeeded.status:
        response.headers["www-authenticate"] = "Bearer"
    return response


async def http_problem_response(request: Request, error: Exception) -> Response:
    """The same shape for what the framework refuses: no such route, no such method."""
    assert isinstance(error, StarletteHTTPException | HTTPException)  # noqa: S101 - registered for these alone
    slug, title, detail = _HTTP_WORDS.get(error.status_code, ("http", "The request was refused", str(error.detail)))
    content: ProblemDocument = {
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
    content: ProblemDocument = {
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


def _problem(content: ProblemDocument, status: int) -> Response:
    return Response(orjson.dumps(content), status_code=status, media_type=PROBLEM_JSON)
