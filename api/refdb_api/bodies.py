"""The bodies of questions that are asked with POST and PUT, for the OpenAPI document and for tests."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Body(BaseModel):
    """A member that is not known is refused."""

    model_config = ConfigDict(extra="forbid")


class ListedQuantity(Body):
    """Magnitudes of one unit."""

    unit: str
    magnitudes: list[float]


class SingleQuantity(Body):
    """One magnitude for all."""

    unit: str
    magnitude: float


BatchQuantity = ListedQuantity | SingleQuantity | str


class BatchQuestion(Body):
    """Properties of one subject at many states; lists of the state are of one length."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "subject": "water",
                "properties": ["sound_speed"],
                "temperature": {"unit": "degC", "magnitudes": [20, 45, 120]},
                "pressure": "3 bar(g)",
            }
        }
    )

    subject: str
    properties: list[str] = []
    temperature: BatchQuantity | None = None
    pressure: BatchQuantity | None = None
    salinity: BatchQuantity | None = None
    strength: BatchQuantity | None = None
    condition: str | None = None
    unit: dict[str, str] = {}
    units: Literal["si", "us"] | None = None
    accept: Literal["estimates"] | None = None
    layers: Literal["release", "house,release"] | None = None
    release: str | None = None
    as_of: str | None = None


class AttachmentDocument(Body):
    """A file that belongs to a house value, kept by its name and SHA-256."""

    name: str
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class HouseEntry(Body):
    """A house value as it is entered: texts, numbers as printed; value or points, and a standard uncertainty."""

    subject: str
    property: str
    condition: str | None = None
    value: str | None = Field(default=None, description="The number as printed, such as 5920.")
    points: str | None = Field(default=None, description="Instead of a value: 20 degC: 5920; 60 degC: 5890.")
    unit: str
    uncertainty: str
    uncertainty_unit: str | None = Field(default=None, description="The value's unit by default; or %.")
    uncertainty_kind: Literal["standard", "expanded"]
    temperature: str | None = Field(default=None, description="Where it was found: 20 degC, or 15 to 25 degC.")
    temperature_scale: str | None = None
    pressure: str | None = None
    strength: str | None = None
    salinity: str | None = None
    valid_temperature: str | None = Field(default=None, description="Where it is answered; where found by default.")
    valid_pressure: str | None = None
    valid_strength: str | None = None
    valid_salinity: str | None = None
    basis: Literal["measured", "standard", "evaluated", "computed", "derived", "estimated"] | None = None
    locator: str = Field(description="Where the record of it is kept.")
    name_printed: str | None = None
    evidence: str = Field(description="How it was found: method, instrument, specimen.")
    note: str | None = None
    attachments: list[AttachmentDocument] | None = None
    reason: str | None = Field(default=None, description="Why it is changed; with PUT alone.")


class HouseReason(Body):
    """Why; needed to withdraw."""

    reason: str | None = None


class SavedAnswers(BaseModel):
    """Anything that holds answers."""

    model_config = ConfigDict(extra="allow")

    answers: list[dict[str, Any]] | None = None
