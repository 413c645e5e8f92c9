"""A job's document in the customary units of the United States.

The document is worked and rounded in SI units, and what is printed there is converted without rounding again: both
forms are one set of numbers, equal to the last bits of a float.
"""

from __future__ import annotations

from typing import Any

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


def in_us_units(part: Any) -> Any:
    """A document, or a part of it, with every quantity in US units; what has no such unit stays as it is."""
    if isinstance(part, list):
        return [in_us_units(item) for item in part]
    if not isinstance(part, dict):
        return part
    if isinstance(part.get("magnitude"), float) and isinstance(part.get("unit"), str):
        return _converted(part)
    return {key: in_us_units(item) for key, item in part.items()}


def _converted(quantity: dict[str, Any]) -> dict[str, Any]:
    symbol, magnitude = quantity["unit"], quantity["magnitude"]
    told = dict(quantity)
    if symbol in _TABLE:
        dimension, target = _TABLE[symbol]
        unit = units().find(target, dimension)
        told["magnitude"] = float(units().find(symbol, dimension).to(magnitude, unit))
        told["unit"] = unit.symbol
        if "ucum" in told:
            told["ucum"] = unit.ucum
    elif symbol in _COMPOUND:
        told["unit"], factors = _COMPOUND[symbol]
        for dimension, source, target, power in factors:
            one = float(units().find(source, dimension).to(1.0, units().find(target, dimension)))
            told["magnitude"] *= one**power
    told["magnitude"] = significant(told["magnitude"], CONVERTED_DIGITS)
    return told
