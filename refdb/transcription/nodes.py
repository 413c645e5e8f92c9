"""Node values of grids, computed again with the library that their locators name: CoolProp.

The nodes lie where `refdb.exact.chebyshev.extremes` puts them. A pressure that begins at saturation begins at the
joined saturation pressure of the grid that is named for it. A node is equal where the library's value lies within one
unit of the last digit that was entered.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice
from typing import Any, NamedTuple

from refdb.exact.chebyshev import extremes
from refdb.forms.states import ATTRIBUTES, StatePoint
from refdb.problems import BadParameter
from refdb.records.grids import function_of_grid
from refdb.records.models import Grid, GridAxis
from refdb.records.numbers import numbers_of
from refdb.records.printed import printed_number
from refdb.records.state_functions import axis_of
from refdb.transcription.compared import Compared, recomputed
from refdb.transcription.libraries import Library, module_of
from refdb.units import units
from refdb.vocabulary import properties

COOLPROP = "CoolProp"

OUTPUTS = {
    "density": "iDmass",
    "dynamic_viscosity": "iviscosity",
    "freezing_point": "iT_freeze",
    "saturation_pressure": "iP",
    "sound_speed": "ispeed_sound",
    "specific_heat": "iCpmass",
}
"""The library's name of a property; it gives the SI unit."""

EDGE = 1e-9
"""How far within an end the library was asked about an incompressible liquid, in K or kg/kg: it refuses some ends of
its own ranges for their rounding."""

PRESSING = 5e6
"""Pa at which incompressible liquids are asked: any pressure above saturation gives the same."""

ICE_POINT = 273.15
"""K at 0 degC."""

_VERSION = r"CoolProp (?P<version>\d+(?:\.\d+)*)"
_ASKED = re.compile(rf"{_VERSION}, (?:AbstractState )?(?P<backend>HEOS|INCOMP)(?: |::)(?P<name>[^,]+),")
_COEFFICIENTS = re.compile(rf"the coefficients of (?P<backend>INCOMP)::(?P<name>\S+) in {_VERSION}")

_Curve = Callable[[StatePoint], float]


class _Liquid(NamedTuple):
    """A liquid as a locator names it: asked of the library, or evaluated from the coefficients that it carries."""

    library: Library
    backend: str
    name: str
    asked: bool


def names_a_liquid(grid: Grid) -> bool:
    """Whether a grid's locator names a liquid of CoolProp, so that `compare` can compute its nodes again."""
    return _liquid(grid) is not None


def compare(grid: Grid, grids: Mapping[str, Grid], limit: int | None = None) -> list[Compared]:
    """The node values of a grid against the library's, in the order of the nodes.

    Args:
        grid: one whose locator names a liquid of CoolProp.
        grids: other grids by id, among them the one that gives its saturation pressure.
        limit: at most so many nodes, one or more, spread evenly; None for all of them.

    Returns:
        One for each node. `found` is the library's value, rounded to the last digit that was entered; it is None where
        the library refuses the state, as it does below the freezing point.

    Raises:
        BadParameter: the locator names no liquid that CoolProp knows.
        LibraryNeeded: CoolProp is not installed, or not in the version that the locator names.
    """
    liquid = _liquid(grid)
    if liquid is None:
        raise _no_liquid(grid)
    coolprop = module_of(liquid.library, "CoolProp.CoolProp")
    try:
        asked = _Asked(coolprop, liquid, grid)
    except ValueError:
        raise _no_liquid(grid) from None
    step = 1 if limit is None else -(-len(grid.values) // limit)
    states = islice(_states(grid.axes, StatePoint(), _saturation(grid, grids), _edges(grid, liquid)), 0, None, step)
    numbers = islice((number for number in numbers_of(grid) if number.place.startswith("values.")), 0, None, step)
    return [recomputed(number, asked.value(state)) for number, state in zip(numbers, states, strict=True)]


def states_of(grid: Grid, grids: Mapping[str, Grid]) -> Iterator[StatePoint]:
    """The states at which a grid's values were computed, in their order; `grids` as for `compare`."""
    return _states(grid.axes, StatePoint(), _saturation(grid, grids), {axis.name: (0.0, 0.0) for axis in grid.axes})


def _no_liquid(grid: Grid) -> BadParameter:
    return BadParameter(
        f"grid: the locator of {grid.id} names no liquid that CoolProp knows; give a grid whose nodes it computed.",
        parameter="grid",
        given=grid.id,
    )


def _liquid(grid: Grid) -> _Liquid | None:
    for pattern in (_ASKED, _COEFFICIENTS):
        found = pattern.match(grid.locator)
        if found is not None and grid.property in OUTPUTS:
            library = Library(COOLPROP, found["version"])
            return _Liquid(library, found["backend"], found["name"], pattern is _ASKED)
    return None


class _Asked:
    """The library, asked for one property of one liquid."""

    def __init__(self, coolprop: Any, liquid: _Liquid, grid: Grid) -> None:
        self._coolprop = coolprop
        self._state = coolprop.AbstractState(liquid.backend, liquid.name)
        self._output = getattr(coolprop, OUTPUTS[grid.property])
        self._boiling = grid.property == "saturation_pressure"
        if liquid.backend == "HEOS" and not self._boiling:
            self._state.specify_phase(coolprop.iphase_liquid)
        dimension = properties()[grid.property]["dimension"]
        self._given, self._printed = units().si(dimension), units().find(grid.unit, dimension)

    def value(self, state: StatePoint) -> float | None:
        """In the unit of the grid; None where the library refuses the state."""
        try:
            if state.strength is not None:
                self._state.set_mass_fractions([state.strength])
            if state.celsius is not None:
                self._go_to(state.celsius + ICE_POINT, PRESSING if state.pascals is None else state.pascals)
            return float(self._given.to(self._state.keyed_output(self._output), self._printed))
        except ValueError:
            return None

    def _go_to(self, kelvin: float, pascals: float) -> None:
        if self._boiling:
            self._state.update(self._coolprop.QT_INPUTS, 0.0, kelvin)
        else:
            self._state.update(self._coolprop.PT_INPUTS, pascals, kelvin)


def _states(
    axes: Sequence[GridAxis], given: StatePoint, saturation: _Curve, edges: Mapping[str, tuple[float, float]]
) -> Iterator[StatePoint]:
    """The states of the nodes, the last axis varying fastest."""
    if not axes:
        yield given
        return
    axis, others = axes[0], axes[1:]
    held = axis_of(axis.model_dump(exclude_none=True), units())
    low = saturation(given) if axis.low == "saturation" else held.held(printed_number(axis.low))
    high = held.held(printed_number(axis.high))
    places = [low + (high - low) * (place + 1.0) / 2.0 for place in extremes(axis.nodes)]
    first, last = edges[axis.name]
    places[0] += first
    places[-1] -= last
    for place in places:
        yield from _states(others, replace(given, **{ATTRIBUTES[axis.name]: place}), saturation, edges)


def _edges(grid: Grid, liquid: _Liquid) -> dict[str, tuple[float, float]]:
    """How far within its low and its high end each axis was asked, found by recomputing what was entered."""
    edges: dict[str, tuple[float, float]] = {axis.name: (0.0, 0.0) for axis in grid.axes}
    if liquid.asked and liquid.backend == "INCOMP":
        if "strength" in edges:
            edges["strength"] = (EDGE, 0.0)
        elif len(edges) == 1:
            edges["temperature"] = (EDGE, EDGE)
    return edges


def _saturation(grid: Grid, grids: Mapping[str, Grid]) -> _Curve:
    """The saturation pressure in Pa at which the pressures of a grid begin."""
    if grid.saturation is None:
        return lambda _: 0.0
    curve_of = grids[grid.saturation]
    pascals = units().find(curve_of.unit, "pressure")
    curve = function_of_grid(curve_of.plain(), lambda wanted: grids[wanted].plain(), units())
    return lambda state: float(pascals.to(curve.value(state), units().si("pressure")))
