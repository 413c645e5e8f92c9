"""The speed of sound in an emulsion or a slurry of fine particles, asked in words and answered with its rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.constants import KELVIN_AT_0_CELSIUS
from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State, read_state
from refdb.problems import BadParameter, MissingState, NotAvailable, OutsideRange
from refdb.suspensions.equation import (
    Basis,
    Mixture,
    Phase,
    Warmth,
    compressible_phase,
    elastic_phase,
    liquid_phase,
)
from refdb.suspensions.miscible import GAS, SOFTEST, refuse_gas, refuse_miscible
from refdb.suspensions.question import SuspensionQuestion
from refdb.suspensions.read import (
    BASES,
    SOLID_NUMBERS,
    check_one_way,
    measured_speed,
    read_fraction,
    size_and_frequency,
    solid_number,
    taken_as_exact,
)
from refdb.units import Quantity, units, with_uncertainty
from refdb.units.sizes import read_size
from refdb.values.ask import values_at
from refdb.values.options import ESTIMATE_RUNGS, Options
from refdb.values.reader import Reader
from refdb.values.subjects import subject_reference
from refdb.values.value import Answer

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument, Rung, SubjectReference
    from refdb.suspensions.documents import (
        PhaseKind,
        SuspensionAtFraction,
        SuspensionAtSpeed,
        SuspensionDocument,
        SuspensionFraction,
        SuspensionPhase,
        SuspensionRoot,
        SuspensionSlowest,
        SuspensionSource,
    )


EQUATION = (
    "Wood's equation (Wood, A Textbook of Sound, 1930; Urick, J. Appl. Phys. 18, 983, 1947): c = 1 / sqrt(rho kappa), "
    "density rho and adiabatic compressibility kappa averaged over the volumes; kappa = 1 / (rho c²) of a liquid, "
    "1 / (rho (cL² - 4/3 cS²)) of a solid. Standard uncertainty after JCGM 100:2008, 5.1.2, inputs taken as "
    "independent."
)
LARGEST = 0.1
"""The circumference of a particle over the wavelength, up to which it is "much smaller"; judgement."""
PACKED = {"solid": 0.5, "liquid": 0.7}
"""Volume fractions beyond which grains bear on one another, and drops are squeezed; judgement."""
DIFFUSIVITY = 1e-7
"""m2/s: how fast heat spreads in liquids, within a factor of two; judgement."""
OIL_HEAT = 1900.0
"""J/(kg K): of an oil whose specific heat has no row; judgement."""
OIL_EXPANSION = 7e-4
"""1/K: of a liquid whose row of density knows no temperature; judgement."""
SOLID_WARMTH = Warmth(3e-5, 2e6)
PLASTIC_WARMTH = Warmth(2e-4, 2e6)
"""Of minerals, glass and metals, and of plastics and rubber; judgement."""
PLASTICS = frozenset({"thermoplastic", "fluoropolymer", "thermoset", "elastomer", "bituminous"})


@dataclass(frozen=True, slots=True)
class PhaseAnswer:
    """One part of the mixture: its subject, None for a solid given by numbers, and the answers it rests on."""

    phase: Phase
    kind: PhaseKind
    subject: SubjectReference | None
    answers: tuple[Answer, ...] = ()

    @property
    def name(self) -> str:
        """For people."""
        return str(self.subject["name"]) if self.subject is not None else "the solid as given"

    def document(self) -> SuspensionPhase:
        """The part as plain JSON values."""
        return {
            "kind": self.kind,
            "subject": self.subject,
            "density": _si(self.phase.density, "density").document(),
            "compressibility": _si(self.phase.compressibility, "compressibility").document(),
        }


@dataclass(frozen=True, slots=True)
class Share:
    """A fraction of what is dispersed: by volume, and its basis and standard uncertainty on that basis."""

    volume: float
    basis: Basis
    spread: float
    given: Quantity | None


@dataclass(frozen=True, slots=True)
class SuspensionAnswer:
    """The speed at a fraction, or the fractions with a speed, and everything needed to trust them.

    Attributes:
        share: None where a speed was given.
        measured: the speed that was given with its standard uncertainty, in m/s; None where a fraction was.
        named: the rows used besides those of both parts, such as viscosity.
    """

    mixture: Mixture
    continuous: PhaseAnswer
    dispersed: PhaseAnswer
    state: State
    share: Share | None
    measured: tuple[float, float] | None
    named: tuple[Answer, ...]
    validity: tuple[str, ...]
    assumptions: tuple[str, ...]
    release: str

    @property
    def sound_speed(self) -> float | None:
        """m/s, at the fraction that was given."""
        return None if self.share is None else self.mixture.speed(self.share.volume)

    @property
    def standard_uncertainty(self) -> float | None:
        """Of the speed, in m/s."""
        if self.share is None:
            return None
        return math.hypot(*(part for _, _, _, part, _ in self._budget(self.share)))

    @property
    def roots(self) -> list[float]:
        """Every volume fraction that has the measured speed."""
        return [] if self.measured is None else self.mixture.roots(self.measured[0])

    @property
    def rung(self) -> Rung:
        """`derived`, or the rung of an estimate that it rests on."""
        for found in self.answers:
            rung: Rung = found.text.row.body["rung"]
            if rung in ESTIMATE_RUNGS:
                return rung
        return "derived"

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Every row that was used."""
        return (*self.continuous.answers, *self.dispersed.answers, *self.named)

    def document(self) -> SuspensionDocument:
        """The answer as plain JSON values."""
        return {
            "continuous": self.continuous.document(),
            "dispersed": self.dispersed.document(),
            "temperature": _held(self.state.celsius, "degC", "temperature"),
            "pressure": None if self.state.pascals is None else _held(self.state.pascals, "Pa", "pressure"),
            "at_fraction": None if self.share is None else self._forward(self.share),
            "at_speed": None if self.measured is None else self._back(*self.measured),
            "slowest": self._slowest(),
            "basis": "derived",
            "rung": self.rung,
            "equation": EQUATION,
            "validity": list(self.validity),
            "assumptions": list(self.assumptions),
            "warnings": self._warnings(),
            "rows": [
                {"id": found.row, "digest": found.digest, "rung": found.text.row.body["rung"]} for found in self.answers
            ],
            "sources": self._sources(),
            "release": self.release,
        }

    def _forward(self, share: Share) -> SuspensionAtFraction:
        mixture, volume = self.mixture, share.volume
        budget = self._budget(share)
        dimension, meaning = BASES[share.basis]
        unit = units().si(dimension)
        own = mixture.mass_fraction(volume) if share.basis == "mass" else volume
        given = share.given or Quantity(own, unit)
        return {
            "fraction": {**given.document(), "meaning": meaning},
            "fraction_standard_uncertainty": Quantity(
                unit.difference_to(share.spread, given.unit), given.unit
            ).document(),
            **_fractions(mixture, volume),
            "sound_speed": _si(mixture.speed(volume), "speed").document(),
            "standard_uncertainty": _si(math.hypot(*(part[3] for part in budget)), "speed").document(),
            "density": _si(mixture.density(volume), "density").document(),
            "density_standard_uncertainty": _si(math.hypot(*(part[4] for part in budget)), "density").document(),
            "compressibility": _si(mixture.compressibility(volume), "compressibility").document(),
            "slope": {"magnitude": mixture.slope(volume, share.basis), "unit": f"m/s/({unit.symbol})"},
            "slipping_speed": _si(mixture.slipping_speed(volume), "speed").document(),
            "warmed_speed": _si(mixture.warmed_speed(volume), "speed").document(),
            "contributions": [
                {
                    "input": name,
                    "value": None if value is None else value.document(),
                    "standard_uncertainty": None if spread is None else spread.document(),
                    "contribution": _si(abs(part), "speed").document(),
                }
                for name, value, spread, part, _ in budget
            ],
        }

    def _budget(self, share: Share) -> list[tuple[str, Quantity | None, Quantity | None, float, float]]:
        """Of each input: name, value, standard uncertainty, and its parts of those of the speed and the density."""
        lines: list[tuple[str, Quantity | None, Quantity | None, float, float]] = []
        for place, entry, of_speed, of_density in self.mixture.contributions(share.volume, share.basis):
            name = f"{('continuous', 'dispersed')[place]}.{entry.name}"
            spread = Quantity(entry.spread, entry.quantity.unit)
            lines.append((name, entry.quantity, spread, of_speed, of_density))
        unit = units().si(BASES[share.basis][0])
        own = self.mixture.mass_fraction(share.volume) if share.basis == "mass" else share.volume
        lines.append(
            (
                "fraction",
                Quantity(own, unit),
                Quantity(share.spread, unit),
                self.mixture.slope(share.volume, share.basis) * share.spread,
                self.mixture.density_slope(share.volume, share.basis) * share.spread,
            )
        )
        slip, heat = self.mixture.model_spread(share.volume)
        return [*lines, ("model.slipping", None, None, slip, 0.0), ("model.heat", None, None, heat, 0.0)]

    def _back(self, speed: float, spread: float) -> SuspensionAtSpeed:
        mixture = self.mixture
        found: list[SuspensionRoot] = []
        for volume in self.roots:
            slope = mixture.slope(volume)
            both = math.hypot(spread, mixture.spread(volume))
            found.append(
                {
                    **_fractions(mixture, volume),
                    "standard_uncertainty": _si(both / abs(slope), "volume_fraction").document() if slope else None,
                    "density": _si(mixture.density(volume), "density").document(),
                    "slope": {"magnitude": slope, "unit": "m/s/(m3/m3)"},
                }
            )
        stretches = mixture.stretches(speed, spread)
        return {
            "sound_speed": _si(speed, "speed").document(),
            "standard_uncertainty": _si(spread, "speed").document(),
            "roots": found,
            "stretches": [
                {"low": _si(low, "volume_fraction").document(), "high": _si(high, "volume_fraction").document()}
                for low, high in stretches
            ],
            "advice": self._back_words(speed, len(found), stretches),
        }

    def _back_words(self, speed: float, roots: int, stretches: Sequence[tuple[float, float]]) -> list[str]:
        lines = []
        if not stretches:
            turn = self.mixture.turn
            reached = [self.mixture.speed(at) for at in (0.0, 1.0, *([] if turn is None else [turn]))]
            lines.append(
                f"No fraction agrees with {speed:g} m/s: the mixture has {min(reached):.5g} to {max(reached):.5g} m/s. "
                "Look for gas, another temperature, or something dissolved."
            )
        elif not roots:
            lines.append(f"No fraction has {speed:g} m/s, but some come as near as the uncertainties allow.")
        if roots > 1:
            lines.append("Two fractions have this speed, since it turns; a density or the recipe must tell which.")
        if stretches and any(low == 0.0 for low, _ in stretches):
            lines.append("The continuous liquid alone agrees too: the speed does not show that anything is dispersed.")
        if any(high - low > 0.5 for low, high in stretches):
            lines.append("The speed hardly depends on the fraction; measure the density instead.")
        return lines

    def _slowest(self) -> SuspensionSlowest | None:
        turn = self.mixture.turn
        if turn is None:
            return None
        return {**_fractions(self.mixture, turn), "sound_speed": _si(self.mixture.speed(turn), "speed").document()}

    def _warnings(self) -> list[str]:
        notes = [f"{found.row}: {note}" for found in self.answers for note in found.warnings]
        volumes = self.roots if self.share is None else [self.share.volume]
        limit = PACKED[self.dispersed.kind]
        if any(limit < volume < 1.0 for volume in volumes):
            what = (
                "grains bear on one another: a settled bed carries sound faster than Wood's equation has it"
                if self.dispersed.kind == "solid"
                else "drops are squeezed, and the emulsion may have turned over: then ask the other way round"
            )
            notes.append(f"Beyond a volume fraction of {limit:g} {what} (judgement).")
        return notes

    def _sources(self) -> list[SuspensionSource]:
        return [
            {"row": found.row, "key": source["key"], "citation": source["citation"], "locator": source["locator"]}
            for found in self.answers
            for source in found.sources
        ]

    def __str__(self) -> str:
        speed, spread = self.sound_speed, self.standard_uncertainty
        if speed is not None and spread is not None:
            return with_uncertainty(_si(speed, "speed"), _si(spread, "speed"))
        return " or ".join(f"{100.0 * volume:.4g} % vol" for volume in self.roots) or "no fraction"


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
    record = _dispersed_record(reader, asked, liquid, release)
    ask = _Asking(reader, state, options, release)
    continuous = ask.liquid(liquid, contents=record is None or not _has_contents(record))
    dispersed = _solid(asked) if record is None else ask.phase(record)
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


def _dispersed_record(
    reader: Reader, asked: SuspensionQuestion, liquid: StoredRecord, release: ReleaseInfo
) -> StoredRecord | None:
    numbers = [f"solid_{part}" for part in SOLID_NUMBERS if getattr(asked, f"solid_{part}") is not None]
    if asked.dispersed is None:
        if not numbers:
            raise BadParameter(
                "dispersed: is missing; name a liquid or a material, or give a solid by solid_density and "
                "solid_compressibility, or solid_longitudinal_speed and solid_shear_speed.",
                parameter="dispersed",
            )
        return None
    if numbers:
        raise BadParameter(
            f"{numbers[0]}: is given together with dispersed; leave one of them out.", parameter=numbers[0]
        )
    record = reader.subject(asked.dispersed, release)
    if record.id == liquid.id:
        raise BadParameter(
            f"dispersed: {record.id} is the continuous liquid too; name what is dispersed in it.",
            parameter="dispersed",
            given=asked.dispersed,
        )
    if record.body["subject_kind"] == "liquid":
        solutions = [r.body for r in reader.store.of_kind("subject", release) if "solution" in r.body]
        refuse_miscible(liquid.body, record.body, solutions)
    elif not record.body.get("isotropic", True):
        raise BadParameter(
            f"dispersed: {record.id} is not the same in all directions, so that its speeds tell no compressibility; "
            "give solid_density and solid_compressibility.",
            parameter="dispersed",
            given=asked.dispersed,
        )
    return record


def _has_contents(record: StoredRecord) -> bool:
    """Whether a liquid has a strength or a salinity."""
    return "solution" in record.body or record.id == "seawater"


@dataclass(frozen=True, slots=True)
class _Asking:
    """Asks the release at one state."""

    reader: Reader
    state: State
    options: Options
    release: ReleaseInfo

    def values(self, record: StoredRecord, properties: Sequence[str], state: State) -> tuple[Answer, ...]:
        chosen = Options(units={name: _UNITS[name] for name in properties}, estimates=self.options.estimates)
        found = values_at(self.reader, record.id, properties, state=state, options=chosen, release=self.release)
        return tuple(found.values)

    def liquid(self, record: StoredRecord, *, contents: bool) -> PhaseAnswer:
        """A liquid at the state; its strength and salinity are those given where it is the one that has them."""
        density, speed = found = self.values(record, ("density", "sound_speed"), self.of(contents=contents))
        phase = liquid_phase(density.value, _spread(density), speed.value, _spread(speed))
        return PhaseAnswer(phase, "liquid", subject_reference(record.body), found)

    def of(self, *, contents: bool) -> State:
        return self.state if contents else State(self.state.celsius, self.state.pascals)

    def phase(self, record: StoredRecord) -> PhaseAnswer:
        if record.body["subject_kind"] == "liquid":
            return self.liquid(record, contents=_has_contents(record))
        density, fast, slow = found = self.values(
            record, ("density", "longitudinal_speed", "shear_speed"), self.of(contents=False)
        )
        phase = elastic_phase(density.value, _spread(density), fast.value, _spread(fast), slow.value, _spread(slow))
        if phase is None:
            raise BadParameter(
                f"dispersed: the speeds of {record.id} fit no solid; give the solid by its own numbers.",
                parameter="dispersed",
            )
        return PhaseAnswer(phase, "solid", subject_reference(record.body), found)

    def warmth(self, record: StoredRecord, found: PhaseAnswer) -> tuple[Warmth, tuple[Answer, ...]]:
        """How a part takes warmth, with the row of its specific heat where the release has one."""
        if found.kind == "solid":
            return PLASTIC_WARMTH if record.body["family"] in PLASTICS else SOLID_WARMTH, ()
        density = found.answers[0]
        slope = float(density.slopes.get("temperature", 0.0))
        expansion = -slope / found.phase.density if slope else OIL_EXPANSION
        try:
            (heat,) = self.values(record, ("specific_heat",), self.of(contents=_has_contents(record)))
        except (NotAvailable, OutsideRange):
            return Warmth(expansion, found.phase.density * OIL_HEAT), ()
        return Warmth(expansion, found.phase.density * float(heat.magnitude)), (heat,)

    def viscosity(self, record: StoredRecord, density: float) -> tuple[float, Answer] | None:
        """The dynamic viscosity of the continuous liquid in Pa s with its row; None where the release has none."""
        contents = _has_contents(record)
        for name in ("dynamic_viscosity", "kinematic_viscosity"):
            try:
                (found,) = self.values(record, (name,), self.of(contents=contents))
            except (NotAvailable, OutsideRange):
                continue
            return float(found.magnitude) * (1.0 if name == "dynamic_viscosity" else density), found
        return None


_UNITS = {
    "density": "kg/m3",
    "sound_speed": "m/s",
    "longitudinal_speed": "m/s",
    "shear_speed": "m/s",
    "specific_heat": "J/(kg K)",
    "dynamic_viscosity": "Pa s",
    "kinematic_viscosity": "m2/s",
}


def _spread(found: Answer) -> float:
    return float(found.standard_uncertainty.magnitude)


def _solid(asked: SuspensionQuestion) -> PhaseAnswer:
    """A solid by its own numbers.

    Raises:
        BadParameter: the numbers are incomplete or contradict one another.
    """
    density, of_density = solid_number(asked, "density")
    speeds = [name for name in SOLID_NUMBERS[2:] if getattr(asked, f"solid_{name}") is not None]
    if (asked.solid_compressibility is None) == (not speeds):
        raise BadParameter(
            "solid_compressibility: give the solid's adiabatic compressibility, as in 26 1/TPa, or both of "
            "solid_longitudinal_speed and solid_shear_speed.",
            parameter="solid_compressibility",
        )
    if not speeds:
        return PhaseAnswer(
            compressible_phase(density, of_density, *solid_number(asked, "compressibility")), "solid", None
        )
    phase = elastic_phase(
        density, of_density, *solid_number(asked, "longitudinal_speed"), *solid_number(asked, "shear_speed")
    )
    if phase is None:
        raise BadParameter(
            "solid_shear_speed: no solid has such speeds, since cL² is not above 4/3 cS²; correct one of them.",
            parameter="solid_shear_speed",
        )
    return PhaseAnswer(phase, "solid", None)


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
    doubt = 0.0
    if asked.fraction_uncertainty is not None:
        read = read_size(asked.fraction_uncertainty, BASES[basis][0], "fraction_uncertainty", or_zero=True)
        doubt = float(read.unit.difference_to(read.magnitude, unit))
    return Share(mixture.volume_fraction(share, basis), basis, doubt, quantity)


def _skin(
    ask: _Asking, asked: SuspensionQuestion, liquid: StoredRecord, phase: Phase
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


def _fractions(mixture: Mixture, volume: float) -> SuspensionFraction:
    return {
        "volume_fraction": _si(volume, "volume_fraction").document(),
        "mass_fraction": _si(mixture.mass_fraction(volume), "mass_fraction").document(),
    }


def _si(value: float, dimension: str) -> Quantity:
    return Quantity(value, units().si(dimension))


def _held(value: float, unit: str, dimension: str) -> QuantityDocument:
    return Quantity(float(value), units().find(unit, dimension)).document()
