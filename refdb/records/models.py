"""The records of format v1 as pydantic models.

Every number that a document prints is kept as its text (`PrintedNumber`); optional fields that are absent are omitted
from the canonical form. The JSON Schemas in `shared/schemas/` are generated from these models.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, TypeAdapter, model_validator

from refdb.documents import CarrierType, How, RightsClass
from refdb.records.canonical import FORMAT
from refdb.records.printed import printed_number


def _check_printed(text: str) -> str:
    printed_number(text)
    return text


PrintedNumber = Annotated[
    str, AfterValidator(_check_printed), Field(description="A number as printed, digits and grouping kept.")
]
RecordId = Annotated[
    str,
    Field(
        pattern=r"^[a-z0-9]+(?:[-_.][a-z0-9]+)*$",
        max_length=120,
        description="Permanent id: lower-case words, joined by - _ or a point. It never names a source.",
    ),
]
Digest = Annotated[str, Field(pattern=r"^sha256:[0-9a-f]{64}$")]
IsoDate = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Words = Annotated[str, Field(min_length=1, max_length=4000)]

Basis = Literal["measured", "standard", "evaluated", "computed", "derived", "estimated"]
Seen = Literal["original", "archive", "reproduction", "library", "memory"]
Rung = Literal["published", "derived", "analogue", "family", "memory"]
TemperatureScale = Literal["ITS-90", "IPTS-68", "IPTS-48"]
SourceType = Literal["standard", "handbook", "textbook", "article", "report", "dataset", "library", "webpage", "memory"]
Method = Literal["dynamic", "static", "isothermal"]
StateVariable = Literal["temperature", "pressure", "strength", "salinity", "frequency"]
UncertaintyCode = Literal["stated", "between-sources", "family-repeatability", "propagated", "rounding"]
FlagCode = Literal[
    "misprint",  # the document contradicts itself or an undoubted fact; kept as printed
    "suspect",  # far from its peers or inconsistent with its own companions
    "wrong-kind",  # another quantity under this heading: a rod speed, a foam, a gauge value
    "unclear-basis",  # what it refers to cannot be told
    "withdrawn",  # its whole document was found wrong; set by the document's own record, never by hand
    "note",  # worth knowing; does not keep the reading out
]

SizeWord = Literal["NPS", "DN", "OD", "nominal", "A", "B"]
DiameterKind = Literal["minimum", "maximum", "approximate"]
WallKind = Literal["minimum", "average"]

# Weakest last; an answer shows the weakest of its inputs.
BASIS_ORDER: tuple[Basis, ...] = ("measured", "standard", "evaluated", "computed", "derived", "estimated")
RUNG_ORDER: tuple[Rung, ...] = ("published", "derived", "analogue", "family", "memory")
SEEN_ORDER: tuple[Seen, ...] = ("original", "archive", "reproduction", "library", "memory")


class Record(BaseModel):
    """What all parts and records share: nothing unknown, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=False)

    def plain(self) -> dict[str, Any]:
        """The record as plain JSON values without absent fields; the digest is taken of this."""
        return self.model_dump(mode="json", exclude_none=True)


class Flag(Record):
    """A doubt about a reading, told and never tidied away."""

    code: FlagCode
    text: Words


class Withdrawal(Record):
    """Why a document is no longer relied on, and since when."""

    reason: Words
    on: IsoDate


class Correction(Record):
    """A printed text of a reading that is replaced, who says so and why.

    `erratum`: the publisher corrected it; `author`: an author confirmed it; `evident`: the document shows it elsewhere.
    """

    field: Words
    printed: Words
    corrected: Words
    status: Literal["erratum", "author", "evident"]
    reason: Words


class PrintedQuantity(Record):
    """A number and its unit, both as printed."""

    number: PrintedNumber
    unit: Words


class PrintedInterval(Record):
    """Two printed numbers that bound something, and their unit."""

    low: PrintedNumber
    high: PrintedNumber
    unit: Words

    @model_validator(mode="after")
    def _rising(self) -> PrintedInterval:
        if printed_number(self.low) > printed_number(self.high):
            raise ValueError(f"low {self.low} exceeds high {self.high}")
        return self


class PrintedUncertainty(Record):
    """An uncertainty as the document states it."""

    number: PrintedNumber
    unit: Words
    kind: Literal["standard", "expanded", "maximum error", "fit error", "not stated"]


class PrintedState(Record):
    """The state a reading belongs to.

    The temperature of a single value is a quantity, the words of the document, or "not stated"; it is absent where
    the reading is a function of temperature.
    """

    temperature: PrintedQuantity | PrintedInterval | Words | None = None
    temperature_scale: TemperatureScale | None = None
    pressure: PrintedQuantity | PrintedInterval | Words | None = None
    strength: PrintedQuantity | None = None
    salinity: PrintedQuantity | None = None
    frequency: PrintedQuantity | PrintedInterval | None = None


class Envelope(Record):
    """Fields of every record."""

    format: Literal["refdb-record/1"] = FORMAT  # type: ignore[assignment]
    id: RecordId


WITHHELD = "withheld"
"""The value of `rights` of a document whose numbers may not be passed on; they stay house values."""


class CarrierFile(Record):
    """A file of a carrier in which readings were seen."""

    path: Words = Field(description="Within the carrier; `archive.tgz!file.xml` inside an archive of it.")
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None
    readings: list[RecordId] | None = Field(
        default=None, description="Those that were seen there; absent where all of the carrier's were."
    )


class Carrier(Record):
    """The copy in which a document was seen: a package, a repository, a page on a day, or a print.

    It is pinned where its bytes can be had again: a package by its version, a repository by its commit.
    """

    key: RecordId
    type: CarrierType
    name: Words
    url: Words | None = None
    version: Words | None = None
    commit: Annotated[str, Field(pattern=r"^[0-9a-f]{40}$")] | None = None
    files: list[CarrierFile] | None = None
    seen_on: IsoDate | None = None
    licence: Words = Field(description="SPDX expression, `none` where none is stated, `unknown` where nobody looked.")
    rights: RightsClass = Field(description="What the copy that was read allows; facts are free in any of them.")
    readings: list[RecordId] | None = Field(
        default=None, description="The readings that were seen there; absent where all of the document's were."
    )
    note: Words | None = None

    @property
    def pinned(self) -> bool:
        """Whether anybody can fetch the same bytes again."""
        return self.version is not None or self.commit is not None


class Check(Record):
    """A second reading: the entered numbers held against the print or a pinned carrier, all of them found equal."""

    by: Words = Field(description="The person, or the program with its version.")
    on: IsoDate
    against: Words = Field(description="The key of the carrier, or `print`.")
    how: How
    numbers: Annotated[int, Field(ge=1, description="How many were compared and found equal.")]
    readings: list[RecordId] | None = Field(
        default=None, description="The readings that were compared; absent where all of the document's were."
    )


class Source(Envelope):
    """A published document (or a library), with its rights and how it came to be seen."""

    kind: Literal["source"] = "source"
    type: SourceType
    title: Words
    authors: list[Words] | None = None
    container: Words | None = None
    publisher: Words | None = None
    edition: Words | None = None
    year: Annotated[str, Field(pattern=r"^\d{4}$")] | None = None
    volume: Words | None = None
    pages: Words | None = None
    doi: Annotated[str, Field(pattern=r"^10\.\d{4,9}/\S+$")] | None = None
    isbn: Words | None = None
    url: Words | None = None
    seen_at: Words
    seen_on: IsoDate
    carriers: list[Carrier] | None = Field(default=None, description="The copies in which the document was seen.")
    transcribed_by: Words
    checked_by: Words | None = None
    checks: list[Check] | None = None
    rights: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9.+-]*$", max_length=100)] = Field(
        description="An SPDX identifier, `facts-only`, `unknown`, or `withheld`: may not be passed on."
    )
    lineage: RecordId | None = Field(
        default=None, description="Documents with the same lineage copied from one another and count once."
    )
    withdrawn: Withdrawal | None = Field(default=None, description="Its readings stay, and go into nothing.")
    note: Words | None = None


class Solution(Record):
    """What a solution consists of, so that a strength on one basis can be told on another."""

    formula: Annotated[str, Field(pattern=r"^(?:[A-Z][a-z]?\d*)+$", description="Of what is dissolved, undivided.")]
    solute: RecordId | None = Field(default=None, description="The pure liquid that is dissolved, where it is one.")
    solvent: RecordId = "water"
    solvent_formula: Annotated[str, Field(pattern=r"^(?:[A-Z][a-z]?\d*)+$")] = "H2O"
    alcoholic: bool = Field(default=False, description="Whether `% vol` of it is an alcoholic strength by volume.")


class Subject(Envelope):
    """What values are about: a material or a liquid."""

    kind: Literal["subject"] = "subject"
    subject_kind: Literal["material", "liquid"]
    name: Words
    family: RecordId
    isotropic: bool = True
    solution: Solution | None = Field(default=None, description="Of a liquid whose values depend on its strength.")
    note: Words | None = None


class Designation(Envelope):
    """One name under which a subject is looked for."""

    kind: Literal["designation"] = "designation"
    subject: RecordId
    designation_kind: Literal[
        "UNS",
        "EN number",
        "EN name",
        "AISI grade",
        "ASTM grade",
        "API grade",
        "JIS grade",
        "ISO code",
        "CAS number",
        "ASHRAE 34 number",
        "formula",
        "name",
        "trade word",
    ]
    text: Words
    source: RecordId | None = None
    locator: Words | None = None


class Reading(Envelope):
    """What one source says about one thing, as printed, and where."""

    source: RecordId
    locator: Words
    basis: Basis
    seen: Seen
    name_printed: Words | None = None
    flags: list[Flag] | None = None
    corrections: list[Correction] | None = Field(
        default=None, description="Texts of this record that are not as printed: what is printed, and why they differ."
    )
    note: Words | None = None

    @property
    def doubts(self) -> list[Flag]:
        """Flags that keep the reading out of recommended values."""
        return [flag for flag in self.flags or [] if flag.code != "note"]


class PropertyReading(Reading):
    """A reading of one property of one subject."""

    subject: RecordId
    property: RecordId
    unit: Words
    state: PrintedState
    condition: RecordId | None = None
    method: Method | None = Field(
        default=None,
        description="How an elastic constant was found: by sound or vibration (dynamic), by a load (static), or "
        "from sound and then converted to constant temperature (isothermal). Only a dynamic one gives a sound speed.",
    )
    stated_uncertainty: PrintedUncertainty | None = None


class Scalar(PropertyReading):
    """One printed number."""

    kind: Literal["scalar"] = "scalar"
    number: PrintedNumber

    @model_validator(mode="after")
    def _temperature_told(self) -> Scalar:
        _require_temperature(self.state)
        return self


class Range(PropertyReading):
    """Two printed numbers: "3500 to 5600"."""

    kind: Literal["range"] = "range"
    low: PrintedNumber
    high: PrintedNumber

    @model_validator(mode="after")
    def _rising(self) -> Range:
        if printed_number(self.low) > printed_number(self.high):
            raise ValueError(f"low {self.low} exceeds high {self.high}")
        _require_temperature(self.state)
        return self


def _require_temperature(state: PrintedState) -> None:
    if state.temperature is None:
        raise ValueError("a single value needs its temperature; write 'not stated' where the document gives none")


class FormVariable(Record):
    """The variable of a form: what it is, its unit and, for a temperature, the scale where it matters."""

    name: StateVariable
    unit: Words
    scale: TemperatureScale | None = None


class Table(PropertyReading):
    """Printed points of one property against one variable."""

    kind: Literal["table"] = "table"
    variable: FormVariable
    points: Annotated[list[tuple[PrintedNumber, PrintedNumber]], Field(min_length=2)]

    @model_validator(mode="after")
    def _rising(self) -> Table:
        xs = [printed_number(x) for x, _ in self.points]
        for earlier, later in pairwise(xs):
            if later <= earlier:
                raise ValueError(f"the variable must rise from row to row; {later:g} follows {earlier:g}")
        return self


class CheckValue(Record):
    """A value that a document gives for testing an equation."""

    at: PrintedQuantity
    value: PrintedQuantity
    tolerance: PrintedNumber
    source: RecordId
    locator: Words


class Equation(PropertyReading):
    """A printed equation: a form with named coefficients, and the interval its authors give for it."""

    kind: Literal["equation"] = "equation"
    form: Literal["polynomial/1", "temperature-coefficient/1", "constant/1"]
    variable: FormVariable
    coefficients: dict[Annotated[str, Field(pattern=r"^[a-z]\d+$")], PrintedNumber]
    interval: PrintedInterval
    equation_printed: Words
    check_values: list[CheckValue] | None = None

    @model_validator(mode="after")
    def _complete(self) -> Equation:
        names = set(self.coefficients)
        wanted = {
            "polynomial/1": {f"c{power}" for power in range(len(names))},
            "temperature-coefficient/1": {"c0", "c1", "t0"},
            "constant/1": {"c0"},
        }[self.form]
        if names != wanted:
            raise ValueError(f"{self.form} needs the coefficients {sorted(wanted)}, not {sorted(names)}")
        return self


class GridAxis(Record):
    """One axis of a grid, with its nodes at the extremes of a Chebyshev polynomial: low, …, high.

    A pressure may begin at the saturation pressure of each temperature: `low` = "saturation".
    """

    name: StateVariable
    unit: Words
    scale: TemperatureScale | None = None
    low: PrintedNumber | Literal["saturation"]
    high: PrintedNumber
    nodes: Annotated[int, Field(ge=2, le=64)]


class Grid(PropertyReading):
    """Node values of an equation of state, computed with a named library; `fit_error` is what joining them costs."""

    kind: Literal["grid"] = "grid"
    axes: Annotated[list[GridAxis], Field(min_length=1, max_length=3)]
    saturation: RecordId | None = Field(default=None, description="The grid that gives the saturation pressure.")
    freezing: RecordId | None = Field(
        default=None, description="The grid that gives the freezing point, where the axes reach below it."
    )
    of: Literal["value", "logarithm"] = "value"
    values: list[PrintedNumber]
    fit_error: PrintedQuantity

    @model_validator(mode="after")
    def _complete(self) -> Grid:
        wanted = math.prod(axis.nodes for axis in self.axes)
        if len(self.values) != wanted:
            raise ValueError(f"the axes have {wanted} nodes, but {len(self.values)} values are given")
        if any(axis.low == "saturation" for axis in self.axes) != (self.saturation is not None):
            raise ValueError("an axis that begins at saturation needs `saturation`, and no other grid has it")
        return self


class SurfaceAxis(Record):
    """One variable of a printed equation of several, with the interval its authors give for it."""

    name: StateVariable
    unit: Words
    scale: TemperatureScale | None = None
    gauge: Annotated[bool, Field(description="A pressure that is counted from 1 atm.")] | None = None
    low: PrintedNumber
    high: PrintedNumber


class Surface(PropertyReading):
    """A printed equation of several variables, written out as terms: a coefficient, then one exponent for each axis."""

    kind: Literal["surface"] = "surface"
    axes: Annotated[list[SurfaceAxis], Field(min_length=2, max_length=3)]
    terms: Annotated[list[list[PrintedNumber]], Field(min_length=2)]
    equation_printed: Words
    check_values: list[SurfaceCheck] | None = None

    @model_validator(mode="after")
    def _complete(self) -> Surface:
        wanted = len(self.axes) + 1
        for term in self.terms:
            if len(term) != wanted:
                raise ValueError(f"a term needs a coefficient and {wanted - 1} exponents, not {len(term)} numbers")
        return self


class SurfaceCheck(Record):
    """A value that a document gives for testing an equation of several variables, at the axes' numbers in order."""

    at: list[PrintedNumber]
    value: PrintedQuantity
    tolerance: PrintedNumber
    source: RecordId
    locator: Words


class PipeReading(Reading):
    """One printed pipe: an outside diameter, and the wall, the inside diameter or neither beside it."""

    kind: Literal["pipe"] = "pipe"
    pipe: RecordId
    system: RecordId
    size: Annotated[dict[SizeWord, Words], Field(min_length=1)]
    designations: list[Words] | None = None
    outside_diameter: PrintedNumber
    outside_diameter_is: DiameterKind | None = Field(default=None, description="Absent where it is the nominal one.")
    wall: PrintedNumber | None = Field(default=None, description="Absent where the document lists diameters only.")
    wall_is: WallKind | None = Field(default=None, description="Absent where it is the nominal one.")
    inside_diameter: PrintedNumber | None = None
    unit: Words


class LimitTerm(Record):
    """One way in which a document says how far: an amount, a percentage of the dimension, an amount that grows."""

    number: PrintedNumber
    unit: Words = Field(description="A unit of length, or % of the nominal dimension.")
    slope: PrintedNumber | None = Field(default=None, description="Added for every millimetre of `of`, in the unit.")
    of: Literal["DN", "outside_diameter", "wall"] | None = None

    @model_validator(mode="after")
    def _both(self) -> LimitTerm:
        if (self.slope is None) != (self.of is None):
            raise ValueError("a slope needs `of`, what it is multiplied by, and `of` needs a slope")
        return self


class Limit(Record):
    """How far a dimension may lie from its nominal value on one side: exactly one of the three."""

    greatest_of: Annotated[list[LimitTerm], Field(min_length=1)] | None = None
    extreme: PrintedQuantity | None = Field(default=None, description="The limit itself, where that is printed.")
    unlimited: Literal[True] | None = None

    @model_validator(mode="after")
    def _one(self) -> Limit:
        if sum(part is not None for part in (self.greatest_of, self.extreme, self.unlimited)) != 1:
            raise ValueError("a limit is a deviation, or the limit itself, or none at all")
        return self


class SizeCondition(Record):
    """One condition on the pipes that a tolerance or a lining is for."""

    what: SizeWord | Literal["outside_diameter", "wall", "wall_ratio"] = Field(
        description="A size word, or a nominal dimension; `wall_ratio` is wall over outside diameter."
    )
    relation: Literal["=", "<", "<=", ">", ">="]
    number: PrintedNumber
    unit: Words | None = Field(default=None, description="Of a dimension; a size word has none.")

    @model_validator(mode="after")
    def _unit_where_needed(self) -> SizeCondition:
        if (self.unit is not None) != (self.what in {"outside_diameter", "wall"}):
            raise ValueError("outside_diameter and wall need a unit, everything else has none")
        return self


class Scoped(Record):
    """Which pipes a tolerance or a lining is for: all conditions hold, and any one of the designations."""

    systems: Annotated[list[RecordId], Field(min_length=1)]
    standard: Words = Field(description="The standard that sets it, with its edition where that is printed.")
    designations: list[Words] | None = None
    where: list[SizeCondition] | None = None


class Tolerance(Scoped):
    """How far outside diameter or wall may lie from the nominal value."""

    quantity: Literal["outside_diameter", "wall"]
    minus: Limit | None = Field(default=None, description="Absent where the document does not say.")
    plus: Limit | None = Field(default=None, description="Absent where the document does not say.")

    @model_validator(mode="after")
    def _something(self) -> Tolerance:
        if self.minus is None and self.plus is None:
            raise ValueError("a tolerance needs minus, or plus, or both")
        return self


class ToleranceReading(Tolerance, Reading):
    """A printed tolerance."""

    kind: Literal["tolerance"] = "tolerance"
    tolerance: RecordId


class PrintedLining(Scoped):
    """The thickness of a lining or a coating."""

    material: RecordId
    side: Literal["inside", "outside"]
    unit: Words
    number: PrintedNumber | None = Field(default=None, description="The nominal thickness.")
    low: PrintedNumber | None = Field(default=None, description="The thinner end, where a range is printed.")
    high: PrintedNumber | None = Field(default=None, description="The thicker end, where a range is printed.")
    minimum: PrintedNumber | None = Field(default=None, description="The least thickness at any point.")

    @model_validator(mode="after")
    def _something(self) -> PrintedLining:
        if self.number is None and self.minimum is None and (self.low is None or self.high is None):
            raise ValueError("a lining needs a number, a minimum, or both low and high")
        return self


class LiningReading(PrintedLining, Reading):
    """A printed thickness of a lining."""

    kind: Literal["lining"] = "lining"
    lining: RecordId


class RoughnessReading(Reading):
    """A printed roughness of a surface: a number, a range, or both."""

    kind: Literal["roughness"] = "roughness"
    surface: RecordId
    condition_printed: Words | None = None
    number: PrintedNumber | None = None
    low: PrintedNumber | None = None
    high: PrintedNumber | None = None
    unit: Words

    @model_validator(mode="after")
    def _something(self) -> RoughnessReading:
        if self.number is None and (self.low is None or self.high is None):
            raise ValueError("a roughness needs a number, or both low and high")
        return self


class Input(Record):
    """One record that a recommended row rests on: its value as used, and its weight."""

    id: RecordId
    digest: Digest
    value: PrintedNumber | None = Field(default=None, description="In the row's unit, as the rule used it.")
    standard_uncertainty: PrintedNumber | None = None
    weight: PrintedNumber | None = None
    note: Words | None = None


class LeftOut(Record):
    """A reading that was considered and left out, and why."""

    id: RecordId
    digest: Digest
    reason: Words
    value: PrintedNumber | None = None


class RecommendedUncertainty(Record):
    """A standard uncertainty: absolute in the row's unit, or relative in percent."""

    number: PrintedNumber
    unit: Words
    code: UncertaintyCode
    text: Words
    per_megapascal: PrintedNumber | None = Field(
        default=None, description="What a megapascal above 1 atm adds, in the same unit and in quadrature."
    )
    per_kelvin: PrintedNumber | None = Field(
        default=None,
        description="What a kelvin from 20 degC adds, in the same unit and in quadrature: a slope's uncertainty.",
    )


class Recommended(Envelope):
    """Fields of every recommended row: the rule and its working."""

    rule: Words
    basis: Basis
    seen: Seen
    rung: Rung
    inputs: Annotated[list[Input], Field(min_length=1)]
    left_out: list[LeftOut] | None = None
    working: dict[str, Words] | None = None
    notes: list[Words] | None = None


class LiquidInterval(Record):
    """A pressure from saturation, which depends on the temperature, to a limit."""

    low: Literal["saturation"]
    high: PrintedNumber
    unit: Words
    saturation: RecordId = Field(description="The row that gives the saturation pressure.")
    not_given: Literal["saturation"] | None = Field(
        default=None, description="What is taken where no pressure is given and the liquid boils at 1 atm."
    )


class UnfrozenInterval(Record):
    """A temperature from the freezing point, which depends on the rest of the state, to a limit."""

    low: Literal["freezing"]
    high: PrintedNumber
    unit: Words
    freezing: RecordId = Field(description="The row that gives the freezing point.")


AnyInterval = PrintedInterval | LiquidInterval | UnfrozenInterval


class SpeedFrequency(Record):
    """The frequency that a speed is told for, where it rises with frequency as in plastics.

    `number` is where the row's value holds, `low` and `high` between what its uncertainty covers it, all in `unit`;
    `per_decade` is the rise in percent from one decade of frequency to the next.
    """

    number: PrintedNumber
    low: PrintedNumber
    high: PrintedNumber
    unit: Words
    per_decade: PrintedNumber


class RecommendedValue(Recommended):
    """What a release advises for one property of one subject."""

    kind: Literal["recommended"] = "recommended"
    subject: RecordId
    property: RecordId
    condition: RecordId | None = None
    unit: Words
    form: dict[str, Any]
    domain: dict[StateVariable, AnyInterval]
    uncertainty: RecommendedUncertainty
    freezes_at: PrintedQuantity | None = Field(default=None, description="Where a liquid freezes at 1 atm, as printed.")
    bound: Literal["lower", "between"] | None = Field(
        default=None,
        description="`lower` where the property is known only to be at least what the form gives; `between` where all "
        "that is known is a rectangle about it, whose half width is the standard uncertainty times the root of 3.",
    )
    frequency: SpeedFrequency | None = Field(default=None, description="Of a speed that rises with frequency.")
    correlations: dict[RecordId, PrintedNumber] | None = Field(
        default=None,
        description="Correlation coefficients of this value's error with those of other rows of the same material.",
    )


class PrintedDimensions(Record):
    """Dimensions as printed in one unit and one kind of wall, and the readings that print them."""

    unit: Words
    outside_diameter: PrintedNumber
    outside_diameter_is: DiameterKind | None = None
    wall: PrintedNumber | None = None
    wall_is: WallKind | None = None
    inside_diameter: PrintedNumber | None = None
    readings: Annotated[list[RecordId], Field(min_length=1)]


class RecommendedPipe(Recommended):
    """One pipe: one row per system, size and wall."""

    kind: Literal["recommended-pipe"] = "recommended-pipe"
    system: RecordId
    size: dict[SizeWord, Words]
    designations: list[Words]
    dimensions: Annotated[list[PrintedDimensions], Field(min_length=1)]


class RecommendedRoughness(Recommended):
    """What a release advises for the roughness of a surface, with the range of what documents print, if they differ."""

    kind: Literal["recommended-roughness"] = "recommended-roughness"
    surface: RecordId
    unit: Words
    number: PrintedNumber
    low: PrintedNumber | None = None
    high: PrintedNumber | None = None


class RecommendedTolerance(Tolerance, Recommended):
    """What a release says a standard allows."""

    kind: Literal["recommended-tolerance"] = "recommended-tolerance"


class RecommendedLining(PrintedLining, Recommended):
    """What a release says a standard lines a pipe with."""

    kind: Literal["recommended-lining"] = "recommended-lining"


AnyRecord = Annotated[
    Source
    | Subject
    | Designation
    | Scalar
    | Range
    | Table
    | Equation
    | Grid
    | Surface
    | PipeReading
    | RoughnessReading
    | ToleranceReading
    | LiningReading
    | RecommendedValue
    | RecommendedPipe
    | RecommendedRoughness
    | RecommendedTolerance
    | RecommendedLining,
    Field(discriminator="kind"),
]

RECORD: TypeAdapter[AnyRecord] = TypeAdapter(AnyRecord)

READING_KINDS = (
    "scalar", "range", "table", "equation", "grid", "surface", "pipe", "roughness", "tolerance", "lining",
)  # fmt: skip
RECOMMENDED_KINDS = (
    "recommended",
    "recommended-pipe",
    "recommended-roughness",
    "recommended-tolerance",
    "recommended-lining",
)

ID_PATTERN = re.compile(r"^[a-z0-9]+(?:[-_.][a-z0-9]+)*$")
