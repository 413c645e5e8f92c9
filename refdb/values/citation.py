"""Sources as answers cite them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.values.documents import AnswerStanding


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


LONGEST_TITLE = 60
"""Characters of a title in a short citation."""


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
    locators: dict[str, list[str]] = {}
    for reading in _readings(store, inputs, release):
        places = locators.setdefault(reading["source"], [])
        if reading["locator"] not in places:
            places.append(reading["locator"])
    documents: list[SourceReference] = []
    for key, places in locators.items():
        record = store.record(key, release)
        if record is not None:
            documents.append({"key": key, "citation": citation(record.body), "locator": "; ".join(places)})
    return documents


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
