"""Documenting the Python methods that ask a question, from its declaration: signature and docstring."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any, TypeVar

from refdb.questions.declare import Asked, fields_of
from refdb.questions.groups import AskedChoices, AskedRelease

Method = TypeVar("Method", bound=Callable[..., Any])

_TOLD_AS = {"options": AskedChoices, "release": AskedRelease}
_ASKED = "    asked: the fields below as one question, in place of them."


def asks(question: type) -> Callable[[Method], Method]:
    """Say in `help` what a method asks: the fields of a question with their words, examples and defaults.

    `**` in the method's own signature stands for the fields that it does not name; where it takes `options`, or a
    `release` as an object, these stand for the fields they are read from.
    """

    def documented(method: Method) -> Method:
        own = inspect.signature(method)
        fields = {field.parameter or field.name: field for field in fields_of(question) if not field.paging}
        parameters = [one for one in own.parameters.values() if one.kind is not inspect.Parameter.VAR_KEYWORD]
        named = {one.name for one in parameters}
        if len(named) < len(own.parameters):
            elsewhere = {field for name, told in _TOLD_AS.items() if name in named for field in dir(told)}
            parameters += [
                _parameter(name, field)
                for name, field in fields.items()
                if name not in named and field.name not in elsewhere
            ]
        method.__signature__ = own.replace(parameters=parameters)  # type: ignore[attr-defined]
        told = [_ASKED] if "asked" in named else []
        told += [_line(fields[one.name]) for one in parameters if one.name in fields]
        method.__doc__ = _with_arguments(inspect.cleandoc(method.__doc__ or ""), told)
        return method

    return documented


def _parameter(name: str, field: Asked) -> inspect.Parameter:
    default = inspect.Parameter.empty if field.needed else field.default
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default)


def _with_arguments(doc: str, lines: list[str]) -> str:
    """A docstring with lines among its arguments."""
    said, raises, after = doc.partition("\n\nRaises:")
    before, args, own = said.partition("\n\nArgs:\n")
    return "\n".join([f"{before}\n\nArgs:", *lines, *([own] if args else [])]) + raises + after


def _line(field: Asked) -> str:
    measures = f" ({field.dimensions[0]})" if len(field.dimensions) == 1 else ""
    usual = f" {field.default!r} when not given." if field.default not in (None, ()) else ""
    return f"    {field.parameter or field.name}{measures}: {field.words} Such as {field.example!r}.{usual}"
