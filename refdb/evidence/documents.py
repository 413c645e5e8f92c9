"""The documents of readings, sources and rows, of provenance, changes, audits and saved answers."""

from typing import Any, Literal, NotRequired

from typing_extensions import TypedDict

from refdb.documents import (
    CarrierType,
    DifferenceDocument,
    Document,
    How,
    OpenDocument,
    RightsClass,
    RowReference,
    SourceReference,
)
from refdb.lookup.documents import ReleaseCorrectionDocument
from refdb.values.documents import StateDocument, UncertainValue


class ReadingDocument(OpenDocument):
    """What one source says, as printed; further fields depend on the kind of reading."""

    row: RowReference
    kind: Literal["scalar", "range", "table", "equation", "grid", "surface"]
    subject: str
    property: str
    unit: str
    source: str
    locator: str
    basis: str
    seen: str
    citation: str


class CarrierFileDocument(Document):
    """A file of a copy in which readings were seen; of all readings of the copy, unless some are named."""

    path: str
    sha256: NotRequired[str]
    readings: NotRequired[list[str]]


class CarrierDocument(Document):
    """A copy in which a document was seen: what pins it, the files in it, its licence and the class of its rights."""

    key: str
    type: CarrierType
    name: str
    url: NotRequired[str]
    version: NotRequired[str]
    commit: NotRequired[str]
    files: NotRequired[list[CarrierFileDocument]]
    seen_on: NotRequired[str]
    licence: str
    rights: RightsClass
    readings: NotRequired[list[str]]
    note: NotRequired[str]


class SecondReadingDocument(Document):
    """Who or what found entered numbers equal, when, against which copy or the print, and how."""

    by: str
    on: str
    against: str
    how: How
    numbers: int
    readings: NotRequired[list[str]]


class SourceDocument(OpenDocument):
    """A published document with its rights and how it came to be seen."""

    key: str
    citation: str
    type: str
    title: str
    seen_at: str
    seen_on: str
    rights: str
    carriers: NotRequired[list[CarrierDocument]]
    checks: NotRequired[list[SecondReadingDocument]]
    row: RowReference
    release: NotRequired[str]
    rows_resting_on_it: NotRequired[int]


class CopyDocument(Document):
    """A copy in which a document was seen, and its licence: an SPDX expression, `none` or `unknown`."""

    copy: str
    licence: str


class RightsOfDocument(Document):
    """A document, and those of its copies that are of one class of rights."""

    key: str
    citation: str
    copies: list[CopyDocument]


class DocumentsOfRights(Document):
    """The documents that were seen in a copy of one class of rights."""

    rights: RightsClass
    means: str
    documents: list[RightsOfDocument]


class RightsDocument(Document):
    """The documents of a release by the class of rights of the copies in which they were seen."""

    release: str
    classes: list[DocumentsOfRights]


class ExportDocument(Document):
    """The records of a release, as far as they do without some classes of rights."""

    release: str
    digest: str
    without: list[RightsClass]
    left_out: dict[str, int]
    records: list[dict[str, Any]]


class RowDocument(Document):
    """A record as it stands in a release."""

    row: RowReference
    release: str
    record: dict[str, Any]


Role = Literal["averaged", "compared", "left out", "not used"]
UncertaintyFrom = Literal["rule", "stated", "printing", "none"]
Dimension = Literal["outside_diameter", "wall"]
PrintedAs = Literal["outside_diameter", "wall", "inside_diameter"]
SuspicionCode = Literal[
    "inconsistent-pair",
    "inconsistent-moduli",
    "far-from-peers",
    "decimal-slip",
    "unit-slip",
    "thin-rod",
    "far-below-family",
    "travelling-figure",
    "no-liquid-there",
    "impossible",
    "far-from-advised",
    "documents-disagree",
    "two-values",
    "against-check-value",
    "digits-differ",
    "turns",
    "out-of-line",
    "anothers-value",
    "unlike-its-density",
]
Verdict = Literal["current", "superseded", "not ours"]

# Words of Python cannot be members of a class.
_As = TypedDict("_As", {"as": str})
_From = TypedDict("_From", {"from": str})


class RestingDocument(Document, _As):
    """A row that rests on another, and as what."""

    row: str


class SourceUse(Document):
    """What else rests on a document; at most fifty rows are named."""

    key: str
    readings: int
    also_rest_on_it: list[str]
    total: int


class ProvenanceDocument(Document):
    """The chain from a row to its sources, what else rests on each of them, and what rests on the row.

    `summary` tells the chain in plain sentences, numbers with their units.
    """

    release: str
    summary: NotRequired[list[str]]
    chain: dict[str, Any]
    sources: list[SourceUse]
    rests_on_this: list[RestingDocument]
    rests_on_this_total: int


class VersionDocument(Document):
    """One version of a row; `until` is the release in which it no longer stood."""

    digest: str
    since: str
    until: str | None
    record: dict[str, Any]


class HistoryDocument(Document):
    """Every version of a row, oldest first."""

    row: str
    versions: list[VersionDocument]


class ChangedRow(Document):
    """A row that a release added, withdrew, corrected or moved; which fields it has depends on its kind."""

    row: str
    kind: str
    subject: NotRequired[str]
    property: NotRequired[str]
    condition: NotRequired[str]
    system: NotRequired[str]
    size: NotRequired[dict[str, str]]
    designations: NotRequired[list[str]]
    surface: NotRequired[str]


class WithdrawnRow(ChangedRow):
    """A row that is withdrawn, and what became of what it rested on."""

    why: list[str]


class WithdrawnSource(Document):
    """A document that was found wrong since the older release."""

    key: str
    reason: str
    on: str


class ChangedField(Document):
    """A field of a record before and after; null where it was absent."""

    field: str
    old: Any
    new: Any


class CorrectedRow(ChangedRow):
    """A record that recommends nothing, field by field."""

    fields: list[ChangedField]


class MovedValue(ChangedRow):
    """A recommended value where it moved most, in its new unit; nulls where its versions cannot be compared.

    `move_in_uncertainties` counts old standard uncertainties; it is null too where the old one is zero.
    """

    unit: str
    state: StateDocument | None
    old: UncertainValue | None
    new: UncertainValue | None
    move: float | None
    move_in_uncertainties: float | None
    why: list[str]


class MovedDimension(Document):
    """A dimension of a pipe as printed before and after; null where a release prints none in that unit."""

    dimension: Dimension
    unit: str
    old: str | None
    new: str | None
    move: float | None


class MovedPipe(ChangedRow):
    """A pipe that changed."""

    dimensions: list[MovedDimension]
    why: list[str]


class RoughnessVersion(Document):
    """A roughness and its printed range, in the unit told beside them."""

    value: float
    range: list[float] | None


class MovedRoughness(ChangedRow):
    """A roughness that changed; the ratio is new to old, null where the old one is zero."""

    unit: str
    old: RoughnessVersion
    new: RoughnessVersion
    move: float
    ratio: float | None
    why: list[str]


class ChangedParts(Document):
    """Rows that came and went, records corrected; values, pipes and roughness moved."""

    added: list[ChangedRow]
    withdrawn: list[WithdrawnRow]
    corrected: list[CorrectedRow]
    moved: list[MovedValue]
    moved_pipes: list[MovedPipe]
    moved_roughness: list[MovedRoughness]


class ChangesDocument(ChangedParts, _From):
    """What a release changed: rows that came and went, records corrected; values, pipes and roughness moved."""

    to: str
    counts: dict[str, int]
    withdrawn_sources: list[WithdrawnSource]


class DeviationDocument(Document):
    """A reading and the recommended value where they lie farthest apart, in the row's unit.

    `in_uncertainties` counts combined standard uncertainties: the row's, and the reading's as its rule took it, as its
    document states it, or as its printed digits leave it (`uncertainty_from`). `relative` is to the recommended value.
    """

    state: StateDocument
    unit: str
    recommended: UncertainValue
    read: UncertainValue
    uncertainty_from: UncertaintyFrom
    deviation: float
    relative: float | None
    in_uncertainties: float | None


class AuditedReading(Document):
    """A reading, and the recommended row it is held against; null where the release advises no value."""

    subject: str
    property: str
    row: RowReference | None
    reading: RowReference
    kind: Literal["scalar", "range", "table", "equation", "grid", "surface"]
    source: SourceReference


class DeviatingReading(AuditedReading, DeviationDocument):
    """A reading without doubts, and how far it lies from what is recommended.

    `independent` is false where another reading of the same lineage makes up the row.
    """

    lineage: str
    independent: bool
    role: Role
    weight: float | None


class FlagDocument(Document):
    """A doubt about a reading."""

    code: Literal["misprint", "suspect", "wrong-kind", "unclear-basis", "withdrawn"]
    text: str


class FlaggedReading(AuditedReading):
    """A reading with doubts; the deviation is null where it cannot be compared."""

    flags: list[FlagDocument]
    deviation: DeviationDocument | None


class LeftOutReading(AuditedReading):
    """A reading left out of its recommended row, and why; the deviation is null where it cannot be compared."""

    reason: str
    deviation: DeviationDocument | None


class NotComparedReading(AuditedReading):
    """A reading that could not be held against a recommended value, and why."""

    reason: str


class SingleLineageRow(Document):
    """A recommended value whose evidence all descends from one document or one lineage."""

    subject: str
    property: str
    row: RowReference
    lineage: str
    sources: list[str]
    readings: int
    left_out: int
    basis: str
    seen: str


class SuspicionDocument(Document):
    """What a law or independent documents say against readings; `size` is relative, or a count."""

    code: SuspicionCode
    subject: str
    properties: list[str]
    readings: list[RowReference]
    sources: list[str]
    text: str
    size: float | None


class AuditParts(Document):
    """What is suspicious in readings of solids or liquids; each list has the most suspicious entry first."""

    deviations: list[DeviatingReading]
    flagged: list[FlaggedReading]
    left_out: list[LeftOutReading]
    single_lineage: list[SingleLineageRow]
    not_compared: list[NotComparedReading]
    suspicions: list[SuspicionDocument]


class AuditDocument(AuditParts):
    """What is suspicious in the evidence of a release on solids or liquids; the most suspicious come first."""

    scope: str
    release: str
    counts: dict[str, int]


class FlaggedPipeReading(Document):
    """A reading about pipes with doubts, as printed."""

    kind: Literal["pipe", "tolerance", "lining", "roughness"]
    about: str
    reading: RowReference
    source: SourceReference
    printed: dict[str, Any]
    flags: list[FlagDocument]


class PrintedDimension(Document):
    """A dimension as one reading prints it."""

    id: str
    source: str
    printed: str
    unit: str


class PipeDisagreement(Document):
    """A dimension of one pipe that two documents print differently, beyond what rounding explains."""

    pipe: str
    dimension: PrintedAs
    readings: list[PrintedDimension]
    relative: float


class LeftOutPipeReading(Document):
    """A sound reading that its row does not follow, and why."""

    kind: Literal["pipe", "tolerance", "lining", "roughness"]
    row: RowReference
    reading: RowReference
    source: SourceReference
    reason: str


class RecalledRow(Document):
    """A row that nobody saw printed."""

    kind: str
    row: RowReference
    readings: list[str]


class SingleDocumentSystem(Document):
    """A pipe system: how many of its rows rest on one document alone."""

    system: str
    rows: int
    alone: int


class PipeAuditParts(Document):
    """What is suspicious in readings of pipes, tolerances, linings and roughness."""

    flagged: list[FlaggedPipeReading]
    disagreements: list[PipeDisagreement]
    left_out: list[LeftOutPipeReading]
    recalled: list[RecalledRow]
    single_document: list[SingleDocumentSystem]


class PipeAuditDocument(PipeAuditParts):
    """What is suspicious in the evidence of a release about pipes, tolerances, linings and roughness."""

    scope: Literal["pipes"]
    release: str
    counts: dict[str, int]


class AnswerEffect(Document):
    """What the newest release changes: the moves by member, and that of a value in its standard uncertainties."""

    moves: dict[str, DifferenceDocument]
    in_uncertainties: float | None


class CheckedAnswer(Document):
    """What is to be said of one saved answer."""

    place: str
    row: dict[str, str]
    release: str | None
    verdict: Verdict
    reason: str
    corrections: list[ReleaseCorrectionDocument]
    now: dict[str, Any] | None
    effect: AnswerEffect | None


class ProvDocument(OpenDocument):
    """Provenance in the words of W3C PROV (PROV-JSON)."""

    prefix: dict[str, str]
    entity: dict[str, dict[str, Any]]


class CslItem(OpenDocument):
    """A document as an item of CSL-JSON."""

    id: str
    type: str
    title: str
