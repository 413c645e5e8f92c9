"""House values: reading, entering, reviewing and withdrawing them, each with a key of a role that is large enough."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from fastapi import Request, Response
from starlette.concurrency import run_in_threadpool

from refdb.house.documents import HouseValueDocument
from refdb.house.question import HouseValueQuestion, HouseValuesQuestion, HouseVersionQuestion
from refdb.problems import BadParameter, UnknownName, VersionNeeded
from refdb.values.question import NoQuestion
from refdb_api.bodies import HouseEntry, HouseReason
from refdb_api.describe import Routes
from refdb_api.documents import HouseValueList, HouseVersions, HouseWrites
from refdb_api.keys import house_of, required_key
from refdb_api.parameters import Parameters
from refdb_api.respond import document, private, read_body, require_json
from refdb_api.routes.common import as_is, database, listed

if TYPE_CHECKING:
    from refdb.store.values import Version

routes = Routes("house values")

NOTHING = Parameters(NoQuestion)
ONE_VALUE = Parameters(HouseValueQuestion, ("value_id",))
_TAG = re.compile(r'"v(?P<version>[1-9]\d{0,8})"', re.ASCII)
_NUMBER = re.compile(r"[1-9]\d{0,8}", re.ASCII)


@routes.get(
    "/house/values",
    "house_values",
    "House values, the newest version of each",
    HouseValueList,
    HouseValuesQuestion,
    key="reader",
)
async def house_values(request: Request, asked: HouseValuesQuestion) -> Response:
    """Every house value, or those of a subject, a property or a status. Needs a reader's key."""
    served = database(request)
    words = asked.subject, asked.property, asked.status
    items = await run_in_threadpool(house_of(request).listed, served, *words)
    return private(listed(request, asked, served.release(), items, as_is))


@routes.post("/house/values", "add_house_value", "Enter a house value", HouseEntry, HouseValueDocument, keyed=201)
async def add_house_value(request: Request) -> Response:
    """Enter a value as a draft; it is answered once another person has reviewed it. Needs an editor's key."""
    house, key = await required_key(request, "editor")
    require_json(request)
    NOTHING.read(request)
    entry = await read_body(request)
    made = await run_in_threadpool(house.add, entry, key.writer, database(request))
    response = _version(request, made, 201)
    response.headers["location"] = f"/v1/house/values/{made.id}"
    return response


@routes.get(
    "/house/values/{value_id}", "house_value", "A house value", HouseValueDocument, HouseValueQuestion, key="reader"
)
async def house_value(request: Request, asked: HouseValueQuestion) -> Response:
    """The newest version of a house value; its ETag is what a change must send as If-Match. Needs a reader's key."""
    return _version(request, await run_in_threadpool(house_of(request).store.current, asked.value_id))


@routes.put(
    "/house/values/{value_id}",
    "change_house_value",
    "Change a house value",
    HouseEntry,
    HouseValueDocument,
    HouseValueQuestion,
)
async def change_house_value(request: Request) -> Response:
    """Enter a new draft on top of the version in If-Match; a reviewed one stays in force until it is reviewed.

    Needs an editor's key.
    """
    house, key = await required_key(request, "editor")
    require_json(request)
    asked = ONE_VALUE.read(request)
    seen = _seen(request)
    entry = await read_body(request)
    reason = entry.pop("reason", None)
    _require_text(reason)
    return await _written(
        request,
        lambda: house.change(asked.value_id, seen, entry, key.writer, database(request), reason),
    )


@routes.post(
    "/house/values/{value_id}/review", "review_house_value", "Review a house value", HouseReason, HouseValueDocument,
    keyed=200, about=HouseValueQuestion,
)  # fmt: skip
async def review_house_value(request: Request) -> Response:
    """Put the draft in If-Match into force. Needs a reviewer's key, of another person than those who entered it."""
    house, key = await required_key(request, "reviewer")
    require_json(request)
    asked = ONE_VALUE.read(request)
    seen = _seen(request)
    reason = _reason(await read_body(request))
    return await _written(request, lambda: house.review(asked.value_id, seen, key.writer, reason))


@routes.post(
    "/house/values/{value_id}/withdraw", "withdraw_house_value", "Withdraw a house value", HouseReason,
    HouseValueDocument, keyed=200, about=HouseValueQuestion,
)  # fmt: skip
async def withdraw_house_value(request: Request) -> Response:
    """Take the value whose version is in If-Match out of force, for good, and say why.

    An editor's key withdraws what was never reviewed, a reviewer's key anything.
    """
    house, key = await required_key(request, "editor")
    require_json(request)
    asked = ONE_VALUE.read(request)
    seen = _seen(request)
    reason = _reason(await read_body(request))
    return await _written(
        request,
        lambda: house.withdraw(asked.value_id, seen, key.writer, reason, drafts_only=key.role == "editor"),
    )


@routes.get(
    "/house/values/{value_id}/history",
    "house_history",
    "Every version of a house value",
    HouseVersions,
    HouseValueQuestion,
    key="reader",
)
async def house_history(request: Request, asked: HouseValueQuestion) -> Response:
    """The versions of a house value: who entered, reviewed and withdrew it, when and why. Needs a reader's key."""
    from refdb.house import version_document

    versions = await run_in_threadpool(house_of(request).store.history, asked.value_id)
    return private(document(request, {"items": [version_document(version) for version in versions]}))


@routes.get(
    "/house/values/{value_id}/versions/{version}",
    "house_version",
    "One version of a house value",
    HouseValueDocument,
    HouseVersionQuestion,
    key="reader",
)
async def house_version(request: Request, asked: HouseVersionQuestion) -> Response:
    """A version as it was entered; it never changes. Needs a reader's key."""
    number = asked.version
    versions = await run_in_threadpool(house_of(request).store.history, asked.value_id)
    for version in versions:
        if _NUMBER.fullmatch(number) and version.version == int(number):
            return _version(request, version)
    raise UnknownName(
        f"version: this house value has the versions 1 to {len(versions)}, and no '{number[:20]}'.",
        parameter="version",
        given=number[:20],
    )


@routes.get("/house/writes", "house_writes", "The log of writes", HouseWrites, NoQuestion, key="administrator")
async def house_writes(request: Request, _: NoQuestion) -> Response:
    """Who wrote what, when, with which key. Needs an administrator's key."""
    return private(document(request, {"items": await run_in_threadpool(house_of(request).store.writes)}))


async def _written(request: Request, write: Callable[[], Version]) -> Response:
    return _version(request, await run_in_threadpool(write))


def _version(request: Request, version: Version, status: int = 200) -> Response:
    from refdb.house import version_document

    response = private(document(request, version_document(version), status))
    response.headers["etag"] = f'"v{version.version}"'
    return response


def _seen(request: Request) -> int:
    """The version that If-Match names."""
    tag = request.headers.get("if-match")
    found = _TAG.fullmatch(tag.strip()) if tag is not None else None
    if found is None:
        raise VersionNeeded(
            'If-Match: is missing or is no ETag of a house value; send that of the version you saw, as in "v1".',
            parameter="If-Match",
        )
    return int(found["version"])


def _reason(body: Mapping[str, Any]) -> str | None:
    for name in body:
        if name != "reason":
            raise BadParameter(
                f"{name[:40]}: this route takes no such member; it takes reason.", parameter=name[:40],
                accepted=["reason"],
            )  # fmt: skip
    reason = body.get("reason")
    _require_text(reason)
    return reason


def _require_text(reason: Any) -> None:
    if not isinstance(reason, str | None):
        raise BadParameter("reason: must be a text.", parameter="reason")
