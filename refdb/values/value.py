"""The answer to one question about one property."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal
from urllib.parse import quote

from refdb.lookup.evaluate import Evaluated, PreparedRow
from refdb.units import Quantity, Unit, significant, units, with_uncertainty
from refdb.values.citation import standing
from refdb.values.options import ESTIMATE_RUNGS
from refdb.vocabulary import STATE, StatePart

if TYPE_CHECKING:
    from refdb.documents import PartName, SlopeDocument, SourceReference, SubjectReference
    from refdb.values.documents import RefusedDocument, StateDocument, StatelessParts, ValueDocument, ValuesDocument


_QUOTED = {part.unit: f"%20{quote(part.unit)}" for part in STATE.values()}
_PER = {"temperature": "K", "pressure": "Pa", "salinity": "(g/kg)", "strength": "(kg/kg)"}


class RowText:
    """The parts of an answer that do not depend on the state, made once per row and release."""

    __slots__ = ("fixed", "link", "release", "row", "subject")

    def __init__(
        self, row: PreparedRow, subject: SubjectReference, sources: list[SourceReference], release: str
    ) -> None:
        body = row.body
        uncertainty = body["uncertainty"]
        self.row = row
        self.release = release
        self.subject = subject
        self.link = f"/v1/values?subject={quote(subject['id'])}&property={row.property}&release={release}" + (
            f"&condition={body['condition']}" if "condition" in body else ""
        )
        if body["rung"] in ESTIMATE_RUNGS:
            self.link += "&accept=estimates"
        known = standing(body, row.id, row.digest, sources)
        self.fixed: StatelessParts = {
            "uncertainty_basis": {"code": uncertainty["code"], "text": uncertainty["text"]},
            "valid_range": row.valid_range,
            "bound": "lower" if body.get("bound") == "lower" else None,
            "basis": known["basis"],
            "seen": known["seen"],
            "rung": known["rung"],
            "rule": known["rule"],
            "layer": known["layer"],
            "row": known["row"],
            "sources": known["sources"],
        }
        if "frequency" in body:
            self.fixed["frequency"] = body["frequency"]
        if "correlations" in body:
            self.fixed["correlations"] = body["correlations"]


@dataclass(slots=True)
class Answer:
    """A property of a subject at a state, with everything needed to trust it.

    Attributes:
        value: the property, in the unit asked for; its magnitude is a float, or an array where the state was one. Not a
            number where all that is known are `limits`.
        standard_uncertainty: in the same unit; for one specimen, coverage factor 1.
        slopes: change per kelvin and, where the value depends on it, per pascal, in the same unit.
    """

    text: RowText
    value: Quantity
    standard_uncertainty: Quantity
    evaluated: Evaluated

    @property
    def celsius(self) -> Any:
        """The temperature that was answered at, in degC; None where the value does not depend on it."""
        return self.evaluated.state.celsius

    @property
    def pascals(self) -> Any:
        """The absolute pressure that was answered at, in Pa; None where the value does not depend on it."""
        return self.evaluated.state.pascals

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was taken for granted."""
        return self.evaluated.state.assumptions

    @property
    def warnings(self) -> tuple[str, ...]:
        """What whoever uses the value should know of its row."""
        return tuple(self.text.row.body.get("notes", ()))

    @property
    def bound(self) -> Literal["lower"] | None:
        """`lower` where the property is only known to be at least this; None where the value is the property's."""
        return "lower" if self.text.row.body.get("bound") == "lower" else None

    @property
    def limits(self) -> tuple[Quantity, Quantity] | None:
        """Between what the property lies, where that is all that is known; None where there is a value."""
        if not self.text.row.is_bounded:
            return None
        low, high = self.evaluated.limits()
        own, unit = self.text.row.unit, self.value.unit
        return Quantity(own.to(low, unit), unit), Quantity(own.to(high, unit), unit)

    @property
    def slopes(self) -> dict[PartName, Any]:
        """Derivatives with respect to `temperature` (per kelvin) and, where the value depends on it, `pressure` (per
        pascal), `salinity` (per g/kg), `strength` (per kg/kg)."""
        if self.text.row.is_bounded:
            return {}
        own, unit = self.text.row.unit, self.value.unit
        # What a row depends on is a part of the state; a cast would cost every answer a call.
        found: dict[PartName, Any] = self.evaluated.slopes()  # type: ignore[assignment]
        return {name: own.difference_to(slope, unit) for name, slope in found.items()}

    @property
    def subject(self) -> str:
        """The subject's id."""
        return str(self.text.subject["id"])

    @property
    def property_id(self) -> str:
        """The property's id."""
        return self.text.row.property

    @property
    def magnitude(self) -> Any:
        """The bare number, in `unit`."""
        return self.value.magnitude

    @property
    def unit(self) -> str:
        """The symbol of the unit."""
        return self.value.unit.symbol

    @property
    def row(self) -> str:
        """The id of the row that answered."""
        return self.text.row.id

    @property
    def digest(self) -> str:
        """The digest of the row's version."""
        return self.text.row.digest

    @property
    def release(self) -> str:
        """The label of the release that answered."""
        return self.text.release

    @property
    def sources(self) -> list[SourceReference]:
        """The documents the row rests on: key, citation and locator."""
        return list(self.text.fixed["sources"])

    @property
    def valid_range(self) -> dict[str, list[str]]:
        """The range of each part of the state in which the row is valid, in its own words."""
        return self.text.row.valid_range

    @property
    def permalink(self) -> str:
        """A path that gives this same answer for as long as the release exists."""
        return self.released_link()

    def released_link(self) -> str:
        """The path to this answer of the release: the row, the unit, and the state to its last digit."""
        state = self._state()
        if not all(isinstance(held, float) for _, held, _ in state):
            return self.text.link
        own = self.value.unit is self.text.row.unit
        unit = "" if own else f"&unit={self.text.row.property}:{quote(self.value.unit.symbol)}"
        return self.text.link + unit + "".join(f"&{name}={held!r}{_QUOTED[part.unit]}" for name, held, part in state)

    def _state(self) -> list[tuple[PartName, Any, StatePart]]:
        """The parts of the state that the value depends on: name, what it is, and how it is held."""
        # Names are those of the parts, told as plain texts; a cast would cost every answer a call.
        parts: tuple[tuple[PartName, Any], ...] = self.evaluated.state.parts()  # type: ignore[assignment]
        return [(name, held, STATE[name]) for name, held in parts if held is not None]

    def to(self, unit: str) -> Answer:
        """The same answer in another unit.

        Raises:
            UnknownUnit, WrongDimension: the unit is not known or measures something else.
        """
        target = units().find(unit, self.value.unit.dimension)
        return answer(self.text, self.evaluated, target)

    def document(self) -> ValueDocument:
        """The answer as plain JSON values: what the service returns and `--json` prints."""
        state: StateDocument = {}
        for name, held, part in self._state():
            state[name] = {"magnitude": significant(held), "unit": part.unit, "ucum": part.ucum}
        limits = self.limits
        told: ValueDocument = {
            "subject": self.text.subject,
            "property": self.text.row.property,
            "state": state,
            "value": self.value.document() if limits is None else None,
            "standard_uncertainty": self.standard_uncertainty.document() if limits is None else None,
            "slope": {name: self._slope(name, slope) for name, slope in self.slopes.items()},
            **self.text.fixed,
            "release": self.text.release,
            "permalink": self.permalink,
            "assumptions": list(self.assumptions),
            "warnings": list(self.warnings),
        }
        if limits is not None:
            low, high = limits
            why = self.text.fixed["uncertainty_basis"]["text"]
            told["bound"] = {"low": low.document(), "high": high.document(), "why": why}
        return told

    def _slope(self, name: PartName, slope: Any) -> SlopeDocument:
        told: SlopeDocument = {"magnitude": significant(slope), "unit": f"{self.value.unit.symbol}/{_PER[name]}"}
        own = self.text.row.slope_uncertainty if name == "temperature" else None
        if own is not None:
            told["standard_uncertainty"] = significant(self.text.row.unit.difference_to(own, self.value.unit), 3)
        return told

    @property
    def words(self) -> str:
        """One value with its standard uncertainty, as a person reads it; a bound says that it is one."""
        if self.limits is not None:
            return between(*self.limits)
        told = with_uncertainty(self.value, self.standard_uncertainty)
        return f"at least {told}" if self.bound == "lower" else told

    def __str__(self) -> str:
        if isinstance(self.magnitude, float):
            return f"{self.words} ({self.row}, release {self.release})"
        return f"{len(self.magnitude)} values in {self.unit} ({self.row}, release {self.release})"


def answer(text: RowText, evaluated: Evaluated, unit: Unit) -> Answer:
    """An evaluated row as an answer in a unit."""
    own = text.row.unit
    if text.row.is_bounded:
        return Answer(text, Quantity(math.nan, unit), Quantity(math.nan, unit), evaluated)
    return Answer(
        text,
        Quantity(own.to(evaluated.value, unit), unit),
        Quantity(own.difference_to(evaluated.standard_uncertainty, unit), unit),
        evaluated,
    )


def between(low: Quantity, high: Quantity) -> str:
    """`3500 to 5600 m/s`: both ends of a bound, to four digits."""
    symbol = "" if low.unit.dimension == "dimensionless" else f" {low.unit.symbol}"
    return f"between {float(low.magnitude):.4g} and {float(high.magnitude):.4g}{symbol}"


@dataclass(slots=True)
class Values:
    """Several properties of one subject at one state, and those that were refused."""

    release: str
    values: list[Answer]
    refused: list[RefusedDocument]

    def __iter__(self) -> Iterator[Answer]:
        return iter(self.values)

    def __getitem__(self, property_id: str) -> Answer:
        """The answer for one property.

        Raises:
            KeyError: it was not answered.
        """
        for item in self.values:
            if item.property_id == property_id:
                return item
        raise KeyError(property_id)

    def document(self) -> ValuesDocument:
        """The answers as plain JSON values."""
        return {
            "release": self.release,
            "values": [item.document() for item in self.values],
            "refused": self.refused,
        }
