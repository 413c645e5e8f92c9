"""Rule `wound-wall/1`: between what sound goes in a wall wound of fibres, from the constants of its layers.

A layer with all fibres one way is stiffest along them, and alike in all directions across them. Wound at plus and minus
one angle to the axis of a pipe, layers make a wall that has three axes of its own: along, around and through. A beam
from a wedge goes in the plane of the first and the last, and its speed there depends on how far it leans: the speed
straight through, the root of C33 over the density, is that of no such beam.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from refdb.problems import LedgerError
from refdb.recommend.evidence import RECTANGULAR, weakest_seen
from refdb.recommend.policy import Family, Laminate, WoundWalls
from refdb.records import digest, number_text
from refdb.records.models import Input, PropertyReading, RecommendedUncertainty, RecommendedValue, Scalar, Subject
from refdb.records.readings import single_value
from refdb.records.rules import WOUND_WALL
from refdb.units import UnitTable

LEANS = 12
"""Steps in the square of the sine, from straight through to the greatest lean."""


@dataclass(frozen=True, slots=True)
class WoundLayer:
    """The constants of a layer in SI: fibres along axis 1, the wall's thickness along axis 3.

    Attributes:
        along, across: Young's moduli along the fibres and across them.
        poisson_along, poisson_across: the contraction across the fibres under a load along them, and across another
            load across them.
        shear_along: the shear modulus in planes that hold the fibres.
    """

    along: float
    across: float
    poisson_along: float
    poisson_across: float
    shear_along: float
    density: float

    @property
    def shear_across(self) -> float:
        """The shear modulus in the plane across the fibres, in which the layer is isotropic."""
        return self.across / (2.0 * (1.0 + self.poisson_across))

    def stiffness(self) -> tuple[float, float, float, float]:
        """C11, C12, C22 and C23 in Pa; C13 is C12, and C33 is C22.

        The inverse of the compliances 1/E1, -nu12/E1, 1/E2 and -nu23/E2.
        """
        minor = self.poisson_along * self.across / self.along
        rest = 1.0 - self.poisson_across - 2.0 * self.poisson_along * minor
        whole = (1.0 + self.poisson_across) * rest
        return (
            self.along * (1.0 - self.poisson_across) / rest,
            self.across * self.poisson_along / rest,
            self.across * (1.0 - self.poisson_along * minor) / whole,
            self.across * (self.poisson_across + self.poisson_along * minor) / whole,
        )


def speeds(layer: WoundLayer, cosine_squared: float, sine_squared: float) -> tuple[float, float]:
    """The phase speeds in m/s of the quasi-longitudinal and the quasi-shear wave in the plane of axis and radius.

    Args:
        cosine_squared: of the angle between the fibres, plus and minus, and the axis of the pipe.
        sine_squared: of the angle between the beam and the radius.
    """
    c11, c12, c22, c23 = layer.stiffness()
    c, s = cosine_squared, 1.0 - cosine_squared
    axial = c * c * c11 + 2.0 * c * s * (c12 + 2.0 * layer.shear_along) + s * s * c22
    coupled = c * c12 + s * c23
    shear = c * layer.shear_along + s * layer.shear_across
    along, through = sine_squared, 1.0 - sine_squared
    first = axial * along + shear * through
    second = shear * along + c22 * through
    mixed = (coupled + shear) * (coupled + shear) * along * through
    apart = math.sqrt((first - second) * (first - second) + 4.0 * mixed)
    fast, slow = (first + second + apart) / 2.0, (first + second - apart) / 2.0
    return math.sqrt(fast / layer.density), math.sqrt(slow / layer.density)


def bound_wound_walls(
    subjects: Mapping[str, Subject],
    policy: WoundWalls,
    readings: Mapping[str, PropertyReading],
    families: Mapping[str, Family],
    table: UnitTable,
) -> dict[str, RecommendedValue]:
    """A bound of both speeds of every wound wall that the policy names.

    Raises:
        LedgerError: a laminate's reading is not there, or is no single value.
    """
    found = {}
    layers = [_layer(laminate, readings, table) for laminate in policy.laminates]
    for name in policy.subjects:
        for place, property_id in enumerate(("longitudinal_speed", "shear_speed")):
            ends = [speed[place] for layer in layers for speed in _all(layer, policy)]
            row = _row(subjects[name], property_id, (min(ends), max(ends)), policy, readings, families[name])
            found[row.id] = row
    return found


def _all(layer: WoundLayer, policy: WoundWalls) -> Iterator[tuple[float, float]]:
    for winding in policy.cosine_squared:
        for step in range(LEANS + 1):
            yield speeds(layer, float(winding), float(policy.greatest_sine_squared) * step / LEANS)


def _layer(laminate: Laminate, readings: Mapping[str, PropertyReading], table: UnitTable) -> WoundLayer:
    numbers = []
    for name in laminate.readings():
        reading = readings.get(name)
        if not isinstance(reading, Scalar):
            raise LedgerError([f"sources/rules: laminate: '{name}' is no single value in the ledger"])
        target = table.si(table.find(reading.unit).dimension)
        numbers.append(single_value(reading.plain(), target, table).value)
    return WoundLayer(*numbers)


def _row(
    subject: Subject,
    property_id: str,
    ends: tuple[float, float],
    policy: WoundWalls,
    readings: Mapping[str, PropertyReading],
    family: Family,
) -> RecommendedValue:
    widening = float(policy.widening)
    low, high = ends[0] * (1.0 - widening), ends[1] * (1.0 + widening)
    used: Sequence[PropertyReading] = [readings[name] for one in policy.laminates for name in one.readings()]
    return RecommendedValue(
        id=f"{subject.id}.{property_id}",
        subject=subject.id,
        property=property_id,
        unit="m/s",
        form={"name": "constant/1", "coefficients": {"c0": number_text(0.5 * (low + high), 4)}},
        domain={"temperature": family.room_temperature},
        uncertainty=RecommendedUncertainty(
            number=number_text(0.5 * (high - low) / RECTANGULAR, 3),
            unit="m/s",
            code="propagated",
            text=f"no document seen tells it; layers of {len(policy.laminates)} documents, wound, lie between these "
            f"for beams in the plane of axis and radius: {policy.reason}",
        ),
        bound="between",
        rule=WOUND_WALL.name,
        basis="estimated",
        seen=weakest_seen(reading.seen for reading in used),
        rung="family",
        inputs=[Input(id=reading.id, digest=digest(reading.plain())) for reading in used],
        working={"lowest": number_text(low), "highest": number_text(high)},
    )
