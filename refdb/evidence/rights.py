"""What the copies allow in which documents were seen, and which rows do without a class of them.

Numbers are facts and free. A collection of them need not be: a package under a copyleft licence, a database under its
own terms, a page whose owner granted nothing. The class belongs to the copy that was read, not to the document.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.problems import BadParameter
from refdb.values.citation import carrier_words, citation

if TYPE_CHECKING:
    from refdb.documents import RightsClass
    from refdb.evidence.documents import DocumentsOfRights, RightsDocument, RightsOfDocument

CLASSES: dict[RightsClass, str] = {
    "public-domain": "Works of a government, or dedicated to the public.",
    "permissive": "May be passed on under a notice: MIT, BSD, Apache, CC-BY. THIRD-PARTY-NOTICES holds the notices.",
    "copyleft": "What is made of the collection must be passed on alike: GPL, LGPL, OSL, CC-BY-SA.",
    "database-right": "A database under its own terms, or under a right of its own.",
    "no-licence": "Nobody granted anything.",
    "unknown": "Nobody looked, or the document was not seen.",
}
"""The classes of rights, and what each means."""


def rights(store: ReleaseStore, release: ReleaseInfo) -> RightsDocument:
    """The documents of a release by the class of rights of the copies in which they were seen."""
    sources = [record.body for record in store.of_kind("source", release)]
    classes: list[DocumentsOfRights] = [
        {"rights": name, "means": means, "documents": [_of(body, name) for body in sources if name in _classes(body)]}
        for name, means in CLASSES.items()
    ]
    return {"release": release.label, "classes": classes}


def _of(source: Mapping[str, Any], name: str) -> RightsOfDocument:
    copies = [carrier for carrier in _carriers(source) if carrier["rights"] == name]
    return {
        "key": source["id"],
        "citation": citation(source),
        "copies": [{"copy": carrier_words(one), "licence": one["licence"]} for one in copies],
    }


@dataclass(frozen=True)
class Kept:
    """The records of a release that do without some classes of rights, and how many of each kind were left out."""

    records: list[Mapping[str, Any]]
    left_out: dict[str, int]


def without(store: ReleaseStore, release: ReleaseInfo, classes: Collection[str]) -> Kept:
    """The records of a release that rest on nothing whose every copy is of one of these classes.

    A reading is left out where all copies in which it was seen are of such a class, and with it every row that it went
    into, and every row that rests on one of those. A document is left out once all copies of it are.

    Raises:
        BadParameter: there is no such class.
    """
    strange = [name for name in classes if name not in CLASSES]
    if strange:
        raise BadParameter(
            f"without: '{strange[0]}' is no class of rights; there are {', '.join(CLASSES)}.",
            parameter="without",
            given=strange[0],
            candidates=list(CLASSES),
        )
    records = {record.id: record.body for record in store.all(release)}
    gone = _gone(records, classes) if classes else set()
    return Kept(
        records=[body for row, body in records.items() if row not in gone],
        left_out=dict(sorted(Counter(records[row]["kind"] for row in gone).items())),
    )


def _gone(records: Mapping[str, Mapping[str, Any]], classes: Collection[str]) -> set[str]:
    sources = {row: body for row, body in records.items() if body["kind"] == "source"}
    gone = {row for row, body in sources.items() if _classes(body) <= set(classes)}
    gone |= {row for row, body in records.items() if _seen_in_none(row, body, sources, classes)}
    # A row rests on readings and on rows, never on one that rests on it: so many rounds as the longest chain has links.
    while True:
        more = {
            row
            for row, body in records.items()
            if row not in gone and any(entry["id"] in gone for entry in body.get("inputs", []))
        }
        if not more:
            return gone
        gone |= more


def _seen_in_none(
    row: str, body: Mapping[str, Any], sources: Mapping[str, Mapping[str, Any]], classes: Collection[str]
) -> bool:
    """Whether a reading (or a designation) was seen in no copy of another class."""
    source = sources.get(body.get("source", ""))
    if source is None:
        return False
    copies = [copy for copy in _carriers(source) if row in copy.get("readings", (row,))]
    return ({copy["rights"] for copy in copies} or {"unknown"}) <= set(classes)


def _classes(source: Mapping[str, Any]) -> set[str]:
    return {carrier["rights"] for carrier in _carriers(source)} or {"unknown"}


def _carriers(source: Mapping[str, Any]) -> list[dict[str, Any]]:
    carriers: list[dict[str, Any]] = source.get("carriers", [])
    return carriers
