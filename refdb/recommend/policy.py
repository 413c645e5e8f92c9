"""`sources/rules.toml`: what the rules need beside the readings."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from refdb.records.models import PrintedInterval, PrintedNumber, PrintedQuantity, RecordId, Words


class _Text(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Allowance(_Text):
    """A further standard uncertainty, and what it is for."""

    number: PrintedNumber
    unit: Words
    text: Words


class Reference(_Text):
    """Which equation or table a row follows, and why."""

    row: RecordId
    reading: RecordId
    reason: Words
    pressure: PrintedInterval | None = None
    pressure_reason: Words | None = None
    allowance: Allowance | None = None


class Family(_Text):
    """What readings of a family of materials may be off by."""

    members: list[RecordId]
    elastic: bool
    longitudinal_speed: PrintedNumber
    shear_speed: PrintedNumber
    density: PrintedNumber
    youngs_modulus: PrintedNumber
    shear_modulus: PrintedNumber
    bulk_modulus: PrintedNumber
    poisson_ratio: PrintedNumber
    room_temperature: PrintedInterval
    speed_slope: PrintedNumber
    model: PrintedNumber

    def spread(self, property_id: str) -> float | None:
        """The between-document spread of a property: relative, but absolute for Poisson's ratio."""
        text = getattr(self, property_id, None)
        return float(text) if isinstance(text, str) else None


@dataclass(frozen=True)
class Policy:
    """The whole of `sources/rules.toml`, validated."""

    families: dict[str, Family]
    room: PrintedInterval
    references: dict[str, Reference]

    def family(self, name: str) -> Family | None:
        """The spread that belongs to a subject's family, or None where nothing is written for it."""
        return next((family for family in self.families.values() if name in family.members), None)


def load_policy(text_root: Path) -> Policy:
    """Read and validate `sources/rules.toml`."""
    text: dict[str, Any] = tomllib.loads((text_root / "sources" / "rules.toml").read_text(encoding="utf-8"))
    references = [Reference.model_validate(entry) for entry in text.get("reference", [])]
    return Policy(
        families={name: Family.model_validate(entry) for name, entry in text["families"].items()},
        room=PrintedInterval.model_validate(text["room"]),
        references={reference.row: reference for reference in references},
    )


__all__ = ["Allowance", "Family", "Policy", "PrintedQuantity", "Reference", "load_policy"]
