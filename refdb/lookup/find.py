"""Finding things by name: exact for every question, forgiving for `find` alone."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from refdb.lookup.find_pipes import PipeNames
from refdb.lookup.store import ReleaseInfo, ReleaseStore, StoredName, StoredRecord
from refdb.problems import AmbiguousName, BadParameter, UnknownName
from refdb.records.names import normal_name

if TYPE_CHECKING:
    from refdb.lookup.documents import FoundDocument, FoundKind


LONGEST_NAME = 120
CANDIDATES = 5
LEAST_LIKENESS = 60.0
SUBJECT_KINDS = ("material", "liquid")

_DIGITS = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Found:
    """Something that fits a search text."""

    kind: FoundKind
    id: str
    name: str
    matched: str
    exact: bool
    designation_kind: str

    def document(self) -> FoundDocument:
        """The item as plain JSON values."""
        return {
            "kind": self.kind,
            "id": self.id,
            "name": self.name,
            "matched": self.matched,
            "matched_as": self.designation_kind,
            "exact": self.exact,
        }


def find(store: ReleaseStore, text: str, release: ReleaseInfo, limit: int) -> list[Found]:
    """What fits the text, best first: exact names, then pipes that have its words and numbers, then likeness.

    `exact` is true only where a normalised designation is the normalised text, never for a likeness.

    Raises:
        BadParameter: the text is empty or too long.
    """
    checked = _checked(text, "q")
    exact = _exact(store, checked, release)
    items = [_found(store, name, release, exact=True) for name in exact]
    seen = {(item.kind, item.id) for item in items}
    alike = (_found(store, name, release, exact=False) for name in _alike(store, checked, release, limit + len(items)))
    for item in (*_pipes(store, checked, release, limit), *alike):
        if (item.kind, item.id) not in seen:
            seen.add((item.kind, item.id))
            items.append(item)
    return items[:limit]


def _pipes(store: ReleaseStore, text: str, release: ReleaseInfo, limit: int) -> list[Found]:
    names = store.once("pipe names", release, lambda: PipeNames(store.of_kind("recommended-pipe", release)))
    return [
        Found("pipe", pipe.record.id, pipe.name, pipe.name, exact=False, designation_kind="size")
        for pipe in names.fitting(text, limit)
    ]


def subject_named(store: ReleaseStore, text: str, release: ReleaseInfo, kind: str | None = None) -> StoredRecord:
    """The one subject with this exact (normalised) name.

    Args:
        kind: `material` or `liquid` where only that kind will do.

    Raises:
        UnknownName: no subject has the name; near names are listed.
        AmbiguousName: several subjects have it; they are listed.
    """
    direct = store.record(text, release)
    if direct is not None and direct.body["kind"] == "subject" and kind in {None, direct.body["subject_kind"]}:
        return direct
    checked = _checked(text, "subject")
    targets = {
        name.target for name in _exact(store, checked, release) if name.target_kind in (*SUBJECT_KINDS, "subject")
    }
    records = [record for target in sorted(targets) if (record := store.record(target, release)) is not None]
    if kind is not None:
        records = [record for record in records if record.body["subject_kind"] == kind]
    if len(records) == 1:
        return records[0]
    what = kind or "subject"
    if records:
        ids = [record.id for record in records]
        raise AmbiguousName(
            f"subject: several {what}s are called '{text}': {', '.join(ids)}; ask for one of them.",
            parameter="subject",
            given=text,
            candidates=ids,
        )
    near = _near_subjects(store, checked, release, kind)
    hint = f"; the nearest names are {', '.join(near)}" if near else ""
    raise UnknownName(
        f"subject: no {what} is called '{text}'{hint}. Search with find, which is forgiving.",
        parameter="subject",
        given=text,
        candidates=near or None,
    )


def likeliest(text: str, choices: list[str], limit: int = CANDIDATES) -> list[str]:
    """The choices most like the text, for the sentence of a problem."""
    from rapidfuzz import fuzz, process, utils

    found = process.extract(
        text,
        choices,
        scorer=fuzz.WRatio,
        processor=utils.default_process,
        limit=limit,
        score_cutoff=LEAST_LIKENESS,
    )
    return [choice for choice, _score, _index in found]


def _checked(text: str, field: str) -> str:
    if not normal_name(text):
        raise BadParameter(f"{field}: the name is empty; write what to look for.", parameter=field, given=text)
    if len(text) > LONGEST_NAME:
        raise BadParameter(
            f"{field}: a name is at most {LONGEST_NAME} characters long.",
            parameter=field,
            given=text[:LONGEST_NAME],
        )
    return text


def _exact(store: ReleaseStore, text: str, release: ReleaseInfo) -> list[StoredName]:
    """Names equal to the text in normal form, one per target; formulas must agree in case."""
    folded, exact = normal_name(text), normal_name(text, case_exact=True)
    names: dict[tuple[str, str], StoredName] = {}
    for name in store.named((folded, exact), release):
        if name.normal == (exact if name.designation_kind == "formula" else folded):
            names.setdefault((name.target_kind if name.target_kind == "source" else "", name.target), name)
    return list(names.values())


def _alike(store: ReleaseStore, text: str, release: ReleaseInfo, limit: int) -> list[StoredName]:
    from rapidfuzz import fuzz, process, utils

    # The ids of pipes are long strings of digits that resemble everything, and so do formulas of one or two letters;
    # what people look for is the words of pipes and the names of elements.
    names = [
        name
        for name in store.names(release)
        if (name.target_kind, name.designation_kind) != ("pipe", "id") and name.designation_kind != "formula"
    ]
    found = process.extract(
        text,
        [name.text for name in names],
        scorer=fuzz.WRatio,
        processor=utils.default_process,
        limit=None,
        score_cutoff=LEAST_LIKENESS,
    )
    # An alloy is its number: a name that lacks one of those asked for comes after all that have them. Equal likeness:
    # what people look for most comes first.
    asked = _numbers(text)
    order = {"material": 0, "liquid": 0, "subject": 0, "pipe": 1, "lining": 1, "source": 2}
    ranked = sorted(
        found,
        key=lambda hit: (len(asked - _numbers(hit[0])), -hit[1], order[names[hit[2]].target_kind], hit[2]),
    )[: 4 * limit]
    return [names[index] for _text, _score, index in ranked]


def _numbers(text: str) -> frozenset[str]:
    return frozenset(_DIGITS.findall(text))


def _found(store: ReleaseStore, name: StoredName, release: ReleaseInfo, exact: bool) -> Found:
    record = store.record(name.target, release)
    body: dict[str, Any] = record.body if record is not None else {}
    # Whatever is no subject is found as what its name leads to.
    kind = body["subject_kind"] if body.get("kind") == "subject" else cast("FoundKind", name.target_kind)
    title = body.get("name") or body.get("title") or name.text
    return Found(kind, name.target, title, name.text, exact, name.designation_kind)


def _near_subjects(store: ReleaseStore, text: str, release: ReleaseInfo, kind: str | None) -> list[str]:
    names = [name for name in store.names(release) if name.target_kind in (*SUBJECT_KINDS, "subject")]
    by_text = {name.text: name.target for name in names}
    near: list[str] = []
    for choice in likeliest(text, list(by_text), 3 * CANDIDATES):
        target = by_text[choice]
        record = store.record(target, release)
        if target not in near and record is not None and kind in {None, record.body["subject_kind"]}:
            near.append(target)
    return near[:CANDIDATES]
