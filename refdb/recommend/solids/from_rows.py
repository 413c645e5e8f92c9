"""Rule `isotropic-moduli/2`: a speed nobody published, from what is recommended for the same material."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from refdb.exact.sums import root_sum_square
from refdb.forms.elasticity import speeds_from_moduli
from refdb.recommend.evidence import AT_ROOM_TEMPERATURE, input_of, weakest_basis, weakest_seen
from refdb.recommend.policy import Family
from refdb.records import number_text
from refdb.records.models import RecommendedUncertainty, RecommendedValue, Subject
from refdb.records.rules import ISOTROPIC

UNBOUNDED = 0.5
"""Poisson's ratio at which no shear wave travels and the longitudinal speed for a given modulus grows without limit."""


@dataclass(frozen=True, slots=True)
class Way:
    """One relation of isotropic elasticity: which properties, what they give, and whether it needs static moduli."""

    words: str
    needed: tuple[str, ...]
    speed: Callable[..., float]
    static: bool


def _shear_share(nu: float) -> float:
    """cS²/cL² of an isotropic solid."""
    return (1.0 - 2.0 * nu) / (2.0 * (1.0 - nu))


WAYS: Mapping[str, tuple[Way, ...]] = {
    "longitudinal_speed": (
        Way(
            "E, nu and rho",
            ("youngs_modulus", "poisson_ratio", "density"),
            lambda modulus, nu, density: speeds_from_moduli(modulus, nu, density)[0],
            static=True,
        ),
        Way(
            "cS and nu",
            ("shear_speed", "poisson_ratio"),
            lambda shear, nu: shear / math.sqrt(_shear_share(nu)),
            static=False,
        ),
    ),
    "shear_speed": (
        Way(
            "E, nu and rho",
            ("youngs_modulus", "poisson_ratio", "density"),
            lambda modulus, nu, density: speeds_from_moduli(modulus, nu, density)[1],
            static=True,
        ),
        Way(
            "G and rho",
            ("shear_modulus", "density"),
            lambda modulus, density: math.sqrt(modulus / density),
            static=True,
        ),
        Way(
            "cL and nu",
            ("longitudinal_speed", "poisson_ratio"),
            lambda longitudinal, nu: longitudinal * math.sqrt(_shear_share(nu)),
            static=False,
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class _Result:
    """What one way gives, with the contribution of each input and of what static moduli may be off by."""

    way: Way
    rows: Sequence[RecommendedValue]
    speed: float
    parts: Sequence[float]
    model: float

    @property
    def uncertainty(self) -> float:
        return root_sum_square(*self.parts, self.model)

    def words(self) -> str:
        return f"from {self.way.words}: {number_text(self.speed, 4)} ± {number_text(self.uncertainty, 2)} m/s"


def derive_isotropic_speed(
    subject: Subject, property_id: str, rows: Mapping[str, RecommendedValue], family: Family
) -> RecommendedValue | None:
    """A speed of an isotropic material by the way with the least uncertainty, or None where no way is open.

    Args:
        rows: what is published for the subject, by row id; nothing derived or estimated may be among it.
    """
    ways = [way for way in WAYS[property_id] if family.elastic or not way.static]
    results = [result for way in ways if (result := _follow(way, subject.id, rows, family)) is not None]
    if not results:
        return None
    best, *others = sorted(results, key=lambda result: result.uncertainty)
    working = {"way": best.words()} | ({"other_ways": "; ".join(o.words() for o in others)} if others else {})
    if best.model:
        working["static_modulus_allowance"] = f"{number_text(best.model, 2)} m/s"
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit="m/s",
        form={"name": "constant/1", "coefficients": {"c0": number_text(best.speed, 4)}},
        domain={"temperature": family.room_temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(best.uncertainty, 2),
            unit="m/s",
            code="propagated",
            text=f"propagated from {best.way.words}"
            + (", with what static moduli may be off by" if best.model else ""),
        ),
        rule=ISOTROPIC.name,
        basis=weakest_basis(["derived", *(row.basis for row in best.rows)]),
        seen=weakest_seen(row.seen for row in best.rows),
        rung="derived",
        inputs=[
            input_of(row, note=f"contributes {number_text(part, 2)} m/s")
            for row, part in zip(best.rows, best.parts, strict=True)
        ],
        working=working,
    )


def _follow(way: Way, subject: str, rows: Mapping[str, RecommendedValue], family: Family) -> _Result | None:
    found = [row for name in way.needed if (row := rows.get(f"{subject}.{name}")) is not None]
    if len(found) < len(way.needed) or any(row.form["name"] not in AT_ROOM_TEMPERATURE for row in found):
        return None
    numbers = [float(row.form["coefficients"]["c0"]) for row in found]
    uncertainties = [float(row.uncertainty.number) for row in found]
    if _leaves_the_isotropic(way, numbers, uncertainties):
        return None
    speed = way.speed(*numbers)
    parts = [_effect(way, numbers, place, uncertainties[place]) for place in range(len(numbers))]
    # What separates static moduli from ultrasonic ones; half of it, because a speed goes with the root of a modulus.
    model = float(family.model) * speed / 2.0 if way.static or not family.elastic else 0.0
    return _Result(way, found, speed, parts, model)


def _leaves_the_isotropic(way: Way, numbers: Sequence[float], uncertainties: Sequence[float]) -> bool:
    """Whether Poisson's ratio may reach 0.5 within its expanded uncertainty: to first order nothing is known then."""
    if "poisson_ratio" not in way.needed:
        return False
    place = way.needed.index("poisson_ratio")
    return numbers[place] + 2.0 * uncertainties[place] >= UNBOUNDED


def _effect(way: Way, numbers: Sequence[float], place: int, uncertainty: float) -> float:
    """Half the change of the speed when one input moves by plus and minus its standard uncertainty."""
    high, low = list(numbers), list(numbers)
    high[place] += uncertainty
    low[place] -= uncertainty
    return abs(way.speed(*high) - way.speed(*low)) / 2.0
