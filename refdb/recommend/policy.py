"""`sources/rules.toml` and the files in `sources/rules/`: what the rules need beside the readings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings
from refdb.records.models import PrintedInterval, PrintedNumber, RecordId, Words

Model = TypeVar("Model", bound=BaseModel)


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


class GridKind(_Text):
    """Which grids of a property are followed without an entry of their own, why, and how uncertain they are.

    Attributes:
        sources: the documents whose grids are meant; absent where all that no earlier entry names are.
    """

    property: RecordId
    sources: list[RecordId] | None = None
    reason: Words
    uncertainty: GridUncertainty

    def is_of(self, property_id: str, source: str) -> bool:
        """Whether a grid of this property and document is of this kind."""
        return self.property == property_id and (self.sources is None or source in self.sources)


class ExpansionPolicy(_Text):
    """Over how many kelvin the error of a density may change by as much as it is, for the slope of a density."""

    span: PrintedNumber
    reason: Words


class Repeatability(_Text):
    """What one laboratory's reading of one specimen may be off by: relative, but absolute for Poisson's ratio."""

    longitudinal_speed: PrintedNumber
    shear_speed: PrintedNumber
    density: PrintedNumber
    youngs_modulus: PrintedNumber
    shear_modulus: PrintedNumber
    bulk_modulus: PrintedNumber
    poisson_ratio: PrintedNumber


class PoissonRange(_Text):
    """Between what Poisson's ratio of a family's members lies, and who says so."""

    members: list[RecordId]
    low: PrintedNumber
    high: PrintedNumber
    reason: Words


class ConsensusPolicy(_Text):
    """Which rule of consensus new rows follow, and the limits of its checks."""

    rule: Literal["consensus/1", "consensus/2"]
    modulus_tolerance: PrintedNumber
    modulus_agreement: PrintedNumber
    bulk_speed_tolerance: PrintedNumber
    poisson_ratio: list[PoissonRange] = []

    def poisson_range(self, family: str) -> PoissonRange:
        """The range for a subject's family; what holds for every isotropic solid where none is written."""
        found = (entry for entry in self.poisson_ratio if family in entry.members)
        return next(found, PoissonRange(members=[], low="0", high="0.5", reason="isotropic solids met in practice"))


class EstimatePolicy(_Text):
    """When a family's spread may stand in for a value that nobody published."""

    members: int
    largest: PrintedNumber
    reason: Words


class Analogue(_Text):
    """A material whose value may stand for another's, why, and by what part of it the two may differ."""

    subject: RecordId
    of: RecordId
    properties: list[RecordId]
    difference: PrintedNumber
    reason: Words


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
    freedom: int = 0
    repeatability: Repeatability | None = None

    def knows(self, property_id: str) -> bool:
        """Whether anything is written about a property."""
        return property_id in Repeatability.model_fields

    def spread_of(self, property_id: str) -> float:
        """The between-document spread of a property: relative, but absolute for Poisson's ratio."""
        return float(getattr(self, property_id))

    def repeatability_of(self, property_id: str) -> float:
        """What one laboratory's reading of one specimen may be off by: relative, but absolute for Poisson's ratio."""
        return float(getattr(self.repeatability, property_id)) if self.repeatability is not None else 0.0


@dataclass(frozen=True)
class Policy:
    """The whole of `sources/rules.toml` and `sources/rules/`, validated."""

    families: dict[str, Family]
    room: PrintedInterval
    references: dict[str, Reference]
    grids: dict[str, GridChoice]
    consensus: ConsensusPolicy | None = None
    estimate: EstimatePolicy | None = None
    analogues: tuple[Analogue, ...] = ()
    grid_kinds: tuple[GridKind, ...] = ()
    expansion: ExpansionPolicy | None = None

    def grid_kind(self, property_id: str, source: str) -> GridKind | None:
        """What is written about a document's grids of a property: the first entry that fits, or None."""
        return next((kind for kind in self.grid_kinds if kind.is_of(property_id, source)), None)

    def family(self, name: str) -> Family | None:
        """The spread that belongs to a subject's family, or None where nothing is written for it."""
        return next((family for family in self.families.values() if name in family.members), None)


def load_policy(text_root: Path) -> Policy:
    """Read and validate `sources/rules.toml` and `sources/rules/*.toml`, which say more of the same.

    Raises:
        LedgerError: anything in it is wrong; all findings are told at once.
    """
    file = text_root / "sources" / "rules.toml"
    findings = Findings(text_root)
    text = _joined(file, findings)
    families = {name: findings.model(Family, fields, file, None) for name, fields in text.get("families", {}).items()}
    references = [findings.model(Reference, fields, file, None) for fields in text.get("reference", [])]
    room = findings.model(PrintedInterval, text.get("room", {}), file, None)
    grids = [findings.model(GridChoice, fields, file, None) for fields in text.get("grid", [])]
    consensus = _optional(ConsensusPolicy, text.get("consensus"), file, findings)
    estimate = _optional(EstimatePolicy, text.get("estimate"), file, findings)
    analogues = [findings.model(Analogue, fields, file, None) for fields in text.get("analogue", [])]
    kinds = [findings.model(GridKind, fields, file, None) for fields in text.get("grid_kind", [])]
    expansion = _optional(ExpansionPolicy, text.get("expansion"), file, findings)
    findings.raise_if_any()
    assert room is not None  # noqa: S101 - a room that does not validate is a finding
    return Policy(
        families={name: family for name, family in families.items() if family is not None},
        room=room,
        references={reference.row: reference for reference in references if reference is not None},
        grids={grid.row: grid for grid in grids if grid is not None},
        consensus=consensus,
        estimate=estimate,
        analogues=tuple(entry for entry in analogues if entry is not None),
        grid_kinds=tuple(kind for kind in kinds if kind is not None),
        expansion=expansion,
    )


def _joined(file: Path, findings: Findings) -> dict[str, Any]:
    """The entries of all files: lists one after another, tables side by side."""
    joined: dict[str, Any] = {}
    for part in (file, *sorted((file.parent / file.stem).glob("*.toml"))):
        for key, entries in read_toml(part, findings).items():
            if isinstance(entries, list):
                joined[key] = joined.get(key, []) + entries
            else:
                joined.setdefault(key, {}).update(entries)
    return joined


def _optional(model: type[Model], fields: dict[str, Any] | None, file: Path, findings: Findings) -> Model | None:
    return None if fields is None else findings.model(model, fields, file, None)
