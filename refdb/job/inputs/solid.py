"""Properties of the wall and its lining, given or from rows of the database."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.job.quantities import celsius, positive
from refdb.lookup.find import subject_named
from refdb.lookup.state import read_state
from refdb.problems import MissingState, NotAvailable, OutsideRange, Problem
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.job.acoustics.waves import Mode

from refdb.job.inputs.bounds import bound_of_answer, bound_of_solid, bounded_input, middle
from refdb.job.inputs.frequency import at_own_frequency
from refdb.job.inputs.held import Bound, Inputs, JobInput, from_row, uncertainty_of


def solid(
    inputs: Inputs, material: str | None, property_id: str, given: str | None, field_name: str, *, bounded: bool = False
) -> Answer | float | Bound:
    """A material's property: given, or from its row at the wall's temperature.

    Args:
        bounded: where estimates are accepted, what it lies between serves where nothing else is known.

    Raises:
        Problem: it is neither, or the row does not reach the temperature; the sentence says which member to give.
    """
    dimension = "speed" if property_id.endswith("speed") else "density"
    if given is not None:
        return positive(given, dimension, field_name)
    if material is None:
        raise MissingState(f"{field_name}: is not given, and no material is named.", parameter=field_name)
    degrees = celsius(inputs.value("wall temperature"))
    try:
        found = inputs.database.values(
            material,
            [property_id],
            state=read_state(f"{degrees:.12g} degC"),
            options=inputs.options,
            release=inputs.release,
            kind="material",
        )
    except OutsideRange as problem:
        if bounded and inputs.options.estimates:
            key = (material, property_id)
            if key not in inputs.bounds:
                inputs.bounds[key] = bound_of_solid(inputs, material, property_id, problem)
            if (bound := inputs.bounds[key]) is not None:
                return bound
        raise _refused(inputs, problem, field_name) from None
    except NotAvailable as problem:
        raise _refused(inputs, problem, field_name) from None
    answer = found.values[0]
    if answer.limits is None:
        return answer
    if not bounded:
        told = f"{field_name}: {answer.subject} has no more than a bound, {answer.words}"
        raise _refused(inputs, NotAvailable(told, parameter=field_name), field_name)
    inputs.rows[answer.row] = answer.digest
    return bound_of_answer(answer)


def _refused(inputs: Inputs, problem: OutsideRange | NotAvailable, field_name: str) -> Problem:
    """The same refusal, with the members that would mend it."""
    way_out = f"Give {field_name} with its uncertainty"
    more = dict(problem.extensions)
    if not inputs.options.estimates and isinstance(problem, OutsideRange):
        way_out += ', or accept = "estimates" for a bound in its place'
        more["estimate_available"] = True
    return type(problem)(f"{field_name}: {problem.detail} {way_out}.", **more)


def number_of(found: Answer | float | Bound) -> float:
    """The number that is worked with, in the SI unit."""
    if isinstance(found, Bound):
        return middle(found)
    return float(found) if isinstance(found, float | int) else float(found.magnitude)


def wave_speed(
    inputs: Inputs, label: str, material: str | None, mode: Mode, given: tuple[str | None, str | None], where: str
) -> JobInput:
    """The speed of one wave in a layer, remembered under a label."""
    found = solid(inputs, material, f"{mode}_speed", given[0], f"{where}.{mode}_speed", bounded=True)
    _warn_of_directions(inputs, material, where)
    if isinstance(found, Bound):
        return inputs.keep(bounded_input(label, found, "speed"))
    if isinstance(found, float | int):
        key = f"{where.rpartition('.')[2]}.speed"
        uncertainty = uncertainty_of(inputs, key, given[1], "speed", found, f"{where}.{mode}_speed")
        return inputs.keep(JobInput(label, found, uncertainty, "speed", "given"))
    return inputs.keep(at_own_frequency(inputs, from_row(label, found, "speed")))


def _warn_of_directions(inputs: Inputs, material: str | None, where: str) -> None:
    """A wall that is not the same in all directions has no one speed: the radial one is that of no leaning beam."""
    if material is None:
        return
    try:
        body = subject_named(inputs.database.store, material, inputs.release, "material").body
    except Problem:
        return
    text = (
        f"{where}.material: {body['name']} is not isotropic: sound is told for the direction of the beam, and a speed "
        "measured straight through the wall is no substitute; give the speed of a beam that leans, or "
        "a wide uncertainty."
    )
    if not body["isotropic"] and text not in inputs.warnings:
        inputs.warnings.append(text)
