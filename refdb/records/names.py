"""Normal forms of names, for comparing them, and the names of a record."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import Any

_IGNORED = re.compile(r"[\s_\-‐-―/,;:'\"()®™]+")


def normal_name(text: str, case_exact: bool = False) -> str:
    """A name without differences that carry no meaning: width, spaces, hyphens, case.

    Points are kept (`1.4404` is not `14404`). Formulas are case-exact: `Co` is not `CO`.
    """
    compact = _IGNORED.sub("", unicodedata.normalize("NFKC", text))
    return compact if case_exact else compact.casefold()


def names_of(record: Mapping[str, Any]) -> list[tuple[str, str, str, str, str]]:
    """The names a record gives: (normal form, text, designation kind, target kind, target id)."""
    kind = record["kind"]
    if kind == "subject":
        texts = [(record["id"], "id"), (record["name"], "name")]
        return [(normal_name(text), text, what, record["subject_kind"], record["id"]) for text, what in texts]
    if kind == "designation":
        formula = record["designation_kind"] == "formula"
        normal = normal_name(record["text"], case_exact=formula)
        return [(normal, record["text"], record["designation_kind"], "subject", record["subject"])]
    if kind == "source":
        texts = [(record["id"], "id"), (record["title"], "title")]
        return [(normal_name(text)[:200], text[:200], what, "source", record["id"]) for text, what in texts]
    if kind == "recommended-pipe":
        texts = [(record["id"], "id"), *((text, "size") for text in pipe_words(record))]
        return [(normal_name(text), text, what, "pipe", record["id"]) for text, what in texts]
    if kind == "recommended-lining":
        words = f"{record['standard']} {record['material']}"
        return [(normal_name(text), text, what, "lining", record["id"]) for text, what in ((words, "standard"),)]
    return []


def pipe_words(record: Mapping[str, Any]) -> list[str]:
    """A pipe in the trade's words, one text per designation: `B36.10 NPS 8 Sch 40`."""
    # The first word in the order of canonical JSON, whatever the order in this record.
    size = size_words(*min(record["size"].items()))
    system = record["system"].upper()
    designations = record["designations"]
    return [f"{system} {size} {designation_words(word)}" for word in designations] or [f"{system} {size}"]


def size_words(word: str, text: str) -> str:
    """A size as the trade writes it: `NPS 8`, `DN 200`, `100A`; the standard's own number has no prefix."""
    if word == "nominal":
        return text
    return f"{text}{word}" if word in {"A", "B"} else f"{word} {text}"


def designation_words(designation: str) -> str:
    """A designation as the trade writes it: `40` becomes `Sch 40`; words stay unchanged."""
    return f"Sch {designation}" if designation[:1].isdigit() else designation
