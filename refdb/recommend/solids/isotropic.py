"""Rule `isotropic-moduli/1`: speeds from moduli, and the check that speeds of one reading fit together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from itertools import product

from refdb.exact.sums import root_sum_square
from refdb.forms.elasticity import poisson_ratio_of_speeds, speeds_from_moduli
from refdb.recommend.evidence import input_of, weakest_basis, weakest_seen
from refdb.recommend.policy import Family
from refdb.records import number_text, printed_number
from refdb.records.models import (
    PropertyReading,
    RecommendedUncertainty,
    RecommendedValue,
    Scalar,
    Subject,
)
from refdb.records.rules import ISOTROPIC_MODULI
from refdb.units import UnitTable

MODULI = ("youngs_modulus", "poisson_ratio", "density")


def derive_speed(
    subject: Subject,
    property_id: str,
    rows: Mapping[str, RecommendedValue],
    family: Family,
) -> RecommendedValue | None:
    """A speed of a metal from its recommended moduli, or None where one of them is missing."""
    needed = [rows.get(f"{subject.id}.{name}") for name in MODULI]
    if any(row is None for row in needed):
        return None
    moduli = [row for row in needed if row is not None]
    numbers = [float(row.form["coefficients"]["c0"]) for row in moduli]
    uncertainties = [float(row.uncertainty.number) for row in moduli]
    which = 0 if property_id == "longitudinal_speed" else 1
    speed = speeds_from_moduli(*numbers)[which]
    parts = [_effect(numbers, index, uncertainties[index], which) for index in range(len(numbers))]
    model = float(family.model) * speed / 2.0
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit="m/s",
        form={"name": "constant/1", "coefficients": {"c0": number_text(speed, 4)}},
        domain={"temperature": family.room_temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(root_sum_square(*parts, model), 2),
            unit="m/s",
            code="propagated",
            text="propagated from Young's modulus, Poisson's ratio and density, with what static moduli may be off by",
        ),
        rule=ISOTROPIC_MODULI.name,
        basis=weakest_basis(["derived", *(row.basis for row in moduli)]),
        seen=weakest_seen(row.seen for row in moduli),
        rung="derived",
        inputs=[
            input_of(row, note=f"contributes {number_text(part, 2)} m/s")
            for row, part in zip(moduli, parts, strict=True)
        ],
        working={"static_modulus_allowance": f"{number_text(model, 2)} m/s"},
    )


def inconsistent_pairs(readings: Iterable[PropertyReading], table: UnitTable) -> dict[str, str]:
    """Readings of both speeds in one place of one source that no isotropic solid can have, with the numbers.

    Only 0 < nu < 0.5 is asked for here, which holds for every isotropic solid met in practice. A reading that fits one
    of its companions is not doubted; printed ranges are not checked.
    """
    rows: dict[tuple[str, str, str | None], dict[str, list[Scalar]]] = defaultdict(lambda: defaultdict(list))
    for reading in readings:
        if isinstance(reading, Scalar) and reading.property in {"longitudinal_speed", "shear_speed"}:
            rows[reading.source, reading.locator, reading.condition][reading.property].append(reading)
    found: dict[str, str] = {}
    for row in rows.values():
        pairs = [
            (
                longitudinal,
                shear,
                poisson_ratio_of_speeds(*(_metres_per_second(r, table) for r in (longitudinal, shear))),
            )
            for longitudinal, shear in product(row["longitudinal_speed"], row["shear_speed"])
        ]
        fitting = {reading.id for *pair, nu in pairs if 0.0 < nu < 0.5 for reading in pair}
        for longitudinal, shear, nu in pairs:
            printed = f"{longitudinal.number} and {shear.number} {shear.unit}"
            words = f"inconsistent: {printed} give Poisson's ratio {nu:.3f}"
            found |= {reading.id: words for reading in (longitudinal, shear) if reading.id not in fitting}
    return found


def _effect(numbers: list[float], index: int, uncertainty: float, which: int) -> float:
    """Half the change of the speed when one modulus moves by plus and minus its standard uncertainty."""
    high, low = list(numbers), list(numbers)
    high[index] += uncertainty
    low[index] -= uncertainty
    return abs(speeds_from_moduli(*high)[which] - speeds_from_moduli(*low)[which]) / 2.0


def _metres_per_second(reading: Scalar, table: UnitTable) -> float:
    unit = table.find(reading.unit, "speed")
    return float(unit.to(printed_number(reading.number), table.si("speed")))
