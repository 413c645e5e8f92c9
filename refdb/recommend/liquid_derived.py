"""Rules `quotient/1` and `expansion/1`: what follows from the density of a liquid."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import product
from typing import Any

from refdb.forms import make_form
from refdb.forms.base import FormSpec
from refdb.recommend.evidence import FROM_SEEN, weakest_basis, weakest_seen
from refdb.recommend.policy import ExpansionPolicy
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    AnyInterval,
    Input,
    PrintedInterval,
    RecommendedUncertainty,
    RecommendedValue,
    StateVariable,
)
from refdb.records.rules import EXPANSION, GRID_NEAR_ATMOSPHERE, QUOTIENT, SOLUTION_GRID, SURFACE_FIT
from refdb.units import UnitTable
from refdb.vocabulary import STATE

ORDER: tuple[StateVariable, ...] = ("temperature", "pressure", "salinity", "strength")
WITHOUT_SLOPE = ("constant/1",)
"""Forms that say nothing of how a density changes with the temperature."""

WARNED = (GRID_NEAR_ATMOSPHERE.name, SOLUTION_GRID.name, SURFACE_FIT.name)
"""Rules whose rows pass what they warn of on to what is derived from them."""

Axes = dict[StateVariable, str]
"""The parts of the state that a form depends on, each with its unit."""

Domain = dict[StateVariable, AnyInterval]


def derive_kinematic_viscosity(
    subject: str, rows: Mapping[str, RecommendedValue], table: UnitTable
) -> RecommendedValue | None:
    """Dynamic viscosity over density, over the range of both; None where one is missing or they share no range.

    None too where the two write a part of the state in different units: their forms are kept as they are.

    Args:
        rows: what is published for the subject, by row id.
    """
    viscosity, density = rows.get(f"{subject}.dynamic_viscosity"), rows.get(f"{subject}.density")
    if viscosity is None or density is None or not {viscosity.rung, density.rung} <= set(FROM_SEEN):
        return None
    above, below = _axes(viscosity.form), _axes(density.form)
    domain = _shared(viscosity.domain, density.domain, table)
    if domain is None or any(above[name] != below[name] for name in above.keys() & below.keys()):
        return None
    spec = {
        "name": "quotient/1",
        "axes": _axes_spec(above | below),
        "numerator": viscosity.form,
        "denominator": density.form,
        **_bounds_spec(density.form, viscosity.form),
    }
    parts = [_relative(viscosity, domain, table), _relative(density, domain, table)]
    growing = [float(row.uncertainty.per_megapascal or 0.0) for row in (viscosity, density)]
    return RecommendedValue(
        id=f"{subject}.kinematic_viscosity",
        subject=subject,
        property="kinematic_viscosity",
        unit="m2/s",
        form=spec,
        domain=domain,
        uncertainty=RecommendedUncertainty(
            number=number_text(math.hypot(*parts), 2),
            unit="%",
            code="propagated",
            text="propagated from dynamic viscosity and density",
            per_megapascal=number_text(math.hypot(*growing), 2) if any(growing) else None,
        ),
        rule=QUOTIENT.name,
        basis=weakest_basis(["derived", viscosity.basis, density.basis]),
        seen=weakest_seen([viscosity.seen, density.seen]),
        rung="derived",
        inputs=[_input(viscosity, "divided"), _input(density, "divided by")],
        freezes_at=density.freezes_at or viscosity.freezes_at,
        notes=_warnings(viscosity, density),
    )


def derive_expansion(
    subject: str, rows: Mapping[str, RecommendedValue], policy: ExpansionPolicy, table: UnitTable
) -> RecommendedValue | None:
    """The slope of the density; None where no density with a slope is published.

    Args:
        rows: what is published for the subject, by row id.
    """
    density = rows.get(f"{subject}.density")
    if density is None or density.rung not in FROM_SEEN or density.form["name"] in WITHOUT_SLOPE:
        return None
    axes = _axes(density.form)
    if axes.get("temperature") != "degC":
        return None
    relative = _relative(density, density.domain, table)
    return RecommendedValue(
        id=f"{subject}.thermal_expansion",
        subject=subject,
        property="thermal_expansion",
        unit="1/K",
        form={
            "name": "expansion/1",
            "axes": _axes_spec(axes),
            "density": density.form,
            **_bounds_spec(density.form),
        },
        domain=density.domain,
        uncertainty=RecommendedUncertainty(
            number=number_text(relative / 100.0 / printed_number(policy.span), 2),
            unit="1/K",
            code="propagated",
            text=f"the density's, {number_text(relative, 2)} %, over {policy.span} K: {policy.reason}",
        ),
        rule=EXPANSION.name,
        basis=weakest_basis(["derived", density.basis]),
        seen=density.seen,
        rung="derived",
        inputs=[_input(density, "its slope along the temperature")],
        freezes_at=density.freezes_at,
        notes=_warnings(density),
    )


def _axes(spec: FormSpec) -> Axes:
    if "axes" in spec:
        return {axis["name"]: axis["unit"] for axis in spec["axes"]}
    if "variable" in spec:
        return {spec["variable"]["name"]: spec["variable"]["unit"]}
    return {"temperature": "degC"}


def _axes_spec(axes: Axes) -> list[dict[str, str]]:
    return [{"name": name, "unit": axes[name]} for name in ORDER if name in axes]


def _bounds_spec(*specs: FormSpec) -> dict[str, Any]:
    """Where the liquid freezes and boils, as the first of the forms that knows it says."""
    names = ("freezing", "boiling")
    return {name: next(spec[name] for spec in specs if name in spec) for name in names if any(name in s for s in specs)}


def _warnings(*rows: RecommendedValue) -> list[str] | None:
    """What rows that know no pressure warn of, each warning once; of others the derived rows say nothing yet."""
    told = [note for row in rows if row.rule in WARNED for note in row.notes or []]
    return list(dict.fromkeys(told)) or None


def _input(row: RecommendedValue, note: str) -> Input:
    return Input(id=row.id, digest=digest(row.plain()), note=note)


def _shared(one: Domain, other: Domain, table: UnitTable) -> Domain | None:
    """What two domains share; None where that is nothing."""
    shared: Domain = {}
    for name in ORDER:
        intervals = [domain[name] for domain in (one, other) if name in domain]
        if not intervals:
            continue
        both = intervals[0] if len(intervals) == 1 else _intersection(name, intervals[0], intervals[1], table)
        if both is None:
            return None
        shared[name] = both
    return shared


def _intersection(name: StateVariable, one: AnyInterval, other: AnyInterval, table: UnitTable) -> AnyInterval | None:
    """The part of two intervals that both cover, in the words of one; printed bounds stand before those that move."""
    kept, beside = (one, other) if isinstance(one, PrintedInterval) else (other, one)
    dimension = STATE[name].dimension
    unit = table.find(kept.unit, dimension)

    def here(text: str, spelling: str) -> float:
        return float(table.find(spelling, dimension).to(printed_number(text), unit))

    update: dict[str, str] = {}
    if here(beside.high, beside.unit) < printed_number(kept.high):
        update["high"] = beside.high if beside.unit == kept.unit else number_text(here(beside.high, beside.unit), 9)
    both_printed = isinstance(kept, PrintedInterval) and isinstance(beside, PrintedInterval)
    if both_printed and here(beside.low, beside.unit) > printed_number(kept.low):
        update["low"] = beside.low if beside.unit == kept.unit else number_text(here(beside.low, beside.unit), 9)
    merged = kept.model_copy(update=update)
    if isinstance(merged, PrintedInterval) and printed_number(merged.low) > printed_number(merged.high):
        return None
    return merged


def _relative(row: RecommendedValue, domain: Domain, table: UnitTable) -> float:
    """The standard uncertainty of a row in percent: an absolute one relative to the smallest value at the corners."""
    number = float(row.uncertainty.number)
    if row.uncertainty.unit == "%":
        return number
    form = make_form(row.form)
    axes = _axes(row.form)
    ends = [_ends(domain[name], name, axes[name], table) for name in _names(form.variables)]
    values = [abs(float(form.value(*corner))) for corner in product(*ends)]
    return 100.0 * number / min(values)


def _names(variables: tuple[str, ...]) -> list[StateVariable]:
    return [name for name in ORDER if name in variables]


def _ends(interval: AnyInterval, name: StateVariable, unit: str, table: UnitTable) -> tuple[float, ...]:
    """Both ends of an interval in a unit; the upper one alone where the lower one moves."""
    dimension = STATE[name].dimension
    texts = (interval.low, interval.high) if isinstance(interval, PrintedInterval) else (interval.high,)
    own, target = table.find(interval.unit, dimension), table.find(unit, dimension)
    return tuple(float(own.to(printed_number(text), target)) for text in texts)
