"""The pipe of a job: measured, or in its standard's words; its layers, its bore and its roughness."""

from __future__ import annotations

import math
from collections.abc import Container
from dataclasses import replace
from statistics import fmean, stdev
from typing import TYPE_CHECKING, Any

from refdb.job.quantities import celsius, not_negative, number, positive, steady_length
from refdb.pipes.measurement import TAPE_READING
from refdb.pipes.question import PipeQuestion
from refdb.problems import BadParameter, MissingState, Problem
from refdb.units import Quantity
from refdb.units.sizes import NO_SOURCE

if TYPE_CHECKING:
    from refdb.job.models import Lining

from refdb.job.inputs.growth import growth
from refdb.job.inputs.held import Inputs, JobInput, uncertainty_of
from refdb.job.inputs.nominal import read_nominal_pipe
from refdb.job.inputs.surface import read_roughness

_LENGTHS = (
    "circumference",
    "outside_diameter",
    "circumference_uncertainty",
    "outside_diameter_uncertainty",
    "wall",
    "wall_uncertainty",
    "tape_thickness",
    "coating",
)
_AS_MEASURED = (*_LENGTHS, "wall_points", "gauge_speed", "gauge_reads_coating", "system")


def read_pipe(inputs: Inputs) -> None:
    """Keep diameter, wall, layers and roughness of the pipe.

    Raises:
        Problem: a dimension is missing or wrong, contradicts another, or leaves no bore.
    """
    pipe = inputs.job.pipe
    measured = pipe.circumference is not None or pipe.outside_diameter is not None
    if measured:
        _measured_pipe(inputs)
    elif pipe.size is None:
        raise MissingState(
            "pipe: give a circumference or an outside_diameter, or a size of a system.", parameter="pipe.circumference"
        )
    if pipe.size is not None:
        read_nominal_pipe(inputs, measured=measured)
    if "wall" not in inputs.found:
        raise MissingState(
            "pipe.wall: is neither measured nor given by a designation; measure it.", parameter="pipe.wall"
        )
    if pipe.lining is not None:
        _lining(inputs, pipe.lining)
    _narrowing(inputs)
    read_roughness(inputs)


def _measured_pipe(inputs: Inputs) -> None:
    pipe = inputs.job.pipe
    told = {name: getattr(pipe, name) for name in _AS_MEASURED}
    told |= {name: _steady(told[name], f"pipe.{name}") for name in _LENGTHS if told[name] is not None}
    _several_circumferences(inputs, told)
    if pipe.circumference is not None and pipe.outside_diameter is not None:
        # The two agree, or the document had been refused; a tape averages over an oval pipe.
        told |= {"outside_diameter": None, "outside_diameter_uncertainty": None}
        inputs.assumptions.append("pipe.circumference and pipe.outside_diameter agree: the circumference is worked on")
    if pipe.wall is not None:
        told["temperature"] = f"{celsius(inputs.value('wall temperature')):.12g} degC"
    if pipe.gauge_speed is not None:
        told["material_speed"] = pipe.longitudinal_speed
    try:
        match = inputs.database.match_pipe(
            PipeQuestion(**told, material=pipe.material), options=inputs.options, release=inputs.release, limit=5
        )
    except Problem as problem:
        raise _of_pipe(problem, type(pipe).model_fields) from None
    for name, found in (("outside diameter", match.measured.outside_diameter), ("wall", match.measured.wall)):
        if found is not None:
            inputs.keep(
                JobInput(name, found.value / 1000.0, found.uncertainty / 1000.0, "length", "given", "as measured")
            )
    inputs.assumptions += [f"pipe: {text}" for text in match.measured.assumptions]
    _least_wall(inputs)
    _warm(inputs)
    _oval(inputs)
    document = match.document()
    inputs.candidates = {
        "items": [
            {
                "probability": item["probability"],
                "outcome": item["outcome"],
                "text": item["text"],
                "row": found.pipe.id if found.pipe is not None and found.outcome == "pipe" else None,
            }
            for found, item in zip(match.items, document["items"], strict=True)
        ],
        "advice": document["advice"],
        "prior": document["prior"]["name"],
    }


def _steady(given: str | list[str], where: str) -> Quantity | list[Quantity]:
    """One reading, or each of several, in millimetres."""
    return [steady_length(each, where) for each in given] if isinstance(given, list) else steady_length(given, where)


def _several_circumferences(inputs: Inputs, told: dict[str, Any]) -> None:
    """Readings of the tape at several places: their mean counts, with what they scatter in its uncertainty."""
    readings = told["circumference"]
    if not isinstance(readings, list):
        return
    amounts = [each.magnitude for each in readings]
    mean = fmean(amounts)
    told["circumference"] = Quantity(mean, readings[0].unit)
    if len(amounts) == 1 or told["circumference_uncertainty"] is not None:
        return
    scatter = stdev(amounts) / math.sqrt(len(amounts))
    uncertainty = math.hypot(TAPE_READING, scatter)
    told["circumference_uncertainty"] = Quantity(uncertainty, readings[0].unit)
    inputs.assumptions.append(
        f"pipe.circumference: mean of {len(amounts)} readings, {min(amounts):.5g} mm to {max(amounts):.5g} mm, "
        f"standard uncertainty {uncertainty:.2g} mm from their scatter and the reading of a tape"
    )


def _least_wall(inputs: Inputs) -> None:
    """The thinnest of several readings is told: the mean counts for the bore."""
    walls = inputs.job.pipe.wall
    if isinstance(walls, list) and len(walls) > 1:
        amounts = sorted(1000.0 * number(each, "length", "pipe.wall") for each in walls)
        inputs.assumptions.append(
            f"pipe.wall: mean of {len(walls)} readings, the least {amounts[0]:.4g} mm, the greatest "
            f"{amounts[-1]:.4g} mm"
        )


def _of_pipe(problem: Problem, fields: Container[str]) -> Problem:
    """The same problem, its field named as the job names it."""
    name, _, text = problem.detail.partition(":")
    own = {"material_speed": "longitudinal_speed", "temperature": "wall_temperature"}.get(name, name)
    if own not in fields:
        return problem
    return type(problem)(f"pipe.{own}:{text}", **{**problem.extensions, "parameter": f"pipe.{own}"})


def _warm(inputs: Inputs) -> None:
    """A pipe that was measured at another temperature than it runs at grows with its material."""
    text = inputs.job.pipe.measured_at
    if text is None:
        return
    grown = growth(inputs, number(text, "temperature", "pipe.measured_at"))
    for name in ("outside diameter", "wall"):
        if name in inputs.found:
            item = inputs[name]
            uncertainty = math.hypot(grown.factor * item.uncertainty, grown.uncertainty * item.value)
            inputs.keep(replace(item, value=grown.factor * item.value, uncertainty=uncertainty))


def _oval(inputs: Inputs) -> None:
    """Calipers across an oval pipe may have met any of its diameters; a tape around it averages them."""
    pipe = inputs.job.pipe
    if pipe.ovality is None:
        return
    part = not_negative(number(pipe.ovality, "dimensionless", "pipe.ovality"), "pipe.ovality")
    if pipe.circumference is not None or pipe.outside_diameter_uncertainty is not None:
        inputs.assumptions.append("pipe.ovality: averaged by the tape, or inside the uncertainty that was given")
        return
    item = inputs["outside diameter"]
    # Diameters of an ellipse: D (1 + e/2 cos 2a), any angle a as likely as another: standard deviation e D / sqrt(8).
    uncertainty = math.hypot(item.uncertainty, part * item.value / math.sqrt(8.0))
    inputs.keep(replace(item, uncertainty=uncertainty))
    inputs.assumptions.append("pipe.ovality: the calipers may have met any diameter of the oval")


def _lining(inputs: Inputs, lining: Lining) -> None:
    thickness = positive(lining.thickness, "length", "pipe.lining.thickness")
    uncertainty = uncertainty_of(
        inputs, "lining.thickness", lining.thickness_uncertainty, "length", thickness, "pipe.lining.thickness"
    )
    inputs.keep(JobInput("lining thickness", thickness, uncertainty, "length", "given"))


def _narrowing(inputs: Inputs) -> None:
    text = inputs.job.pipe.deposits
    value = number(text, "length", "pipe.deposits") if text is not None else 0.0
    uncertainty = (
        uncertainty_of(inputs, "deposits", inputs.job.pipe.deposits_uncertainty, "length", value, "pipe.deposits")
        if text
        else 0.0
    )
    inputs.keep(JobInput("deposits", value, uncertainty, "length", "given" if text else "default"))
    _check_bore(inputs)
    if text is not None:
        _layer_speed(inputs, "deposits", inputs.job.pipe.deposits_speed, inputs.value("sound speed"))
    coating = inputs.job.pipe.coating
    if coating is None:
        return
    if inputs.job.pipe.coating_speed is None:
        inputs.assumptions.append("pipe.coating_speed not given: the coating is taken off where the sensors stand")
        return
    thickness = positive(coating, "length", "pipe.coating")
    uncertainty = uncertainty_of(inputs, "coating", None, "length", thickness)
    inputs.keep(JobInput("coating", thickness, uncertainty, "length", "given"))
    _layer_speed(inputs, "coating", inputs.job.pipe.coating_speed, 0.0)


def _layer_speed(inputs: Inputs, layer: str, given: str | None, otherwise: float) -> None:
    """The speed in a coating or in deposits; that of the liquid for deposits of which nothing is known."""
    where, label = f"pipe.{layer}_speed", f"{layer} speed"
    if given is None:
        inputs.assumptions.append(f"{where} not given: that of the liquid, as in soft deposits ({NO_SOURCE})")
    value = positive(given, "speed", where) if given is not None else otherwise
    uncertainty = uncertainty_of(inputs, f"{layer}.speed", None, "speed", value)
    inputs.keep(JobInput(label, value, uncertainty, "speed", "given" if given is not None else "default"))


def _check_bore(inputs: Inputs) -> None:
    """Raises BadParameter, naming the layer that leaves no bore."""
    outside, wall = inputs.value("outside diameter"), inputs.value("wall")
    inside = outside - 2.0 * wall
    lining = inputs.value("lining thickness") if "lining thickness" in inputs.found else 0.0
    for name, thickness, room, what in (
        ("pipe.wall", wall, outside, "outside diameter"),
        ("pipe.lining.thickness", lining, inside, "bore of the bare pipe"),
        ("pipe.deposits", inputs.value("deposits"), inside - 2.0 * lining, "bore"),
    ):
        if 2.0 * thickness >= room:
            raise BadParameter(
                f"{name}: {1000 * thickness:.4g} mm on both sides leave no bore in {1000 * room:.4g} mm of {what}; "
                "check number and unit.",
                parameter=name,
            )
