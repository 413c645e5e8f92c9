"""Rules `quotient/1`, `expansion/1` and `classical-absorption/1`: what follows from other rows of a liquid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

from refdb.exact.functions import EXACT
from refdb.exact.sums import root_sum_square
from refdb.forms.base import FormSpec
from refdb.forms.inner import PARTS
from refdb.forms.states import ATTRIBUTES, StatePoint
from refdb.recommend.evidence import FROM_SEEN, weakest_basis, weakest_seen
from refdb.recommend.policy import ExpansionPolicy
from refdb.records import digest, number_text, printed_number
from refdb.records.models import (
    RUNG_ORDER,
    AnyInterval,
    Input,
    PrintedInterval,
    RecommendedUncertainty,
    RecommendedValue,
    Rung,
    StateVariable,
)
from refdb.records.rules import (
    CLASSICAL_ABSORPTION,
    EXPANSION,
    GRID_NEAR_ATMOSPHERE_EXACT,
    QUOTIENT,
    SOLUTION_GRID_EXACT,
    SURFACE_FIT_EXACT,
)
from refdb.records.state_functions import function_of_form, held_unit
from refdb.units import UnitTable
from refdb.vocabulary import STATE

ORDER: tuple[StateVariable, ...] = ("temperature", "pressure", "salinity", "strength")
WITHOUT_SLOPE = ("constant/1",)
"""Forms that say nothing of how a density changes with the temperature."""

WARNED = (GRID_NEAR_ATMOSPHERE_EXACT.name, SOLUTION_GRID_EXACT.name, SURFACE_FIT_EXACT.name)
"""Rules whose rows pass what they warn of on to what is derived from them."""

BOUNDED = "absorption_over_frequency_squared"
VISCOSITY_WAYS = (("dynamic_viscosity", "density"), ("kinematic_viscosity",))
"""Rows that give a kinematic viscosity."""
QUOTIENT_TEXT = "propagated from dynamic viscosity and density"
BOUND_TEXT = "propagated from viscosity, density and sound speed; that of the bound, not of the real absorption"
BOUND_NOTE = (
    "Absorption: a lower bound, not a value. It is Stokes' absorption by shear viscosity alone, with the bulk "
    "viscosity taken as 0; no measured absorption of this liquid was seen in print. Real absorption is from about as "
    "much (mercury, very viscous oils) over three times (water) to hundreds of times as much (benzene, carbon "
    "disulphide)."
)
"""Stands in every row of the rule, so that each answer says it."""

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
    return RecommendedValue(
        id=f"{subject}.kinematic_viscosity",
        subject=subject,
        property="kinematic_viscosity",
        unit="m2/s",
        form=spec,
        domain=domain,
        uncertainty=_propagated((viscosity, density), (1.0, 1.0), domain, table, QUOTIENT_TEXT),
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


def bound_absorption(subject: str, rows: Mapping[str, RecommendedValue], table: UnitTable) -> RecommendedValue | None:
    """The least absorption over frequency squared; None where viscosity, density or sound speed is missing.

    None too where they share no range, or write a part of the state in different units. Of dynamic viscosity with
    density, and kinematic viscosity alone, the pair of the better rung is taken, the former where they are equal.

    Args:
        rows: what is recommended for the subject, on whatever rung, by row id.
    """
    found = [
        parts for names in VISCOSITY_WAYS if (parts := _all_of(subject, (*names, "sound_speed"), rows)) is not None
    ]
    return _bound(subject, min(found, key=lambda parts: RUNG_ORDER.index(_rung_of(parts))), table) if found else None


def _propagated(
    rows: Sequence[RecommendedValue], powers: Sequence[float], domain: Domain, table: UnitTable, text: str
) -> RecommendedUncertainty:
    """Of a product of powers: the relative uncertainties, each times the size of its power, in quadrature."""
    weighted = list(zip(powers, rows, strict=True))
    growing = [power * float(row.uncertainty.per_megapascal or 0.0) for power, row in weighted]
    return RecommendedUncertainty(
        number=number_text(root_sum_square(*(power * _relative(row, domain, table) for power, row in weighted)), 2),
        unit="%",
        code="propagated",
        text=text,
        per_megapascal=number_text(root_sum_square(*growing), 2) if any(growing) else None,
    )


def _bound(subject: str, parts: Sequence[RecommendedValue], table: UnitTable) -> RecommendedValue | None:
    *viscosity, speed = parts
    domain = _shared_by_all([row.domain for row in parts], table)
    axes = _joined([_axes(row.form) for row in parts])
    if domain is None or axes is None:
        return None
    powers = [*(1.0 for _ in viscosity), 3.0]
    notes = ["viscosity, to the power 1", "density, to the power -1"][: len(viscosity)]
    return RecommendedValue(
        id=f"{subject}.{BOUNDED}",
        subject=subject,
        property=BOUNDED,
        unit="s2/m",
        bound="lower",
        form={
            "name": "classical-absorption/1",
            "axes": _axes_spec(axes),
            "viscosity": viscosity[0].form,
            **({"density": viscosity[1].form} if len(viscosity) > 1 else {}),
            "sound_speed": speed.form,
            **_bounds_spec(*(row.form for row in reversed(parts))),
        },
        domain=domain,
        uncertainty=_propagated(parts, powers, domain, table, BOUND_TEXT),
        rule=CLASSICAL_ABSORPTION.name,
        basis=weakest_basis(["derived", *(row.basis for row in parts)]),
        seen=weakest_seen([row.seen for row in parts]),
        rung=_rung_of(parts),
        inputs=[_input(row, note) for row, note in zip(parts, [*notes, "sound speed, to the power -3"], strict=True)],
        notes=[BOUND_NOTE, *(_warnings(*parts) or [])],
        freezes_at=next((row.freezes_at for row in reversed(parts) if row.freezes_at), None),
    )


def _all_of(subject: str, names: Sequence[str], rows: Mapping[str, RecommendedValue]) -> list[RecommendedValue] | None:
    """The subject's rows of some properties; None where one is missing or is itself made of forms."""
    found = [rows.get(f"{subject}.{name}") for name in names]
    usable = [row for row in found if row is not None and row.form["name"] in PARTS]
    return usable if len(usable) == len(names) else None


def _rung_of(parts: Sequence[RecommendedValue]) -> Rung:
    """The rung of what is derived from some rows: never above `derived`, nor above the weakest of them."""
    return max(["derived", *(row.rung for row in parts)], key=RUNG_ORDER.index)


def _joined(axes: Sequence[Axes]) -> Axes | None:
    """All parts of the state that some forms depend on; None where two write one of them in different units."""
    joined: Axes = {}
    for own in axes:
        if any(joined[name] != own[name] for name in own.keys() & joined.keys()):
            return None
        joined |= own
    return joined


def _shared_by_all(domains: Sequence[Domain], table: UnitTable) -> Domain | None:
    """What all of some domains share; None where that is nothing."""
    shared: Domain | None = domains[0]
    for domain in domains[1:]:
        shared = None if shared is None else _shared(shared, domain, table)
    return shared


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
    told = {name: [spec[name] for spec in specs if name in spec] for name in names}
    return {name: found[0] for name, found in told.items() if found}


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
    function, names = function_of_form(row.form, table, EXACT), list(_axes(row.form))
    corners = product(*(_ends(domain[name], name, table) for name in names))
    points = (StatePoint(**{ATTRIBUTES[name]: end for name, end in zip(names, c, strict=True)}) for c in corners)
    values = [abs(float(function.value(point))) for point in points]
    return 100.0 * number / min(values)


def _ends(interval: AnyInterval, name: StateVariable, table: UnitTable) -> tuple[float, ...]:
    """Both ends of an interval in the unit of states; the upper one alone where the lower one moves."""
    texts = (interval.low, interval.high) if isinstance(interval, PrintedInterval) else (interval.high,)
    own = table.find(interval.unit, STATE[name].dimension)
    return tuple(float(own.to(printed_number(text), held_unit(name, table))) for text in texts)
