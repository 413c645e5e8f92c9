"""The documents of materials that agree with what was measured, and of what follows for one in no list."""

from typing import Literal, NotRequired

from refdb.documents import (
    Document,
    Likelihood,
    Probability,
    QuantityDocument,
    RowReference,
    SubjectReference,
    UncertainQuantity,
)

MatchReason = Literal["no_value", "estimate", "bound", "outside_range"]


class MaterialCompared(Document):
    """One property of a material beside the measured one; `deviation` in combined standard uncertainties."""

    property: str
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    difference: QuantityDocument
    deviation: float
    rung: str
    row: RowReference


class MaterialMatchItem(Document):
    """A material: how far the measured numbers are from its own, all of them together.

    `chi_squared` is the squared distance in combined standard uncertainties, correlations included; `likelihood` is
    relative to the best material and no probability.
    """

    subject: SubjectReference
    family: str
    compared: list[MaterialCompared]
    chi_squared: float
    likelihood: Likelihood
    agrees: bool


class LeftOutMaterials(Document):
    """Materials that could not be compared, by reason."""

    reason: MatchReason
    text: str
    count: int
    subjects: list[str]


class FurtherMeasurement(Document):
    """What would tell agreeing materials apart: the share of their pairs that it would."""

    property: str
    pairs_apart: Probability


class MaterialMatchDocument(Document):
    """The materials that agree with what was measured on a piece, the likeliest first."""

    release: str
    temperature: QuantityDocument
    measured: dict[str, UncertainQuantity]
    model: str
    agreeing: int
    items: list[MaterialMatchItem]
    near_misses: list[MaterialMatchItem]
    left_out: list[LeftOutMaterials]
    further: list[FurtherMeasurement]
    advice: list[str]
    assumptions: list[str]
    warnings: list[str]


class ConditionalValue(Document):
    """A property of an unlisted material: measured, or what follows from what was.

    `before` is what its kind alone lets expect.
    """

    property: str
    value: QuantityDocument
    standard_uncertainty: QuantityDocument
    before: UncertainQuantity
    measured: UncertainQuantity | None
    keep: NotRequired[str]


class KindDocument(Document):
    """What an unlisted material is taken to be one more of, and why."""

    words: str
    family: str
    like: SubjectReference | None
    members: list[str]


class UnlistedDocument(Document):
    """What follows for a material that is in no list; `fits` tells whether what was measured fits its kind."""

    release: str
    temperature: QuantityDocument
    kind: KindDocument
    values: list[ConditionalValue]
    chi_squared: float
    fits: bool
    model: str
    advice: list[str]
    assumptions: list[str]
    warnings: list[str]
