"""What the outside checks share: records of the text, put into numbers without the rules that are being checked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from refdb.forms import make_form
from refdb.forms.scales import to_scale
from refdb.records import printed_number

Record = dict[str, Any]
Records = dict[str, Record]
Curve = Callable[[float], float]

ATMOSPHERE_MPA = 0.101325
KELVIN = 273.15


def as_printed(record: Record, **coefficients: str) -> Curve:
    """An equation as its document prints it: a function of the temperature on the document's own scale.

    Args:
        coefficients: digits to put in the place of the record's, to see what a misprint would do.
    """
    form = make_form(
        {
            "name": record["form"],
            "variable": record["variable"],
            "coefficients": record["coefficients"] | coefficients,
        }
    )
    return lambda degrees: float(form.value(degrees))


def on_its90(record: Record, **coefficients: str) -> Curve:
    """An equation as a function of the temperature in degC on ITS-90."""
    curve = as_printed(record, **coefficients)
    scale = record["variable"].get("scale")
    return lambda celsius: curve(float(to_scale(celsius, scale)))


def interval(record: Record) -> tuple[float, float]:
    """The interval that the document gives for its equation."""
    return printed_number(record["interval"]["low"]), printed_number(record["interval"]["high"])


def steps(low: float, high: float, step: float) -> Iterator[float]:
    """Temperatures from low to high, both included."""
    count = max(1, round((high - low) / step))
    return (low + (high - low) * index / count for index in range(count + 1))


def farthest(curve: Curve, reference: Curve, temperatures: Iterator[float]) -> tuple[float, float]:
    """The largest difference curve minus reference in size, and the temperature where it stands."""
    return max(
        ((curve(celsius) - reference(celsius), celsius) for celsius in temperatures), key=lambda pair: abs(pair[0])
    )
