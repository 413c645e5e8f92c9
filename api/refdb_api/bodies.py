"""The bodies of questions that are asked with POST and PUT, for the OpenAPI document and for tests."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, create_model

from refdb.house.question import EntryQuestion
from refdb.questions import Asked, fields_of
from refdb.values.question import BatchQuestion


class Body(BaseModel):
    """A member that is not known is refused."""

    model_config = ConfigDict(extra="forbid")


def body_of(question: type, name: str, example: dict[str, Any] | None = None, **more: Any) -> type[Body]:
    """The model of a body, made from the declaration of its question.

    Args:
        name: what the description of the service calls it.
        example: a body that is answered.
        more: members that are no fields of the question, each as a type and how pydantic is to describe it.
    """
    members: dict[str, Any] = {field.name: _member(field) for field in fields_of(question)}
    model = create_model(name, __doc__=question.__doc__, __base__=Body, **members, **more)
    if example is not None:
        model.model_config["json_schema_extra"] = {"example": example}
    return model


def _member(field: Asked) -> tuple[Any, Any]:
    """The type of a member, and how pydantic is to describe it."""
    if field.pairs:
        return dict[str, str], Field({}, description=field.words)
    if field.repeatable:
        return list[str], Field([], description=field.words)
    kind: Any = BatchQuantity if field.dimensions else Literal[field.choices] if field.choices else str
    if field.required:
        return kind, Field(description=field.words)
    return kind | None, Field(None, description=field.words)


class ListedQuantity(Body):
    """Magnitudes of one unit."""

    unit: str
    magnitudes: list[float]


class SingleQuantity(Body):
    """One magnitude for all."""

    unit: str
    magnitude: float


BatchQuantity = ListedQuantity | SingleQuantity | str


BatchBody = body_of(
    BatchQuestion,
    "BatchQuestion",
    {
        "subject": "water",
        "properties": ["sound_speed"],
        "temperature": {"unit": "degC", "magnitudes": [20, 45, 120]},
        "pressure": "3 bar(g)",
    },
)


class AttachmentDocument(Body):
    """A file that belongs to a house value, kept by its name and SHA-256."""

    name: str
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


HouseEntry = body_of(
    EntryQuestion,
    "HouseEntry",
    attachments=(list[AttachmentDocument] | None, None),
    reason=(str | None, Field(default=None, description="Why it is changed; with PUT alone.")),
)


class HouseReason(Body):
    """Why; needed to withdraw."""

    reason: str | None = None


class SavedAnswers(BaseModel):
    """Anything that holds answers."""

    model_config = ConfigDict(extra="allow")

    answers: list[dict[str, Any]] | None = None
