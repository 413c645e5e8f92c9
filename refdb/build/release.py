"""Cutting a release: freezing what the rules recommend today."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from refdb.build.carry import carried_forward
from refdb.build.manifest import Entries, contents, manifests_of, vocabulary_named
from refdb.build.progress import Progress, stepper
from refdb.build.text import LABEL, full_records, read_releases, releases_folder, write_release
from refdb.build.vocabulary import compile_vocabulary, vocabulary_digest
from refdb.ledger import load_ledger
from refdb.ledger.load import document_folders
from refdb.problems import BadParameter
from refdb.recommend import recommend
from refdb.recommend.policy import load_policy
from refdb.records import FORMAT, digest, release_digest
from refdb.vocabulary import VocabularyDocument


@dataclass(frozen=True)
class Changes:
    """What differs between two lists of records."""

    added: dict[str, dict[str, Any]]
    changed: dict[str, dict[str, Any]]
    withdrawn: list[str]

    def __bool__(self) -> bool:
        return bool(self.added or self.changed or self.withdrawn)


def derive_records(
    text_root: Path, progress: Progress | None = None, vocabulary: VocabularyDocument | None = None
) -> dict[str, dict[str, Any]]:
    """Every record that a release cut today would hold, by id.

    Args:
        text_root: the folder that holds `shared/` and `sources/`.
        progress: told what is being done.
        vocabulary: that of the text, where it has been compiled already.

    Raises:
        LedgerError: the text is wrong.
    """
    vocabulary = vocabulary or compile_vocabulary(text_root)
    documents = len(document_folders(text_root))
    ledger = load_ledger(text_root, vocabulary, stepper(progress, "reading documents", documents))
    subjects = sum(1 for record in ledger.records.values() if record.kind == "subject")
    rows = recommend(ledger, load_policy(text_root), vocabulary, stepper(progress, "recommending", subjects))
    records = {record_id: record.plain() for record_id, record in ledger.records.items()}
    records.update({row.id: row.plain() for row in rows})
    return dict(sorted(records.items()))


def changes_since(old: Mapping[str, dict[str, Any]], new: Mapping[str, dict[str, Any]]) -> Changes:
    """What `new` adds to, changes in and withdraws from `old`."""
    return Changes(
        added={row: record for row, record in new.items() if row not in old},
        changed={row: record for row, record in new.items() if row in old and digest(record) != digest(old[row])},
        withdrawn=sorted(set(old) - set(new)),
    )


def cut_release(
    text_root: Path,
    label: str,
    note: str,
    cut_on: datetime.date,
    progress: Progress | None = None,
) -> Changes:
    """Write `sources/releases/<label>/` as the difference from the newest release.

    Args:
        label: `YEARrNUMBER`, following the newest.
        note: what the release is, in a sentence or two.
        cut_on: the UTC date on which it is cut.

    Returns:
        What the release adds, changes and withdraws.

    Raises:
        BadParameter: the label does not follow the newest, or nothing has changed, the vocabulary included.
        LedgerError: the text is wrong.
        IntegrityError: a release folder does not fit its digests or its manifest.
    """
    releases = read_releases(text_root)
    manifests = manifests_of(releases)
    words = compile_vocabulary(text_root)
    vocabulary = vocabulary_digest(words)
    _check_label(label, releases[-1].label if releases else None)
    released = full_records(releases)
    records = carried_forward(derive_records(text_root, progress, words), released)
    changes = changes_since(released, records)
    named = vocabulary_named(releases)
    if not changes and (named is None or named[1] == vocabulary):
        raise BadParameter(f"label: nothing has changed since {releases[-1].label}; there is no {label} to cut.")
    versions = {row: digest(record) for row, record in records.items()}
    header = {
        "format": FORMAT,
        "label": label,
        "cut_on": cut_on.isoformat(),
        "previous": releases[-1].label if releases else "",
        "rows": len(records),
        "digest": release_digest(versions.items()),
        "note": note,
    }
    new = dict(sorted((changes.added | changes.changed).items()))
    withdrawn = dict.fromkeys(changes.withdrawn, "no longer in the ledger")
    entries = [Entries.of(record, versions[row]) for row, record in records.items()]
    manifest = contents(header, entries, manifests[-1] if manifests else None, vocabulary)
    write_release(releases_folder(text_root) / label, header, iter(new.values()), withdrawn, manifest)
    return changes


def _check_label(label: str, newest: str | None) -> None:
    found = LABEL.match(label)
    if found is None:
        raise BadParameter(
            f"label: '{label}' is not a release label; write YEARrNUMBER, such as 2026r1.",
            parameter="label",
            given=label,
        )
    if newest is not None:
        last = LABEL.match(newest)
        order = (int(found["year"]), int(found["number"]))
        if last is not None and order <= (int(last["year"]), int(last["number"])):
            raise BadParameter(
                f"label: '{label}' does not follow the newest release, {newest}.",
                parameter="label",
                given=label,
            )
