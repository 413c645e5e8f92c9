"""The inputs of a job as numbers, each with its standard uncertainty and where it came from.

Every number keeps row and digest, so that a figure on the sheet can be walked back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from refdb.database import Database
from refdb.job.quantities import difference
from refdb.job.uncertainty import Distribution, Variable
from refdb.lookup import ReleaseInfo
from refdb.problems import BadParameter
from refdb.units import Quantity, Unit, units
from refdb.units.sizes import NO_SOURCE
from refdb.values.layers import LayeredAnswer
from refdb.values.options import Options
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.job.documents import BoundDocument, JobInputDocument, Origin, PipeCandidates
    from refdb.job.models import Job


DEFAULTS: dict[str, tuple[str, str, str]] = {
    "sensors.angle": ("angle", "0.1 deg", "making of a wedge"),
    "sensors.offset": ("length", "0.5 mm", "wear and marks of the housings"),
    "sensors.delay": ("time", "100 ns", "cables and couplant"),
    "sensors.spacing": ("length", "0.5 mm", "setting a rail or a tape"),
    "sensors.time": ("time", "20 ns", "finding the arrival"),
    "sensors.zero_stability": ("time", "0.1 ns", "zero of a pair"),
    "liquid.temperature": ("temperature_difference", "1 delta_K", "a thermometer on or in the line"),
    "sensors.temperature": ("temperature_difference", "3 delta_K", "a wedge between wall and air"),
}
"""Standard uncertainties where none is given: dimension, amount and what it stands for; common practice, no source."""
RELATIVE_DEFAULTS = {
    "sensors.speed": 0.005,
    "pipe.speed": 0.01,
    "lining.speed": 0.05,
    "lining.thickness": 0.2,
    "deposits": 0.5,
    "liquid.sound_speed": 0.005,
    "liquid.density": 0.005,
    "liquid.dynamic_viscosity": 0.05,
    "liquid.specific_heat": 0.01,
    "liquid.saturation_pressure": 0.05,
    "liquid.absorption": 0.3,
    "coating": 0.2,
    "coating.speed": 0.1,
    "deposits.speed": 0.1,
    "sensors.calibration": 0.005,
}
"""The same as parts of the value, for values that are given without one; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bound:
    """What something that is not known lies between, in SI units, and why."""

    low: float
    high: float
    why: str

    def document(self, dimension: str, unit: Unit) -> BoundDocument:
        """The bound as plain JSON values, in a unit of its dimension."""
        si = units().si(dimension)
        low, high = (Quantity(si.to(end, unit), unit).document() for end in (self.low, self.high))
        return {"low": low, "high": high, "why": self.why}


@dataclass(frozen=True, slots=True)
class JobInput:
    """One number in SI units with its standard uncertainty and its origin."""

    name: str
    value: float
    uncertainty: float
    dimension: str
    origin: Origin
    words: str = ""
    answer: Answer | None = None
    distribution: Distribution = "normal"
    bound: Bound | None = None

    @property
    def variable(self) -> Variable:
        """The number as the propagation of uncertainty takes it."""
        return Variable(self.value, self.uncertainty, self.distribution)

    @property
    def _of_house(self) -> bool:
        """Whether it is an organisation's own value."""
        return isinstance(self.answer, LayeredAnswer) and self.answer.house is not None

    def document(self, symbol: str | None = None) -> JobInputDocument:
        """The input as plain JSON values, in SI units or another of its dimension."""
        si = units().si(self.dimension)
        unit = units().find(symbol, self.dimension) if symbol else si
        return {
            "name": self.name,
            "value": Quantity(si.to(self.value, unit), unit).document(),
            "standard_uncertainty": {
                "magnitude": float(f"{si.difference_to(self.uncertainty, unit):.6g}"),
                "unit": _difference_symbol(unit.symbol),
            },
            "origin": self.origin,
            "text": self.words,
            "row": None if self.answer is None else {"id": self.answer.row, "digest": self.answer.digest},
            "sources": [] if self.answer is None else self.answer.sources,
            "rung": "house" if self._of_house else None if self.answer is None else self.answer.text.fixed["rung"],
            "bound": None if self.bound is None else self.bound.document(self.dimension, unit),
            "layer": "house" if self._of_house else "release",
        }


@dataclass(frozen=True, slots=True)
class PlaceEffect:
    """What the reading may be off by.

    Attributes:
        low, high: the true flow over the reading, less one.
        cross: half the width that cross flow adds, for the passes that are asked for.
    """

    low: float
    high: float
    cross: float
    words: str

    @property
    def uncertainty(self) -> float:
        """Root mean square about the reading as it is: nothing is corrected for."""
        square = (self.low**2 + self.low * self.high + self.high**2) / 3.0
        return math.hypot(math.sqrt(square), self.cross / math.sqrt(3.0))

    @property
    def one_sided(self) -> bool:
        """Whether the reading can be off to one side only, cross flow aside."""
        return self.low >= 0.0


@dataclass
class Inputs:
    """All inputs of one job, and what was taken for granted."""

    job: Job
    database: Database
    release: ReleaseInfo
    options: Options
    found: dict[str, JobInput] = field(default_factory=dict)
    assumptions: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    rows: dict[str, str] = field(default_factory=dict)
    candidates: PipeCandidates | None = None
    growth: float = 1.0
    place: PlaceEffect | None = None
    bounds: dict[tuple[str, str], Bound | None] = field(default_factory=dict)

    def __getitem__(self, name: str) -> JobInput:
        return self.found[name]

    def value(self, name: str) -> float:
        """One number, in SI units."""
        return self.found[name].value

    def keep(self, item: JobInput, *, notes: bool = True) -> JobInput:
        """Remember an input under its name.

        Args:
            notes: whether what its row warns of concerns the job.
        """
        self.found[item.name] = item
        if item.answer is not None:
            self.rows[item.answer.row] = item.answer.digest
            self.assumptions += [text for text in item.answer.assumptions if text not in self.assumptions]
            if notes:
                self.warnings += [text for text in item.answer.warnings if text not in self.warnings]
        return item


def _difference_symbol(symbol: str) -> str:
    known = {"degC": "K", "degF": "delta_degF", "psig": "psi"}
    return known.get(symbol, symbol.removesuffix("(g)"))


def uncertainty_of(
    inputs: Inputs, key: str, text: str | None, dimension: str, value: float, member: str | None = None
) -> float:
    """A given uncertainty, or the stated default.

    Args:
        key: of the default.
        member: of the document that has the value, where it is not the key.

    Raises:
        BadParameter: something that is above zero would be more uncertain than it is large.
    """
    if text is not None:
        where = f"{member or key}_uncertainty"
        given = difference(text, dimension, where)
        if key in RELATIVE_DEFAULTS and given > abs(value):
            raise BadParameter(
                f"{where}: {text} is more than the value itself; check both numbers and their units.",
                parameter=where,
                given=text,
            )
        return given
    if key in DEFAULTS:
        of, amount, words = DEFAULTS[key]
        inputs.assumptions.append(f"{key}: standard uncertainty {amount}, {words} ({NO_SOURCE})")
        return difference(amount, of, key)
    part = RELATIVE_DEFAULTS[key]
    inputs.assumptions.append(f"{key}: standard uncertainty {100 * part:g} % of the value ({NO_SOURCE})")
    return part * abs(value)


def origin_of(text: str) -> Origin:
    """Where a number comes from, of two ways."""
    return "given" if text == "given" else "default"


def from_row(label: str, answer: Answer, dimension: str) -> JobInput:
    """An answer of the database as an input, in SI units."""
    si = units().si(dimension)
    value = float(answer.value.unit.to(answer.value.magnitude, si))
    uncertainty = float(answer.value.unit.difference_to(answer.standard_uncertainty.magnitude, si))
    return JobInput(label, value, uncertainty, dimension, "row", f"row {answer.row}", answer)


def slope(inputs: Inputs, label: str) -> float:
    """Change of a liquid's property per kelvin, in SI units; 0 where the value was given by hand."""
    answer = inputs[label].answer
    if answer is None:
        return 0.0
    si = units().si(inputs[label].dimension)
    return float(answer.value.unit.difference_to(answer.slopes.get("temperature", 0.0), si))


def metres(quantity: Quantity) -> float:
    """A length in metres."""
    return float(quantity.unit.to(quantity.magnitude, units().si("length")))


def nominal_bore(inputs: Inputs) -> float:
    """Inside everything, in metres."""
    layers = inputs.value("wall") + inputs.value("deposits")
    if "lining thickness" in inputs.found:
        layers += inputs.value("lining thickness")
    return inputs.value("outside diameter") - 2.0 * layers


def bore_uncertainty(inputs: Inputs) -> float:
    """Standard uncertainty of the bore, in metres: every layer stands twice in a diameter."""
    layers = [name for name in ("wall", "lining thickness", "deposits") if name in inputs.found]
    return math.hypot(inputs["outside diameter"].uncertainty, *(2.0 * inputs[name].uncertainty for name in layers))
