"""The documents of values, of subjects, of tables and of the closed vocabularies."""

from collections.abc import Sequence
from typing import Literal, NotRequired

from refdb.documents import (
    DifferenceDocument,
    Document,
    PartName,
    ProblemDocument,
    QuantityDocument,
    RowReference,
    Rung,
    SlopeDocument,
    SourceReference,
    SubjectReference,
)


class UncertaintyBasis(Document):
    """Where a standard uncertainty comes from."""

    code: str
    text: str


class StateDocument(Document):
    """The state that was answered at; parts on which the value does not depend are absent."""

    temperature: NotRequired[QuantityDocument]
    pressure: NotRequired[QuantityDocument]
    salinity: NotRequired[QuantityDocument]
    strength: NotRequired[QuantityDocument]


class Evidenced(Document):
    """What an answer rests on."""

    basis: Literal["measured", "standard", "evaluated", "computed", "derived", "estimated"]
    seen: Literal["original", "archive", "reproduction", "library", "memory"]
    rule: str
    row: RowReference
    sources: list[SourceReference]


class AnswerStanding(Evidenced):
    """How far an answer of a release can be trusted."""

    rung: Rung
    layer: Literal["release"]


class AnswerDocument(AnswerStanding):
    """How far an answer can be trusted, and where it comes from."""

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

    answer: "ValueDocument | None"
    problem: ProblemDocument | None
    difference: DifferenceDocument | None


class FrequencyTold(Document):
    """Where in frequency a speed holds that rises with it, in `unit`, and its rise a decade in percent."""

    number: str
    low: str
    high: str
    unit: str
    per_decade: str


class BoundTold(Document):
    """Between what a property lies where there is no value, and why no more is known."""

    low: QuantityDocument
    high: QuantityDocument
    why: str


class StatelessParts(Evidenced):
    """The parts of a value that do not depend on the state.

    `frequency` and `correlations` are there where the row tells them: of speeds that rise with frequency, and of values
    whose errors go with those of other rows; the last two are added to those of house values.
    """

    uncertainty_basis: UncertaintyBasis
    valid_range: dict[str, list[str]]
    bound: BoundTold | Literal["lower"] | None
    frequency: NotRequired[FrequencyTold]
    correlations: NotRequired[dict[str, str]]
    rung: Literal[Rung, "house"]
    layer: Literal["release", "house"]
    house: NotRequired[HouseTold]
    release_says: NotRequired[ReleaseSays]


class ValueDocument(StatelessParts):
    """One property at one state, with everything needed to trust it; `house` and `release_says` of house values.

    `value` and `standard_uncertainty` are null where all that is known is a `bound`.
    """

    subject: SubjectReference
    property: str
    state: StateDocument
    value: QuantityDocument | None
    standard_uncertainty: QuantityDocument | None
    slope: dict[PartName, SlopeDocument]
    release: str
    permalink: str
    assumptions: list[str]
    warnings: list[str]


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

    Where all that is known is a bound, `status` is `bound`, the first two are null, and `low` and `high` stand beside
    them.

    With several properties each column's name begins with its property and a point. Of a question that names no
    properties, `refused` holds those that could be answered at no state.
    """

    release: str
    subject: SubjectReference
    count: int
    columns: dict[str, Sequence[float | str | None]]
    properties: list[BatchProperty]
    refused: list[RefusedDocument]


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


class UncertainValue(Document):
    """A bare value and its standard uncertainty, in the unit told beside them."""

    value: float
    standard_uncertainty: float


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


class AxisDocument(Document):
    """One range of states: a part of the state, its unit and its steps."""

    name: PartName
    unit: str
    magnitudes: list[float]


class TablePart(Document):
    """One property over the states: matrices, one line for each step down; null where a state was refused.

    `limits` holds matrices where all that is known is a bound, and nothing else.
    """

    property: str
    unit: str
    row: RowReference
    values: list[list[float | None]]
    standard_uncertainties: list[list[float | None]]
    limits: dict[Literal["low", "high"], list[list[float | None]]]
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


MaterialProperty = Literal["longitudinal_speed", "shear_speed", "density"]


class MaterialCell(Document):
    """A property of a material at room temperature; `slope` is per kelvin, null where none is known.

    `value` and `standard_uncertainty` are null where all that is known are `limits`.
    """

    value: float | None
    standard_uncertainty: float | None
    limits: tuple[float, float] | None
    unit: str
    slope: float | None
    rung: Rung
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


class MeaningQuantity(QuantityDocument):
    """A strength on one basis, and what it means."""

    meaning: str
