"""The numbers of a reading: a single value, or a function of the state; used by recommending and auditing.

A reading is a plain dictionary. The unit table is an argument, because the compiled one need not exist yet when values
are recommended.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from refdb.exact.slopes import monotone_slopes, spline_slopes
from refdb.forms import PLAIN, Functions
from refdb.forms.state_function import StateFunction
from refdb.forms.states import Interval, StateAxis
from refdb.records.printed import number_text, printed_number, rounding_half_width
from refdb.records.state_functions import axis_of, counted_from_of, held_unit
from refdb.units import Unit, UnitTable
from refdb.vocabulary import STATE

PROPERTY_READING_KINDS = ("scalar", "range", "table", "equation", "grid", "surface")
"""The kinds of reading of one property of one subject."""

CURVE_KINDS = frozenset({"table", "equation", "surface"})
"""The kinds of reading that are printed as functions of a state."""

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


def function_of_reading(reading: Mapping[str, Any], table: UnitTable, functions: Functions = PLAIN) -> StateFunction:
    """An equation, a table or an equation of several variables as a function of states, in the reading's unit."""
    printed = _printed_axes(reading)
    return StateFunction(
        curve_spec(reading),
        [axis_of(axis, table) for axis in printed],
        intervals={axis["name"]: _interval(axis, table) for axis in printed},
        functions=functions,
    )


def own_points(reading: Mapping[str, Any], table: UnitTable) -> dict[str, list[float]]:
    """The places of a table's own points, by its part of the state; between them its document prints nothing.

    Empty for what is no table.
    """
    if reading["kind"] != "table":
        return {}
    (axis,) = axes_of(reading, table)
    return {axis.name: [axis.held(printed_number(x)) for x, _ in reading["points"]]}


def axes_of(reading: Mapping[str, Any], table: UnitTable) -> list[StateAxis]:
    """The variables of an equation, a table or an equation of several variables, in their order."""
    return [axis_of(printed, table) for printed in _printed_axes(reading)]


def _printed_axes(reading: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each variable with its interval, for every kind of reading that has variables."""
    if reading["kind"] == "surface":
        return list(reading["axes"])
    variable = reading["variable"]
    if reading["kind"] == "equation":
        interval = reading["interval"]
        return [{**variable, "low": interval["low"], "high": interval["high"], "of_interval": interval["unit"]}]
    return [{**variable, "low": reading["points"][0][0], "high": reading["points"][-1][0]}]


def _interval(printed: Mapping[str, Any], table: UnitTable) -> Interval:
    """The interval of a variable; its unit may be another than that of the variable."""
    name = printed["name"]
    bounds = table.find(printed.get("of_interval", printed["unit"]), STATE[name].dimension)
    held, counted_from = held_unit(name, table), counted_from_of(printed)
    return Interval.between(
        *(float(bounds.to(printed_number(printed[end]), held)) + counted_from for end in ("low", "high"))
    )
