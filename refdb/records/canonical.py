"""Canonical JSON and the digests over it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from typing import Any

FORMAT = "refdb-record/1"


def canonical(record: Mapping[str, Any]) -> bytes:
    """The canonical JSON of a record (RFC 8785): the same bytes on every machine and in every language."""
    import rfc8785

    return rfc8785.dumps(dict(record))


def digest(record: Mapping[str, Any]) -> str:
    """`sha256:` and the SHA-256 of the record's canonical JSON."""
    return "sha256:" + hashlib.sha256(canonical(record)).hexdigest()


def release_digest(versions: Iterable[tuple[str, str]]) -> str:
    """The digest of a release: SHA-256 over its sorted lines `id digest`, each ended by a line feed."""
    lines = "".join(f"{row} {version}\n" for row, version in sorted(versions))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()
