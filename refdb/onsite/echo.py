"""Measuring a speed on site, where nobody has published it: an echo through a known thickness.

By pulse and echo, as ASTM E494 does: the time t of n round trips through a part of known thickness d with parallel
faces gives v = 2 n d / t. Taken between two echoes of the back wall, the delays of probe and couplant cancel. The
uncertainty is that of a product of independent inputs, JCGM 100:2008, 5.1.6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.problems import BadParameter
from refdb.units import Quantity, Unit, units
from refdb.units.quantity import with_uncertainty
from refdb.units.sizes import read_size, relative

if TYPE_CHECKING:
    from refdb.onsite.documents import MeasuredInput, MeasuredSpeedDocument, SolidInput


MOST_ECHOES = 100
SOLID_PARTS = ("thickness", "thickness_uncertainty", "echo_time", "echo_time_uncertainty")

METHOD = (
    "v = 2 n d / t: t is the time between the first echo of the back wall and the n-th after it, d the thickness there "
    "(pulse and echo, as in ASTM E494). Standard uncertainty after JCGM 100:2008, 5.1.6: (u/v)² = (u_d/d)² + (u_t/t)²."
)
ADVICE = (
    "Measure d with a micrometer or calliper where both faces are clean and parallel, not with a gauge that is set to "
    "a speed.",
    "Check the time base on a block of known speed and thickness, as ASTM E494 does.",
    "Note the temperature of the part: the speed belongs to it.",
    "A common thickness gauge sends longitudinal waves only. The shear speed comes from a shear-wave probe and the "
    "same recipe, or from the longitudinal speed and Poisson's ratio nu of an isotropic material: "
    "cS = cL sqrt((1 - 2 nu) / (2 (1 - nu))).",
)


@dataclass(frozen=True, slots=True)
class MeasuredSpeed:
    """A speed found on site, with what each input contributes to its standard uncertainty."""

    speed: Quantity
    standard_uncertainty: Quantity
    thickness: tuple[Quantity, Quantity]
    echo_time: tuple[Quantity, Quantity]
    echoes: int

    def document(self) -> MeasuredSpeedDocument:
        """The result as plain JSON values."""
        return {
            "speed": self.speed.document(),
            "standard_uncertainty": self.standard_uncertainty.document(),
            "echoes": self.echoes,
            "inputs": [self._input("thickness", *self.thickness), self._input("echo_time", *self.echo_time)],
            "method": METHOD,
            "advice": [*ADVICE, self._where_to_go_on()],
        }

    def _input(self, name: SolidInput, value: Quantity, uncertainty: Quantity) -> MeasuredInput:
        contribution = Quantity(relative(value, uncertainty) * self.speed.magnitude, self.speed.unit)
        return {
            "input": name,
            "value": value.document(),
            "standard_uncertainty": uncertainty.document(),
            "contribution": contribution.document(),
        }

    def _where_to_go_on(self) -> str:
        """Which materials have such a speed, and what follows for one in no list."""
        speed, size = float(self.speed.magnitude), float(self.standard_uncertainty.magnitude)
        unit = self.speed.unit.symbol
        told = f'--longitudinal-speed "{speed:.5g} {unit}" --longitudinal-speed-uncertainty "{size:.2g} {unit}"'
        return (
            f"Which materials have it: `refdb match-material {told}`, or --shear-speed for a shear wave; what follows "
            "for an alloy in no list: `refdb unlisted-material` with the same and --like, --family or --composition."
        )

    def __str__(self) -> str:
        return with_uncertainty(self.speed, self.standard_uncertainty)


def measured_speed(
    thickness: str | Quantity | None,
    thickness_uncertainty: str | Quantity | None,
    echo_time: str | Quantity | None,
    echo_time_uncertainty: str | Quantity | None,
    echoes: int = 1,
    unit: str = "m/s",
) -> MeasuredSpeed:
    """The speed of sound in a part of known thickness, from the time of its echoes.

    Args:
        thickness: of the part where the probe stands, such as `"12.50 mm"`.
        thickness_uncertainty: its standard uncertainty, such as `"0.02 mm"`.
        echo_time: from the first echo of the back wall to the n-th after it, such as `"4.23 us"`.
        echo_time_uncertainty: its standard uncertainty.
        echoes: n, how many round trips that time is.
        unit: to answer in.

    Raises:
        BadParameter: a size is missing or not positive, or `echoes` is not a whole number from 1 to 100.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    if not 1 <= echoes <= MOST_ECHOES:
        raise BadParameter(
            f"echoes: {echoes} round trips are not from 1 to {MOST_ECHOES}; count the echoes after the first.",
            parameter="echoes",
            given=echoes,
        )
    depth = read_size(thickness, "length", "thickness")
    depth_uncertainty = read_size(thickness_uncertainty, "length", "thickness_uncertainty", or_zero=True)
    time = read_size(echo_time, "time", "echo_time")
    time_uncertainty = read_size(echo_time_uncertainty, "time", "echo_time_uncertainty", or_zero=True)
    metres, seconds = depth.unit.to(depth.magnitude, units().si("length")), time.unit.to(time.magnitude, _second())
    si, target = units().si("speed"), units().find(unit, "speed", "unit")
    speed = 2.0 * echoes * metres / seconds
    uncertainty = speed * math.hypot(relative(depth, depth_uncertainty), relative(time, time_uncertainty))
    return MeasuredSpeed(
        Quantity(si.to(speed, target), target),
        Quantity(si.difference_to(uncertainty, target), target),
        (depth, depth_uncertainty),
        (time, time_uncertainty),
        echoes,
    )


def _second() -> Unit:
    return units().find("s", "time")
