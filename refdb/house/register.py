"""Enters, reviews and withdraws house values, and gives them to the database that answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from refdb.database import Database
from refdb.house.entry import checked_entry, domains_overlap, row_body
from refdb.lookup import StoredRecord
from refdb.problems import BadParameter, Conflict, UnknownName
from refdb.questions.groups import STATUSES
from refdb.store.house import default_url
from refdb.store.values import HouseStore, Standing, Version, Writer
from refdb.values.layers import HouseRow

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.house.documents import HouseValueDocument
    from refdb.values.documents import HouseTold


LONGEST_REASON = 4000


class House:
    """The house values of one store. `refdb.open(house=...)` answers from them."""

    def __init__(self, url: str | None = None) -> None:
        """Open the store at an address.

        Args:
            url: the address, as SQLAlchemy writes it; by default the SQLite file in the user's data folder.

        Raises:
            BadParameter: the address cannot be used.
        """
        self.store = HouseStore(url or default_url())

    def add(self, given: Mapping[str, Any], by: Writer, database: Database) -> Version:
        """Enter a value as a draft; see `refdb.house.entry` for its parts.

        Raises:
            Problem: a part of it is missing or wrong.
        """
        return self.store.add(checked_entry(given, database), by)

    def change(
        self, value: str, seen: int, given: Mapping[str, Any], by: Writer, database: Database, reason: str | None = None
    ) -> Version:
        """Enter a new draft of a value; the reviewed version stays in force until the draft is reviewed.

        Args:
            seen: the version on which the change is based.

        Raises:
            Changed: another version is the current one.
            Problem: a part of it is missing or wrong.
        """
        return self.store.change(value, seen, checked_entry(given, database), by, _reason(reason, needed=False))

    def review(self, value: str, seen: int, by: Writer, reason: str | None = None) -> Version:
        """Put a draft into force. The reviewer must not be one of those who entered it.

        Raises:
            Changed: another version is the current one.
            NotAllowed: the reviewer entered it.
            Conflict: it is not a draft, or another reviewed value holds at the same states.
        """
        return self.store.review(value, seen, by, _reason(reason, needed=False), _require_room)

    def withdraw(self, value: str, seen: int, by: Writer, reason: str | None, *, drafts_only: bool = False) -> Version:
        """Take a value out of force for good, and say why.

        Raises:
            Changed: another version is the current one.
            BadParameter: there is no reason.
        """
        return self.store.withdraw(value, seen, by, _reason(reason, needed=True) or "", drafts_only=drafts_only)

    def listed(
        self, database: Database, subject: str | None = None, property_id: str | None = None, status: str | None = None
    ) -> list[HouseValueDocument]:
        """The current versions, on request only those of a subject, a property or a status.

        Raises:
            UnknownName, AmbiguousName: no subject, or more than one, has this name.
            BadParameter: there is no such status.
        """
        if status is not None and status not in STATUSES:
            raise BadParameter(
                f"status: there is no '{status[:40]}'; write one of {', '.join(STATUSES)}.",
                parameter="status",
                accepted=list(STATUSES),
            )
        about = database.subject(subject).id if subject is not None else None
        found = self.store.values(about, property_id)
        return [version_document(version) for version in found if status in {None, version.status}]

    def rows(self, subject: str, property_id: str) -> Sequence[HouseRow]:
        """The values in force for a property of a subject, ready to be evaluated."""
        standing = self.store.in_force(subject, property_id)
        return [_row(one) for one in standing if one.version.entry is not None]

    def properties(self, subject: str) -> Sequence[str]:
        """The properties of a subject for which values are in force."""
        standing = [one.version for one in self.store.in_force(subject)]
        return sorted({version.property_id for version in standing if version.entry is not None})

    def version_with(self, value: str, digest: str) -> tuple[HouseRow, HouseRow | None] | None:
        """The version of a value with this digest, and the one in force now; None if no version has it."""
        try:
            history = self.store.history(value)
        except UnknownName:
            return None
        for version in history:
            if version.digest == digest and version.status == "reviewed" and version.entry is not None:
                standing = self.store.in_force(version.subject, version.property_id)
                now = [_row(one) for one in standing if one.version.id == value]
                return _row(Standing(version, ())), now[0] if now else None
        return None


def version_document(version: Version) -> HouseValueDocument:
    """A version as plain JSON values.

    If the form of the entry is unknown, as in house values from before entries had one, `entry` is null and `body` is
    the entry as stored.
    """
    entry = version.entry
    told: HouseValueDocument = {
        "id": version.id,
        "subject": version.subject,
        "version": version.version,
        "status": version.status,
        "entered_by": version.entered_by,
        "entered_at": version.entered_at,
        "digest": version.digest,
        "reason": version.reason,
        "property": version.property_id,
        "entry": None if entry is None else {name: text for name, text in entry.items() if name != "format"},
    }
    if entry is None:
        told["body"] = version.body
    return told


@lru_cache(maxsize=4096)
def _row(standing: Standing) -> HouseRow:
    version = standing.version
    entry = version.entry or {}
    row = f"house.{version.id}"
    body = {"id": row, **row_body(entry)}
    words = (
        f"House value {version.id}, version {version.version}, reviewed by {version.entered_by}: {entry['evidence']}"
    )
    told: HouseTold = {
        "id": version.id,
        "version": version.version,
        "entered_by": list(standing.entered_by),
        "reviewed_by": version.entered_by,
        "reviewed_at": version.entered_at,
        "evidence": entry["evidence"],
        "attachments": entry.get("attachments", []),
    }
    source: SourceReference = {"key": "house", "citation": words, "locator": entry["locator"]}
    return HouseRow(StoredRecord(row, version.digest or "", 0, None, body), told, source)


def _require_room(made: Version, others: Sequence[Version]) -> None:
    """Check that no other value in force holds at the same states; answers must not depend on which is found first."""
    if made.entry is None:
        raise Conflict("review: this value is of a form that this refdb does not know; enter it anew.")
    body = row_body(made.entry)
    for other in others:
        if other.entry is not None and domains_overlap(body, row_body(other.entry)):
            raise Conflict(
                f"review: house value {other.id} is in force at some of the same states; withdraw it first, or change "
                "it instead of entering another.",
                candidates=[other.id],
            )


def _reason(text: str | None, *, needed: bool) -> str | None:
    if text is None or not text.strip():
        if needed:
            raise BadParameter("reason: is missing; say why it is withdrawn.", parameter="reason")
        return None
    if len(text) > LONGEST_REASON:
        raise BadParameter(f"reason: is longer than {LONGEST_REASON} characters; shorten it.", parameter="reason")
    return text.strip()
