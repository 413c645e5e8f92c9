"""A new document, ready to be filled in."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from refdb.ledger.columns import TABLES
from refdb.ledger.files import why_unreadable
from refdb.ledger.folders import GROUPS, RECORD, document_folders, documents_folder
from refdb.problems import BadParameter
from refdb.records.models import Seen

KEY = re.compile(r"^[a-z0-9]+(?:-[a-z0-9]+)*$")
DOI = re.compile(r"^(?:https?://(?:dx\.)?doi\.org/|doi:)?(?P<doi>10\.\d{4,9}/\S+)$", re.IGNORECASE)

TYPES = {
    "article-journal": "article", "book": "textbook", "report": "report", "standard": "standard", "dataset": "dataset",
    "software": "library", "webpage": "webpage", "chapter": "textbook", "thesis": "report",
}  # fmt: skip
"""What the types of CSL are called here."""

SCHEMA = "shared/schemas/source-toml.schema.json"


def new_document(
    text_root: Path, name: str, group: str, table: str, record: Path | None = None, today: str = ""
) -> Path:
    """Make the folder of a new document, with a `source.toml` to fill in and the header of a table.

    Args:
        name: a key of its own, or a DOI.
        group: where it goes, by how it is seen.
        table: which kind of table to begin, such as `readings`.
        record: a file of CSL-JSON, as reference managers and registries of DOIs give it, to take the citation from.
        today: the date on which it is seen.

    Raises:
        BadParameter: the name is neither key nor DOI, or is taken; the group, the table or the file is none.
    """
    told = _told(record) if record is not None else {}
    doi = DOI.match(name)
    if doi is not None:
        told.setdefault("doi", doi["doi"].lower())
    key = _key(told) if doi is not None else name
    _check(text_root, key, group, table)
    folder = documents_folder(text_root) / group / key
    folder.mkdir(parents=True)
    (folder / RECORD).write_text(
        _source(told, group, today, len(folder.relative_to(text_root).parts)), encoding="utf-8"
    )
    if group != "cited":
        (folder / f"{table}.csv").write_text(",".join(TABLES[table].usual) + "\n", encoding="utf-8")
    return folder


def _check(text_root: Path, key: str, group: str, table: str) -> None:
    if KEY.match(key) is None:
        raise BadParameter(
            f"key: '{key}' is no key; write who, when and, if need be, what, in lower-case words joined by hyphens, "
            "such as doe-1987-tubes.",
            parameter="key",
            given=key,
        )
    taken = next((folder for folder in document_folders(text_root) if folder.name == key), None)
    if taken is not None:
        raise BadParameter(
            f"key: '{key}' is there already, in {taken.relative_to(text_root)}; add to it, or add a word to the key.",
            parameter="key",
            given=key,
        )
    for parameter, given, known in (("group", group, GROUPS), ("table", table, TABLES)):
        if given not in known:
            raise BadParameter(
                f"{parameter}: '{given}' is none of {', '.join(known)}.", parameter=parameter, given=given
            )


def _key(told: Mapping[str, Any]) -> str:
    """Who and when, where that is known; otherwise the end of the DOI."""
    authors, year = told.get("authors"), told.get("year")
    if authors and year:
        return _slug(f"{authors[0].partition(',')[0]}-{year}")
    return _slug(f"doi-{str(told['doi']).partition('/')[2]}")


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def _told(file: Path) -> dict[str, Any]:
    """The citation in a file of CSL-JSON, in the words of `source.toml`."""
    try:
        item = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        raise BadParameter(f"record: {file} cannot be read: {why_unreadable(error)}.", parameter="record") from error
    item = item[0] if isinstance(item, list) and item else item
    if not isinstance(item, dict):
        raise BadParameter(f"record: {file} holds no item of CSL-JSON.", parameter="record")
    authors = [_author(one) for one in item.get("author", []) if isinstance(one, dict)]
    parts = (item.get("issued") or {}).get("date-parts") or [[None]]
    found = {
        "type": TYPES.get(str(item.get("type")), ""),
        "title": item.get("title"),
        "authors": [author for author in authors if author],
        "container": item.get("container-title"),
        "publisher": item.get("publisher"),
        "year": str(parts[0][0]) if parts[0] and parts[0][0] else None,
        "volume": item.get("volume"),
        "pages": item.get("page"),
        "doi": item.get("DOI"),
    }
    return {name: held for name, held in found.items() if held}


def _author(name: Mapping[str, Any]) -> str:
    if "family" in name:
        return f"{name['family']}, {name['given']}" if name.get("given") else str(name["family"])
    return str(name.get("literal", name.get("name", "")))


def _source(told: Mapping[str, Any], group: str, today: str, depth: int) -> str:
    """The text of `source.toml`: what is known is filled in, what must be written is empty, the rest is a comment."""
    seen = next((kind for kind in get_args(Seen) if kind in GROUPS[group]), "original")
    lines = [
        f"#:schema {'../' * depth}{SCHEMA}",
        "[source]",
        _line("type", told.get("type", ""), "standard, handbook, textbook, article, report, dataset, library, webpage"),
        _line("title", told.get("title", ""), "as the title page prints it"),
        _line("authors", told.get("authors", [""]), '"Doe, J."; an organisation in one word: "ISO"'),
        *(_line(name, told[name]) for name in ("container", "publisher") if name in told),
        _line("year", told.get("year", "")),
        *(_line(name, told[name]) for name in ("volume", "pages", "doi") if name in told),
        "# container, publisher, edition, volume, pages, doi, isbn, url: as far as they are known",
        _line("seen_at", "", "where you saw it: the book, a page's address, a file in a repository"),
        _line("seen_on", today),
        _line("transcribed_by", "", "your name"),
        _line("rights", "facts-only", "an SPDX identifier, facts-only or unknown"),
        '# lineage = ""              # the same for documents that copied from one another: they count once',
    ]
    if group not in {"read", "cited", "memory"}:
        lines += [
            "",
            "[[carrier]]               # the copy in which you saw it",
            '# of = ""                  # one that sources/carriers.toml describes; or describe it here:',
            _line("type", "page" if group == "pages" else "repository", "package, repository, page or print"),
            _line("name", ""),
            _line("url", ""),
            '# commit = "", or version = ""   # what pins it',
            '# files = [{ path = "", sha256 = "" }]   # the file in it, and its SHA-256',
            _line("licence", "unknown", "SPDX identifier, none, or unknown where you did not look"),
            _line("rights", "unknown", "public-domain, permissive, copyleft, database-right, no-licence or unknown"),
        ]
    if group != "cited":
        lines += [
            "",
            "[defaults]                # of every reading, unless its row says otherwise",
            _line("basis", "", "measured, standard, evaluated, computed, derived or estimated"),
            _line("seen", seen),
        ]
    return "\n".join(lines) + "\n"


def _line(name: str, held: Any, remark: str = "") -> str:
    text = f"{name} = {json.dumps(held, ensure_ascii=False)}"
    return f"{text:<26}# {remark}" if remark else text
