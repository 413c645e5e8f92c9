"""Numbers as people read them: two significant digits of the uncertainty decide how many are shown."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

PLAIN_DIGITS = 5
"""Significant digits of a number whose uncertainty is not told."""
EXACT_DIGITS = 7
"""The same of a number that was given without one."""
LARGEST, SMALLEST = 1e7, 1e-4
"""Numbers beyond these are written with a power of ten."""


def plain(quantity: Mapping[str, Any] | None, digits: int = PLAIN_DIGITS) -> str:
    """A quantity of a document without an uncertainty, such as `204.9 mm`; nothing where there is none."""
    if quantity is None:
        return ""
    return f"{number(quantity['magnitude'], digits)}{_unit(quantity['unit'])}"


def number(magnitude: float, digits: int = PLAIN_DIGITS) -> str:
    """A number to significant digits, without a power of ten where it can be read without one."""
    size = abs(magnitude)
    if size == 0.0:
        return "0"
    if not math.isfinite(magnitude) or size >= LARGEST or size < SMALLEST:
        return f"{magnitude:.{digits}g}"
    places = max(0, digits - 1 - math.floor(math.log10(size)))
    text = f"{magnitude:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def decided(value: Mapping[str, Any], uncertainty: Mapping[str, Any]) -> tuple[str, str]:
    """A value and its standard uncertainty: the uncertainty to two significant digits, the value to the same place."""
    size = abs(uncertainty["magnitude"])
    if size == 0.0 or not math.isfinite(size):
        return plain(value, EXACT_DIGITS), ""
    size = float(f"{size:.1e}")
    largest = max(abs(value["magnitude"]), size)
    if largest >= LARGEST or largest < SMALLEST:
        digits = 2 + max(0, math.floor(math.log10(largest)) - math.floor(math.log10(size)))
        return f"{value['magnitude']:.{digits - 1}e}{_unit(value['unit'])}", f"{size:.1e}{_unit(uncertainty['unit'])}"
    places = 1 - math.floor(math.log10(size))
    shown = max(0, places)
    return (
        f"{round(value['magnitude'], places):.{shown}f}{_unit(value['unit'])}",
        f"{round(size, places):.{shown}f}{_unit(uncertainty['unit'])}",
    )


def joined(value: Mapping[str, Any], uncertainty: Mapping[str, Any]) -> str:
    """`191.3 mm ± 1.7 mm`."""
    amount, spread = decided(value, uncertainty)
    return f"{amount} ± {spread}" if spread else amount


def expanded(value: Mapping[str, Any], standard: Mapping[str, Any]) -> str:
    """A value with its expanded uncertainty (k = 2), from the standard one: `191.3 mm ± 3.4 mm`."""
    return joined(value, {**standard, "magnitude": 2.0 * standard["magnitude"]})


_WRITTEN = {
    "delta_K": "K",
    "delta_degF": "°F",
    "degC": "°C",
    "degF": "°F",
    "deg": "°",
    "1": "",
    "us": "µs",
}
_POWERS = (("m2", "m²"), ("m3", "m³"), ("ft2", "ft²"), ("ft3", "ft³"), ("in2", "in²"))


def _unit(symbol: str) -> str:
    """A unit as it is written after a number, with the blank before it."""
    written = _WRITTEN.get(symbol, symbol)
    for plainly, power in _POWERS:
        written = written.replace(plainly, power)
    return written if written in {"", "°"} else f" {written}"
