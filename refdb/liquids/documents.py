"""The documents of liquids found by a measured sound speed, and of strengths."""

from typing import Literal

from refdb.documents import (
    Document,
    Likelihood,
    QuantityDocument,
    RowReference,
    SlopeDocument,
    SourceReference,
    SubjectReference,
    UncertainQuantity,
)
from refdb.values.documents import MeaningQuantity, StateDocument

Content = Literal["salinity", "strength"]
Reason = Literal["no_speed", "estimate", "outside_range", "not_liquid"]
Sought = Literal["temperature", "salinity", "strength"]


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
    likelihood: Likelihood
    agrees: bool
    best_fitting: Content | None
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

    reason: Reason
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
    sought: Sought
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
