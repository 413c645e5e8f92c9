"""Sources as answers cite them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.values.documents import AnswerStanding


PATHS_TOLD = 3
"""How many files of a copy are named."""

LONGEST_TITLE = 60
"""Characters of a title in a short citation."""


def citation(source: Mapping[str, Any]) -> str:
    """One line for people: authors, title, edition, container and volume, pages, publisher and year, DOI."""
    authors = source.get("authors", [])
    publisher = source.get("publisher") if source.get("publisher") not in authors else None
    edition = source.get("edition", "")
    ordinal = edition[:1].isdigit() and edition[-2:] in {"st", "nd", "rd", "th"}
    parts = [
        "; ".join(authors),
        source["title"],
        f"{edition} edition" if ordinal else edition,
        ", ".join(filter(None, (_joined(source.get("container"), source.get("volume")), source.get("pages")))),
        ", ".join(filter(None, (publisher, source.get("year")))),
        f"doi:{source['doi']}" if "doi" in source else None,
    ]
    return ". ".join(part.rstrip(".") for part in parts if part)


def reproduced_in(source: Mapping[str, Any], readings: Collection[str] = ()) -> str | None:
    """The copies in which a document was seen, in words; None where none is told.

    Args:
        source: the record of the document.
        readings: ids; only copies that hold one of them are told.
    """
    carriers = [carrier for carrier in source.get("carriers", []) if _holds(carrier, readings)]
    return "; ".join(carrier_words(carrier, readings) for carrier in carriers) or None


def carrier_words(carrier: Mapping[str, Any], readings: Collection[str] = ()) -> str:
    """One copy in words: its name, what pins it, and the files in it that hold the readings (or any)."""
    commit = carrier.get("commit")
    paths = [file["path"] for file in carrier.get("files", []) if _holds(file, readings)]
    more = len(paths) - PATHS_TOLD
    seen_on = f"seen on {carrier['seen_on']}" if "seen_on" in carrier else None
    what = carrier["url"] if carrier["type"] in {"page", "repository"} and "url" in carrier else carrier["name"]
    version = carrier.get("version")
    parts = (
        f"{what} {version}" if version else what,
        f"commit {commit[:12]}" if commit else None,
        *paths[:PATHS_TOLD],
        f"{more} more file(s)" if more > 0 else None,
        None if version or commit else seen_on,
    )
    return ", ".join(part for part in parts if part)


def _holds(part: Mapping[str, Any], readings: Collection[str]) -> bool:
    """Whether a carrier, or a file of one, holds one of these readings; of none, anything does."""
    return not readings or "readings" not in part or any(row in part["readings"] for row in readings)


def checked_by(source: Mapping[str, Any], readings: Collection[str]) -> str | None:
    """Who or what read these readings a second time; None unless each was."""
    checks = source.get("checks")
    if checks is None:
        return source.get("checked_by")
    telling = [check for check in checks if _holds(check, readings)]
    covered = {row for check in telling for row in check.get("readings", readings)}
    if not covered.issuperset(readings):
        return None
    return "; ".join(f"{check['by']} on {check['on']} against {check['against']} ({check['how']})" for check in telling)


def short_citation(source: Mapping[str, Any]) -> str:
    """A document in a few words: `Del Grosso and Mader (1972)`; where no author is known, the name of the standard or
    the title."""
    names = [author.partition(",")[0] for author in source.get("authors", [])]
    year = f" ({source['year']})" if "year" in source else ""
    if len(names) > 2:
        return f"{names[0]} and others{year}"
    return (" and ".join(names) or _short_name(source)) + year


def _short_name(source: Mapping[str, Any]) -> str:
    named: str | None = source.get("container") if source["type"] == "standard" else None
    return named or _short_title(source["title"])


def _short_title(title: str) -> str:
    """A title, without what stands in brackets and cut after a whole word where it is long."""
    if len(title) <= LONGEST_TITLE:
        return title
    title = title.partition(" (")[0]
    return title if len(title) <= LONGEST_TITLE else title[: title.rindex(" ", 0, LONGEST_TITLE)].rstrip(" ,;:-") + "…"


def standing(body: dict[str, Any], row: str, digest: str, sources: list[SourceReference]) -> AnswerStanding:
    """The part of every answer that says how far it can be trusted and where it comes from."""
    return {
        "basis": body["basis"],
        "seen": body["seen"],
        "rung": body["rung"],
        "rule": body["rule"],
        "layer": "release",
        "row": {"id": row, "digest": digest},
        "sources": sources,
    }


def _joined(*parts: str | None) -> str:
    return " ".join(part for part in parts if part)


def cited(store: ReleaseStore, inputs: list[dict[str, Any]], release: ReleaseInfo) -> list[SourceReference]:
    """The documents behind a row's inputs, each with the locators that were used; derived rows are followed down."""
    by_source: dict[str, list[dict[str, Any]]] = {}
    for reading in _readings(store, inputs, release):
        by_source.setdefault(reading["source"], []).append(reading)
    return [
        source_reference(record.body, found)
        for key, found in by_source.items()
        if (record := store.record(key, release)) is not None
    ]


def source_reference(source: Mapping[str, Any], readings: Sequence[Mapping[str, Any]]) -> SourceReference:
    """A document as answers cite it for some of its readings: the places in it, the copy that was seen, second readers.

    Args:
        source: its record.
        readings: records of readings of it.
    """
    names = [reading["id"] for reading in readings]
    told: SourceReference = {
        "key": source["id"],
        "citation": citation(source),
        "locator": "; ".join(dict.fromkeys(reading["locator"] for reading in readings)),
    }
    copy = reproduced_in(source, names) if any(reading["seen"] != "original" for reading in readings) else None
    if copy is not None:
        told["reproduced_in"] = copy
    second = checked_by(source, names)
    if second is not None:
        told["checked_by"] = second
    return told


def _readings(store: ReleaseStore, inputs: list[dict[str, Any]], release: ReleaseInfo) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for entry in inputs:
        record = store.record(entry["id"], release)
        if record is None:
            continue
        if "inputs" in record.body:
            found += _readings(store, record.body["inputs"], release)
        else:
            found.append(record.body)
    return found
