"""In which unit each number of a rule's working stands: records hold the bare number.

A working is what a rule shows of its arithmetic, an entry a line. Where an entry is text, or says its unit itself
(`0.36 %`, `56 m/s`), nothing need be added. Bare numbers are of one of the kinds below.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import Enum
from typing import Any


class Kind(Enum):
    """What a bare number of a working is."""

    VALUE = "in the unit of the row"
    SHARE = "a part of the value, one being all of it"
    COST = "in the unit of the row, or a part of the value where the logarithm of the value was joined"
    NUMBER = "a count, or another number without unit"
    TOLD = "text, or a number that says its unit"


KINDS: Mapping[str, Kind] = {
    "allowance": Kind.TOLD,
    "between_sources": Kind.VALUE,
    "beyond": Kind.TOLD,
    "degrees_of_freedom": Kind.NUMBER,
    "density_at_15_degc": Kind.TOLD,
    "dispersion": Kind.TOLD,
    "expansion": Kind.TOLD,
    "family": Kind.TOLD,
    # As a number with degrees of freedom behind it in consensus/2, with its % in curve-fit.
    "family_spread": Kind.VALUE,
    "fit_error": Kind.TOLD,
    "highest": Kind.VALUE,
    "independent_readings": Kind.NUMBER,
    # Bare in surface-fit/1 alone.
    "joining": Kind.COST,
    "kinds_differ": Kind.TOLD,
    # Bare in reference/1 alone.
    "largest_disagreement": Kind.VALUE,
    "largest_disagreement_at_1_atm": Kind.TOLD,
    "left_out_error": Kind.TOLD,
    "log_spread": Kind.NUMBER,
    "lowest": Kind.VALUE,
    "mean": Kind.VALUE,
    "mean_uncertainty": Kind.VALUE,
    "members": Kind.NUMBER,
    "neglected_temperature_dependence": Kind.VALUE,
    "order": Kind.NUMBER,
    "other_ways": Kind.TOLD,
    "points": Kind.NUMBER,
    "pooled_spread": Kind.VALUE,
    "pressure_range": Kind.TOLD,
    "range": Kind.TOLD,
    "reason": Kind.TOLD,
    "relative_density_60_60_degf": Kind.NUMBER,
    "relative_difference": Kind.SHARE,
    "relative_difference_of_the_model": Kind.SHARE,
    "relative_excess_taken_off": Kind.SHARE,
    "relatives": Kind.TOLD,
    "relatives_allowance": Kind.TOLD,
    "residuals": Kind.TOLD,
    "rise": Kind.TOLD,
    "scatter": Kind.TOLD,
    "slope": Kind.TOLD,
    "slope_rule": Kind.TOLD,
    "slope_uncertainty": Kind.TOLD,
    "slopes": Kind.TOLD,
    "standard_deviation": Kind.VALUE,
    "standard_uncertainty_at_15_degc": Kind.TOLD,
    "standard_uncertainty_of_density": Kind.TOLD,
    "static_modulus_allowance": Kind.TOLD,
    "static_modulus_bias": Kind.TOLD,
    "t_quantile": Kind.NUMBER,
    "typical_member_uncertainty": Kind.VALUE,
    "typical_reading_uncertainty": Kind.VALUE,
    "unstated_room_temperature": Kind.VALUE,
    "way": Kind.TOLD,
}
"""Every entry that a rule has ever written."""

_BARE = re.compile(r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?= with |$)")
"""A number without unit, to the end of the text or before the degrees of freedom that it has."""


def working_units(row: Mapping[str, Any]) -> dict[str, str]:
    """The unit of every entry of a recommended row's working that is a bare number with a unit; `1` for a part."""
    working: Mapping[str, str] = row.get("working", {})
    found = {entry: _unit(row, entry) for entry, text in working.items() if _BARE.match(text)}
    return {entry: unit for entry, unit in found.items() if unit is not None}


def bare_number(text: str) -> tuple[str, str] | None:
    """The bare number that an entry begins with and what follows it; None where it begins with none."""
    found = _BARE.match(text)
    return (found.group(), text[found.end() :]) if found is not None else None


def _unit(row: Mapping[str, Any], entry: str) -> str | None:
    kind = KINDS.get(entry)
    if kind is Kind.COST:
        kind = Kind.SHARE if row["form"].get("of") == "logarithm" else Kind.VALUE
    if kind is Kind.SHARE:
        return "1"
    return str(row["unit"]) if kind is Kind.VALUE else None
