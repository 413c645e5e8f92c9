"""From a row in its plain form to the function of states that evaluates it.

The unit table is an argument, because the compiled one need not exist yet when values are recommended.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.constants import STANDARD_ATMOSPHERE
from refdb.forms.functions import PLAIN, Functions
from refdb.forms.state_function import StateFunction, Uncertainty, VapourBound
from refdb.forms.states import Interval, StateAxis
from refdb.units import Unit, UnitTable
from refdb.vocabulary import STATE

AT_A_GUARD = frozenset({"saturation", "freezing"})
"""Words for a low end of a domain at which the guards of boiling and freezing stand."""

TEMPERATURE: Mapping[str, Any] = {"name": "temperature", "unit": "degC"}


def held_unit(part: str, table: UnitTable) -> Unit:
    """The unit in which states hold a part."""
    return table.find(STATE[part].unit, STATE[part].dimension)


def counted_from_of(printed: Mapping[str, Any]) -> float:
    """Pa from which a variable counts a pressure, as a record names it: 1 atm for a gauge pressure."""
    return STANDARD_ATMOSPHERE if printed.get("gauge") else 0.0


def axis_of(printed: Mapping[str, Any], table: UnitTable) -> StateAxis:
    """The axis of a variable as a record names it: `name` and `unit`, perhaps `scale` and `gauge`."""
    name = printed["name"]
    unit, held = table.find(printed["unit"], STATE[name].dimension), held_unit(name, table)
    scale = printed.get("scale")
    return StateAxis(
        name,
        float(unit.difference_to(1.0, held)),
        unit.offset / held.scale + counted_from_of(printed),
        held.offset / held.scale,
        None if scale == "ITS-90" else scale,
    )


def axes_of_form(spec: Mapping[str, Any], table: UnitTable) -> list[StateAxis]:
    """The axes of a form from its description; one that names none has one of temperature."""
    return [axis_of(printed, table) for printed in spec.get("axes", [spec.get("variable", TEMPERATURE)])]


def function_of_form(spec: Mapping[str, Any], table: UnitTable, functions: Functions = PLAIN) -> StateFunction:
    """A form alone as a function of states, without the domain and the uncertainty of a row."""
    return StateFunction(spec, axes_of_form(spec, table), functions=functions)


def function_of_row(body: Mapping[str, Any], table: UnitTable, functions: Functions = PLAIN) -> StateFunction:
    """A recommended row, or a house value in its shape, as a function of states."""
    spec, uncertainty = body["form"], body["uncertainty"]
    return StateFunction(
        spec,
        axes_of_form(spec, table),
        intervals={name: _interval(name, printed, table) for name, printed in body["domain"].items()},
        uncertainty=Uncertainty(
            float(uncertainty["number"]),
            uncertainty["unit"] == "%",
            float(uncertainty.get("per_megapascal", "0")),
            float(uncertainty.get("per_kelvin", "0")),
        ),
        freezing=function_of_form(spec["freezing"], table, functions) if "freezing" in spec else None,
        vapour=_vapour_bound(spec["boiling"], table, functions) if "boiling" in spec else None,
        at_saturation=body["domain"].get("pressure", {}).get("not_given") == "saturation",
        functions=functions,
    )


def _vapour_bound(spec: Mapping[str, Any], table: UnitTable, functions: Functions) -> VapourBound:
    """From what stands under `boiling` in the description of a form: `pressure`, a form in Pa, and `most`."""
    curve = spec["pressure"]
    axis = curve["axes"][0]
    most = float(spec["most"]) if "most" in spec else None
    return VapourBound(function_of_form(curve, table, functions), float(axis["low"]), float(axis["high"]), most)


def _interval(name: str, printed: Mapping[str, str], table: UnitTable) -> Interval:
    own, held = table.find(printed["unit"], STATE[name].dimension), held_unit(name, table)
    high = float(own.to(float(printed["high"]), held))
    if printed["low"] in AT_A_GUARD:
        return Interval.between(0.0 if name == "pressure" else -held.offset, high)
    return Interval.between(float(own.to(float(printed["low"]), held)), high)
