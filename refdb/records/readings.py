"""The numbers of a reading: a single value, or a function of the state; used by recommending and auditing.

A reading is a plain dictionary. The unit table is an argument, because the compiled one need not exist yet when values
are recommended.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from refdb.exact.slopes import monotone_slopes, spline_slopes
from refdb.forms import PLAIN, Functions, make_form
from refdb.forms.scales import to_scale
from refdb.records.printed import number_text, printed_number, rounding_half_width
from refdb.units import Unit, UnitTable
from refdb.vocabulary import STATE

PROPERTY_READING_KINDS = ("scalar", "range", "table", "equation", "grid", "surface")
"""The kinds of reading of one property of one subject."""

CURVE_KINDS = frozenset({"table", "equation", "surface"})
"""The kinds of reading that `Curve` evaluates."""

SLOPE_DIGITS = 12
EXPANDED_COVERAGE = 2.0

Span = tuple[float, float]
"""Both ends of an interval of a part of the state, in the unit of states."""


def as_printed(reading: Mapping[str, Any]) -> dict[str, Any]:
    """A reading with the printed texts that declared corrections replaced; it keeps the list of corrections."""
    return {**reading, **{one["field"]: one["printed"] for one in reading.get("corrections", [])}}


@dataclass(frozen=True, slots=True)
class SingleValue:
    """A printed number or range, in the wanted unit.

    Attributes:
        value: the number, or the middle of the range.
        rounding: half a unit of the last printed digit.
        half_range: half the printed range; zero for a number.
        stated: the standard uncertainty that the document states; None if it states none.
    """

    value: float
    rounding: float
    half_range: float
    stated: float | None


def single_value(reading: Mapping[str, Any], target: Unit, table: UnitTable) -> SingleValue:
    """A scalar or range in a unit.

    An expanded uncertainty is read with a coverage factor of 2. A maximum error or a fit error is not a standard
    uncertainty and is not used.

    Raises:
        UnknownUnit, WrongDimension: the reading's unit does not measure what `target` measures.
    """
    unit = table.find(reading["unit"], target.dimension)
    ends = [reading[key] for key in ("low", "high")] if reading["kind"] == "range" else [reading["number"]] * 2
    low, high = map(printed_number, ends)
    value = unit.to((low + high) / 2.0, target)
    return SingleValue(
        value,
        _half_width(unit, (low + high) / 2.0, rounding_half_width(ends[0]), target),
        _half_width(unit, (low + high) / 2.0, (high - low) / 2.0, target),
        stated_uncertainty(reading, value, target, table),
    )


def _half_width(unit: Unit, middle: float, half: float, target: Unit) -> float:
    """Half the width of an interval about `middle`, in `target`; for units with a curve, such as degAPI, along it."""
    if unit.function is None:
        return float(unit.difference_to(half, target))
    return abs(float(unit.to(middle + half, target)) - float(unit.to(middle - half, target))) / 2.0


def stated_uncertainty(reading: Mapping[str, Any], value: float, target: Unit, table: UnitTable) -> float | None:
    """The standard uncertainty that the document states for a value, in `target`; None if it states none."""
    stated = reading.get("stated_uncertainty")
    if stated is None or stated["kind"] not in {"standard", "expanded"}:
        return None
    size = printed_number(stated["number"]) / (EXPANDED_COVERAGE if stated["kind"] == "expanded" else 1.0)
    if stated["unit"] == "%":
        return abs(value) * size / 100.0
    return float(table.find(stated["unit"], target.dimension).difference_to(size, target))


def curve_spec(reading: Mapping[str, Any]) -> dict[str, Any]:
    """The description of the form that evaluates an equation, a table or an equation of several variables.

    The points of a table are joined by a spline if they were computed, and without overshoot if they were measured.
    """
    if reading["kind"] == "surface":
        return {"name": "power-sum/1", "axes": reading["axes"], "terms": reading["terms"]}
    if reading["kind"] == "equation":
        return {
            "name": reading["form"],
            "variable": reading["variable"],
            "coefficients": reading["coefficients"],
        }
    return {"name": "hermite-table/1", "variable": reading["variable"], "points": _points_with_slopes(reading)}


def _points_with_slopes(reading: Mapping[str, Any]) -> list[list[str]]:
    xs, ys = ([printed_number(text) for text in column] for column in zip(*reading["points"], strict=True))
    slopes = spline_slopes(xs, ys) if reading["basis"] == "computed" else monotone_slopes(xs, ys)
    return [[x, y, number_text(slope, SLOPE_DIGITS)] for (x, y), slope in zip(reading["points"], slopes, strict=True)]


class Curve:
    """An equation, a table or an equation of several variables, ready to be evaluated at states.

    Attributes:
        spans: the interval in which it holds, by part of the state.
        points: for a table, the places of its own points; between them its document prints nothing.
    """

    def __init__(self, reading: Mapping[str, Any], table: UnitTable, functions: Functions = PLAIN) -> None:
        self._form = make_form(curve_spec(reading), functions)
        self._axes = axes_of(reading, table)
        self.spans: dict[str, Span] = {axis.name: axis.span for axis in self._axes}
        self.points: dict[str, list[float]] = {}
        if reading["kind"] == "table":
            (axis,) = self._axes
            self.points[axis.name] = [axis.held_at(printed_number(x)) for x, _ in reading["points"]]

    def value(self, state: Mapping[str, float]) -> float:
        """The value in the reading's unit.

        Args:
            state: parts of the state by name, in the units of states; a temperature is on ITS-90.
        """
        return float(self._form.value(*(axis.place(state[axis.name]) for axis in self._axes)))


def axes_of(reading: Mapping[str, Any], table: UnitTable) -> list[Axis]:
    """The variables of an equation, a table or an equation of several variables, in their order."""
    return [Axis.of(printed, table) for printed in _printed_axes(reading)]


def _printed_axes(reading: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each variable with its interval, for every kind of reading that has variables."""
    if reading["kind"] == "surface":
        return list(reading["axes"])
    variable = reading["variable"]
    if reading["kind"] == "equation":
        interval = reading["interval"]
        return [{**variable, "low": interval["low"], "high": interval["high"], "of_interval": interval["unit"]}]
    return [{**variable, "low": reading["points"][0][0], "high": reading["points"][-1][0]}]


@dataclass(frozen=True, slots=True)
class Axis:
    """One variable of a printed function: converts a part of the state to its argument."""

    name: str
    held: Unit
    printed: Unit
    scale: str | None
    counted_from: float
    span: Span

    @classmethod
    def of(cls, printed: Mapping[str, Any], table: UnitTable) -> Axis:
        """The axis for a variable as a reading prints it."""
        name = printed["name"]
        part = STATE[name]
        held, unit = table.find(part.unit, part.dimension), table.find(printed["unit"], part.dimension)
        counted_from = table.find("atm", "pressure").to(1.0, held) if printed.get("gauge") else 0.0
        bounds = table.find(printed.get("of_interval", printed["unit"]), part.dimension)
        low, high = (float(bounds.to(printed_number(printed[end]), held)) + counted_from for end in ("low", "high"))
        return cls(name, held, unit, printed.get("scale"), counted_from, (low, high))

    def held_at(self, argument: float) -> float:
        """The part of the state that belongs to an argument; the inverse of `place`."""
        held = float(self.printed.to(argument, self.held)) + self.counted_from
        # A scale is a factor in degC.
        return float(held / to_scale(1.0, self.scale)) if self.name == "temperature" else held

    def place(self, held: float) -> float:
        """The argument that belongs to a part of the state, in the printed unit, on its scale and from its origin."""
        on_scale = to_scale(held, self.scale) if self.name == "temperature" else held
        return float(self.held.to(on_scale - self.counted_from, self.printed))
