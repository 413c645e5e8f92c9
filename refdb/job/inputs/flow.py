"""The flows of a job."""

from __future__ import annotations

from refdb.job.inputs.held import Inputs
from refdb.job.quantities import positive
from refdb.problems import MissingState


def flows(inputs: Inputs) -> dict[str, float]:
    """The flows of the range in m3/s, by name.

    Raises:
        MissingState: none is given.
        BadParameter: one is not above zero.
    """
    asked = inputs.job.flow
    if asked is None:
        raise MissingState("flow.normal: is not given; say what flows, as in 40 m3/h.", parameter="flow.normal")
    texts = {"minimum": asked.minimum, "normal": asked.normal, "maximum": asked.maximum}
    return {name: positive(text, "volume_flow", f"flow.{name}") for name, text in texts.items() if text is not None}
