"""The manifest of a release: one small document whose digest covers the whole of it, to be signed.

Format `refdb-manifest/1`, canonical JSON (RFC 8785):

- `label`, `cut_on`, `note`: as `release.toml` has them;
- `previous`: label and manifest digest of the release before, or null: the digest of the newest covers every release;
- `rows`: their number, and the digest over their ids and digests;
- `names`, `links`: number and digest of the entries of the index of names and of the links that hold in the release.
  An entry is one canonical JSON array a line; the digest is the SHA-256 of the sorted lines, each ended by a line feed;
- `vocabulary`: the digest of the compiled vocabulary that the release was cut with, or null where it was not kept;
- `corrects`: which releases it corrects and what was wrong, where it does;
- `files`: the files of the release folder with their SHA-256.

A release writes its manifest when it is cut, as `manifest.json` in its folder. The first six releases were cut before
there were manifests: theirs are made from their folders, the same on every machine.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import orjson

from refdb.problems import IntegrityError
from refdb.records import canonical, digest
from refdb.records.links import links_of
from refdb.records.names import names_of
from refdb.release.text import MANIFEST, ReleaseText

FORMAT = "refdb-manifest/1"

Manifest = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Entries:
    """What one version of a row gives to the index of names and to the links: an entry a line."""

    names: list[bytes]
    links: list[bytes]

    @classmethod
    def of(cls, record: Mapping[str, Any], version: str) -> Entries:
        """The entries of a record whose digest is `version`."""
        names = [entry_line(*name) for name in names_of(record)]
        return cls(names, [entry_line(version, on, role) for on, role in set(links_of(record))])


def entry_line(*cells: str) -> bytes:
    """An entry of the index of names (normal form, text, designation kind, target kind, target) or of the links
    (digest of the version, the row it rests on, role) as its line.
    """
    return orjson.dumps(cells, option=orjson.OPT_APPEND_NEWLINE)


def counted(lines: Iterable[bytes]) -> dict[str, Any]:
    """Number and digest of entries, in whatever order they come."""
    ordered = sorted(lines)
    return {"count": len(ordered), "digest": "sha256:" + hashlib.sha256(b"".join(ordered)).hexdigest()}


def contents(
    header: Mapping[str, Any], entries: Iterable[Entries], previous: Manifest | None, vocabulary: str | None
) -> Manifest:
    """A manifest but for its files.

    Args:
        header: `label`, `cut_on`, `note`, `rows` and `digest` of the rows, and `corrects`, as `release.toml` has them.
        entries: of every row of the release.
        previous: the manifest of the release before.
        vocabulary: the digest of the compiled vocabulary, if it is known.
    """
    rows = list(entries)
    return {
        "format": FORMAT,
        "label": header["label"],
        "cut_on": header["cut_on"],
        "note": header["note"],
        "previous": previous and {"label": previous["label"], "digest": digest(previous)},
        "rows": {"count": header["rows"], "digest": header["digest"]},
        "names": counted(chain.from_iterable(row.names for row in rows)),
        "links": counted(chain.from_iterable(row.links for row in rows)),
        "vocabulary": vocabulary,
        **({"corrects": list(header["corrects"])} if header.get("corrects") else {}),
    }


def manifests_of(releases: Sequence[ReleaseText]) -> list[Manifest]:
    """The manifest of every release, oldest first, each made from the text and held against the one that was cut.

    Raises:
        IntegrityError: a manifest that was cut with a release does not fit its folder or the releases before.
    """
    made: list[Manifest] = []
    entries: dict[str, Entries] = {}
    for release in releases:
        entries = {row: entry for row, entry in entries.items() if row not in release.withdrawn}
        entries |= {row: Entries.of(record, release.digests[row]) for row, record in release.records.items()}
        header = {key: getattr(release, key) for key in ("label", "cut_on", "note", "rows", "digest", "corrects")}
        manifest = contents(header, entries.values(), made[-1] if made else None, _vocabulary_of(release))
        manifest["files"] = {name: sha for name, sha in release.files.items() if name != MANIFEST}
        _require_as_cut(release, manifest)
        made.append(manifest)
    return made


def vocabulary_named(releases: Iterable[ReleaseText]) -> tuple[str, str] | None:
    """The newest release that names the vocabulary it was cut with, and the digest it names.

    Raises:
        IntegrityError: a manifest cannot be read.
    """
    named = [(release.label, found) for release in releases if (found := _vocabulary_of(release)) is not None]
    return named[-1] if named else None


def _vocabulary_of(release: ReleaseText) -> str | None:
    found = _as_cut(release).get("vocabulary")
    return found if found is None else str(found)


def _as_cut(release: ReleaseText) -> Manifest:
    """The manifest in the folder of a release; empty where there is none."""
    try:
        manifest = json.loads(release.manifest or b"{}")
    except ValueError as error:
        raise IntegrityError(f"sources/releases/{release.label}/{MANIFEST}: is no JSON ({error})") from error
    return manifest if isinstance(manifest, dict) else {}


def _require_as_cut(release: ReleaseText, manifest: Manifest) -> None:
    if release.manifest is None or release.manifest == canonical(manifest):
        return
    cut = _as_cut(release)
    parts = [part for part in manifest if manifest[part] != cut.get(part)] or ["form"]
    raise IntegrityError(
        f"sources/releases/{release.label}/{MANIFEST}: its {' and '.join(parts)} do not fit what the releases hold; "
        "restore the folders as they were cut."
    )
