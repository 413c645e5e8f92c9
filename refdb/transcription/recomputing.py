"""Values computed again with the library that their locators or their document name, other than CoolProp.

Of a table the values alone are compared: the temperatures at which they were computed were chosen by whoever entered
them, so that no carrier holds them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import islice

from refdb.forms.states import ATTRIBUTES, StatePoint
from refdb.problems import BadParameter
from refdb.records.models import Grid, PropertyReading, Reading, Scalar, Source, Table
from refdb.records.numbers import EnteredNumber, numbers_of
from refdb.records.printed import printed_number
from refdb.records.state_functions import axis_of
from refdb.transcription import coefficients, formulations
from refdb.transcription.compared import Compared, recomputed
from refdb.transcription.equations import LibraryEquation
from refdb.transcription.libraries import Library, library_named
from refdb.transcription.nodes import states_of
from refdb.units import units

EQUATIONS: Mapping[str, Callable[[Library, PropertyReading, Source], LibraryEquation | None]] = {
    "aquasol": coefficients.of_aquasol,
    "chemicals": coefficients.of_chemicals,
    "gsw": formulations.of_gsw,
    "iapws": formulations.of_iapws,
    "thermo": coefficients.of_thermo,
}
"""Of a library's name: finds the equation at which a reading points."""

Computed = Grid | Table | Scalar


def library_of(reading: Reading, source: Source) -> Library | None:
    """The library with which `compare` computes a reading again; None where it cannot."""
    equation = _equation(reading, source)
    return None if equation is None else equation.library


def compare(reading: Reading, source: Source, grids: Mapping[str, Grid], limit: int | None = None) -> list[Compared]:
    """The values of a reading against those that the library gives at the same states.

    Args:
        reading: a grid, a table or a number for which `library_of` tells a library.
        source: its document, whose `seen_at` names the library where the locator does not.
        grids: other grids by id, among them one that gives its saturation pressure.
        limit: at most so many values, one or more, spread evenly; None for all of them.

    Returns:
        One for each value, in order. `found` is None where the library refuses the state.

    Raises:
        BadParameter: the reading points at no equation that is known here, or at nothing that the library holds.
        LibraryNeeded: the library is not installed, or not in the version that is named.
    """
    equation = _equation(reading, source)
    if equation is None or not isinstance(reading, Computed):
        raise _no_equation(reading)
    try:
        value = equation.prepared()
    except LookupError:
        raise _no_equation(reading) from None
    numbers = _values(reading)
    step = 1 if limit is None else -(-len(numbers) // limit)
    told = islice(zip(numbers, _states(reading, grids), strict=True), 0, None, step)
    return [recomputed(number, _tried(value, state)) for number, state in told]


def _equation(reading: Reading, source: Source) -> LibraryEquation | None:
    """The equation of a reading, where its values are in the unit that was entered."""
    library = library_named(reading.locator) or library_named(source.seen_at)
    if library is None or library.name not in EQUATIONS or not isinstance(reading, Computed):
        return None
    equation = EQUATIONS[library.name](library, reading, source)
    return equation if equation is not None and equation.unit == reading.unit else None


def _values(reading: Computed) -> list[EnteredNumber]:
    """The entered numbers that are values: not the temperatures of a table."""
    if isinstance(reading, Scalar):
        wanted = {"number"}
    elif isinstance(reading, Table):
        wanted = {f"points.{index}.1" for index in range(len(reading.points))}
    else:
        wanted = {f"values.{index}" for index in range(len(reading.values))}
    return [number for number in numbers_of(reading) if number.place in wanted]


def _states(reading: Computed, grids: Mapping[str, Grid]) -> Iterator[StatePoint]:
    if isinstance(reading, Grid):
        yield from states_of(reading, grids)
    elif isinstance(reading, Table):
        axis = axis_of(reading.variable.model_dump(exclude_none=True), units())
        for x, _ in reading.points:
            yield StatePoint(**{ATTRIBUTES[axis.name]: axis.held(printed_number(x))})
    else:
        yield StatePoint()


def _tried(value: Callable[[StatePoint], float], state: StatePoint) -> float | None:
    try:
        return value(state)
    except ValueError:
        return None


def _no_equation(reading: Reading) -> BadParameter:
    return BadParameter(
        f"reading: {reading.id} points at no equation of a library that is computed here; name the table or the "
        "function in its locator, and the library with its version there or in seen_at of the document.",
        parameter="reading",
        given=reading.id,
    )
