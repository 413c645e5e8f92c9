"""Sensors whose data nobody has, fitted to spacings that are known to be right."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from refdb.job.acoustics.spacing import Fitted, Known, Layer, fit_sensors
from refdb.job.quantities import difference, number, positive
from refdb.problems import BadParameter
from refdb.units.sizes import NO_SOURCE

if TYPE_CHECKING:
    from refdb.job.models import KnownSpacing

SPACING_UNCERTAINTY = 0.0005
"""m: of a known spacing, where none is given."""
WEDGE_SPEED = 2500.0
"""m/s: any speed does, with the angle that gives the slowness; sensors are described by one nobody measured."""


def fit_document(content: Mapping[str, Any]) -> dict[str, Any]:
    """Slowness and offset with their uncertainties and residuals, and the sensors as a job takes them.

    Raises:
        BadParameter: the spacings do not fix the sensors.
    """
    from refdb.job.models import FitQuestion
    from refdb.job.reading import read_model

    known = [_known(item, f"known.{place}") for place, item in enumerate(read_model(FitQuestion, content).known)]
    try:
        found = fit_sensors(known)
    except ValueError as error:
        raise BadParameter(f"known: {error}; add one.", parameter="known") from None
    return {
        "slowness": {"magnitude": found.along, "unit": "s/m"},
        "slowness_uncertainty": {"magnitude": found.along_uncertainty, "unit": "s/m"},
        "offset": {"magnitude": 1000.0 * found.offset, "unit": "mm"},
        "offset_uncertainty": {"magnitude": 1000.0 * found.offset_uncertainty, "unit": "mm"},
        "correlation": found.correlation,
        "residuals": [{"magnitude": 1000.0 * each, "unit": "mm"} for each in found.residuals],
        "scatter": found.scatter,
        "sensors": _sensors(found),
        "text": "any wedge angle and speed with sin(angle)/speed equal to this slowness describe the sensors",
        "warnings": _words(found),
        "assumptions": [f"known spacings: standard uncertainty 0.5 mm where none is given ({NO_SOURCE})"],
    }


def _known(item: KnownSpacing, where: str) -> Known:
    lengths = {name: positive(getattr(item, name), "length", f"{where}.{name}") for name in ("bore", "wall")}
    speeds = {name: positive(getattr(item, name), "speed", f"{where}.{name}") for name in ("sound_speed", "wall_speed")}
    layers = [Layer(lengths["wall"], speeds["wall_speed"])]
    if (item.lining is None) != (item.lining_speed is None):
        raise BadParameter(f"{where}.lining: needs lining_speed, and that needs it; give both.", parameter="known")
    if item.lining is not None and item.lining_speed is not None:
        thickness = positive(item.lining, "length", f"{where}.lining")
        layers.append(Layer(thickness, positive(item.lining_speed, "speed", f"{where}.lining_speed")))
    uncertainty, name = SPACING_UNCERTAINTY, f"{where}.spacing_uncertainty"
    if item.spacing_uncertainty is not None:
        uncertainty = difference(item.spacing_uncertainty, "length", name)
        if uncertainty == 0.0:
            raise BadParameter(f"{name}: must be above zero, since spacings are weighted by it.", parameter=name)
    place = number(item.spacing, "length", f"{where}.spacing")
    return Known(place, item.passes, lengths["bore"], speeds["sound_speed"], tuple(layers), uncertainty)


def _sensors(found: Fitted) -> dict[str, str]:
    """The members of a job's sensors that the fit gives."""
    speed = min(WEDGE_SPEED, 0.5 / found.along)
    angle = math.asin(found.along * speed)
    uncertainty = found.along_uncertainty * speed / math.cos(angle)
    return {
        "angle": f"{math.degrees(angle):.8g} deg",
        "angle_uncertainty": f"{math.degrees(uncertainty):.3g} deg",
        "speed": f"{speed:.8g} m/s",
        "speed_uncertainty": "0 m/s",
        "offset": f"{1000.0 * found.offset:.6g} mm",
        "offset_uncertainty": f"{1000.0 * found.offset_uncertainty:.3g} mm",
    }


def _words(found: Fitted) -> list[str]:
    if found.scatter is None:
        return ["Two spacings fix slowness and offset with nothing left over: a third one would show whether they fit."]
    if found.scatter > 2.0:
        return [
            f"The residuals are {found.scatter:.1f} times what the uncertainties of the spacings allow: one of the "
            "spacings, pipes or speeds is wrong; the uncertainties given here have grown with them."
        ]
    return []
