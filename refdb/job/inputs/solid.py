"""Properties of the wall and its lining, given or from rows of the database."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.job.quantities import celsius, positive
from refdb.lookup.state import read_state
from refdb.problems import MissingState, OutsideRange
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.job.acoustics.waves import Mode

from refdb.job.inputs.held import Inputs, JobInput, from_row, uncertainty_of


def solid(inputs: Inputs, material: str | None, property_id: str, given: str | None, field_name: str) -> Answer | float:
    """A material's property: given, or from its row at the wall's temperature.

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
        raise OutsideRange(
            f"{field_name}: {problem.detail} Give {field_name} with its uncertainty.", **problem.extensions
        ) from None
    return found.values[0]


def wave_speed(
    inputs: Inputs, label: str, material: str | None, mode: Mode, given: tuple[str | None, str | None], where: str
) -> JobInput:
    """The speed of one wave in a layer, remembered under a label."""
    found = solid(inputs, material, f"{mode}_speed", given[0], f"{where}.{mode}_speed")
    if isinstance(found, float | int):
        uncertainty = uncertainty_of(inputs, f"{where.rpartition('.')[2]}.speed", given[1], "speed", found)
        return inputs.keep(JobInput(label, found, uncertainty, "speed", "given"))
    return inputs.keep(from_row(label, found, "speed"))
