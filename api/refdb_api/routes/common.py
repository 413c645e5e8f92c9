"""What routes share: the database, the release, lists in pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Protocol, TypeVar

from fastapi import Request, Response

from refdb.database import Database
from refdb.lookup import ReleaseInfo
from refdb.values.options import Options, options_of, require_release_only
from refdb_api.parameters import next_mark, read_page
from refdb_api.respond import document

Item = TypeVar("Item")


class OfRelease(Protocol):
    """A question that names its release."""

    @property
    def release(self) -> str | None:
        """Its label."""

    @property
    def as_of(self) -> str | None:
        """Or the day on which it was the newest."""


class Paged(Protocol):
    """A question about a list in pages."""

    @property
    def limit(self) -> int:
        """How many items a page has at most."""
        ...

    @property
    def next(self) -> str | None:
        """The mark of the page."""


def database(request: Request) -> Database:
    """The database that this process serves."""
    served: Database = request.app.state.database
    return served


def release_of(request: Request, asked: OfRelease) -> ReleaseInfo:
    """The release that a question is about."""
    return database(request).release(asked.release, asked.as_of)


def released_options_of(asked: object) -> Options:
    """Units and estimates that a question asks for, of a route that answers from a release alone.

    Raises:
        BadParameter: house values are asked for too.
    """
    options = options_of(asked)
    require_release_only(options, "this route answers")
    return options


def listed(
    request: Request, asked: Paged, release: ReleaseInfo, items: Sequence[Item], shown: Callable[[Item], Any]
) -> Response:
    """One page of a list."""
    page = read_page(asked.limit, asked.next, release.label)
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
