"""Earlier cuts: lists of rows that once bore the label of a release and bear it no more.

Two labels were used more than once, before `tests/release/test_history.py` was there. `sources/earlier-cuts/` holds of
each cut `<label>-<digest>.toml` (its label, digest, dates, the commit that held it and why it was cut again) and
`<label>-<digest>.csv`: id and digest of every row that the cut held and the release that bears its label does not. An
answer that was saved from the cut is recognised by them. The records themselves are left to git's history.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert

from refdb.problems import IntegrityError
from refdb.records import release_digest
from refdb.release.text import ReleaseText
from refdb.store import EarlierCut, EarlierCutRow


@dataclass(frozen=True, slots=True)
class EarlierCutText:
    """One earlier cut, read and checked. `rows_digest` is taken over its rows as that of a release is over all."""

    label: str
    digest: str
    commit: str
    cut_on: str
    superseded_on: str
    rows_digest: str
    why: str
    rows: tuple[tuple[str, str], ...]


def read_earlier_cuts(text_root: Path, labels: Iterable[str]) -> list[EarlierCutText]:
    """Every earlier cut, in the order of the files' names.

    Args:
        labels: of the releases that there are.

    Raises:
        IntegrityError: a file does not fit its digest, or speaks of no release.
    """
    known = set(labels)
    return [_read(file, known) for file in sorted((text_root / "sources" / "earlier-cuts").glob("*.toml"))]


def insert_earlier_cuts(connection: Connection, cuts: list[EarlierCutText], releases: list[ReleaseText]) -> None:
    """Put the earlier cuts into the store that is being compiled."""
    ordinals = {release.label: release.ordinal for release in releases}
    for cut in cuts:
        told = {name: getattr(cut, name) for name in ("digest", "cut_on", "superseded_on", "rows_digest", "why")}
        connection.execute(insert(EarlierCut), [{"release": ordinals[cut.label], **told}])
        rows = [{"cut": cut.digest, "row": row, "digest": version} for row, version in cut.rows]
        connection.execute(insert(EarlierCutRow), rows)


def earlier_cut_findings(cuts: Iterable[tuple[str, str]], rows: Iterable[tuple[str, str, str]]) -> Iterator[str]:
    """What does not fit in a compiled store.

    Args:
        cuts: the digest of each cut, and the digest over its rows.
        rows: of every row, the digest of its cut, its id and the digest of its version.
    """
    held: dict[str, list[tuple[str, str]]] = {digest: [] for digest, _ in cuts}
    for cut, row, version in rows:
        held.setdefault(cut, []).append((row, version))
    told = dict(cuts)
    for digest, members in held.items():
        if release_digest(members) != told.get(digest):
            yield f"earlier cut {digest}: its {len(members)} rows do not fit their digest {told.get(digest)}"


def _read(file: Path, known: set[str]) -> EarlierCutText:
    name = f"sources/earlier-cuts/{file.name}"
    header: dict[str, Any] = tomllib.loads(file.read_text(encoding="utf-8"))
    expected = {field.name for field in fields(EarlierCutText)} - {"rows"}
    if set(header) != expected:
        raise IntegrityError(f"{name}: has the fields {sorted(header)}; an earlier cut has {sorted(expected)}")
    if header["label"] not in known:
        raise IntegrityError(f"{name}: there is no release {header['label']} that could have been cut earlier")
    with file.with_suffix(".csv").open(encoding="utf-8", newline="") as stream:
        rows = tuple((row["id"], row["digest"]) for row in csv.DictReader(stream))
    if release_digest(rows) != header["rows_digest"]:
        raise IntegrityError(f"{name}: the {len(rows)} rows beside it do not fit their digest {header['rows_digest']}")
    return EarlierCutText(**header, rows=rows)
