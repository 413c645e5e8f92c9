"""Describing a route: summary, parameters and answers, for the OpenAPI document."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from refdb_api.parameters import PARAMETERS
from refdb_api.respond import PROBLEM_JSON
from refdb_api.schemas import ProblemDocument

_PROBLEMS = {
    404: "Unknown name, or nothing published",
    406: "No acceptable media type",
    409: "Several things have this name",
    422: "The question is wrong: state, range, unit or parameter",
}


def described(
    summary: str, answer: type[BaseModel], parameters: tuple[str, ...] = (), required: tuple[str, ...] = ()
) -> dict[str, Any]:
    """Keyword arguments for a FastAPI route.

    Args:
        summary: what the route answers, in a phrase.
        answer: the model of its document.
        parameters: the query parameters it takes.
        required: those of them that must be given.
    """
    return {
        "summary": summary,
        "responses": {200: {"model": answer, "description": "Answered"}, **_problem_responses()},
        "openapi_extra": {"parameters": [PARAMETERS[name].document(name in required) for name in parameters]},
    }


def _problem_responses() -> dict[int | str, dict[str, Any]]:
    reference = {"$ref": f"#/components/schemas/{ProblemDocument.__name__}"}
    return {
        status: {"description": words, "content": {PROBLEM_JSON: {"schema": reference}}}
        for status, words in _PROBLEMS.items()
    }
