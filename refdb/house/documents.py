"""The documents of house values."""

from typing import Any, Literal, NotRequired

from refdb.documents import Document


class HouseValueDocument(Document):
    """One version of a house value. `entry` is null, and `body` given, where its form is from before entries."""

    id: str
    subject: str
    property: str
    version: int
    status: Literal["draft", "reviewed", "withdrawn"]
    entered_by: str
    entered_at: str
    digest: str | None
    reason: str | None
    entry: dict[str, Any] | None
    body: NotRequired[str]
