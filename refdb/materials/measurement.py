"""What was measured on a piece of a material: numbers in SI with standard uncertainties, and the temperature."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from refdb.constants import ROOM_CELSIUS
from refdb.lookup.state import State, read_state
from refdb.materials.question import MaterialMeasured
from refdb.problems import BadParameter, OutsideRange
from refdb.units import Quantity, Unit, units
from refdb.units.quantity import read_quantity
from refdb.units.sizes import NO_SOURCE, positive_number
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.documents import UncertainQuantity

UNTOLD = {
    "longitudinal_speed": 0.005,
    "shear_speed": 0.005,
    "density": 0.005,
    "youngs_modulus": 0.01,
}
"""Relative standard uncertainty of what was measured where none is told."""
UNTOLD_RATIO = 0.01
"""The same of Poisson's ratio, absolute."""
LIMITS = {
    "longitudinal_speed": (300.0, 20_000.0),
    "shear_speed": (10.0, 14_000.0),
    "density": (100.0, 25_000.0),
    "youngs_modulus": (1e5, 1.5e12),
    "poisson_ratio": (0.0, 0.5),
}
"""In SI: between what any solid lies; beyond, a unit or a digit is wrong."""
MATCHED = ("longitudinal_speed", "shear_speed", "density")
DESCRIBED = (*MATCHED, "youngs_modulus", "poisson_ratio")


@dataclass(frozen=True, slots=True)
class MeasuredNumber:
    """One number in SI, with its standard uncertainty."""

    property_id: str
    value: float
    uncertainty: float

    def document(self, unit: Unit) -> UncertainQuantity:
        """The number as plain JSON values in a unit."""
        own = units().si(unit.dimension)
        return {
            "value": Quantity(own.to(self.value, unit), unit).document(),
            "standard_uncertainty": Quantity(own.difference_to(self.uncertainty, unit), unit).document(),
        }


@dataclass(frozen=True, slots=True)
class PieceMeasurement:
    """Everything that was measured, by property, the state, and what was taken for granted."""

    measured: Mapping[str, MeasuredNumber]
    state: State
    assumptions: tuple[str, ...]

    @property
    def celsius(self) -> float:
        """The temperature of the piece in degC."""
        return float(self.state.celsius)


def read_piece(asked: MaterialMeasured, names: tuple[str, ...] = MATCHED) -> PieceMeasurement:
    """The measurement that a question tells.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension: a quantity is not one.
        BadParameter: nothing was measured, or an uncertainty is told of what was not, or contradicts its value.
        OutsideRange: a number is not above zero, or none that a solid has.
    """
    notes: list[str] = []
    found: dict[str, MeasuredNumber] = {}
    for name in names:
        given, uncertainty = getattr(asked, name), getattr(asked, f"{name}_uncertainty")
        if given is None:
            if uncertainty is not None:
                raise BadParameter(
                    f"{name}_uncertainty: is given without {name}; give both, or leave it out.",
                    parameter=f"{name}_uncertainty",
                )
            continue
        found[name] = _measured(name, given, uncertainty, notes)
    if not found:
        raise BadParameter(
            f"{names[0]}: nothing is given that was measured; give one of {', '.join(names)}, as in '5740 m/s'.",
            parameter=names[0],
        )
    _check_speeds(found)
    state = read_state(asked.temperature)
    if state.celsius is None:
        notes.append(f"temperature not given: {ROOM_CELSIUS:g} degC")
        state = read_state(f"{ROOM_CELSIUS:g} degC")
    return PieceMeasurement(found, state, (*notes, *state.assumptions))


def _measured(name: str, given: Any, uncertainty: Any, notes: list[str]) -> MeasuredNumber:
    dimension = properties()[name]["dimension"]
    si = units().si(dimension)
    value = positive_number(given, name, dimension, si.symbol)
    low, high = LIMITS[name]
    if not low <= value <= high:
        raise OutsideRange(
            f"{name}: {given} is not between {Quantity(low, si)} and {Quantity(high, si)}, where every solid is; check "
            "the number and its unit.",
            parameter=name,
            given=str(given),
        )
    if uncertainty is None:
        own = UNTOLD_RATIO if name == "poisson_ratio" else UNTOLD[name] * value
        notes.append(f"{name}: standard uncertainty not told, {Quantity(own, si)} taken ({NO_SOURCE})")
        return MeasuredNumber(name, value, own)
    field = f"{name}_uncertainty"
    quantity = read_quantity(uncertainty, dimension, field)
    own = float(quantity.unit.difference_to(quantity.magnitude, si))
    if not 0.0 < own < value:
        raise BadParameter(
            f"{field}: {uncertainty} is not above zero and below the value itself; check both numbers.",
            parameter=field,
            given=str(uncertainty),
        )
    return MeasuredNumber(name, value, own)


def _check_speeds(found: Mapping[str, MeasuredNumber]) -> None:
    """No isotropic solid carries shear waves faster than 0.866 of its longitudinal ones: K would be negative."""
    if "longitudinal_speed" not in found or "shear_speed" not in found:
        return
    fast, slow = found["longitudinal_speed"].value, found["shear_speed"].value
    if 4.0 * slow * slow >= 3.0 * fast * fast:
        raise BadParameter(
            f"shear_speed: {slow:.6g} m/s is more than 0.866 of the longitudinal {fast:.6g} m/s, which no isotropic "
            "solid has; check whether the two are exchanged.",
            parameter="shear_speed",
        )
