"""Which inputs of a job err together: the wall and its sound speed, the diameter and the wall under one coating."""

from __future__ import annotations

from refdb.job.acoustics.ray import speed_of
from refdb.job.inputs.held import Inputs
from refdb.job.quantities import positive
from refdb.pipes.measurement import COATING_SPEED, THICKNESS
from refdb.problems import Problem

SAME_METAL = 0.7
"""Of the errors of the longitudinal speed a gauge is set to and of the speed of the wave in the same wall, where no row
tells it (judgement)."""
GAUGE_SPEED = 0.01
"""Of the wall: what the speed a gauge is set to leaves uncertain, where nothing better is known (judgement)."""


def correlations_of(inputs: Inputs) -> dict[tuple[str, str], float]:
    """Coefficients of the pairs of inputs that err together; pairs that are not named are independent."""
    pairs: dict[tuple[str, str], float] = {}
    wall = inputs["wall"]
    if wall.origin != "given" or wall.uncertainty == 0.0:
        return pairs
    # In a faster metal the echo comes earlier: the wall is thicker than the gauge says, and faster than the table says.
    part = min(GAUGE_SPEED * wall.value / wall.uncertainty, 1.0)
    pairs[("wall", "wall speed")] = _same_metal(inputs) * part
    if inputs.job.pipe.gauge_reads_coating == "yes":
        shared = _coating(inputs)
        if shared > 0.0:
            pairs[("outside diameter", "wall")] = shared
    return pairs


def _same_metal(inputs: Inputs) -> float:
    """How the gauge's longitudinal speed and the wave's errs together: by the wall's row, where it tells it."""
    answer = inputs["wall speed"].answer
    if answer is None:
        return SAME_METAL
    told = answer.text.fixed.get("correlations", {})
    return float(told.get(f"{answer.subject}.longitudinal_speed", SAME_METAL))


def _coating(inputs: Inputs) -> float:
    """One coating is taken off both: twice off the diameter and once off the wall, so that both err to one side."""
    text = inputs.job.pipe.coating
    outside, wall = inputs["outside diameter"], inputs["wall"]
    if text is None or outside.uncertainty == 0.0:
        return 0.0
    uncertainty = THICKNESS * positive(text, "length", "pipe.coating")
    try:
        ratio = speed_of(inputs, "longitudinal") / COATING_SPEED[0]
    except Problem:
        return 0.0
    return min(2.0 * uncertainty * ratio * uncertainty / (outside.uncertainty * wall.uncertainty), 1.0)
