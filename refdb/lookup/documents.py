"""The documents of searches and of releases."""

from typing import Literal

from refdb.documents import Digest, Document

FoundKind = Literal["material", "liquid", "pipe", "lining", "source"]


class FoundDocument(Document):
    """Something that fits a search text."""

    kind: FoundKind
    id: str
    name: str
    matched: str
    matched_as: str
    exact: bool


class ReleaseCorrectionDocument(Document):
    """What was wrong with a release; `release` is the other one: that which was wrong, or that which says so."""

    release: str
    what: str


class EarlierCutDocument(Document):
    """A list of rows that bore the label of a release before it, and why it was cut again."""

    digest: Digest
    cut_on: str
    superseded_on: str
    why: str


class ReleaseDocument(Document):
    """A release; what it corrects, what corrects it, and what bore its label before."""

    label: str
    cut_on: str
    digest: str
    rows: int
    note: str
    corrects: list[ReleaseCorrectionDocument]
    corrected_by: list[ReleaseCorrectionDocument]
    earlier_cuts: list[EarlierCutDocument]
