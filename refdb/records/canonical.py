"""Canonical JSON and the digests over it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from typing import Any

import orjson

FORMAT = "refdb-record/1"


def canonical(record: Mapping[str, Any]) -> bytes:
    """The canonical JSON of a record (RFC 8785): the same bytes on every machine and in every language.

    A record holds text, whole numbers and truth values under ASCII keys; printed numbers are text. For these, orjson's
    sorted output is canonical, at a twentieth of the cost of a general RFC 8785 writer.
    """
    return orjson.dumps(record, option=orjson.OPT_SORT_KEYS)


def digest(record: Mapping[str, Any]) -> str:
    """`sha256:` and the SHA-256 of the record's canonical JSON."""
    return body_digest(canonical(record))


def body_digest(body: bytes) -> str:
    """The digest of a record from its canonical JSON."""
    return "sha256:" + hashlib.sha256(body).hexdigest()


def release_digest(versions: Iterable[tuple[str, str]]) -> str:
    """The digest of a release: SHA-256 over its sorted lines `id digest`, each ended by a line feed."""
    lines = "".join(f"{row} {version}\n" for row, version in sorted(versions))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()
