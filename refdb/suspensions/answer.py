"""The answer about a suspension: its parts, the speed at a fraction or the fractions with a speed, and its budget."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.lookup.state import State
from refdb.suspensions.equation import (
    Basis,
    Mixture,
    Phase,
)
from refdb.suspensions.read import (
    BASES,
)
from refdb.units import Quantity, units, with_uncertainty
from refdb.values.options import ESTIMATE_RUNGS
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
PACKED = {"solid": 0.5, "liquid": 0.7}
"""Volume fractions beyond which grains bear on one another, and drops are squeezed; judgement."""


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


def _fractions(mixture: Mixture, volume: float) -> SuspensionFraction:
    return {
        "volume_fraction": _si(volume, "volume_fraction").document(),
        "mass_fraction": _si(mixture.mass_fraction(volume), "mass_fraction").document(),
    }


def _si(value: float, dimension: str) -> Quantity:
    return Quantity(value, units().si(dimension))


def _held(value: float, unit: str, dimension: str) -> QuantityDocument:
    return Quantity(float(value), units().find(unit, dimension)).document()
