"""Manifests as a store holds them: checks of a chain of releases that read no row.

A manifest is canonical JSON (RFC 8785) that describes a whole release; `refdb.release.manifest` lists its fields.
Its digest is `sha256:` and the SHA-256 of these bytes. Each manifest names the digest of the one before it, so that
the newest one's digest stands for all of them.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple


class ReleaseLine(NamedTuple):
    """One line of the table of releases, with its manifest."""

    label: str
    cut_on: str
    digest: str
    rows: int
    note: str
    manifest: str | None


def text_digest(manifest: str) -> str:
    """The digest of a manifest from its canonical JSON."""
    return "sha256:" + hashlib.sha256(manifest.encode("utf-8")).hexdigest()


def read_manifest(text: Any) -> dict[str, Any]:
    """A manifest from its JSON; empty if there is none or it cannot be read, since a store may be damaged."""
    try:
        manifest = json.loads(text) if isinstance(text, str) else {}
    except ValueError:
        return {}
    return manifest if isinstance(manifest, dict) else {}


def chain_faults(releases: Iterable[ReleaseLine]) -> Iterator[str]:
    """The faults of a chain of releases, oldest first, one sentence each.

    Compares the label, date, note, number of rows and digest of each release with its manifest, and each manifest with
    the one before.
    """
    before: tuple[str, str] | None = None
    for release in releases:
        manifest = read_manifest(release.manifest)
        if manifest:
            yield from _own_faults(release, manifest)
            yield from _order_faults(release.label, manifest.get("previous"), before)
        else:
            yield f"release {release.label}: has no manifest that can be read"
        before = (release.label, text_digest(release.manifest or "") if manifest else "")


def _own_faults(release: ReleaseLine, manifest: dict[str, Any]) -> Iterator[str]:
    told = {
        "label": ("label", release.label),
        "date": ("cut_on", release.cut_on),
        "note": ("note", release.note),
        "digest over its rows": ("rows", {"count": release.rows, "digest": release.digest}),
    }
    for words, (key, value) in told.items():
        if manifest.get(key) != value:
            yield f"release {release.label}: its {words} does not fit its manifest"


def _order_faults(label: str, named: Any, before: tuple[str, str] | None) -> Iterator[str]:
    """The faults where a manifest names another release before it than `before`: its label and manifest digest."""
    named = named if isinstance(named, dict) else {}
    missed, place = named.get("label"), before and before[0]
    if missed != place and missed is None:
        yield f"release {label}: is the first by its manifest, but here it follows {place}"
    elif missed != place:
        yield f"release {label}: follows {missed} by its manifest, which is missing here or out of order"
    elif before is not None and named.get("digest") != before[1]:
        yield f"release {label}: the manifest of {place} is not the one that it names"
