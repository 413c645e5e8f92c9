"""Keys to house values: made, listed, expired, revoked. A key is a random secret that only its holder has.

The secret has 256 bits from the system's source of randomness, so a plain SHA-256 of it does not give it away. Salt and
slow hashing, which protect passwords that people think up, are not needed.
"""

from __future__ import annotations

import datetime
import hashlib
import secrets
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import Connection, insert, select, update

from refdb.problems import BadParameter, KeyNeeded, NotAllowed, UnknownName
from refdb.store.models import HouseKey
from refdb.store.values import HouseStore, Writer, log, now

if TYPE_CHECKING:
    from refdb.store.documents import KeyDocument


Role = Literal["reader", "editor", "reviewer", "administrator"]
ROLES: tuple[Role, ...] = ("reader", "editor", "reviewer", "administrator")
"""Roles, each with the rights of those before it: read; enter and change; review and withdraw; see the log."""

PREFIX = "refdb_"
SECRET_BYTES = 32
LONGEST_PERSON = 120


@dataclass(frozen=True, slots=True)
class Key:
    """A key without its secret."""

    id: str
    person: str
    role: Role
    created_at: str
    created_by: str
    expires_at: str | None
    revoked_at: str | None

    @property
    def state(self) -> Literal["valid", "expired", "revoked"]:
        """The state of the key now."""
        if self.revoked_at is not None:
            return "revoked"
        return "expired" if self.expires_at is not None and self.expires_at <= now() else "valid"

    @property
    def writer(self) -> Writer:
        """The holder of the key, for the log of writes."""
        return Writer(self.person, self.id)

    def document(self) -> KeyDocument:
        """The key as plain JSON values."""
        return {
            "id": self.id,
            "person": self.person,
            "role": self.role,
            "created_at": self.created_at,
            "created_by": self.created_by,
            "expires_at": self.expires_at,
            "revoked_at": self.revoked_at,
            "state": self.state,
        }


def make_key(store: HouseStore, person: str, role: str, expires: str | None, by: Writer) -> tuple[Key, str]:
    """A new key, and its secret, which cannot be shown again.

    Args:
        person: the holder, whose name is recorded with what they write.
        role: one of `ROLES`.
        expires: a UTC date (the key is valid to the end of that day) or moment; None for a key that does not expire.

    Raises:
        BadParameter: the role does not exist, the person has no name, or `expires` is not a date.
    """
    if role not in ROLES:
        raise BadParameter(
            f"role: there is no role '{role}'; write one of {', '.join(ROLES)}.", parameter="role", accepted=list(ROLES)
        )
    named = checked_person(person)
    secret = PREFIX + secrets.token_urlsafe(SECRET_BYTES)
    with store.opened(writing=True) as connection:
        key_id = str(uuid.uuid4())
        connection.execute(
            insert(HouseKey).values(
                id=key_id,
                person=named,
                role=role,
                secret_digest=_digest(secret),
                created_at=now(),
                created_by=by.person,
                expires_at=_moment(expires) if expires is not None else None,
            )
        )
        log(connection, by, "make key", key_id)
        return _key(connection, key_id), secret


def keys(store: HouseStore) -> list[Key]:
    """Every key that was ever made, oldest first."""
    with store.opened(writing=False) as connection:
        return [_read(row) for row in connection.execute(select(*_COLUMNS).order_by(HouseKey.created_at, HouseKey.id))]


def expire_key(store: HouseStore, key_id: str, on: str, by: Writer) -> Key:
    """Set the UTC date or moment at which a key expires.

    Raises:
        UnknownName: there is no such key.
        BadParameter: `on` is not a date.
    """
    return _change(store, key_id, {"expires_at": _moment(on)}, "expire key", by)


def revoke_key(store: HouseStore, key_id: str, by: Writer) -> Key:
    """Make a key invalid from now on.

    Raises:
        UnknownName: there is no such key.
    """
    return _change(store, key_id, {"revoked_at": now()}, "revoke key", by)


def key_of(store: HouseStore, secret: str | None, role: Role) -> Key:
    """The key of a secret, if it is valid and its role suffices.

    Raises:
        KeyNeeded: no secret was given, or its key is unknown, expired or revoked.
        NotAllowed: the role of the key does not suffice.
    """
    if secret is None:
        raise KeyNeeded("key: house values need one; send it as `Authorization: Bearer KEY`.")
    with store.opened(writing=False) as connection:
        row = connection.execute(select(*_COLUMNS).where(HouseKey.secret_digest == _digest(secret))).first()
    key = _read(row) if row is not None else None
    if key is None or key.state != "valid":
        words = "is not known" if key is None else f"is {key.state}"
        raise KeyNeeded(f"key: the one that was sent {words}; ask the keeper of the house store for another.")
    if ROLES.index(key.role) < ROLES.index(role):
        raise NotAllowed(f"key: its role is {key.role}, and this needs the role {role} or above.")
    return key


def checked_person(person: str) -> str:
    """A person's name without superfluous blanks.

    Raises:
        BadParameter: the name is empty or too long.
    """
    named = " ".join(person.split())
    if not 0 < len(named) <= LONGEST_PERSON or not named.isprintable():
        raise BadParameter(f"person: write a name of 1 to {LONGEST_PERSON} printable characters.", parameter="person")
    return named


_COLUMNS = (
    HouseKey.id, HouseKey.person, HouseKey.role, HouseKey.created_at, HouseKey.created_by, HouseKey.expires_at,
    HouseKey.revoked_at,
)  # fmt: skip


def _digest(secret: str) -> str:
    return f"sha256:{hashlib.sha256(secret.encode()).hexdigest()}"


def _moment(text: str) -> str:
    try:
        if len(text) == len("2026-11-25"):
            ends = datetime.datetime.combine(datetime.date.fromisoformat(text), datetime.time.max, datetime.UTC)
        else:
            ends = datetime.datetime.fromisoformat(text)
        if ends.tzinfo is None:
            raise ValueError("no time zone")
        ends = ends.astimezone(datetime.UTC)
    except (ValueError, OverflowError):
        raise BadParameter(
            f"expires: '{text[:40]}' is no UTC date or moment; write 2026-12-31 or 2026-12-31T12:00:00Z.",
            parameter="expires",
            given=text[:40],
        ) from None
    return ends.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _change(store: HouseStore, key_id: str, fields: dict[str, str], action: str, by: Writer) -> Key:
    with store.opened(writing=True) as connection:
        key = _key(connection, key_id)
        connection.execute(update(HouseKey).where(HouseKey.id == key.id).values(**fields))
        log(connection, by, action, key.id)
        return _key(connection, key_id)


def _key(connection: Connection, key_id: str) -> Key:
    row = connection.execute(select(*_COLUMNS).where(HouseKey.id == key_id)).first()
    if row is None:
        raise UnknownName(
            f"key: there is no key '{key_id[:40]}'; `refdb house key list` shows their ids.", parameter="key"
        )
    return _read(row)


def _read(row: Any) -> Key:
    return Key(*row)
