"""The documents that the service makes itself: lists in pages, citations, and whether it answers."""

from typing import Literal

from refdb.documents import Document
from refdb.evidence.documents import CheckedAnswer, CslItem, ReadingDocument, SourceDocument
from refdb.house.documents import HouseValueDocument
from refdb.lookup.documents import FoundDocument, ReleaseDocument
from refdb.pipes.documents import LiningDocument, PipeDocument, RoughnessDocument
from refdb.store.documents import HouseWriteDocument
from refdb.values.documents import (
    MaterialLine,
    PropertyDocument,
    RefusedUnit,
    SubjectDocument,
    SystemDocument,
    UnitDocument,
)


class Page(Document):
    """A part of a list; `next` asks for what follows, null at the end."""

    release: str
    next: str | None


class FoundList(Document):
    """What fits, best first."""

    release: str
    items: list[FoundDocument]


class SubjectList(Page):
    """Materials or liquids, by id."""

    items: list[SubjectDocument]


class ReadingList(Page):
    """Readings, by row id."""

    items: list[ReadingDocument]


class PipeList(Page):
    """Pipes, smaller and thinner first."""

    items: list[PipeDocument]


class LiningList(Page):
    """Linings, by row id."""

    items: list[LiningDocument]


class RoughnessList(Page):
    """Surfaces, by row id."""

    items: list[RoughnessDocument]


class SourceList(Page):
    """Sources, by key."""

    items: list[SourceDocument]


class ReleaseList(Document):
    """Releases, oldest first."""

    items: list[ReleaseDocument]


class PropertyList(Document):
    """The closed list of properties."""

    items: list[PropertyDocument]


class UnitList(Document):
    """The closed list of units, and the spellings that are refused because they mean several things."""

    items: list[UnitDocument]
    refused: list[RefusedUnit]


class SystemList(Document):
    """The closed list of pipe systems."""

    items: list[SystemDocument]


class HealthDocument(Document):
    """Whether the process answers, and from what."""

    status: Literal["ok"]
    version: str
    release: str


class MaterialList(Page):
    """Every material with its speeds and density."""

    items: list[MaterialLine]


class HouseValueList(Page):
    """House values, the newest version of each."""

    items: list[HouseValueDocument]


class HouseVersions(Document):
    """The versions of a house value, oldest first."""

    items: list[HouseValueDocument]


class HouseWrites(Document):
    """The log of writes, oldest first."""

    items: list[HouseWriteDocument]


class CheckedAnswers(Document):
    """Saved answers, in the order in which they stand in the document."""

    items: list[CheckedAnswer]


class Citations(Document):
    """The documents behind a row, as items of CSL-JSON, and the same as BibTeX."""

    release: str
    items: list[CslItem]
    bibtex: str
