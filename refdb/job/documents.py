"""The documents of jobs."""

from typing import Literal

from refdb.documents import (
    DifferenceDocument,
    Document,
    OpenDocument,
    Probability,
    QuantityDocument,
    RowReference,
    Rung,
    SourceReference,
)
from refdb.pipes.documents import Outcome

Origin = Literal["given", "row", "default"]


class BoundDocument(Document):
    """What something that is not known lies between, and why."""

    low: QuantityDocument
    high: QuantityDocument
    why: str


class JobInputDocument(Document):
    """One number of a job with its standard uncertainty, and where it came from; a row with its sources.

    Where `bound` is told nothing else is known: `value` is the middle that is worked with, `standard_uncertainty` that
    of a rectangle over the bound.
    """

    name: str
    value: QuantityDocument
    standard_uncertainty: DifferenceDocument
    origin: Origin
    text: str
    row: RowReference | None
    sources: list[SourceReference]
    rung: Literal[Rung, "house"] | None
    bound: BoundDocument | None
    layer: Literal["release", "house"]


class PipeCandidate(Document):
    """A pipe that what was measured fits; `row` where it is one pipe, and no size alone."""

    probability: Probability
    outcome: Outcome
    text: str
    row: str | None


class PipeCandidates(Document):
    """What the measured pipe of a job can be."""

    items: list[PipeCandidate]
    advice: list[str]
    prior: str


class JobDocument(OpenDocument):
    """What a job or a step gave: release, rows with digests, inputs, results by step, assumptions, cautions."""
