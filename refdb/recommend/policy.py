"""`sources/rules/`: what the rules need beside the readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from refdb.ledger.findings import Findings
from refdb.problems import LedgerError
from refdb.recommend.rule_text import RuleText
from refdb.recommend.solution_policy import SolutionPolicy, solution_policy
from refdb.recommend.temperature_policy import TemperaturePolicy, temperature_policy
from refdb.records.models import Basis, PrintedInterval, PrintedNumber, Reading, RecordId, Source, SourceType, Words


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
        near_atmosphere: whether the grids know no pressure: rule grid/6, of rows along the temperature alone.
    """

    property: RecordId
    sources: list[RecordId] | None = None
    near_atmosphere: bool = False
    reason: Words
    uncertainty: GridUncertainty

    def is_of(self, property_id: str, source: str) -> bool:
        """Whether a grid of this property and document is of this kind."""
        return self.property == property_id and (self.sources is None or source in self.sources)


class ExpansionPolicy(_Text):
    """Over how many kelvin the error of a density may change by as much as it is, for the slope of a density."""

    span: PrintedNumber
    reason: Words


class CurveFit(_Text):
    """What rule curve-fit/2 needs of a property of liquids; sizes are relative, in percent.

    Attributes:
        handbooks: documents whose computed curves are followed, the first that has one; the others are compared.
        logarithm: whether the polynomial is that of the logarithm.
        repeatability: what one laboratory is off by beside what it states.
        spread: what laboratories differ by, a standard deviation worth `freedom` degrees of freedom.
        compiled: what a value is off by whose compiler names no source.
        slope: change per kelvin, where points at one temperature do not tell it, and its uncertainty; such a row holds
            `reach` kelvin to either side.
        handbook_uncertainty: the least standard uncertainty of a handbook's curve.
        disagreement: by how much two handbooks may differ before neither is followed any further.
        per_megapascal: what a megapascal changes, which a row without pressure neglects.
    """

    property: RecordId
    handbooks: list[RecordId] = []
    logarithm: bool = False
    repeatability: PrintedNumber
    spread: PrintedNumber
    freedom: int
    compiled: PrintedNumber
    slope: PrintedNumber
    slope_uncertainty: PrintedNumber
    reach: PrintedNumber
    handbook_uncertainty: PrintedNumber
    disagreement: PrintedNumber
    per_megapascal: PrintedNumber
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

    rule: Literal["consensus/1", "consensus/2", "consensus/3", "consensus/4"]
    poisson_ratio: list[PoissonRange] = []

    def poisson_range(self, family: str) -> PoissonRange:
        """The range for a subject's family; what holds for every isotropic solid where none is written."""
        found = (entry for entry in self.poisson_ratio if family in entry.members)
        return next(found, PoissonRange(members=[], low="0", high="0.5", reason="isotropic solids met in practice"))


class DocumentKind(_Text):
    """What readings are of a class of evidence: how the number came about, what the document is, or both."""

    basis: Basis | None = None
    type: SourceType | None = None

    def fits(self, reading: Reading, source: Source) -> bool:
        """Whether a reading of a document is of this kind."""
        return self.basis in {None, reading.basis} and self.type in {None, source.type}


class EvidenceClass(_Text):
    """A class of evidence about solids.

    Attributes:
        gives_way_to: classes beside whose readings those of this class are left out.
        beside: how many independent documents of such classes it takes.
        of: what its readings are, where no class names their document.
        documents: those whose readings are of this class, whatever they are.
        unfounded: whether a Poisson's ratio of nothing but this class must not be derived from.
    """

    name: Words
    gives_way_to: list[Words]
    beside: int = 1
    of: list[DocumentKind] = []
    documents: list[RecordId] = []
    unfounded: bool = False
    reason: Words


class Width(_Text):
    """How far independent documents of a good class lie apart about a property of a group's materials.

    Attributes:
        spread: one standard deviation; relative, but absolute for Poisson's ratio.
        freedom: how many degrees of freedom it is worth beside what a material's own documents show.
        cases: readings that were held against the other documents, on which it rests.
    """

    spread: PrintedNumber
    freedom: int
    cases: int


class GroupWidths(_Text):
    """The widths of a group of families."""

    longitudinal_speed: Width
    shear_speed: Width
    density: Width
    youngs_modulus: Width
    shear_modulus: Width
    bulk_modulus: Width
    poisson_ratio: Width

    def of(self, property_id: str) -> Width:
        """The width of a property."""
        width: Width = getattr(self, property_id)
        return width


class ClassWidth(_Text):
    """By how much more than a good document one of this class is off in some properties.

    `excess` is a multiple of the group's spread; `cases` readings of the class were held against other documents.
    """

    name: Words
    properties: list[RecordId]
    excess: PrintedNumber
    cases: int


class ErrorCorrelation(_Text):
    """How two properties of one material err together, where both are from one document.

    `cases` documents printed both; `low` and `high` are the 95 % interval of the coefficient.
    """

    between: Annotated[list[RecordId], Field(min_length=2, max_length=2)]
    coefficient: PrintedNumber
    low: PrintedNumber
    high: PrintedNumber
    cases: int


class SharedLineage(_Text):
    """Two documents that print so many equal numbers that chance does not explain it.

    Attributes:
        shared: materials of which both print two properties or more; `equal` those of which two numbers are equal.
        probability: of at least so many, if the two were independent.
        examples: some of the equal numbers, the least probable first.
    """

    documents: Annotated[list[RecordId], Field(min_length=2, max_length=2)]
    shared: int
    equal: int
    probability: PrintedNumber
    examples: list[Words]

    def words(self) -> str:
        """What speaks for their common origin, to be put in brackets."""
        return (
            f"of {self.shared} materials that {self.documents[0]} and {self.documents[1]} print, {self.equal} have "
            f"equal numbers, by chance with a probability of {self.probability}"
        )


class Apart(_Text):
    """Two documents that print equal numbers and are independent all the same, and who showed it."""

    documents: Annotated[list[RecordId], Field(min_length=2, max_length=2)]
    reason: Words


class AttenuationPolicy(_Text):
    """What documents differ by in an attenuation: a standard deviation of the natural logarithm."""

    spread: PrintedNumber
    reason: Words


class SolidExpansion(_Text):
    """What rule solid-expansion/1 needs of a group of families.

    Attributes:
        spread: what grades and documents differ by, a standard deviation, relative.
        rise: of the mean from 20 degC per kelvin of its upper end, relative to its value at 20 degC, where no document
            of the material tells it; `rise_uncertainty` is its standard uncertainty.
        temperature: where rows hold.
    """

    members: list[RecordId]
    spread: PrintedNumber
    rise: PrintedNumber
    rise_uncertainty: PrintedNumber
    temperature: PrintedInterval
    reason: Words


class EstimatePolicy(_Text):
    """When a family's spread may stand in for a value that nobody published."""

    members: int
    largest: PrintedNumber
    reason: Words


class BoundGroup(_Text):
    """Families whose members bound one another's properties where one family has too few."""

    name: Words
    members: list[RecordId]
    reason: Words


class PrintedBound(_Text):
    """A range that a document prints for a wider kind of material, which bounds some of that kind."""

    subjects: list[RecordId]
    property: RecordId
    reading: RecordId
    reason: Words


class BoundPolicy(_Text):
    """Which properties of solids are bounded where nothing else is known.

    Attributes:
        members: from how many materials on.
        none: materials of which not even a bound is told.
    """

    properties: list[RecordId]
    members: int
    groups: list[BoundGroup] = []
    printed: list[PrintedBound] = []
    none: list[RecordId] = []
    reason: Words


class Laminate(_Text):
    """The readings that tell the constants of a layer whose fibres all lie one way."""

    along: RecordId
    across: RecordId
    poisson_along: RecordId
    poisson_across: RecordId
    shear_along: RecordId
    density: RecordId

    def readings(self) -> tuple[str, str, str, str, str, str]:
        """Their ids, in the order in which the constants are listed."""
        return (self.along, self.across, self.poisson_along, self.poisson_across, self.shear_along, self.density)


class WoundWalls(_Text):
    """Walls wound of such layers.

    Attributes:
        cosine_squared: of the angles of winding to the pipe's axis.
        greatest_sine_squared: of the angle between a beam and the radius.
        widening: by what part both ends are moved outwards for other shares of fibre and resin.
    """

    subjects: list[RecordId]
    laminates: list[Laminate]
    cosine_squared: list[PrintedNumber]
    greatest_sine_squared: PrintedNumber
    widening: PrintedNumber
    reason: Words


class Analogue(_Text):
    """A material whose value may stand for another's, why, and by what part of it the two may differ."""

    subject: RecordId
    of: RecordId
    properties: list[RecordId]
    difference: PrintedNumber
    reason: Words


class DiluteAlloys(_Text):
    """Materials that consist of one metal but for a percent or so, and by what part their speeds may differ from its.

    `difference` is relative, a standard uncertainty.
    """

    of: RecordId
    subjects: list[RecordId]
    difference: PrintedNumber
    reason: Words


class ProductExpansion(_Text):
    """The thermal expansion of a class of oil products: a = k0 / rho² + k1 / rho, rho at 15 degC in kg/m3."""

    k0: PrintedNumber
    k1: PrintedNumber
    source: RecordId
    reason: Words


class Oil(_Text):
    """An oil whose speed of sound, and density where wanted, follow from its density; how far off the model may be.

    Attributes:
        density: the readings of its density that the model starts from.
        spread: what the density of one delivery may differ by, relative, beside what the readings say.
        difference: what the speed of the model may differ by, relative.
        excess: what the model gives too much of liquids that the product is made of, relative; it is taken off.
    """

    subject: RecordId
    properties: list[Literal["density", "sound_speed"]]
    product: Words
    density: Annotated[list[RecordId], Field(min_length=1)]
    spread: PrintedNumber
    difference: PrintedNumber
    excess: PrintedNumber | None = None
    rung: Literal["derived", "analogue"]
    temperature: PrintedInterval
    reason: Words


class Line(_Text):
    """A row that is a straight line in temperature through what documents print near one temperature, and why.

    Attributes:
        at: the temperature in degC at which the line's value is told.
        slope: the slope per kelvin, where the documents' own points do not give it; its standard uncertainty beside it.
        spread: what specimens differ by, relative.
    """

    row: RecordId
    at: PrintedNumber
    temperature: PrintedInterval
    slope: PrintedNumber | None = None
    slope_uncertainty: PrintedNumber | None = None
    spread: PrintedNumber
    reason: Words


class ViscosityLine(_Text):
    """A kinematic viscosity that runs through two readings, and what one delivery may differ by, in percent."""

    row: RecordId
    readings: Annotated[list[RecordId], Field(min_length=2, max_length=2)]
    temperature: PrintedInterval
    percent: PrintedNumber
    reason: Words


class OilPolicy(_Text):
    """What the rules of oils need: the reading that prints the equation of speed, and the classes' expansions."""

    speed_equation: RecordId
    expansion: dict[str, ProductExpansion]


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
    dispersive: bool = False
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
    """The whole of `sources/rules/`, validated."""

    families: dict[str, Family]
    room: PrintedInterval
    references: dict[str, Reference]
    grids: dict[str, GridChoice]
    consensus: ConsensusPolicy | None = None
    evidence: tuple[EvidenceClass, ...] = ()
    widths: Mapping[str, GroupWidths] = field(default_factory=dict)
    class_widths: tuple[ClassWidth, ...] = ()
    error_correlations: tuple[ErrorCorrelation, ...] = ()
    shared_lineages: tuple[SharedLineage, ...] = ()
    apart: tuple[Apart, ...] = ()
    attenuation: AttenuationPolicy | None = None
    solid_expansions: tuple[SolidExpansion, ...] = ()
    temperature: TemperaturePolicy | None = None
    estimate: EstimatePolicy | None = None
    bounds: BoundPolicy | None = None
    wound: WoundWalls | None = None
    analogues: tuple[Analogue, ...] = ()
    dilute: tuple[DiluteAlloys, ...] = ()
    solutions: SolutionPolicy = field(default_factory=lambda: SolutionPolicy({}))
    oil_model: OilPolicy | None = None
    oils: tuple[Oil, ...] = ()
    lines: dict[str, Line] = field(default_factory=dict)
    viscosities: dict[str, ViscosityLine] = field(default_factory=dict)
    grid_kinds: tuple[GridKind, ...] = ()
    expansion: ExpansionPolicy | None = None
    curve_fits: Mapping[str, CurveFit] = field(default_factory=dict)

    def grid_kind(self, property_id: str, source: str) -> GridKind | None:
        """What is written about a document's grids of a property: the first entry that fits, or None.

        A handbook's curve is no equation of state: rule curve-fit/2 follows it where there is none.
        """
        fit = self.curve_fits.get(property_id)
        if fit is not None and source in fit.handbooks:
            return None
        return next((kind for kind in self.grid_kinds if kind.is_of(property_id, source)), None)

    def solid_expansion(self, family: str) -> SolidExpansion | None:
        """What is written about the expansion of a family of materials."""
        return next((entry for entry in self.solid_expansions if family in entry.members), None)

    def widths_of(self, family: Family) -> GroupWidths:
        """The estimated widths of a group of families.

        Raises:
            LedgerError: none were estimated for it.
        """
        name = next(name for name, group in self.families.items() if group is family)
        if name not in self.widths:
            raise LedgerError([f"sources/rules: widths.{name} is missing; `python -m tests.tools.widths` estimates it"])
        return self.widths[name]

    def family(self, name: str) -> Family | None:
        """The spread that belongs to a subject's family, or None where nothing is written for it."""
        return next((family for family in self.families.values() if name in family.members), None)


def load_policy(text_root: Path) -> Policy:
    """Read and validate `sources/rules/`.

    Raises:
        LedgerError: anything in it is wrong; all findings are told at once.
    """
    findings = Findings(text_root)
    text = RuleText(text_root, findings)
    families = text.named(Family, "families")
    room = text.required(PrintedInterval, "room")
    policy = partial(
        Policy,
        families=families,
        references={entry.row: entry for entry in text.listed(Reference, "reference")},
        grids={entry.row: entry for entry in text.listed(GridChoice, "grid")},
        consensus=text.table(ConsensusPolicy, "consensus"),
        evidence=tuple(text.listed(EvidenceClass, "evidence")),
        widths=text.named(GroupWidths, "widths"),
        class_widths=tuple(text.listed(ClassWidth, "class_width")),
        error_correlations=tuple(text.listed(ErrorCorrelation, "error_correlation")),
        shared_lineages=tuple(text.listed(SharedLineage, "shared_lineage")),
        apart=tuple(text.listed(Apart, "apart")),
        solid_expansions=tuple(text.listed(SolidExpansion, "solid_expansion")),
        temperature=temperature_policy(text),
        attenuation=text.table(AttenuationPolicy, "attenuation"),
        estimate=text.table(EstimatePolicy, "estimate"),
        bounds=text.table(BoundPolicy, "bounds"),
        wound=text.table(WoundWalls, "wound_walls"),
        analogues=tuple(text.listed(Analogue, "analogue")),
        dilute=tuple(text.listed(DiluteAlloys, "dilute")),
        solutions=solution_policy(text),
        oil_model=text.table(OilPolicy, "oil_model"),
        oils=tuple(text.listed(Oil, "oil")),
        lines={entry.row: entry for entry in text.listed(Line, "line")},
        viscosities={entry.row: entry for entry in text.listed(ViscosityLine, "viscosity")},
        grid_kinds=tuple(text.listed(GridKind, "grid_kind")),
        expansion=text.table(ExpansionPolicy, "expansion"),
        curve_fits={entry.property: entry for entry in text.listed(CurveFit, "curve_fit")},
    )
    findings.raise_if_any()
    assert room is not None  # noqa: S101 - a room that does not validate is a finding
    return policy(room=room)
