"""House stores of both engines for the tests of house values, with people and their keys."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from refdb.database import Database
from refdb.house import House
from refdb.store.keys import ROLES, expire_key, make_key, revoke_key
from refdb.store.maintain import upgrade_house
from refdb.store.values import Writer
from tests.service import TestClient, create_app
from tests.store.conftest import data_folder, house_url, new_house, postgresql_server

__all__ = ["data_folder", "house_url", "new_house", "postgresql_server"]

ANN, BOB, KEEPER = Writer("Ann Editor"), Writer("Bob Reviewer"), Writer("The Keeper")

ENTRY: dict[str, Any] = {
    "subject": "carbon-steel",
    "property": "longitudinal_speed",
    "value": "5911",
    "unit": "m/s",
    "uncertainty": "6",
    "uncertainty_kind": "standard",
    "temperature": "20 degC",
    "valid_temperature": "10 to 30 degC",
    "locator": "invented report 12, page 3",
    "evidence": "invented: pulse-echo on a coupon of 25.00 mm",
}
"""An invented house value."""


@pytest.fixture
def house(house_url: str) -> House:
    """An empty house store, once on each engine."""
    upgrade_house(house_url)
    return House(house_url)


@pytest.fixture
def sqlite_house(new_house: Any) -> House:
    """An empty house store on SQLite alone."""
    url = new_house("sqlite")
    upgrade_house(url)
    return House(url)


@pytest.fixture
def keys(house: House) -> dict[str, str]:
    """A key for each role by its name, an administrator's that has expired, and one that was revoked."""
    return keys_of(house)


def keys_of(house: House) -> dict[str, str]:
    """A key for each role by its name, and an `expired` and a `revoked` one of an administrator."""
    made: dict[str, str] = {role: make_key(house.store, f"The {role}", role, None, KEEPER)[1] for role in ROLES}
    for state in ("expired", "revoked"):
        key, made[state] = make_key(house.store, f"The {state}", "administrator", None, KEEPER)
        if state == "expired":
            expire_key(house.store, key.id, "2026-01-01", KEEPER)
        else:
            revoke_key(house.store, key.id, KEEPER)
    return made


@pytest.fixture
def client(house: House, database: Database) -> Iterator[TestClient]:
    """The service over the installed database and the house store."""
    with TestClient(create_app(database, house)) as test_client:
        yield test_client
