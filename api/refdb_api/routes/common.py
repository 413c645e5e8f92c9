"""What routes share: the database, the release, lists in pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from fastapi import Request, Response

from refdb.database import Database
from refdb.lookup import ReleaseInfo
from refdb.values.options import SI, Options, read_options, read_unit_choices, require_release_only
from refdb_api.parameters import CHOICES, Query, next_mark, read_page
from refdb_api.respond import document

Item = TypeVar("Item")
_CHOICES = frozenset(CHOICES)


def database(request: Request) -> Database:
    """The database that this process serves."""
    served: Database = request.app.state.database
    return served


def release_of(request: Request, query: Query) -> ReleaseInfo:
    """The release that a request asks for."""
    return database(request).release(query.one("release"), query.one("as_of"))


def options_of(query: Query) -> Options:
    """Units, estimates and layers that a request asks for."""
    if not query.any_of(_CHOICES):
        return SI
    unit = query.many("unit")
    return read_options(
        query.one("units"),
        read_unit_choices(unit) if unit else None,
        query.one("accept"),
        query.one("layers"),
    )


def released_options_of(query: Query) -> Options:
    """Units and estimates that a request asks for, of a route that answers from a release alone.

    Raises:
        BadParameter: house values are asked for too.
    """
    options = options_of(query)
    require_release_only(options, "this route answers")
    return options


def listed(
    request: Request, query: Query, release: ReleaseInfo, items: Sequence[Item], shown: Callable[[Item], Any]
) -> Response:
    """One page of a list."""
    page = read_page(query, release.label)
    part = items[page.start : page.start + page.limit]
    content = {
        "release": release.label,
        "items": [shown(item) for item in part],
        "next": next_mark(page, len(items), release.label),
    }
    return document(request, content)


def as_is(item: Item) -> Item:
    """A document that is ready already."""
    return item
