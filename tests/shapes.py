"""Holding a document against the type of its answer: every member that it needs, and nothing undeclared."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from fastapi import FastAPI

Shape = TypeVar("Shape")


def require_shape(shape: type[Shape], document: object) -> Shape:
    """The document, if it is of the shape.

    Raises:
        ValidationError: a member is missing, is not declared or is of another type.
    """
    # Loaded here, so that collecting tests does not.
    from pydantic import TypeAdapter

    return TypeAdapter(shape).validate_python(document)


def declared_shapes(app: FastAPI) -> dict[tuple[str, str], Any]:
    """The type that each route of an application declares for its answers, by method and path; None without one."""
    from fastapi.routing import APIRoute

    shapes: dict[tuple[str, str], Any] = {}
    for route in app.routes:
        if isinstance(route, APIRoute) and route.include_in_schema:
            answered = [told.get("model") for status, told in route.responses.items() if int(status) < 300]
            shapes |= {(method, route.path): answered[0] if answered else None for method in route.methods or ()}
    return shapes


def untyped(document: Mapping[str, Any]) -> Any:
    """The document as whoever reads JSON has it, for what its type leaves open or may be null."""
    return document
