"""The documents of the house store: its log of writes, its keys and its status."""

from typing import Literal

from refdb.documents import Document


class HouseWriteDocument(Document):
    """One write to the house store."""

    number: int
    at: str
    person: str
    key: str | None
    action: str
    target: str
    version: int | None


class KeyDocument(Document):
    """A key without its secret."""

    id: str
    person: str
    role: Literal["reader", "editor", "reviewer", "administrator"]
    created_at: str
    created_by: str
    expires_at: str | None
    revoked_at: str | None
    state: Literal["valid", "expired", "revoked"]


class StatusDocument(Document):
    """The status of a house store; `revision` is null for a store that is empty or has not been made."""

    url: str
    engine: str
    state: Literal["empty", "newest", "older", "unknown"]
    revision: str | None
    head: str
    values: int
    versions: int
