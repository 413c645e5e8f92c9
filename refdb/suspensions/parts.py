"""The parts of a suspension: subjects with their rows, or a solid by its own numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State
from refdb.problems import BadParameter, NotAvailable, OutsideRange
from refdb.suspensions.equation import (
    Warmth,
    compressible_phase,
    elastic_phase,
    liquid_phase,
)
from refdb.suspensions.miscible import refuse_miscible
from refdb.suspensions.question import SuspensionQuestion
from refdb.suspensions.read import (
    SOLID_NUMBERS,
    solid_number,
)
from refdb.values.ask import values_at
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.subjects import subject_reference
from refdb.values.value import Answer

if TYPE_CHECKING:
    pass
from refdb.suspensions.answer import PhaseAnswer

OIL_HEAT = 1900.0
"""J/(kg K): of an oil whose specific heat has no row; judgement."""
OIL_EXPANSION = 7e-4
"""1/K: of a liquid whose row of density knows no temperature; judgement."""
SOLID_WARMTH = Warmth(3e-5, 2e6)
PLASTIC_WARMTH = Warmth(2e-4, 2e6)
"""Of minerals, glass and metals, and of plastics and rubber; judgement."""
PLASTICS = frozenset({"thermoplastic", "fluoropolymer", "thermoset", "elastomer", "bituminous"})


def dispersed_record(
    reader: Reader, asked: SuspensionQuestion, liquid: StoredRecord, release: ReleaseInfo
) -> StoredRecord | None:
    """The subject of what is dispersed; None for a solid given by its own numbers.

    Raises:
        BadParameter: the liquids mix, or the solid is given twice.
        UnknownName, AmbiguousName: no one subject is called so.
    """
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


def has_contents(record: StoredRecord) -> bool:
    """Whether a liquid has a strength or a salinity."""
    return "solution" in record.body or record.id == "seawater"


@dataclass(frozen=True, slots=True)
class PartsAsked:
    """Asks the release at one state."""

    reader: Reader
    state: State
    options: Options
    release: ReleaseInfo

    def values(self, record: StoredRecord, properties: Sequence[str], state: State) -> tuple[Answer, ...]:
        """Properties of a part at a state, in SI units.

        Raises:
            Problem: one of them cannot be answered.
        """
        chosen = Options(units={name: _UNITS[name] for name in properties}, estimates=self.options.estimates)
        found = values_at(self.reader, record.id, properties, state=state, options=chosen, release=self.release)
        return tuple(found.values)

    def liquid(self, record: StoredRecord, *, contents: bool) -> PhaseAnswer:
        """A liquid at the state; its strength and salinity are those given where it is the one that has them."""
        density, speed = found = self.values(record, ("density", "sound_speed"), self.of(contents=contents))
        phase = liquid_phase(density.value, _spread(density), speed.value, _spread(speed))
        return PhaseAnswer(phase, "liquid", subject_reference(record.body), found)

    def of(self, *, contents: bool) -> State:
        """The state of the mixture, with salinity and strength only where a part has such."""
        return self.state if contents else State(self.state.celsius, self.state.pascals)

    def phase(self, record: StoredRecord) -> PhaseAnswer:
        """A liquid or a solid as a part of the mixture.

        Raises:
            Problem: a property that it needs cannot be answered.
        """
        if record.body["subject_kind"] == "liquid":
            return self.liquid(record, contents=has_contents(record))
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
            (heat,) = self.values(record, ("specific_heat",), self.of(contents=has_contents(record)))
        except (NotAvailable, OutsideRange):
            return Warmth(expansion, found.phase.density * OIL_HEAT), ()
        return Warmth(expansion, found.phase.density * float(heat.magnitude)), (heat,)

    def viscosity(self, record: StoredRecord, density: float) -> tuple[float, Answer] | None:
        """The dynamic viscosity of the continuous liquid in Pa s with its row; None where the release has none."""
        contents = has_contents(record)
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


def solid_as_given(asked: SuspensionQuestion) -> PhaseAnswer:
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
