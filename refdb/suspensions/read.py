"""How the numbers of a question about an emulsion or a slurry are read."""

from __future__ import annotations

import math
from collections.abc import Mapping

from refdb.problems import BadParameter, UnknownUnit, WrongDimension
from refdb.suspensions.equation import Basis
from refdb.suspensions.question import SuspensionQuestion
from refdb.units import Quantity, parse_quantity, printable, units
from refdb.units.sizes import Given, read_size

SOLID_NUMBERS = ("density", "compressibility", "longitudinal_speed", "shear_speed")
_DIMENSIONS = {
    "density": "density",
    "compressibility": "compressibility",
    "longitudinal_speed": "speed",
    "shear_speed": "speed",
}
BASES: Mapping[Basis, tuple[str, str]] = {
    "volume": ("volume_fraction", "volume of what is dispersed in the volume of the whole"),
    "mass": ("mass_fraction", "mass of what is dispersed in the mass of the whole"),
}
CHOICES = "% vol or % mass"


def check_one_way(asked: SuspensionQuestion) -> None:
    """Nothing, if either a fraction or a speed is given.

    Raises:
        BadParameter: neither is, both are, or an uncertainty is of what is not given.
    """
    if (asked.fraction is None) == (asked.sound_speed is None):
        fault = "is missing" if asked.fraction is None else "is given together with sound_speed"
        raise BadParameter(
            f"fraction: {fault}; give the fraction of what is dispersed in {CHOICES} for the speed, or a measured "
            "sound_speed for the fraction.",
            parameter="fraction",
        )
    for name, of in (("fraction_uncertainty", asked.fraction), ("sound_speed_uncertainty", asked.sound_speed)):
        if getattr(asked, name) is not None and of is None:
            raise BadParameter(f"{name}: belongs to what is not given; leave it out.", parameter=name)


def solid_number(asked: SuspensionQuestion, name: str) -> tuple[Quantity, float]:
    """A number of the solid in SI units, and its standard uncertainty, 0 where none is given."""
    field = f"solid_{name}"
    unit = units().si(_DIMENSIONS[name])
    value = read_size(getattr(asked, field), _DIMENSIONS[name], field)
    spread = getattr(asked, f"{field}_uncertainty")
    uncertainty = 0.0
    if spread is not None:
        read = read_size(spread, _DIMENSIONS[name], f"{field}_uncertainty", or_zero=True)
        uncertainty = float(read.unit.difference_to(read.magnitude, unit))
    return Quantity(float(value.unit.to(value.magnitude, unit)), unit), uncertainty


def taken_as_exact(asked: SuspensionQuestion) -> tuple[str, ...]:
    """A sentence on the numbers that were given without an uncertainty."""
    names = [
        name
        for name in ("fraction", *(f"solid_{part}" for part in SOLID_NUMBERS))
        if getattr(asked, name) is not None and getattr(asked, f"{name}_uncertainty") is None
    ]
    return (f"taken as exact: {', '.join(names)}",) if names else ()


def read_fraction(given: Given) -> tuple[Quantity, Basis]:
    """A fraction and its basis.

    Raises:
        BadParameter: it does not say of what.
        BadQuantity: it is no quantity.
    """
    for basis, (dimension, _) in BASES.items():
        if isinstance(given, Quantity):
            if given.unit.dimension == dimension:
                return given, basis
            continue
        try:
            return parse_quantity(given, dimension, "fraction"), basis
        except (UnknownUnit, WrongDimension):
            continue
    shown = str(given) if isinstance(given, Quantity) else printable(given)
    raise BadParameter(
        f"fraction: '{shown}' does not say of what; write {CHOICES}.",
        parameter="fraction",
        given=shown,
        accepted=["% vol", "% mass"],
    )


def measured_speed(asked: SuspensionQuestion) -> tuple[float, float] | None:
    """The measured speed and its standard uncertainty in m/s; None where none was given.

    Raises:
        BadParameter: the uncertainty is missing, or a number is not above zero.
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
    """
    if asked.sound_speed is None:
        return None
    unit = units().si("speed")
    speed = read_size(asked.sound_speed, "speed", "sound_speed")
    if asked.sound_speed_uncertainty is None:
        raise BadParameter(
            "sound_speed_uncertainty: is missing; give the standard uncertainty of the measured speed, as in 1 m/s.",
            parameter="sound_speed_uncertainty",
        )
    uncertainty = read_size(asked.sound_speed_uncertainty, "speed", "sound_speed_uncertainty", or_zero=True)
    return float(speed.unit.to(speed.magnitude, unit)), float(
        uncertainty.unit.difference_to(uncertainty.magnitude, unit)
    )


def size_and_frequency(asked: SuspensionQuestion) -> tuple[float | None, float | None]:
    """The radius of the particles in m and the angular frequency in rad/s, as far as they are given."""
    radius = omega = None
    if asked.particle_size is not None:
        size = read_size(asked.particle_size, "length", "particle_size")
        radius = 0.5 * float(size.unit.to(size.magnitude, units().si("length")))
    if asked.frequency is not None:
        rate = read_size(asked.frequency, "frequency", "frequency")
        omega = 2.0 * math.pi * float(rate.unit.to(rate.magnitude, units().si("frequency")))
    return radius, omega
