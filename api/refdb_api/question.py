"""A question in the body of a request, checked by hand: a list of a million numbers has no need of a model."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, TypeVar

from refdb.problems import BadParameter
from refdb.questions import Asked, fields_of

Q = TypeVar("Q")


def read_question(question: type[Q], body: Mapping[str, Any]) -> Q:
    """The question in a body; its quantities are left as they came.

    Raises:
        BadParameter: a member is unknown, missing or of the wrong kind.
    """
    members = {field.name: field for field in fields_of(question)}
    for name in body:
        if name not in members:
            raise BadParameter(
                f"{name}: this route takes no such member; it takes {', '.join(members)}.",
                parameter=name,
                accepted=list(members),
            )
    for name, field in members.items():
        if name in body or field.required:
            _check(body.get(name), field)
    return question(**body)


def _check(given: Any, field: Asked) -> None:
    if field.pairs:
        words, right = "a mapping of properties to units", isinstance(given, dict) and _texts(given.values())
        example = json.dumps(dict([field.example.split(":")]))
    elif field.repeatable:
        words, right = "a list of texts", isinstance(given, list) and _texts(given)
        example = json.dumps([field.example])
    else:
        words, example = field.must_be or "a text", field.example
        right = bool(field.dimensions) or isinstance(given, str) or (given is None and not field.required)
    if not right:
        raise BadParameter(f"{field.name}: must be {words}, as in {example}.", parameter=field.name)


def _texts(items: Any) -> bool:
    return all(isinstance(item, str) for item in items)
