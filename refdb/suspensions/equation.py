"""Sound in a liquid that carries fine particles or drops: Wood's equation, what it leaves out, and the way back.

Of volumes, with phi the volume fraction of what is dispersed (Wood, A Textbook of Sound, 1930; Urick, J. Appl. Phys.
18, 983, 1947, doi:10.1063/1.1697584):

    rho = (1 - phi) rho1 + phi rho2,    kappa = (1 - phi) kappa1 + phi kappa2,    c = 1 / sqrt(rho kappa)

with adiabatic compressibilities: 1 / (rho c²) of a liquid, 1 / (rho (cL² - 4/3 cS²)) of an isotropic solid. It holds
where particles are much smaller than the wavelength, move with the liquid and exchange no heat with it. What the rest
does is calculated, and goes into the uncertainty:

- particles that lag: equal pressure gradients, the virtual mass of spheres at a concentration (Zuber, Chem. Eng. Sci.
  19, 897, 1964), and the drag on an oscillating sphere (Landau and Lifshitz, Fluid Mechanics, paragraph 24);
- particles as warm as the liquid: the compressibility of the whole at one temperature and entropy is greater by
  T phi1 h1 phi2 h2 / (phi1 h1 + phi2 h2) (alpha1/h1 - alpha2/h2)², with expansion alpha and heat capacity h of volumes;
  of larger spheres only a skin takes part.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from refdb.units import Quantity

Basis = Literal["volume", "mass"]

COVERAGE = 2.0
"""k: a measured and a calculated speed that differ by less than this many standard uncertainties agree."""
STEPS = 400
HALVINGS = 60


@dataclass(frozen=True, slots=True)
class PhaseInput:
    """A number that a phase rests on, in SI units, and how the phase's density and compressibility follow it.

    Attributes:
        quantity: as it is told.
        spread: its standard uncertainty, in the same unit.
        of_density, of_compressibility: the derivatives of both by the number, per its unit.
    """

    name: str
    quantity: Quantity
    spread: float
    of_density: float
    of_compressibility: float


@dataclass(frozen=True, slots=True)
class Warmth:
    """What a phase does when it is warmed: volume expansion in 1/K, heat capacity of a volume in J/(m3 K)."""

    expansion: float
    capacity: float


@dataclass(frozen=True, slots=True)
class Phase:
    """One of the two parts: density in kg/m3, adiabatic compressibility in 1/Pa, and what they rest on."""

    density: float
    compressibility: float
    inputs: tuple[PhaseInput, ...]

    @property
    def speed(self) -> float:
        """The speed with which it would carry sound as a liquid, in m/s: of a solid sqrt(K / rho)."""
        return 1.0 / math.sqrt(self.density * self.compressibility)


def liquid_phase(density: Quantity, density_spread: float, speed: Quantity, speed_spread: float) -> Phase:
    """A liquid, from its density in kg/m3 and sound speed in m/s with their standard uncertainties."""
    rho, c = float(density.magnitude), float(speed.magnitude)
    kappa = 1.0 / (rho * c * c)
    return Phase(
        rho,
        kappa,
        (
            PhaseInput("density", density, density_spread, 1.0, -kappa / rho),
            PhaseInput("sound_speed", speed, speed_spread, 0.0, -2.0 * kappa / c),
        ),
    )


def compressible_phase(
    density: Quantity, density_spread: float, compressibility: Quantity, compressibility_spread: float
) -> Phase:
    """A solid, from its density in kg/m3 and adiabatic compressibility in 1/Pa with their standard uncertainties."""
    return Phase(
        float(density.magnitude),
        float(compressibility.magnitude),
        (
            PhaseInput("density", density, density_spread, 1.0, 0.0),
            PhaseInput("compressibility", compressibility, compressibility_spread, 0.0, 1.0),
        ),
    )


def elastic_phase(
    density: Quantity,
    density_spread: float,
    longitudinal: Quantity,
    longitudinal_spread: float,
    shear: Quantity,
    shear_spread: float,
) -> Phase | None:
    """An isotropic solid, from its density in kg/m3 and both speeds in m/s; None where no solid has such speeds."""
    rho, c_l, c_s = (float(quantity.magnitude) for quantity in (density, longitudinal, shear))
    modulus = rho * (c_l * c_l - 4.0 / 3.0 * c_s * c_s)
    if modulus <= 0.0:
        return None
    kappa = 1.0 / modulus
    return Phase(
        rho,
        kappa,
        (
            PhaseInput("density", density, density_spread, 1.0, -kappa / rho),
            PhaseInput("longitudinal_speed", longitudinal, longitudinal_spread, 0.0, -2.0 * rho * c_l * kappa * kappa),
            PhaseInput("shear_speed", shear, shear_spread, 0.0, 8.0 / 3.0 * rho * c_s * kappa * kappa),
        ),
    )


@dataclass(frozen=True, slots=True)
class Mixture:
    """A continuous liquid and what is dispersed in it.

    Attributes:
        warmth: of the continuous liquid and of what is dispersed.
        kelvin: the absolute temperature.
        skin: the depth sqrt(2 eta / (rho1 omega)) to which viscosity reaches, over the particles' radius; 0 where
            size, frequency or viscosity is not known: then nothing holds the particles back.
        heated: how much of a particle exchanges heat, 0 to 1.
    """

    continuous: Phase
    dispersed: Phase
    warmth: tuple[Warmth, Warmth]
    kelvin: float
    skin: float = 0.0
    heated: float = 1.0

    def volume_fraction(self, share: float, basis: Basis) -> float:
        """The volume fraction of what is dispersed; of a mass fraction through both densities."""
        if basis == "volume":
            return share
        parts = share / self.dispersed.density, (1.0 - share) / self.continuous.density
        return parts[0] / (parts[0] + parts[1])

    def mass_fraction(self, volume: float) -> float:
        """The mass fraction of what is dispersed."""
        return volume * self.dispersed.density / self.density(volume)

    def density(self, volume: float) -> float:
        """kg/m3."""
        return (1.0 - volume) * self.continuous.density + volume * self.dispersed.density

    def compressibility(self, volume: float) -> float:
        """1/Pa."""
        return (1.0 - volume) * self.continuous.compressibility + volume * self.dispersed.compressibility

    def speed(self, volume: float) -> float:
        """Wood's, in m/s."""
        return 1.0 / math.sqrt(self.density(volume) * self.compressibility(volume))

    def slope(self, volume: float, basis: Basis = "volume") -> float:
        """The derivative of the speed by the fraction on a basis, in m/s."""
        by_volume = self._followed(
            volume,
            self.dispersed.density - self.continuous.density,
            self.dispersed.compressibility - self.continuous.compressibility,
        )
        if basis == "volume":
            return by_volume
        return by_volume * self._volume_per_mass(volume)

    def density_slope(self, volume: float, basis: Basis) -> float:
        """The derivative of the density by the fraction on a basis, in kg/m3."""
        apart = self.dispersed.density - self.continuous.density
        if basis == "volume":
            return apart
        return apart * self._volume_per_mass(volume)

    def _volume_per_mass(self, volume: float) -> float:
        """The derivative of the volume fraction by the mass fraction."""
        return self.density(volume) ** 2 / (self.continuous.density * self.dispersed.density)

    def _followed(self, volume: float, density: float, compressibility: float) -> float:
        """The change of the speed with changes of density and compressibility."""
        parts = density / self.density(volume) + compressibility / self.compressibility(volume)
        return -0.5 * self.speed(volume) * parts

    def contributions(self, volume: float, basis: Basis) -> Iterator[tuple[Literal[0, 1], PhaseInput, float, float]]:
        """Of each input: its phase (0 continuous, 1 dispersed) and what its standard uncertainty makes of that of the
        speed, in m/s, and of the density, in kg/m3, at a fraction that is held on its basis."""
        phases: tuple[tuple[Literal[0, 1], Phase, float], ...] = (
            (0, self.continuous, 1.0 - volume),
            (1, self.dispersed, volume),
        )
        for place, phase, part in phases:
            # A mass fraction is another volume fraction when a density is another one.
            moved = volume * (1.0 - volume) / phase.density * (1.0 if place == 0 else -1.0) if basis == "mass" else 0.0
            for entry in phase.inputs:
                shift = moved * entry.of_density
                of_speed = self._followed(volume, part * entry.of_density, part * entry.of_compressibility)
                of_speed += self.slope(volume) * shift
                of_density = part * entry.of_density + self.density_slope(volume, "volume") * shift
                yield place, entry, of_speed * entry.spread, of_density * entry.spread

    def slipping_speed(self, volume: float) -> float:
        """The speed of sound where particles lag behind the liquid as their inertia has it, in m/s."""
        rho1, rho2 = self.continuous.density, self.dispersed.density
        if volume in {0.0, 1.0}:
            return self.speed(volume)
        rest = 1.0 - volume
        real = 0.5 * (1.0 + 2.0 * volume) / rest + 2.25 * self.skin
        held = complex(real, -2.25 * (self.skin + self.skin * self.skin))
        effective = rho1 * (rho2 * (rest + volume * held) + rho1 * held * rest)
        effective /= rho2 * rest * rest + rho1 * (held + volume * rest)
        return 1.0 / float((effective**0.5).real * math.sqrt(self.compressibility(volume)))

    def warmed_speed(self, volume: float) -> float:
        """The speed of sound where particles exchange heat with the liquid, in m/s."""
        first, second = self.warmth
        parts = (1.0 - volume) * first.capacity, volume * second.capacity
        apart = first.expansion / first.capacity - second.expansion / second.capacity
        softer = self.heated * self.kelvin * parts[0] * parts[1] / (parts[0] + parts[1]) * apart * apart
        return 1.0 / math.sqrt(self.density(volume) * (self.compressibility(volume) + softer))

    def model_spread(self, volume: float) -> tuple[float, float]:
        """What lagging and the exchange of heat leave of the speed, as standard uncertainties in m/s.

        Anywhere between Wood's speed and the other with equal probability (JCGM 100:2008, 4.3.7), about Wood's.
        """
        wood = self.speed(volume)
        others = self.slipping_speed(volume), self.warmed_speed(volume)
        return abs(others[0] - wood) / math.sqrt(3.0), abs(others[1] - wood) / math.sqrt(3.0)

    def spread(self, volume: float, basis: Basis = "volume") -> float:
        """The standard uncertainty of the speed at a known fraction, in m/s."""
        parts = [part for _, _, part, _ in self.contributions(volume, basis)]
        return math.hypot(*parts, *self.model_spread(volume))

    @property
    def turn(self) -> float | None:
        """The volume fraction at which sound is slowest; None where the curve does not turn."""
        a = (self.dispersed.density - self.continuous.density) / self.continuous.density
        b = (self.dispersed.compressibility - self.continuous.compressibility) / self.continuous.compressibility
        if a * b >= 0.0:
            return None
        at = -(a + b) / (2.0 * a * b)
        return at if 0.0 < at < 1.0 else None

    def roots(self, speed: float) -> list[float]:
        """Every volume fraction from 0 to 1 with a speed: rho kappa = 1 / c² is a quadratic equation."""
        first, second = self.continuous, self.dispersed
        more, softer = second.density - first.density, second.compressibility - first.compressibility
        a = more * softer
        b = first.density * softer + first.compressibility * more
        c = first.density * first.compressibility - 1.0 / (speed * speed)
        if a == 0.0:
            found = [-c / b] if b else []
        else:
            inside = b * b - 4.0 * a * c
            if inside < 0.0:
                return []
            # The form that does not take away nearly equal numbers.
            half = -0.5 * (b + math.copysign(math.sqrt(inside), b))
            found = [half / a] + ([c / half] if half else [])
        return sorted({min(max(at, 0.0), 1.0) for at in found if -1e-9 <= at <= 1.0 + 1e-9})

    def stretches(self, speed: float, uncertainty: float) -> list[tuple[float, float]]:
        """The stretches of volume fraction whose speed differs from a measured one by at most k standard uncertainties
        of both (JCGM 100:2008, k = 2): also where the curve turns and u / |dc/dphi| is infinite."""

        def excess(at: float) -> float:
            return abs(self.speed(at) - speed) - COVERAGE * math.hypot(uncertainty, self.spread(at))

        turn = self.turn
        places: list[float] = [i / STEPS for i in range(STEPS + 1)] + self.roots(speed)
        if turn is not None:
            places.append(turn)
        knots = sorted(set(places))
        found: list[tuple[float, float]] = []
        before: float | None = None
        low: float | None = None
        for at in knots:
            if excess(at) <= 0.0:
                if low is None:
                    low = at if before is None else _edge(excess, at, before)
            elif low is not None and before is not None:
                found.append((low, _edge(excess, before, at)))
                low = None
            before = at
        return found if low is None else [*found, (low, 1.0)]


def _edge(excess: Callable[[float], float], inside: float, outside: float) -> float:
    """The last place that agrees on the way out, by bisection."""
    for _ in range(HALVINGS):
        middle = 0.5 * (inside + outside)
        inside, outside = (middle, outside) if excess(middle) <= 0.0 else (inside, middle)
    return inside
