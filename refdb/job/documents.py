"""The documents of jobs."""

from typing import Literal

from refdb.documents import (
    DifferenceDocument,
    Document,
    OpenDocument,
    Probability,
    QuantityDocument,
    RowReference,
    SourceReference,
)
from refdb.pipes.documents import Outcome

Origin = Literal["given", "row", "default"]


class JobInputDocument(Document):
    """One number of a job with its standard uncertainty, and where it came from; a row with its sources."""

    name: str
    value: QuantityDocument
    standard_uncertainty: DifferenceDocument
    origin: Origin
    text: str
    row: RowReference | None
    sources: list[SourceReference]


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
