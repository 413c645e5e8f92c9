"""`sources/rules.toml`: what the rules need beside the readings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings
from refdb.records.models import PrintedInterval, PrintedNumber, RecordId, Words


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


class GridUncertainty(Allowance):
    """A standard uncertainty at 1 atm, and what a megapascal above it adds in quadrature."""

    per_megapascal: PrintedNumber | None = None


class GridChoice(_Text):
    """Which grid a row follows, why, and how uncertain the equation behind it is."""

    row: RecordId
    reading: RecordId
    freezing: RecordId | None = None
    reason: Words
    uncertainty: GridUncertainty


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
    grids: dict[str, GridChoice]

    def family(self, name: str) -> Family | None:
        """The spread that belongs to a subject's family, or None where nothing is written for it."""
        return next((family for family in self.families.values() if name in family.members), None)


def load_policy(text_root: Path) -> Policy:
    """Read and validate `sources/rules.toml`.

    Raises:
        LedgerError: anything in it is wrong; all findings are told at once.
    """
    file = text_root / "sources" / "rules.toml"
    findings = Findings(text_root)
    text = read_toml(file, findings)
    families = {name: findings.model(Family, fields, file, None) for name, fields in text.get("families", {}).items()}
    references = [findings.model(Reference, fields, file, None) for fields in text.get("reference", [])]
    room = findings.model(PrintedInterval, text.get("room", {}), file, None)
    grids = [findings.model(GridChoice, fields, file, None) for fields in text.get("grid", [])]
    findings.raise_if_any()
    assert room is not None  # noqa: S101 - a room that does not validate is a finding
    return Policy(
        families={name: family for name, family in families.items() if family is not None},
        room=room,
        references={reference.row: reference for reference in references if reference is not None},
        grids={grid.row: grid for grid in grids if grid is not None},
    )
