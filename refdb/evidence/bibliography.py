"""The documents behind rows as a citation list: CSL-JSON and BibTeX."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, cast

from refdb.evidence.provenance import row_record
from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.values.citation import cited, reproduced_in, source_reference

if TYPE_CHECKING:
    from refdb.documents import SourceReference
    from refdb.evidence.documents import CslItem


CSL_TYPES = {
    "standard": "standard",
    "handbook": "book",
    "textbook": "book",
    "article": "article-journal",
    "report": "report",
    "dataset": "dataset",
    "library": "software",
    "webpage": "webpage",
}
"""Types of sources in the words of CSL; what is only remembered is no source and is not cited."""

BIBTEX_TYPES = {"book": "book", "article-journal": "article", "report": "techreport"}

_SPECIAL = {"\\": r"\textbackslash{}", "~": r"\textasciitilde{}", "^": r"\textasciicircum{}"} | {
    character: f"\\{character}" for character in "&%$#_{}"
}
_BIBTEX = (
    ("author", "author"), ("title", "title"), ("container-title", "journal"), ("publisher", "publisher"),
    ("edition", "edition"), ("volume", "volume"), ("page", "pages"), ("DOI", "doi"), ("ISBN", "isbn"), ("URL", "url"),
    ("note", "note"),
)  # fmt: skip


def csl_items(store: ReleaseStore, rows: Iterable[str], release: ReleaseInfo) -> list[CslItem]:
    """The documents that rows rest on, as items of CSL-JSON; the places used are in `note`.

    Raises:
        UnknownName: the release has no such row.
    """
    places: dict[str, list[str]] = {}
    for row in rows:
        for key, note in _documents(store, row, release):
            found = places.setdefault(key, [])
            if note and note not in found:
                found.append(note)
    items = []
    for key, notes in places.items():
        record = store.record(key, release)
        if record is not None and record.body["type"] in CSL_TYPES:
            items.append(_item(key, record.body, notes))
    return items


def bibtex(items: Iterable[Mapping[str, Any]]) -> str:
    """Items of CSL-JSON as a BibTeX file, in UTF-8."""
    return "\n".join(map(_entry, items))


def _documents(store: ReleaseStore, row: str, release: ReleaseInfo) -> Iterator[tuple[str, str]]:
    """The keys of the documents behind a row, each with a note on the place, or on the copy that was seen."""
    record = row_record(store, row, release)
    if "inputs" in record.body:
        yield from ((one["key"], _place(one)) for one in cited(store, record.body["inputs"], release))
    elif record.body["kind"] == "source":
        copy = reproduced_in(record.body)
        yield record.id, f"As reproduced in {copy}" if copy else ""
    elif "source" in record.body:
        source = store.record(record.body["source"], release)
        if source is not None and "seen" in record.body:
            yield source.id, _place(source_reference(source.body, [record.body]))
        else:
            yield record.body["source"], record.body.get("locator", "")


def _place(reference: SourceReference) -> str:
    """The locator belongs to what was seen: to the copy, where the document itself was not."""
    copy = reference.get("reproduced_in")
    return f"As reproduced in {copy}: {reference['locator']}" if copy else reference["locator"]


def _item(key: str, body: Mapping[str, Any], notes: list[str]) -> CslItem:
    item: dict[str, Any] = {"id": key, "type": CSL_TYPES[body["type"]], "title": body["title"]}
    if "authors" in body:
        item["author"] = [_author(name) for name in body["authors"]]
    if "year" in body:
        item["issued"] = {"date-parts": [[int(body["year"])]]}
    for own, csl in _FIELDS:
        if own in body:
            item[csl] = body[own]
    item["accessed"] = {"date-parts": [[int(part) for part in body["seen_on"].split("-")]]}
    if notes:
        item["note"] = "; ".join(notes)
    # CSL-JSON has a member for everything that a source may have.
    return cast("CslItem", item)


_FIELDS = (
    ("container", "container-title"), ("publisher", "publisher"), ("edition", "edition"), ("volume", "volume"),
    ("pages", "page"), ("doi", "DOI"), ("isbn", "ISBN"), ("url", "URL"),
)  # fmt: skip


def _author(name: str) -> dict[str, str]:
    family, comma, given = name.partition(", ")
    return {"family": family, "given": given} if comma and "," not in given else {"literal": name}


def _entry(item: Mapping[str, Any]) -> str:
    kind = BIBTEX_TYPES.get(item["type"], "misc")
    fields = [(bibtex_name, _field(name, item[name])) for name, bibtex_name in _BIBTEX if name in item]
    if "issued" in item:
        fields.append(("year", str(item["issued"]["date-parts"][0][0])))
    if kind == "techreport":
        # A report has an institution where other entries have a publisher.
        fields = [("institution" if name == "publisher" else name, text) for name, text in fields]
    lines = "".join(f"  {name} = {{{text}}},\n" for name, text in fields)
    return f"@{kind}{{{item['id']},\n{lines}}}\n"


def _field(name: str, held: Any) -> str:
    if name == "author":
        return " and ".join(_bibtex_author(author) for author in held)
    return str(held) if name in {"DOI", "URL"} else _escaped(str(held))


def _bibtex_author(author: Mapping[str, str]) -> str:
    if "literal" in author:
        return f"{{{_escaped(author['literal'])}}}"
    return _escaped(f"{author['family']}, {author['given']}")


def _escaped(text: str) -> str:
    return re.sub(r"[\\~^&%$#_{}]", lambda found: _SPECIAL[found[0]], text)
