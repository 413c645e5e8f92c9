"""House values over HTTP: the store behind the service, and the key that opens it.

SQLAlchemy is loaded by the first request that has to do with house values, and works in threads of its own.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from refdb.database import Database
from refdb.problems import BadParameter, HouseUnavailable, KeyNeeded

if TYPE_CHECKING:
    from refdb.house import House
    from refdb.store.keys import Key, Role

SCHEME = "bearer "


def house_of(request: Request) -> House:
    """The house store that this process serves; `REFDB_HOUSE_URL` says which, the user's own file if it is not set.

    Raises:
        HouseUnavailable: the address is none that can be used.
    """
    from refdb.house import House

    state = request.app.state
    if state.house is None:
        try:
            state.house = House(os.environ.get("REFDB_HOUSE_URL"))
        except BadParameter as problem:
            # Whoever asks can do nothing about the address, and must not learn it.
            raise HouseUnavailable(
                "house store: is not set up so that it can be used; ask its keeper.", problem.detail
            ) from problem
    house: House = state.house
    return house


async def required_key(request: Request, role: Role) -> tuple[House, Key]:
    """The house store, and the key of a request, if its role is large enough. Nothing of the body is read before.

    Raises:
        KeyNeeded: there is no key, or it is unknown, expired or revoked.
        NotAllowed: its role is too small.
        HouseUnavailable: there is no house store to look it up in.
    """
    return await run_in_threadpool(_required_key, request, role)


def _required_key(request: Request, role: Role) -> tuple[House, Key]:
    from refdb.store.keys import key_of

    header = request.headers.get("authorization", "")
    secret = header[len(SCHEME) :].strip() if header.lower().startswith(SCHEME) else None
    if not secret:
        raise KeyNeeded("key: house values need one; send it as `Authorization: Bearer KEY`.")
    house = house_of(request)
    return house, key_of(house.store, secret, role)


async def with_house(request: Request) -> Database:
    """The database that this process serves, with its house values beside it, for the holder of a key.

    Raises:
        KeyNeeded, NotAllowed, HouseUnavailable: see `required_key`.
    """
    house, _ = await required_key(request, "reader")
    served: Database = request.app.state.database
    return served.beside(house)
