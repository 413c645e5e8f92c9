"""Commands that ask a question: their arguments and options are read from its declaration."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import wraps
from typing import Any

import click

from refdb.questions import Asked, fields_of

Command = Callable[..., Any]


def asks(
    question: type, *, without: Collection[str] = (), required: Collection[str] = ()
) -> Callable[[Command], Command]:
    """Give a command the arguments and options of a question; it is called with the question as its first argument.

    Args:
        without: fields that this command does not ask.
        required: fields that can be left out elsewhere, and not here.
    """
    fields = [field for field in fields_of(question) if not field.paging and field.name not in without]

    def asking(command: Command) -> Command:
        def asking_command(**given: Any) -> Any:
            told = {field.name: given.pop(field.name) for field in fields}
            # click gives None, or an empty tuple, for what was not given.
            return command(question(**{name: one for name, one in told.items() if one not in (None, ())}), **given)

        asked_command: Command = wraps(command)(asking_command)
        for field in reversed(fields):
            needed = field.name in required or field.needed
            asked_command = _parameter(field, needed)(asked_command)
        return asked_command

    return asking


def _parameter(field: Asked, required: bool) -> Callable[[Command], Command]:
    if field.positional:
        several = field.repeatable or field.several_words
        metavar = field.metavar or f"{field.name.upper()}{'...' if several else ''}"
        return click.argument(
            field.name,
            metavar=metavar if required else f"[{metavar.removesuffix('...')}]{'...' if several else ''}",
            nargs=-1 if several else 1,
            required=required,
            callback=_joined if field.several_words else None,
        )
    return click.option(
        f"--{(field.option or field.name).replace('_', '-')}",
        field.name,
        metavar=None if field.has_usual else _metavar(field),
        type=_type(field),
        multiple=field.repeatable,
        default=field.default if field.has_usual else None,
        show_default=field.has_usual,
        help=_help(field),
    )


def _joined(_context: click.Context, _parameter: click.Parameter, words: tuple[str, ...]) -> str:
    return " ".join(words)


def _type(field: Asked) -> Any:
    if not field.whole:
        return str
    return click.IntRange(*field.between) if field.between is not None else int


def _metavar(field: Asked) -> str:
    if field.metavar:
        return field.metavar
    if field.choices:
        return "|".join(field.choices)
    return "QUANTITY" if field.dimensions else field.name.upper()


def _help(field: Asked) -> str:
    such = "" if field.choices or field.whole else f" Such as '{field.example}'."
    return field.words + such + (" May be repeated." if field.repeatable else "")
