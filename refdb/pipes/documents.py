"""The documents of pipes, of what a measured pipe can be, of linings and of roughness."""

from typing import Literal, NotRequired

from refdb.documents import Document, Probability, QuantityDocument, RowReference, UncertainQuantity
from refdb.values.documents import AnswerDocument

DiameterKind = Literal["nominal", "minimum", "maximum", "approximate"]
WallKind = Literal["nominal", "minimum", "average"]
Outcome = Literal["pipe", "size", "worn", "none"]


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
    outside_diameter_is: NotRequired[str]
    wall: NotRequired[str]
    wall_is: NotRequired[str]
    inside_diameter: NotRequired[str]


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
    outside_diameter_is: DiameterKind
    wall: QuantityDocument | None
    wall_is: WallKind | None
    bore: QuantityDocument | None
    tolerance: PipeTolerance
    printed: list[PrintedDimensionsDocument]


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
    outside_diameter_is: DiameterKind
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
    probability: Probability


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

    outcome: Outcome
    pipe: PipeDocument | MatchedSize | None
    probability: Probability
    names: list[MatchedName]
    bore: MatchedBore
    deviations: MatchDeviations
    text: str


class MatchedSizeProbability(Document):
    """A size, whatever its wall, with every name it has."""

    outside_diameter: QuantityDocument
    probability: Probability
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
    unlisted: Probability
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


class CoverageDocument(Document):
    """How much of a pipe system a release holds; what is only recalled counts as `recalled` alone."""

    system: str
    name: str
    standard: str
    edition: str
    rows: int
    sizes: int
    recalled: int
    complete: str
    rights: list[str]


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
