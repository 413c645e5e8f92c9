"""Cutting a release: freezing what the rules recommend today."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from refdb.ledger import load_ledger
from refdb.ledger.folders import document_folders
from refdb.problems import BadParameter, LedgerError
from refdb.recommend import Derived, Earlier, Step, recommend
from refdb.recommend.policy import load_policy
from refdb.records import FORMAT, digest, release_digest
from refdb.release.corrections import CorrectedRelease, read_corrections
from refdb.release.derivation import read_steps, step_lines
from refdb.release.made_with import made_with
from refdb.release.manifest import Entries, Manifest, contents, manifests_of, vocabulary_named
from refdb.release.progress import Progress, stage, stepper
from refdb.release.text import (
    LABEL,
    ReleaseText,
    full_records,
    read_releases,
    release_folders,
    releases_folder,
    write_release,
)
from refdb.release.vocabulary import compile_vocabulary, vocabulary_digest
from refdb.vocabulary import VocabularyDocument

Record = dict[str, Any]
One = TypeVar("One")
Other = TypeVar("Other")


@dataclass(frozen=True)
class Changes:
    """What differs between two lists of records."""

    added: dict[str, Record]
    changed: dict[str, Record]
    withdrawn: list[str]

    def __bool__(self) -> bool:
        return bool(self.added or self.changed or self.withdrawn)


@dataclass(frozen=True)
class Draft:
    """What a release cut today would hold, beside the newest one.

    Attributes:
        previous: the manifest of the newest release, if there is one.
        vocabulary: the digest of the compiled vocabulary.
        named_vocabulary: the newest release that names the vocabulary it was cut with, and the digest it names.
        released: every record of it, by id.
        records: every record that the text gives today.
        steps: how the rows among them were derived, beside those of the newest release.
        computed: how many steps were computed; the rows of the others were carried forward.
    """

    previous: Manifest | None
    vocabulary: str
    named_vocabulary: tuple[str, str] | None
    released: dict[str, Record]
    records: dict[str, Record]
    old_steps: dict[str, Step]
    steps: dict[str, Step]
    computed: int

    @property
    def changes(self) -> Changes:
        """What a release cut today would add, change and withdraw."""
        return changes_since(self.released, self.records)

    @property
    def label(self) -> str:
        """The label of the newest release; empty where there is none."""
        return str(self.previous["label"]) if self.previous is not None else ""

    @property
    def other_words(self) -> str | None:
        """The newest release that names its vocabulary, where today's is another one."""
        named = self.named_vocabulary
        return named[0] if named is not None and named[1] != self.vocabulary else None


def derive_records(text_root: Path, progress: Progress | None = None) -> dict[str, Record]:
    """Every record that a release cut today would hold, by id, each row computed and none carried forward.

    Args:
        text_root: the folder that holds `shared/` and `sources/`.
        progress: told what is being done.
        vocabulary: that of the text, where it has been compiled already.

    Raises:
        LedgerError: the text is wrong.
    """
    return _derive(text_root, compile_vocabulary(text_root), Earlier(), progress)[0]


def draft_release(
    text_root: Path,
    progress: Progress | None = None,
    afresh: bool = False,
    releases: Callable[[], list[ReleaseText]] | None = None,
) -> Draft:
    """What a release cut today would hold; rows that rest on what they rested on are those of the newest release.

    Args:
        afresh: compute every row and carry none forward.
        releases: gives the releases of the text, for who reads them anyway.

    Raises:
        LedgerError: the text is wrong.
        IntegrityError: a release folder does not fit its digests.
    """
    cut = read_releases(text_root, progress) if releases is None else releases()
    manifests = manifests_of(cut)
    with stage(progress, "compiling the vocabulary"):
        vocabulary = compile_vocabulary(text_root)
    earlier = Earlier(read_steps(release_folders(text_root)), full_records(cut))
    records, derived = _derive(text_root, vocabulary, Earlier() if afresh else earlier, progress)
    return Draft(
        previous=manifests[-1] if manifests else None,
        vocabulary=vocabulary_digest(vocabulary),
        named_vocabulary=vocabulary_named(cut),
        released=dict(earlier.records),
        records=records,
        old_steps=dict(earlier.steps),
        steps=derived.steps,
        computed=len(derived.computed),
    )


def _derive(
    text_root: Path, vocabulary: VocabularyDocument, earlier: Earlier, progress: Progress | None
) -> tuple[dict[str, Record], Derived]:
    documents = len(document_folders(text_root))
    read = stepper(progress, "reading documents", documents)
    ledger, policy = both(partial(load_ledger, text_root, vocabulary, read), partial(load_policy, text_root))
    subjects = sum(1 for record in ledger.records.values() if record.kind == "subject")
    tell = stepper(progress, "recommending", subjects)
    derived = recommend(ledger, policy, vocabulary, tell, earlier)
    records = {record_id: record.plain() for record_id, record in ledger.records.items()} | derived.rows
    return dict(sorted(records.items())), derived


def both(one: Callable[[], One], other: Callable[[], Other]) -> tuple[One, Other]:
    """What two ways of reading the text give.

    Raises:
        LedgerError: with the findings of both.
    """
    first, found = _tried(one)
    second, more = _tried(other)
    if first is None or second is None:
        raise LedgerError([*found, *more])
    return first, second


def _tried(read: Callable[[], One]) -> tuple[One | None, list[str]]:
    try:
        return read(), []
    except LedgerError as error:
        return None, error.findings


def changes_since(old: Mapping[str, Record], new: Mapping[str, Record]) -> Changes:
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
    corrects: Sequence[str] = (),
) -> Changes:
    """Draft a release and write it.

    Returns:
        What the release adds, changes and withdraws.

    Raises:
        BadParameter: the label does not follow the newest, nothing has changed, or what is corrected is no release.
        LedgerError: the text is wrong.
    """
    check_cut(text_root, label, corrects)
    draft = draft_release(text_root, progress)
    write_draft(text_root, draft, label, note, cut_on, corrects)
    return draft.changes


def write_draft(
    text_root: Path, draft: Draft, label: str, note: str, cut_on: datetime.date, corrects: Sequence[str] = ()
) -> None:
    """Write `sources/releases/<label>/` as the difference from the newest release.

    Args:
        label: `YEARrNUMBER`, following the newest.
        note: what the release is, in a sentence or two.
        cut_on: the UTC date on which it is cut.
        corrects: releases that were found wrong, each as `LABEL: WHAT WAS WRONG`.

    Raises:
        BadParameter: the label does not follow the newest, nothing has changed, the vocabulary included, or what is
            corrected is no release.
    """
    corrections = check_cut(text_root, label, corrects)
    changes = draft.changes
    if not changes and not draft.other_words:
        raise BadParameter(f"label: nothing has changed since {draft.label}; there is no {label} to cut.")
    versions = {row: digest(record) for row, record in draft.records.items()}
    header = {
        "format": FORMAT,
        "label": label,
        "cut_on": cut_on.isoformat(),
        "previous": draft.label,
        "rows": len(draft.records),
        "digest": release_digest(versions.items()),
        "note": note,
        "made_with": made_with(text_root),
    }
    if corrections:
        header["corrects"] = [f"{one.release}: {one.what}" for one in corrections]
    new = dict(sorted((changes.added | changes.changed).items()))
    withdrawn = dict.fromkeys(changes.withdrawn, "no longer in the ledger")
    lines = step_lines(draft.old_steps, draft.steps)
    entries = [Entries.of(record, versions[row]) for row, record in draft.records.items()]
    manifest = contents(header, entries, draft.previous, draft.vocabulary)
    write_release(releases_folder(text_root) / label, header, iter(new.values()), withdrawn, lines, manifest)


def check_cut(text_root: Path, label: str, corrects: Sequence[str]) -> list[CorrectedRelease]:
    """Refuse a label that is none or does not follow the newest release, and corrections of what is no release.

    Returns:
        The corrections.

    Raises:
        BadParameter: with the reason.
    """
    known = [folder.name for folder in release_folders(text_root)]
    _check_label(label, known[-1] if known else None)
    return read_corrections(corrects, known)


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
                f"label: '{label}' does not follow the newest release, {newest}; the next may be "
                f"{last['year']}r{int(last['number']) + 1}.",
                parameter="label",
                given=label,
            )
