"""The documents of the house store: its log of writes, its keys and its status."""

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
