"""Parameters of a route: read from the declaration of its question, for the OpenAPI document and for every request.

A parameter cannot be read without being described, nor described without being read. (Declaring each of them to
FastAPI instead costs half the speed of a small answer.)
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar
from urllib.parse import parse_qsl

from fastapi import Request

from refdb.problems import BadParameter
from refdb.questions import Asked, checked, fields_of
from refdb.units import printable, whole_number

Q = TypeVar("Q")


class Parameters(Generic[Q]):
    """The parameters of one route: those of its question that its path does not name."""

    def __init__(self, question: type[Q], in_path: Sequence[str] = ()) -> None:
        """Read a declaration.

        Args:
            in_path: the names in the path of the route; each is a field of the question.
        """
        fields = {field.part or field.name: field for field in fields_of(question)}
        self._question = question
        self._in_path = {name: fields[name] for name in in_path}
        named = {field.name for field in self._in_path.values()}
        self._query = {field.name: field for field in fields.values() if field.name not in named}
        self._needed = [field for field in self._query.values() if field.needed]
        self._whole = {field.name: field for field in self._query.values() if field.whole}

    def documents(self) -> list[dict[str, Any]]:
        """The parameters in OpenAPI's words."""
        return [
            *(_document(name, "path", field) for name, field in self._in_path.items()),
            *(_document(name, "query", field) for name, field in self._query.items()),
        ]

    def read(self, request: Request) -> Q:
        """The question that a request asks.

        Raises:
            BadParameter: a parameter is not one of the route's, is missing, is repeated where it may not be, or is no
                whole number where one is asked for.
        """
        given: dict[str, Any] = {}
        for name, named in self._in_path.items():
            given[named.name] = request.path_params[name]
        # As Starlette's own query_params, without the mapping that it builds for lookups we do not make.
        for name, text in parse_qsl(request.scope["query_string"].decode("latin-1"), keep_blank_values=True):
            field = self._query.get(name)
            if field is None:
                raise self._unknown(name)
            if field.repeatable:
                given.setdefault(name, []).append(text)
            elif name in given:
                raise BadParameter(f"{name}: is given twice; give it once.", parameter=name)
            else:
                given[name] = text
        for field in self._needed:
            if field.name not in given:
                raise BadParameter(
                    f"{field.name}: is missing; write it, as in {field.name}={field.example}.", parameter=field.name
                )
        for name, whole in self._whole.items():
            if name in given:
                given[name] = _whole(given[name], whole)
        return checked(self._question, given)

    def _unknown(self, name: str) -> BadParameter:
        taken = sorted(self._query)
        return BadParameter(
            f"{name}: this route takes no such parameter; it takes {', '.join(taken) or 'none'}.",
            parameter=name,
            accepted=taken,
        )


def _document(name: str, where: str, field: Asked) -> dict[str, Any]:
    schema: dict[str, Any] = {"type": "string"}
    if field.choices:
        schema["enum"] = list(field.choices)
    if field.repeatable:
        schema = {"type": "array", "items": schema}
    usual = f" {field.default} by default." if field.has_usual else ""
    return {
        "name": name,
        "in": where,
        "required": where == "path" or field.required,
        "description": field.described + usual,
        "schema": schema,
        "example": [field.example] if field.repeatable else field.example,
    }


def _whole(text: str, field: Asked) -> int:
    """A whole number from its text.

    Raises:
        BadParameter: it is none, or not in range.
    """
    number = whole_number(text)
    if field.between is not None and number is not None and not field.between[0] <= number <= field.between[1]:
        number = None
    if number is not None:
        return number
    if field.between is not None:
        wanted = f"a whole number from {field.between[0]} to {field.between[1]}; write one, or leave it out"
    else:
        wanted = f"{field.must_be}, such as {field.example}"
    shown = printable(text)
    raise BadParameter(f"{field.name}: '{shown}' is not {wanted}.", parameter=field.name, given=shown)


@dataclass(frozen=True, slots=True)
class Page:
    """Which part of a list is wanted."""

    start: int
    limit: int


def read_page(limit: int, mark: str | None, release: str) -> Page:
    """The part of a list that `limit` and the mark `next` ask for.

    Raises:
        BadParameter: the mark is none of this release.
    """
    return Page(_start(mark, release) if mark is not None else 0, limit)


def next_mark(page: Page, total: int, release: str) -> str | None:
    """The opaque mark of the following page, or None at the end."""
    following = page.start + page.limit
    if following >= total:
        return None
    return base64.urlsafe_b64encode(f"{release}:{following}".encode()).decode("ascii").rstrip("=")


def _start(mark: str, release: str) -> int:
    try:
        label, _, start = base64.urlsafe_b64decode(mark + "=" * (-len(mark) % 4)).decode("ascii").partition(":")
        place = whole_number(start) if label == release else None
    except (binascii.Error, UnicodeError, ValueError):
        place = None
    if place is not None:
        return place
    raise BadParameter(
        f"next: is not a mark of a list of release {release}; take it from the previous page.",
        parameter="next",
        given=printable(mark),
    )
