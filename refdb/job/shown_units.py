"""The units that a job's document is shown in: SI or those customary in the United States, and the user's own.

The document is worked and rounded in SI units, and what is printed there is converted without rounding again: all forms
are one set of numbers, equal to the last bits of a float. A quantity inside a text keeps as many digits as it had.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from refdb.job.figures import number as figure
from refdb.units import significant, units

CONVERTED_DIGITS = 14
"""Takes off the last bits of a conversion and nothing of a number of twelve digits."""

_TABLE = {
    "mm": ("length", "in"),
    "m": ("length", "ft"),
    "m2": ("area", "in2"),
    "m/s": ("speed", "ft/s"),
    "m3/h": ("volume_flow", "US gal/min"),
    "kg/s": ("mass_flow", "lb/s"),
    "kg/m3": ("density", "lb/ft3"),
    "mPa.s": ("dynamic_viscosity", "cP"),
    "J/(kg.K)": ("specific_heat", "Btu/(lb.degF)"),
    "Pa": ("pressure", "psi"),
    "kPa": ("pressure", "psi"),
    "Np/m": ("absorption", "dB/in"),
    "s2/m": ("absorption_per_frequency_squared", "dB/(in.MHz2)"),
    "1/K": ("per_temperature", "1/degF"),
    "kW": ("power", "Btu/h"),
    "degC": ("temperature", "degF"),
}
"""The unit of the document, its dimension and the unit that stands in its place."""
_COMPOUND = {
    "K": ("delta_degF", (("temperature_difference", "delta_K", "delta_degF", 1),)),
    "delta_K": ("delta_degF", (("temperature_difference", "delta_K", "delta_degF", 1),)),
    "m/s/K": ("ft/s/degF", (("speed_per_temperature", "m/(s.K)", "ft/(s.degF)", 1),)),
    "K/(m/s)": ("degF/(ft/s)", (("speed_per_temperature", "m/(s.K)", "ft/(s.degF)", -1),)),
    "s/m": ("s/ft", (("length", "m", "ft", -1),)),
    "ns per m/s": ("ns per ft/s", (("speed", "m/s", "ft/s", -1),)),
    "kW.h/m3": ("Btu/US gal", (("energy", "kWh", "Btu", 1), ("volume", "m3", "US gal", -1))),
    "MJ/(m3.K)": (
        "Btu/(US gal.degF)",
        (
            ("energy", "MJ", "Btu", 1),
            ("volume", "m3", "US gal", -1),
            ("temperature_difference", "delta_K", "delta_degF", -1),
        ),
    ),
}
"""Units that the table does not hold, as products of powers of those it does; `K` is a difference here."""


_AS_IT_IS = frozenset(
    {
        *("title", "setting", "purpose", "release", "release_digest", "rows", "digest", "id", "sources", "documents"),
        *("source", "unit", "ucum", "given", "type", "step", "name", "input"),
    }
)
"""Members that are names, citations or the user's own words: nothing in them is converted."""
_IN_TEXT = {
    **{symbol: pair for symbol, pair in _TABLE.items() if symbol not in {"m2", "kg/s", "kW", "Np/m"}},
    "K": ("temperature_difference", "delta_degF"),
    "delta_K": ("temperature_difference", "delta_degF"),
    "1/K": ("per_temperature", "1/degF"),
    "Pa.s": ("dynamic_viscosity", "cP"),
    "MPa": ("pressure", "psi"),
    "dB/m": ("absorption", "dB/in"),
    "m": ("length", "ft"),
}
"""Units of quantities inside texts; `delta_K` and `K` are differences there."""
_QUANTITY = re.compile(
    r"(?<![\w.])(?P<number>[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?) (?P<unit>"
    + "|".join(re.escape(symbol) for symbol in sorted(_IN_TEXT, key=len, reverse=True))
    + r")(?![\w/(^])"
)
_WRITTEN = {"delta_degF": "degF"}


@dataclass(frozen=True, slots=True)
class ShownUnits:
    """The units of one sheet: a system, and the unit of flow that the user works in.

    Attributes:
        system: `si`, in which the document is worked, or `us`.
        flow: the symbol of the volume flow's unit.
    """

    system: str
    flow: str

    def target(self, symbol: str) -> tuple[str, str] | None:
        """The dimension and the unit that a unit of the document is shown in; None where it stays."""
        if symbol == "m3/h":
            return None if self.flow == symbol else ("volume_flow", self.flow)
        return _TABLE.get(symbol) if self.system == "us" else None

    def shown(self, part: Any) -> Any:
        """A document, or a part of it, in these units: numbers, and quantities inside its texts."""
        if isinstance(part, str):
            return self._text(part)
        if isinstance(part, list):
            return [self.shown(item) for item in part]
        if not isinstance(part, dict):
            return part
        if isinstance(part.get("magnitude"), float) and isinstance(part.get("unit"), str):
            return self._converted(part)
        return {key: item if key in _AS_IT_IS else self.shown(item) for key, item in part.items()}

    def _text(self, text: str) -> str:
        return _QUANTITY.sub(self._quantity, text)

    def _quantity(self, found: re.Match[str]) -> str:
        symbol, number = found["unit"], found["number"]
        pair = self.target(symbol) or (_IN_TEXT.get(symbol) if self.system == "us" and symbol != "m3/h" else None)
        if pair is None:
            return found[0]
        dimension, target = pair
        unit = units().find(target, dimension)
        turned = float(units().find(symbol, dimension).to(float(number), unit))
        sign = "+" if number.startswith("+") and turned >= 0.0 else ""
        return f"{sign}{_as_exact(number, turned, dimension)} {_WRITTEN.get(unit.symbol, unit.symbol)}"

    def _converted(self, quantity: dict[str, Any]) -> dict[str, Any]:
        symbol = quantity["unit"]
        told, pair = dict(quantity), self.target(symbol)
        if pair is not None:
            dimension, target = pair
            unit = units().find(target, dimension)
            told["magnitude"] = float(units().find(symbol, dimension).to(quantity["magnitude"], unit))
            told["unit"] = unit.symbol
            if "ucum" in told:
                told["ucum"] = unit.ucum
        elif self.system == "us" and symbol in _COMPOUND:
            told["unit"], factors = _COMPOUND[symbol]
            for dimension, source, target, power in factors:
                one = float(units().find(source, dimension).to(1.0, units().find(target, dimension)))
                told["magnitude"] *= one**power
        told["magnitude"] = significant(told["magnitude"], CONVERTED_DIGITS)
        return told


def _as_exact(before: str, after: float, dimension: str) -> str:
    """A converted number with as many digits as stood there; a temperature with as many decimals."""
    mantissa = before.lower().partition("e")[0].lstrip("+-")
    decimals = len(mantissa.partition(".")[2])
    if dimension == "temperature":
        return f"{after:.{decimals}f}"
    digits = max(len(mantissa.replace(".", "").lstrip("0")), 2)
    return f"{float(f'{after:.{digits}g}'):.{digits}g}" if "e" in before.lower() else figure(after, digits)
