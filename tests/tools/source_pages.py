"""Pages about sources: the columns of their tables, their rights, and the notices that permissive licences ask for."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from refdb.database import Database
from refdb.evidence.rights import rights
from refdb.ledger.carriers import carriers_file
from refdb.ledger.columns import TABLES

if TYPE_CHECKING:
    from refdb.evidence.documents import RightsOfDocument

Table = Callable[..., str]

RIGHTS = """# Rights

A number is a fact, and free. A collection of numbers need not be, so the class belongs to the copy in which a document
was seen: the package, the repository or the page that was read, not the book or the article behind it. refdb enters
single facts with their source and makes values of its own of them; what it makes is dedicated to the public
(`LICENSE-DATA`), and nothing is claimed of what others hold.

Whoever would rather do without a class leaves it out: `refdb export --without copyleft --to FILE` writes a release
without the readings that were seen only in such copies, and without every row that rests on them.
"""

NOTICES = """Third-party notices

The release store of refdb holds numbers that were read in, or computed with, the works below, each under a licence that
asks for its notice. None of their code is part of refdb. What else was read, and what its copies allow, is told in
shared/docs/rights.md and by `refdb rights`.
"""


def source_tables(table: Table) -> str:
    """The columns of every table that a document's folder may hold."""
    parts = [
        "# Tables of a document\n\nAny columns of these, in any order; a column that no line needs may be left out.\n"
    ]
    for name, columns in TABLES.items():
        rows = ((f"`{column}`", text) for column, text in columns.text.items())
        parts.append(
            f"## {name}.csv\n\nEach line is {columns.of}.\n\n" + table("column", "what goes into it", rows=rows)
        )
    return "\n".join(parts)


def rights_page(database: Database, table: Table) -> str:
    """The documents of the newest release by the rights of the copies in which they were seen."""
    release = database.release()
    document = rights(database.store, release)
    # The record format says what a source has beside what is typed.
    sources: list[Any] = list(database.sources(release))
    pinned = [one for one in sources if any(c.get("commit") or c.get("version") for c in one.get("carriers", []))]
    checked = [one for one in sources if one.get("checks")]
    parts = [
        RIGHTS,
        f"Release {release.label}: {len(sources)} documents. {len(pinned)} were seen in a copy that anybody can fetch "
        f"again to the byte; {len(checked)} were read a second time.\n",
        table(
            "class",
            "means",
            "documents",
            rows=((c["rights"], c["means"], len(c["documents"])) for c in document["classes"]),
        ),
    ]
    for one in document["classes"]:
        if one["documents"]:
            parts.append(
                f"## {one['rights']}\n\n{one['means']}\n\n"
                + table("document", "copies", rows=_copies(one["documents"]))
            )
    return "\n".join(parts)


def _copies(documents: list[RightsOfDocument]) -> Iterator[tuple[str, str]]:
    for one in documents:
        counted = Counter((copy["copy"].partition(",")[0], copy["licence"]) for copy in one["copies"])
        yield f"`{one['key']}`", "; ".join(f"{copy} ({licence})" for copy, licence in counted)


def third_party_notices(project: Path) -> str:
    """The notices of the carriers whose licences ask for them."""
    carriers = tomllib.loads(carriers_file(project).read_text(encoding="utf-8"))
    parts = [NOTICES]
    for key in sorted(carriers):
        file = project / "sources" / "notices" / f"{key}.txt"
        if file.is_file():
            one = carriers[key]
            head = f"{one['name']} {one.get('version', one.get('commit', '')[:12])}: {one.get('url', '')}"
            parts += ["=" * 78, head, f"Licence: {one['licence']}\n", file.read_text(encoding="utf-8").strip() + "\n"]
    return "\n".join(parts)
