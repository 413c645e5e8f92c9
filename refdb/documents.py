"""What the documents of answers are made of: quantities, references to rows and sources, problems.

Each room has a module `documents` that types its own answers beside what makes them. Answers are plain dictionaries:
the type checkers hold what makes them against these types, and the service makes its OpenAPI document of them. Import
such a module under `if TYPE_CHECKING:` where answers are made, which then need not load pydantic.
"""

from typing import Annotated, Literal, NotRequired

from pydantic import ConfigDict, Field, with_config
from typing_extensions import TypedDict  # pydantic takes those of the standard library from Python 3.12 on

Digest = Annotated[str, Field(pattern=r"^sha256:[0-9a-f]{64}$")]
Probability = Annotated[float, Field(ge=0.0, le=1.0)]
Likelihood = Annotated[float, Field(ge=0.0)]
Rung = Literal["published", "derived", "analogue", "family", "memory"]
PartName = Literal["temperature", "pressure", "salinity", "strength"]
CarrierType = Literal["package", "repository", "page", "print"]
RightsClass = Literal[
    "public-domain",  # works of a government, or dedicated to the public
    "permissive",  # may be passed on under a notice: MIT, BSD, Apache, CC-BY
    "copyleft",  # what is made of it must be passed on alike: GPL, LGPL, OSL, CC-BY-SA
    "database-right",  # a database under its own terms, or under a right of its own
    "no-licence",  # nobody granted anything
    "unknown",  # nobody looked
]
How = Literal[
    "parsed",  # in the carrier's own structure, cell by cell
    "beside its name",  # the digits stand in the line or block that names the thing
    "recomputed",  # computed again with the library, to one unit of the last digit
    "read by a person",  # keyed again from the print, without looking at what was entered
]


@with_config(ConfigDict(extra="forbid"))
class Document(TypedDict):
    """Nothing undocumented may appear in an answer."""


@with_config(ConfigDict(extra="allow"))
class OpenDocument(TypedDict):
    """Further members depend on what is told."""


class QuantityDocument(Document):
    """A magnitude with its unit, and the unit's UCUM code for machines."""

    magnitude: float
    unit: str
    ucum: str


class SlopeDocument(Document):
    """A change per kelvin or pascal; the unit is the value's, per that. Its uncertainty stands where it is known."""

    magnitude: float
    unit: str
    standard_uncertainty: NotRequired[float]


class DifferenceDocument(Document):
    """A difference and its unit."""

    magnitude: float
    unit: str


class RowReference(Document):
    """A released row and the digest of its version."""

    id: str
    digest: Digest


class SourceReference(Document):
    """A document that a row rests on, and where in it."""

    key: str
    citation: str
    locator: str
    reproduced_in: NotRequired[str]
    """The copy in which the document was seen, and to which the locator belongs; absent where it was read itself."""
    checked_by: NotRequired[str]
    """Who or what read the entered numbers a second time, when, against what, and how many; absent where nobody did."""


class SubjectReference(Document):
    """What a value is about."""

    id: str
    kind: Literal["material", "liquid"]
    name: str


class ProblemDocument(OpenDocument):
    """A problem document after RFC 9457; extensions appear where they apply."""

    type: str
    title: str
    status: int
    detail: str
    parameter: NotRequired[str]
    given: NotRequired[str]
    accepted: NotRequired[list[str]]
    valid_range: NotRequired[dict[str, list[str]]]
    nearest: NotRequired[str]
    candidates: NotRequired[list[str]]
    estimate_available: NotRequired[bool]


class UncertainQuantity(Document):
    """A quantity with its standard uncertainty."""

    value: QuantityDocument
    standard_uncertainty: QuantityDocument
