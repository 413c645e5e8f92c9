"""Releases that were found wrong: a later one says so, and what was wrong, in the field `corrects` of its release.toml.

A release stays as it was cut, for ever; its successor is all that can speak about it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, insert

from refdb.problems import BadParameter
from refdb.release.text import ReleaseText
from refdb.store import ReleaseCorrection


@dataclass(frozen=True, slots=True)
class CorrectedRelease:
    """The label of a release, and what was wrong with it."""

    release: str
    what: str


def read_corrections(texts: Sequence[str], labels: Sequence[str]) -> list[CorrectedRelease]:
    """What a release corrects, from lines such as `2026r6: what was wrong`.

    Args:
        labels: of the releases before it.

    Raises:
        BadParameter: a line names no release before it, or does not say what was wrong.
    """
    return [_read(text, labels) for text in texts]


def insert_corrections(connection: Connection, releases: list[ReleaseText]) -> None:
    """Put what releases correct into the store that is being compiled.

    Raises:
        BadParameter: as `read_corrections`.
    """
    ordinals = {release.label: release.ordinal for release in releases}
    for release in releases:
        found = read_corrections(release.corrects, list(ordinals)[: release.ordinal - 1])
        for number, one in enumerate(found, start=1):
            told = {"release": release.ordinal, "number": number, "corrected": ordinals[one.release], "what": one.what}
            connection.execute(insert(ReleaseCorrection), [told])


def _read(text: str, labels: Sequence[str]) -> CorrectedRelease:
    label, _, what = (part.strip() for part in text.partition(":"))
    if label not in labels:
        raise BadParameter(
            f"corrects: '{label}' is no release before this one; there are {', '.join(labels) or 'none'}; write "
            "LABEL: WHAT WAS WRONG.",
            parameter="corrects",
            given=text,
            candidates=list(labels),
        )
    if not what or not what.isprintable():
        raise BadParameter(
            f"corrects: say in one line what was wrong with {label}; write LABEL: WHAT WAS WRONG.",
            parameter="corrects",
            given=text,
        )
    return CorrectedRelease(label, what)
