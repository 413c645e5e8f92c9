"""The pipe of a job by its standard: diameter and wall with the limits of the row's own standard."""

from __future__ import annotations

import math

from refdb.job.inputs.growth import Growth, growth
from refdb.job.inputs.held import Inputs, JobInput, metres
from refdb.pipes.limits import Limits, pipe_limits
from refdb.pipes.materials import Kinship
from refdb.pipes.pipe import PipeAnswer, one_pipe, printed_dimensions
from refdb.problems import BadParameter, MissingState
from refdb.units import Quantity, units
from refdb.units.sizes import NO_SOURCE
from refdb.values.options import Options


def read_nominal_pipe(inputs: Inputs, *, measured: bool) -> None:
    """Keep what a size and a designation say of the pipe, beside what was measured.

    Raises:
        MissingState: the size has no system.
        AmbiguousName: the size has several walls; the members that tell them apart are named.
        BadParameter: it contradicts what was measured.
    """
    pipe = inputs.job.pipe
    if pipe.system is None:
        raise MissingState("pipe.system: a size needs its system; name it.", parameter="pipe.system")
    # A printed millimetre and a printed inch are two readings: a sheet in inches starts from the printed inch.
    options = Options(inputs.job.units, estimates=inputs.options.estimates)
    found = inputs.database.pipes(pipe.system, pipe.size, pipe.designation, options, inputs.release)
    row = _one(inputs, found)
    inputs.rows[row.id] = row.record.digest
    wanted = units().find("in" if inputs.job.units == "us" else "mm", "length")
    printed = printed_dimensions(row.record, wanted)
    store = inputs.database.store
    limits = pipe_limits(store, inputs.release, Kinship(store, inputs.release), row.record, printed)
    grown = growth(inputs) if not measured else Growth(1.0, 0.0)
    if measured:
        _contradiction(inputs, row.id, metres(row.outside_diameter))
    else:
        _keep(inputs, "outside diameter", row.id, row.outside_diameter, limits.diameter, limits.diameter_by, grown)
    if "wall" in inputs.found and pipe.designation is not None:
        _wall_contradiction(inputs, row)
    if "wall" not in inputs.found and limits.wall is not None:
        _keep(inputs, "wall", row.id, row.wall, limits.wall, limits.wall_by, grown)


def _one(inputs: Inputs, found: list[PipeAnswer]) -> PipeAnswer:
    """The only pipe of the size, or the one whose wall was measured.

    Raises:
        AmbiguousName: it may be several.
    """
    pipe = inputs.job.pipe
    if len(found) > 1 and pipe.designation is None and "wall" in inputs.found:
        wall = inputs["wall"].value
        return min((row for row in found if row.printed_wall), key=lambda row: abs(metres(row.wall) - wall))
    return one_pipe(found, f"{pipe.system} {pipe.size}")


def _keep(
    inputs: Inputs, name: str, row: str, nominal: Quantity, limits: Limits, standard: str | None, grown: Growth
) -> None:
    """A dimension as the middle between its limits, with a rectangle over them."""
    middle, half = 0.0005 * (limits.low + limits.high), 0.0005 * (limits.high - limits.low)
    uncertainty = math.hypot(half / math.sqrt(3.0), middle * grown.uncertainty)
    inputs.keep(
        JobInput(name, middle * grown.factor, uncertainty, "length", "row", f"row {row}", distribution="rectangular")
    )
    by = f"the limits of {standard}" if standard else f"general limits, its standard's were not seen ({NO_SOURCE})"
    inputs.assumptions.append(
        f"pipe: {name} of row {row}: nominal {nominal}, {limits.low:.5g} mm to {limits.high:.5g} mm by {by}; the "
        "middle is worked with"
    )


def _contradiction(inputs: Inputs, row: str, nominal: float) -> None:
    held = inputs["outside diameter"]
    apart = abs(held.value - nominal)
    if apart > max(4.0 * held.uncertainty, 0.015 * nominal):
        raise BadParameter(
            f"pipe.size: contradicts the measured diameter: row {row} has {1000 * nominal:.2f} mm, measured were "
            f"{1000 * held.value:.2f} mm; leave one of the two out or measure again.",
            parameter="pipe.size",
        )


def _wall_contradiction(inputs: Inputs, row: PipeAnswer) -> None:
    """A wall far from its designation: refused where it is thicker, told where it is thinner, which age may explain."""
    held = inputs["wall"]
    nominal = metres(row.wall)
    apart = held.value - nominal
    if abs(apart) <= max(3.0 * held.uncertainty, 0.2 * nominal):
        return
    told = f"row {row.id} has {1000 * nominal:.2f} mm, measured were {1000 * held.value:.2f} mm"
    if apart > 0.0:
        raise BadParameter(
            f"pipe.designation: contradicts the measured wall: {told}; leave one of the two out or measure again.",
            parameter="pipe.designation",
        )
    inputs.warnings.append(f"pipe.wall: {told}: corroded, of another designation, or a gauge that was set wrong.")
