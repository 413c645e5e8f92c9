"""The speed of sound in an emulsion or a slurry of fine particles, asked in words and answered with its rows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from refdb.constants import KELVIN_AT_0_CELSIUS
from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State, read_state
from refdb.problems import BadParameter, MissingState, OutsideRange
from refdb.suspensions.equation import (
    Mixture,
    Phase,
)
from refdb.suspensions.miscible import GAS, SOFTEST, refuse_gas
from refdb.suspensions.question import SuspensionQuestion
from refdb.suspensions.read import (
    BASES,
    check_one_way,
    measured_speed,
    read_fraction,
    size_and_frequency,
    taken_as_exact,
)
from refdb.units import units
from refdb.units.sizes import read_size
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.value import Answer

if TYPE_CHECKING:
    pass
from refdb.suspensions.answer import Share, SuspensionAnswer
from refdb.suspensions.parts import SOLID_WARMTH, PartsAsked, dispersed_record, has_contents, solid_as_given

LARGEST = 0.1
"""The circumference of a particle over the wavelength, up to which it is "much smaller"; judgement."""
DIFFUSIVITY = 1e-7
"""m2/s: how fast heat spreads in liquids, within a factor of two; judgement."""


def suspension(reader: Reader, asked: SuspensionQuestion, options: Options, release: ReleaseInfo) -> SuspensionAnswer:
    """The speed in an emulsion or a slurry, or the fractions with a measured speed.

    Raises:
        BadParameter: parts are missing, contradict one another, or are gas or liquids that mix.
        BadQuantity, UnknownUnit, WrongDimension, OutsideRange, MissingState: a quantity is wrong or outside.
        UnknownName, AmbiguousName, NotAvailable: a subject is not known, or has no row of what is needed.
    """
    check_one_way(asked)
    state = read_state(asked.temperature, asked.pressure, asked.salinity, asked.strength)
    if state.celsius is None:
        raise MissingState(
            "temperature: is missing; give the temperature of the mixture, such as 20 degC.", parameter="temperature"
        )
    if hasattr(state.celsius, "__len__"):
        raise BadParameter("temperature: one temperature is answered at a time; ask state by state.")
    if asked.dispersed is not None:
        refuse_gas(asked.dispersed)
    liquid = reader.subject(asked.continuous, release, "liquid")
    record = dispersed_record(reader, asked, liquid, release)
    ask = PartsAsked(reader, state, options, release)
    continuous = ask.liquid(liquid, contents=record is None or not has_contents(record))
    dispersed = solid_as_given(asked) if record is None else ask.phase(record)
    if dispersed.phase.compressibility > SOFTEST:
        raise BadParameter(f"dispersed: it is as compressible as a gas; {GAS}.", parameter="dispersed")
    skin, viscosity, told = _skin(ask, asked, liquid, continuous.phase)
    warmth, named = ask.warmth(liquid, continuous)
    warm, more = (SOLID_WARMTH, ()) if record is None else ask.warmth(record, dispersed)
    kelvins = state.celsius + KELVIN_AT_0_CELSIUS
    mixture = Mixture(continuous.phase, dispersed.phase, (warmth, warm), kelvins, skin, _heated(asked))
    assumed = [text for found in (*continuous.answers, *dispersed.answers) for text in found.assumptions]
    return SuspensionAnswer(
        mixture,
        continuous,
        dispersed,
        State(state.celsius, continuous.answers[0].pascals),
        _share(asked, mixture),
        measured_speed(asked),
        (*viscosity, *named, *more),
        (*_validity(asked, continuous.phase), told),
        tuple(dict.fromkeys([*assumed, *taken_as_exact(asked)])),
        release.label,
    )


def _heated(asked: SuspensionQuestion) -> float:
    """How much of a sphere exchanges heat within a cycle: all of it where heat reaches its middle."""
    radius, omega = size_and_frequency(asked)
    if radius is None or omega is None:
        return 1.0
    return min(1.0, 1.5 * math.sqrt(2.0 * DIFFUSIVITY / omega) / radius)


def _share(asked: SuspensionQuestion, mixture: Mixture) -> Share | None:
    """The fraction that was given.

    Raises:
        BadParameter, UnknownUnit: it has no basis.
        OutsideRange: it is below 0 or above 1.
    """
    if asked.fraction is None:
        return None
    quantity, basis = read_fraction(asked.fraction)
    unit = units().si(BASES[basis][0])
    share = float(quantity.unit.to(quantity.magnitude, unit))
    if not 0.0 <= share <= 1.0:
        raise OutsideRange(
            f"fraction: {quantity} is not between nothing and everything; give 0 to 100 %.",
            parameter="fraction",
            valid_range={"fraction": ["0 %", "100 %"]},
        )
    uncertainty = 0.0
    if asked.fraction_uncertainty is not None:
        read = read_size(asked.fraction_uncertainty, BASES[basis][0], "fraction_uncertainty", or_zero=True)
        uncertainty = float(read.unit.difference_to(read.magnitude, unit))
    return Share(mixture.volume_fraction(share, basis), basis, uncertainty, quantity)


def _skin(
    ask: PartsAsked, asked: SuspensionQuestion, liquid: StoredRecord, phase: Phase
) -> tuple[float, tuple[Answer, ...], str]:
    """How deep viscosity reaches over the particles' radius, the row of the viscosity, and what is said of it."""
    radius, omega = size_and_frequency(asked)
    loose = "the uncertainty allows for particles that nothing drags along or that are as warm as the liquid"
    if radius is None or omega is None:
        return 0.0, (), f"Particle size and frequency are not both given: {loose}; give them to narrow it."
    found = ask.viscosity(liquid, phase.density)
    if found is None:
        return 0.0, (), f"The release has no viscosity of {liquid.id} there: {loose}."
    skin = math.sqrt(2.0 * found[0] / (phase.density * omega)) / radius
    return (
        skin,
        (found[1],),
        f"Viscosity reaches {skin:.3g} radii deep into the liquid round a particle; the uncertainty allows for the "
        "lag of spheres that follows.",
    )


def _validity(asked: SuspensionQuestion, phase: Phase) -> tuple[str, ...]:
    """Where the answer holds, in words.

    Raises:
        OutsideRange: the particles are not small beside the wavelength.
    """
    radius, omega = size_and_frequency(asked)
    condition = (
        f"Holds where particles are much smaller than the wavelength: pi d f / c at most {LARGEST:g} (judgement), so "
        "that nothing is scattered"
    )
    if radius is not None and omega is not None:
        ratio = radius * omega / phase.speed
        most = 2.0 * LARGEST * phase.speed / omega
        if ratio > LARGEST:
            raise OutsideRange(
                f"particle_size: pi d f / c is {ratio:.2g}, so that particles scatter the sound; at this frequency "
                f"Wood's equation is answered up to {1e6 * most:.3g} um. Use a lower frequency, or measure the speed "
                "on site.",
                parameter="particle_size",
                valid_range={"particle_size": ["0 um", f"{1e6 * most:.3g} um"]},
            )
        condition += f"; here it is {ratio:.2g}"
    elif omega is not None:
        condition += f"; at this frequency d up to {2e6 * LARGEST * phase.speed / omega:.3g} um"
    return (
        f"{condition}.",
        "Holds without gas: 0.1 % vol of bubbles changes the speed more than all that is dispersed.",
        "Real emulsions and slurries differ: heavy particles lag (faster), and small drops exchange heat (slower: "
        "McClements and Povey, J. Phys. D 22, 38, 1989, saw it in sunflower oil in water); both are "
        "calculated as limits and go into the uncertainty, evenly between Wood's speed and the limit.",
    )
