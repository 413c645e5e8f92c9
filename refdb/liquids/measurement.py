"""What was measured of a liquid: its sound speed and, mostly, its temperature, with standard uncertainties.

Where no uncertainty is told, one is taken and said: common practice, no source, see the constants.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from refdb.liquids.question import LiquidQuestion
from refdb.lookup.state import State, read_state
from refdb.problems import BadParameter, MissingState
from refdb.units import Quantity, Unit, units
from refdb.units.sizes import NO_SOURCE, positive_number

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument, UncertainQuantity
    from refdb.liquids.documents import MeasuredLiquid


UNTOLD_SPEED = 0.005
"""Of a measured sound speed: the bore by which a path is known is hardly known better through a pipe wall."""
UNTOLD_TEMPERATURE = 0.5
"""K: a thermometer on a lagged pipe."""

CAUTION = (
    "A sound speed does not prove what is in a pipe: before anybody opens, cuts or works on it, the plant's records "
    "or a sample say what it holds."
)


@dataclass(frozen=True, slots=True)
class LiquidMeasurement:
    """Sound speed in m/s and the state, with standard uncertainties and everything taken for granted.

    `kelvin` is the standard uncertainty of the temperature; 0 where the temperature is what is asked for.
    """

    speed: float
    uncertainty: float
    state: State
    kelvin: float
    assumptions: tuple[str, ...]

    def document(self, speed_unit: Unit) -> MeasuredLiquid:
        """The measurement as plain JSON values, speeds in a unit."""
        return {
            "sound_speed": uncertain(self.speed, self.uncertainty, "m/s", speed_unit),
            "temperature": self._temperature(),
            "pressure": _part(self.state.pascals, "Pa", "pressure"),
            "salinity": _part(self.state.salinity, "g/kg", "salinity"),
            "strength": _part(self.state.strength, "kg/kg", "mass_fraction"),
        }

    def _temperature(self) -> UncertainQuantity | None:
        if self.state.celsius is None:
            return None
        return {
            "value": _quantity(self.state.celsius, "degC", "temperature"),
            "standard_uncertainty": _quantity(self.kelvin, "delta_K", "temperature_difference"),
        }


def uncertain(value: float, uncertainty: float, own: str, shown: Unit) -> UncertainQuantity:
    """A value and its standard uncertainty, both in the spelling `own`, as a document in the unit `shown`."""
    unit = units().find(own, shown.dimension)
    return {
        "value": Quantity(unit.to(value, shown), shown).document(),
        "standard_uncertainty": Quantity(unit.difference_to(uncertainty, shown), shown).document(),
    }


def read_liquid(asked: LiquidQuestion) -> LiquidMeasurement:
    """The measurement that a question tells.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one.
        BadParameter: parts contradict each other, or the sound speed is missing.
        MissingState: the temperature is missing.
        OutsideRange: a speed or an uncertainty is not above zero.
    """
    _check_parts(asked)
    assert asked.sound_speed is not None  # noqa: S101 - for the type checkers; the check has looked
    speed = positive_number(asked.sound_speed, "sound_speed", "speed", "m/s")
    state = read_state(asked.temperature, asked.pressure, asked.salinity, asked.strength)
    if isinstance(state.strength, Quantity):
        raise BadParameter(
            f"strength: {state.strength} can only be told as a mass fraction of a known solution; write % mass.",
            parameter="strength",
        )
    notes = list(state.assumptions)
    if asked.sound_speed_uncertainty is not None:
        uncertainty = positive_number(asked.sound_speed_uncertainty, "sound_speed_uncertainty", "speed", "m/s")
    else:
        uncertainty = UNTOLD_SPEED * speed
        notes.append(f"sound_speed: standard uncertainty not told, {UNTOLD_SPEED:.1%} of it taken ({NO_SOURCE})")
    return LiquidMeasurement(speed, uncertainty, state, _kelvin(asked, notes), tuple(notes))


def _kelvin(asked: LiquidQuestion, notes: list[str]) -> float:
    if asked.liquid is not None:
        return 0.0
    if asked.temperature_uncertainty is not None:
        return positive_number(
            asked.temperature_uncertainty, "temperature_uncertainty", "temperature_difference", "delta_K"
        )
    notes.append(f"temperature: standard uncertainty not told, {UNTOLD_TEMPERATURE:g} K taken ({NO_SOURCE})")
    return UNTOLD_TEMPERATURE


def _check_parts(asked: LiquidQuestion) -> None:
    if asked.sound_speed is None:
        raise BadParameter(
            "sound_speed: is missing; give what was measured, as in '1482 m/s'.", parameter="sound_speed"
        )
    if asked.liquid is not None and asked.solution is not None:
        raise BadParameter(
            "solution: is given together with liquid; give liquid to find its temperature, solution to find its "
            "strength.",
            parameter="solution",
        )
    if asked.liquid is None and asked.temperature is None:
        raise MissingState(
            "temperature: is missing; give it, as in '20 degC', or name the liquid to find at which temperature it has "
            "this speed.",
            parameter="temperature",
        )
    for name in ("temperature", "temperature_uncertainty"):
        if asked.liquid is not None and getattr(asked, name) is not None:
            raise BadParameter(
                f"{name}: of the liquid named, the temperature is what is looked for; leave {name} out, or leave "
                "liquid out.",
                parameter=name,
            )
    for name in ("salinity", "strength"):
        if asked.solution is not None and getattr(asked, name) is not None:
            raise BadParameter(
                f"{name}: of a solution, it is what is looked for; leave it out.",
                parameter=name,
            )


def _part(number: float | None, symbol: str, dimension: str) -> QuantityDocument | None:
    return _quantity(number, symbol, dimension) if number is not None else None


def _quantity(number: float, symbol: str, dimension: str) -> QuantityDocument:
    return Quantity(number, units().find(symbol, dimension)).document()
