"""The documents of emulsions and slurries."""

from typing import Literal

from refdb.documents import Document, QuantityDocument, RowReference, SlopeDocument, SourceReference, SubjectReference
from refdb.values.documents import MeaningQuantity

PhaseKind = Literal["liquid", "solid"]


class SuspensionPhase(Document):
    """One part of a suspension: liquid or solid, by its subject or (subject null) by numbers that were given."""

    kind: PhaseKind
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
