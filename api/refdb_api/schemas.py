"""The documents of the service, for the OpenAPI document and for tests; answers are not built from these models."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Document(BaseModel):
    """Nothing undocumented may appear in an answer."""

    model_config = ConfigDict(extra="forbid")


class QuantityDocument(Document):
    """A magnitude with its unit, and the unit's UCUM code for machines."""

    magnitude: float
    unit: str
    ucum: str


class SlopeDocument(Document):
    """A change per kelvin or pascal; the unit is the value's, per that."""

    magnitude: float
    unit: str


class RowReference(Document):
    """A released row and the digest of its version."""

    id: str
    digest: str = Field(pattern=r"^sha256:[0-9a-f]{64}$")


class SourceReference(Document):
    """A document that a row rests on, and where in it."""

    key: str
    citation: str
    locator: str


class SubjectReference(Document):
    """What a value is about."""

    id: str
    kind: Literal["material", "liquid"]
    name: str


class UncertaintyBasis(Document):
    """Where a standard uncertainty comes from."""

    code: str
    text: str


class StateDocument(Document):
    """The state that was answered at; parts on which the value does not depend are absent."""

    temperature: QuantityDocument | None = None
    pressure: QuantityDocument | None = None
    salinity: QuantityDocument | None = None
    strength: QuantityDocument | None = None


class AnswerDocument(Document):
    """How far an answer can be trusted, and where it comes from."""

    basis: Literal["measured", "standard", "evaluated", "computed", "derived", "estimated"]
    seen: Literal["original", "archive", "reproduction", "library", "memory"]
    rung: Literal["published", "derived", "analogue", "family", "memory"]
    rule: str
    layer: Literal["release"]
    row: RowReference
    sources: list[SourceReference]
    release: str
    permalink: str
    assumptions: list[str]
    warnings: list[str]


class HouseTold(Document):
    """What an answer says of the house value it is."""

    id: str
    version: int
    entered_by: list[str]
    reviewed_by: str
    reviewed_at: str
    evidence: str
    attachments: list[dict[str, str]]


class ReleaseSays(Document):
    """What the release says beside a house value, or why it says nothing; `difference` is house minus release."""

    answer: dict[str, Any] | None
    problem: dict[str, Any] | None
    difference: dict[str, Any] | None


class ValueDocument(AnswerDocument):
    """One property at one state, with everything needed to trust it; `house` and `release_says` of house values."""

    rung: Literal["published", "derived", "analogue", "family", "memory", "house"]  # type: ignore[assignment]
    layer: Literal["release", "house"]  # type: ignore[assignment]
    house: HouseTold | None = None
    release_says: ReleaseSays | None = None

    subject: SubjectReference
    property: str
    state: StateDocument
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    uncertainty_basis: UncertaintyBasis
    slope: dict[Literal["temperature", "pressure", "salinity", "strength"], SlopeDocument]
    valid_range: dict[str, list[str]]
    bound: Literal["lower"] | None = None


class ProblemDocument(BaseModel):
    """A problem document after RFC 9457; extensions appear where they apply."""

    model_config = ConfigDict(extra="allow")

    type: str
    title: str
    status: int
    detail: str
    parameter: str | None = None
    given: str | None = None
    accepted: list[str] | None = None
    valid_range: dict[str, list[str]] | None = None
    nearest: str | None = None
    candidates: list[str] | None = None
    estimate_available: bool | None = None


class RefusedDocument(Document):
    """A property that could not be answered, and why."""

    property: str
    problem: ProblemDocument


class ValuesDocument(Document):
    """Several properties of one subject at one state."""

    release: str
    values: list[ValueDocument]
    refused: list[RefusedDocument]


class BatchRefusal(Document):
    """A kind of refusal among the states: how many, the first of them, and its problem."""

    status: str
    count: int
    first: int
    problem: ProblemDocument


class BatchProperty(Document):
    """One property of a batch: its unit, row and refusals."""

    property: str
    unit: str
    ucum: str
    row: RowReference
    assumptions: list[str]
    refused: list[BatchRefusal]


class BatchDocument(Document):
    """Columns over the states: `value`, `standard_uncertainty`, `status`, `row`.

    With several properties each column's name begins with its property and a point. Of a question that names no
    properties, `refused` holds those that could be answered at no state.
    """

    release: str
    subject: SubjectReference
    count: int
    columns: dict[str, list[float | str | None]]
    properties: list[BatchProperty]
    refused: list[RefusedDocument]


class FoundDocument(Document):
    """Something that fits a search text."""

    kind: Literal["material", "liquid", "pipe", "lining", "source"]
    id: str
    name: str
    matched: str
    matched_as: str
    exact: bool


class FoundList(Document):
    """What fits, best first."""

    release: str
    items: list[FoundDocument]


class DesignationDocument(Document):
    """A name of a subject."""

    kind: str
    text: str


class SubjectDocument(SubjectReference):
    """A subject: its names, and what a release advises for it."""

    family: str
    note: str | None
    designations: list[DesignationDocument]
    properties: list[str]
    conditions: list[str]
    readings: int
    row: RowReference
    release: str


class SubjectList(Document):
    """Materials or liquids, by id."""

    release: str
    items: list[SubjectDocument]
    next: str | None


class ReadingDocument(BaseModel):
    """What one source says, as printed; further fields depend on the kind of reading."""

    model_config = ConfigDict(extra="allow")

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


class ReadingList(Document):
    """Readings, by row id."""

    release: str
    items: list[ReadingDocument]
    next: str | None


class SystemReference(Document):
    """The pipe system of a pipe."""

    id: str
    name: str
    standard: str
    edition: str


class PrintedDimensionsDocument(Document):
    """Dimensions as printed in one unit."""

    unit: str
    outside_diameter: str
    outside_diameter_is: str | None = None
    wall: str | None = None
    wall_is: str | None = None
    inside_diameter: str | None = None


class ToleranceDocument(Document):
    """How far a dimension may lie from its nominal value, and the standard that says so."""

    minus: QuantityDocument | None
    plus: QuantityDocument | None
    plus_unlimited: bool
    text: str
    standard: str
    row: RowReference


class PipeTolerance(Document):
    """The limits of a pipe's dimensions, where a standard seen gives any."""

    outside_diameter: ToleranceDocument | None
    wall: ToleranceDocument | None


class PipeDocument(AnswerDocument):
    """One pipe: nominal dimensions from its standard."""

    id: str
    system: SystemReference
    size: dict[str, str]
    designations: list[str]
    outside_diameter: QuantityDocument
    outside_diameter_is: Literal["nominal", "minimum", "maximum", "approximate"]
    wall: QuantityDocument | None
    wall_is: Literal["nominal", "minimum", "average"] | None
    bore: QuantityDocument | None
    tolerance: PipeTolerance
    printed: list[PrintedDimensionsDocument]


class PipeList(Document):
    """Pipes, smaller and thinner first."""

    release: str
    items: list[PipeDocument]
    next: str | None


class UncertainQuantity(Document):
    """A quantity with its standard uncertainty."""

    value: QuantityDocument
    standard_uncertainty: QuantityDocument


class MeasuredPipe(Document):
    """What the readings give, corrected for tape, coating and speed."""

    outside_diameter: UncertainQuantity
    wall: UncertainQuantity | None
    lining: UncertainQuantity | None
    bore: UncertainQuantity | None


class MatchedSize(Document):
    """A size whose wall is not known, or is none of its standard's: as the likeliest of its names prints it."""

    system: SystemReference
    size: dict[str, str]
    outside_diameter: QuantityDocument
    outside_diameter_is: Literal["nominal", "minimum", "maximum", "approximate"]
    wall: None
    bore: None
    release: str


class NamedSystem(Document):
    """A pipe system and its standard."""

    id: str
    name: str
    standard: str


class MatchedName(Document):
    """One of the names that pipes of equal dimensions have, with its part of the probability.

    Of a size alone, `id` and `wall` are absent and `designations` empty.
    """

    id: str | None
    system: NamedSystem
    size: dict[str, str]
    designations: list[str]
    material: str
    wall: QuantityDocument | None
    probability: float = Field(ge=0.0, le=1.0)


class MatchedBore(Document):
    """The bore, from the limits of the likeliest name, and as measured."""

    nominal: UncertainQuantity | None
    measured: UncertainQuantity | None


class MatchDeviations(Document):
    """How far the measured dimensions are above the middle between the limits, in standard uncertainties of both."""

    outside_diameter: float | None
    wall: float | None


class PipeMatchItemDocument(Document):
    """One outcome: a pipe, a size (no wall measured), a size with another wall than standard, or none of these."""

    outcome: Literal["pipe", "size", "worn", "none"]
    pipe: PipeDocument | MatchedSize | None
    probability: float = Field(ge=0.0, le=1.0)
    names: list[MatchedName]
    bore: MatchedBore
    deviations: MatchDeviations
    text: str


class MatchedSizeProbability(Document):
    """A size, whatever its wall, with every name it has."""

    outside_diameter: QuantityDocument
    probability: float = Field(ge=0.0, le=1.0)
    names: list[str]


class MatchPrior(Document):
    """What was taken as probable before anything was measured."""

    name: str
    text: str
    model: str
    none: float
    worn: float


class PipeMatchDocument(Document):
    """What a measured pipe can be: outcomes and sizes, the likeliest first."""

    release: str
    measured: MeasuredPipe
    material: str | None
    system: str | None
    prior: MatchPrior
    items: list[PipeMatchItemDocument]
    sizes: list[MatchedSizeProbability]
    unlisted: float = Field(ge=0.0, le=1.0)
    advice: list[str]
    assumptions: list[str]
    warnings: list[str]


class MeasuredLiquid(Document):
    """What was measured of a liquid; null what was not given."""

    sound_speed: UncertainQuantity
    temperature: UncertainQuantity | None
    pressure: QuantityDocument | None
    salinity: QuantityDocument | None
    strength: QuantityDocument | None


class LiquidMatchItemDocument(Document):
    """A liquid at the state: its recommended speed, and how far the measured one is from it.

    `deviation` is the difference in combined standard uncertainties; `likelihood` is relative to the best liquid and no
    probability. `best_fitting` names the salinity or strength that was taken where it fits best.
    """

    subject: SubjectReference
    state: StateDocument
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    difference: QuantityDocument
    combined_uncertainty: QuantityDocument
    deviation: float
    likelihood: float = Field(ge=0.0)
    agrees: bool
    best_fitting: Literal["salinity", "strength"] | None
    rung: str
    row: RowReference
    sources: list[SourceReference]
    permalink: str
    assumptions: list[str]


class NearMisses(Document):
    """Liquids that do not agree, and miss by no more than `within` standard uncertainties."""

    count: int
    within: float
    items: list[LiquidMatchItemDocument]


class LeftOutLiquids(Document):
    """Liquids that could not be compared, by reason."""

    reason: Literal["no_speed", "estimate", "outside_range", "not_liquid"]
    text: str
    count: int
    subjects: list[str]


class LiquidMatchDocument(Document):
    """The liquids that agree with a measured sound speed, the likeliest first."""

    release: str
    sought: Literal["liquid"]
    measured: MeasuredLiquid
    model: str
    agreeing: int
    items: list[LiquidMatchItemDocument]
    near_misses: NearMisses
    left_out: list[LeftOutLiquids]
    advice: list[str]
    assumptions: list[str]
    warnings: list[str]


class RootDocument(Document):
    """A place with exactly the measured speed; its uncertainty is that of the speeds divided by the slope.

    `slope` is the change of the speed with what is sought, `inverse_slope` its reciprocal; null where it is flat.
    """

    at: QuantityDocument
    standard_uncertainty: QuantityDocument | None
    slope: SlopeDocument
    inverse_slope: SlopeDocument | None


class RangeEnds(Document):
    """Whether a stretch ends because the range of the row does."""

    low: bool
    high: bool


class StretchDocument(Document):
    """Places that agree with the measured speed, k = 2; `sensitive` where its one root says everything."""

    low: QuantityDocument
    high: QuantityDocument
    ends_with_range: RangeEnds
    sensitive: bool
    roots: list[RootDocument]
    text: str


class TurningPoint(Document):
    """Where the speed turns: it is not sensitive there."""

    at: QuantityDocument
    sound_speed: QuantityDocument


class StateMatchDocument(Document):
    """The temperatures, salinities or strengths at which one liquid has a measured sound speed.

    `searched` is where its row answers, `reached` the least and greatest speed there.
    """

    release: str
    sought: Literal["temperature", "salinity", "strength"]
    subject: SubjectReference
    measured: MeasuredLiquid
    model: str
    items: list[StretchDocument]
    turning_points: list[TurningPoint]
    searched: list[QuantityDocument]
    reached: list[QuantityDocument]
    rung: str
    row: RowReference
    sources: list[SourceReference]
    valid_range: dict[str, list[str]]
    advice: list[str]
    assumptions: list[str]
    warnings: list[str]


class LiningDocument(AnswerDocument):
    """A lining, or a coating outside, by its standard."""

    id: str
    systems: list[str]
    standard: str
    material: str
    side: Literal["inside", "outside"]
    pipes: str
    thickness: QuantityDocument | None
    range: list[QuantityDocument] | None
    minimum: QuantityDocument | None


class LiningList(Document):
    """Linings, by row id."""

    release: str
    items: list[LiningDocument]
    next: str | None


class SurfaceReference(Document):
    """What a roughness is about."""

    id: str
    name: str
    materials: list[str]
    condition: str


class RoughnessDocument(AnswerDocument):
    """The roughness of a surface, with the printed range."""

    surface: SurfaceReference
    property: Literal["roughness"]
    value: QuantityDocument
    range: list[QuantityDocument] | None


class RoughnessList(Document):
    """Surfaces, by row id."""

    release: str
    items: list[RoughnessDocument]
    next: str | None


class SourceDocument(BaseModel):
    """A published document with its rights and how it came to be seen."""

    model_config = ConfigDict(extra="allow")

    key: str
    citation: str
    type: str
    title: str
    seen_at: str
    seen_on: str
    rights: str
    row: RowReference


class SourceList(Document):
    """Sources, by key."""

    release: str
    items: list[SourceDocument]
    next: str | None


class RowDocument(Document):
    """A record as it stands in a release."""

    row: RowReference
    release: str
    record: dict[str, Any]


class RestingDocument(Document):
    """A row that rests on another, and as what."""

    row: str
    as_: str = Field(alias="as")


class SourceUse(Document):
    """What else rests on a document; at most fifty rows are named."""

    key: str
    readings: int
    also_rest_on_it: list[str]
    total: int


class ProvenanceDocument(Document):
    """The chain from a row to its sources, what else rests on each of them, and what rests on the row."""

    release: str
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


class ReleaseCorrectionDocument(Document):
    """What was wrong with a release; `release` is the other one: that which was wrong, or that which says so."""

    release: str
    what: str


class EarlierCutDocument(Document):
    """A list of rows that bore the label of a release before it, and why it was cut again."""

    digest: str = Field(pattern=r"^sha256:[0-9a-f]{64}$")
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


class ChangedRow(Document):
    """A row that a release added, withdrew, corrected or moved; which fields it has depends on its kind."""

    row: str
    kind: str
    subject: str | None = None
    property: str | None = None
    condition: str | None = None
    system: str | None = None
    size: dict[str, str] | None = None
    designations: list[str] | None = None
    surface: str | None = None


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


class UncertainValue(Document):
    """A bare value and its standard uncertainty, in the unit told beside them."""

    value: float
    standard_uncertainty: float


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

    dimension: Literal["outside_diameter", "wall"]
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


class ChangesDocument(Document):
    """What a release changed: rows that came and went, records corrected; values, pipes and roughness moved."""

    from_: str = Field(alias="from")
    to: str
    counts: dict[str, int]
    added: list[ChangedRow]
    withdrawn_sources: list[WithdrawnSource]
    withdrawn: list[WithdrawnRow]
    corrected: list[CorrectedRow]
    moved: list[MovedValue]
    moved_pipes: list[MovedPipe]
    moved_roughness: list[MovedRoughness]


class DeviationDocument(Document):
    """A reading and the recommended value where they lie farthest apart, in the row's unit.

    `in_uncertainties` counts combined standard uncertainties: the row's, and the reading's as its rule took it, as its
    document states it, or as its printed digits leave it (`uncertainty_from`). `relative` is to the recommended value.
    """

    state: StateDocument
    unit: str
    recommended: UncertainValue
    read: UncertainValue
    uncertainty_from: Literal["rule", "stated", "printing", "none"]
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
    role: Literal["averaged", "compared", "left out", "not used"]
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

    code: Literal[
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
    subject: str
    properties: list[str]
    readings: list[RowReference]
    sources: list[str]
    text: str
    size: float | None


class AuditDocument(Document):
    """What is suspicious in the evidence of a release; each list has the most suspicious entry first."""

    scope: str
    release: str
    counts: dict[str, int]
    deviations: list[DeviatingReading]
    flagged: list[FlaggedReading]
    left_out: list[LeftOutReading]
    single_lineage: list[SingleLineageRow]
    not_compared: list[NotComparedReading]
    suspicions: list[SuspicionDocument] | None = Field(default=None, description="Of solids and liquids.")


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
    dimension: Literal["outside_diameter", "wall", "inside_diameter"]
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


class PipeAuditDocument(Document):
    """What is suspicious in the evidence of a release about pipes, tolerances, linings and roughness."""

    scope: Literal["pipes"]
    release: str
    counts: dict[str, int]
    flagged: list[FlaggedPipeReading]
    disagreements: list[PipeDisagreement]
    left_out: list[LeftOutPipeReading]
    recalled: list[RecalledRow]
    single_document: list[SingleDocumentSystem]


class ReleaseList(Document):
    """Releases, oldest first."""

    items: list[ReleaseDocument]


class PropertyDocument(Document):
    """A property: one dimension and one SI unit."""

    id: str
    name: str
    symbol: str
    dimension: str
    si: str
    us: str
    applies_to: list[str]
    asked_of: list[str]
    definition: str


class PropertyList(Document):
    """The closed list of properties."""

    items: list[PropertyDocument]


class UnitDocument(Document):
    """A unit and every accepted spelling; si = scale × magnitude + offset, or along a named function."""

    symbol: str
    ucum: str
    dimension: str
    spellings: list[str]
    gauge: bool
    assume: str | None
    scale: float | None
    offset: float | None
    function: str | None


class RefusedUnit(Document):
    """Spellings that are refused, why, and for which dimensions (none named: for all)."""

    spellings: list[str]
    dimensions: list[str]
    why: str


class UnitList(Document):
    """The closed list of units, and the spellings that are refused because they mean several things."""

    items: list[UnitDocument]
    refused: list[RefusedUnit]


class SystemDocument(Document):
    """A pipe system, and how much of its standard is here."""

    id: str
    name: str
    names: list[str]
    standard: str
    edition: str
    size_words: list[str]
    size_unit: str | None
    material: str
    tolerances: list[str]
    complete: str


class SystemList(Document):
    """The closed list of pipe systems."""

    items: list[SystemDocument]


class HealthDocument(Document):
    """Whether the process answers, and from what."""

    status: Literal["ok"]
    version: str
    release: str


class AxisDocument(Document):
    """One range of states: a part of the state, its unit and its steps."""

    name: Literal["temperature", "pressure", "salinity", "strength"]
    unit: str
    magnitudes: list[float]


class TablePart(Document):
    """One property over the states: matrices, one line for each step down; null where a state was refused."""

    property: str
    unit: str
    row: RowReference
    values: list[list[float | None]]
    standard_uncertainties: list[list[float | None]]
    status: list[list[str]]
    assumptions: list[str]
    refused: list[BatchRefusal]


class TableDocument(Document):
    """Properties of a subject over one range of states, or two; `refused` as in a batch."""

    release: str
    subject: SubjectReference
    down: AxisDocument
    across: AxisDocument | None
    state: dict[str, str]
    tables: list[TablePart]
    refused: list[RefusedDocument]


class MaterialCell(Document):
    """A property of a material at room temperature; `slope` is per kelvin, null where none is known."""

    value: float
    standard_uncertainty: float
    unit: str
    slope: float | None
    rung: Literal["published", "derived", "analogue", "family", "memory"]
    row: RowReference


class MaterialLine(Document):
    """What a wall or a lining needs of one material; null where nobody published it."""

    id: str
    name: str
    family: str
    longitudinal_speed: MaterialCell | None
    shear_speed: MaterialCell | None
    density: MaterialCell | None
    sources: list[str]


class MaterialList(Document):
    """Every material with its speeds and density."""

    release: str
    items: list[MaterialLine]
    next: str | None


class MeasuredInput(Document):
    """What one input contributes to the standard uncertainty of a measured speed."""

    input: Literal["thickness", "echo_time"]
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    contribution: QuantityDocument


class MeaningQuantity(QuantityDocument):
    """A strength on one basis, and what it means."""

    meaning: str


class StrengthTemperature(Document):
    """The temperature that volumes and densities were taken at."""

    magnitude: float
    unit: str


class RefusedBasis(Document):
    """A unit in which a strength cannot be told, and why."""

    unit: str
    reason: str


class StrengthDocument(Document):
    """A strength as given, as a mass fraction with what finding it from a density leaves open, and on other bases."""

    subject: SubjectReference
    given: MeaningQuantity
    temperature: StrengthTemperature | None
    mass_fraction: QuantityDocument
    standard_uncertainty: QuantityDocument
    strengths: list[MeaningQuantity]
    refused: list[RefusedBasis]
    release: str


class SuspensionPhase(Document):
    """One part of a suspension: liquid or solid, by its subject or (subject null) by numbers that were given."""

    kind: Literal["liquid", "solid"]
    subject: SubjectReference | None
    density: QuantityDocument
    compressibility: QuantityDocument


class SuspensionFraction(Document):
    """How much is dispersed, by volume and by mass."""

    volume_fraction: QuantityDocument
    mass_fraction: QuantityDocument


class SuspensionContribution(Document):
    """What one input, or what the equation leaves out, contributes to the standard uncertainty of the speed."""

    input: str
    value: QuantityDocument | None
    standard_uncertainty: QuantityDocument | None
    contribution: QuantityDocument


class SuspensionAtFraction(SuspensionFraction):
    """The speed and the density at a fraction; the slope is by the fraction on the basis that was given.

    `slipping_speed` is that of particles that lag behind the liquid, `warmed_speed` that of particles that exchange
    heat with it: the limits that the uncertainty allows for.
    """

    fraction: MeaningQuantity
    fraction_standard_uncertainty: QuantityDocument
    sound_speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    density: QuantityDocument
    density_standard_uncertainty: QuantityDocument
    compressibility: QuantityDocument
    slope: SlopeDocument
    slipping_speed: QuantityDocument
    warmed_speed: QuantityDocument
    contributions: list[SuspensionContribution]


class SuspensionRoot(SuspensionFraction):
    """A fraction that has the measured speed; standard_uncertainty is of the volume fraction, null at a turn."""

    standard_uncertainty: QuantityDocument | None
    density: QuantityDocument
    slope: SlopeDocument


class SuspensionStretch(Document):
    """Volume fractions that agree with the measured speed within two standard uncertainties of both."""

    low: QuantityDocument
    high: QuantityDocument


class SuspensionAtSpeed(Document):
    """Every fraction with a measured speed, and what agrees with it."""

    sound_speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    roots: list[SuspensionRoot]
    stretches: list[SuspensionStretch]
    advice: list[str]


class SuspensionSlowest(SuspensionFraction):
    """Where the speed turns, and the speed there."""

    sound_speed: QuantityDocument


class SuspensionRow(RowReference):
    """A row that was used."""

    rung: Literal["published", "derived", "analogue", "family", "memory"]


class SuspensionSource(SourceReference):
    """A document that a used row rests on."""

    row: str


class SuspensionDocument(Document):
    """The sound speed of an emulsion or a slurry of fine particles, or the fractions that have a measured one."""

    continuous: SuspensionPhase
    dispersed: SuspensionPhase
    temperature: QuantityDocument
    pressure: QuantityDocument | None
    at_fraction: SuspensionAtFraction | None
    at_speed: SuspensionAtSpeed | None
    slowest: SuspensionSlowest | None
    basis: Literal["derived"]
    rung: Literal["published", "derived", "analogue", "family", "memory"]
    equation: str
    validity: list[str]
    assumptions: list[str]
    warnings: list[str]
    rows: list[SuspensionRow]
    sources: list[SuspensionSource]
    release: str


class MeasuredSpeedDocument(Document):
    """A speed measured on site, with its standard uncertainty, method and advice."""

    speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    echoes: int
    inputs: list[MeasuredInput]
    method: str
    advice: list[str]


class HouseValueDocument(Document):
    """One version of a house value. `entry` is null, and `body` given, where its form is from before entries."""

    id: str
    subject: str
    property: str
    version: int
    status: Literal["draft", "reviewed", "withdrawn"]
    entered_by: str
    entered_at: str
    digest: str | None
    reason: str | None
    entry: dict[str, Any] | None
    body: str | None = None


class HouseValueList(Document):
    """House values, the newest version of each."""

    release: str
    items: list[HouseValueDocument]
    next: str | None


class HouseVersions(Document):
    """The versions of a house value, oldest first."""

    items: list[HouseValueDocument]


class HouseWriteDocument(Document):
    """One write to the house store."""

    number: int
    at: str
    person: str
    key: str | None
    action: str
    target: str
    version: int | None


class HouseWrites(Document):
    """The log of writes, oldest first."""

    items: list[HouseWriteDocument]


class AnswerEffect(Document):
    """What the newest release changes: the moves by member, and that of a value in its standard uncertainties."""

    moves: dict[str, dict[str, Any]]
    in_uncertainties: float | None


class CheckedAnswer(Document):
    """What is to be said of one saved answer."""

    place: str
    row: dict[str, str]
    release: str | None
    verdict: Literal["current", "superseded", "not ours"]
    reason: str
    corrections: list[ReleaseCorrectionDocument]
    now: dict[str, Any] | None
    effect: AnswerEffect | None


class CheckedAnswers(Document):
    """Saved answers, in the order in which they stand in the document."""

    items: list[CheckedAnswer]


class ProvDocument(BaseModel):
    """Provenance in the words of W3C PROV (PROV-JSON)."""

    model_config = ConfigDict(extra="allow")

    prefix: dict[str, str]
    entity: dict[str, dict[str, Any]]


class CslItem(BaseModel):
    """A document as an item of CSL-JSON."""

    model_config = ConfigDict(extra="allow")

    id: str
    type: str
    title: str


class Citations(Document):
    """The documents behind a row, as items of CSL-JSON, and the same as BibTeX."""

    release: str
    items: list[CslItem]
    bibtex: str


class LiquidSpeedInput(Document):
    """What one input contributes to the standard uncertainty of a liquid's measured speed."""

    input: Literal["path", "travel_time", "water_time", "water_speed", "temperature"]
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    contribution: QuantityDocument


class MeasuredLiquidSpeedDocument(Document):
    """A liquid's speed measured on site, with the speed of water where it was measured against that."""

    speed: QuantityDocument
    standard_uncertainty: QuantityDocument
    water: ValueDocument | None
    inputs: list[LiquidSpeedInput]
    method: str
    advice: list[str]
