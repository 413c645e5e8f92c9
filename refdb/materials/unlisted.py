"""What follows for a material that is in no list from what was measured on it and from what it is one more of.

Both speeds and the density are, to begin with, those of one more member of its kind; every measured number narrows them
all, since speeds, density and dynamic moduli of one solid go together. To first order about the best point, repeated
until it stays (JCGM 102:2011, 6.2; Gelb, Applied Optimal Estimation, 1974, 6.1: iterated).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from refdb.forms.elasticity import poisson_ratio_of_speeds, youngs_modulus_of_speeds
from refdb.lookup import ReleaseInfo
from refdb.materials.kind import MaterialKind, kind_of
from refdb.materials.match import AGREES, CAUTION, NEAR
from refdb.materials.measurement import DESCRIBED, MeasuredNumber, PieceMeasurement, read_piece
from refdb.materials.question import MaterialDescribed
from refdb.problems import OutsideRange
from refdb.units import Quantity, significant, units
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.vocabulary import properties

if TYPE_CHECKING:
    from refdb.materials.documents import ConditionalValue, UnlistedDocument

ROUNDS = 12
STEP = 1e-5
"""Of the logarithms, for slopes."""
MODEL = (
    "Before anything is measured the material is one more member of its kind: the members' mean, with their spread "
    "and what each is uncertain by. Each measured number narrows all others through the relations of an isotropic "
    "solid, to first order about the best point (JCGM 102:2011, 6.2)."
)


@dataclass(frozen=True)
class Unlisted:
    """The properties of an unlisted material, conditional on what was measured, in SI."""

    release: str
    options: Options
    piece: PieceMeasurement
    kind: MaterialKind
    point: Any
    covariance: Any
    chi_squared: float

    @property
    def fits(self) -> bool:
        """Whether what was measured fits the kind."""
        return self.chi_squared <= AGREES[len(self.piece.measured)]

    def value(self, name: str) -> tuple[float, float]:
        """A property and its standard uncertainty."""
        return _told(RELATIONS[name], self.point, self.covariance)

    def before(self, name: str) -> tuple[float, float]:
        """What the kind alone lets expect."""
        return _told(RELATIONS[name], self.kind.mean, self.kind.covariance)

    @property
    def advice(self) -> list[str]:
        """Plain words: whether it fits, and what would narrow it most."""
        lines = []
        if not self.fits:
            lines.append(
                f"What was measured does not fit {self.kind.words}: chi-squared {self.chi_squared:.3g} is more than "
                f"{AGREES[len(self.piece.measured)]}. It is something else, or a number is wrong; do not use the rest."
            )
        missing = [name for name in DESCRIBED[:3] if name not in self.piece.measured]
        if missing:
            widest = max(missing, key=lambda name: self.value(name)[1] / self.value(name)[0])
            lines.append(f"Measuring the {widest.replace('_', ' ')} would help most.")
        lines.append("`refdb match-material` tells which listed materials agree.")
        return lines

    def document(self) -> UnlistedDocument:
        """The answer as plain JSON values."""
        return {
            "release": self.release,
            "temperature": Quantity(self.piece.celsius, units().find("degC", "temperature")).document(),
            "kind": {
                "words": self.kind.words,
                "family": self.kind.family,
                "like": self.kind.like,
                "members": list(self.kind.members),
            },
            "values": [self._value(name) for name in DESCRIBED],
            "chi_squared": significant(self.chi_squared, 4),
            "fits": self.fits,
            "model": MODEL,
            "advice": self.advice,
            "assumptions": [*self.piece.assumptions, *self.kind.assumptions],
            "warnings": [CAUTION],
        }

    def _value(self, name: str) -> ConditionalValue:
        unit = self.options.unit_for(name, units().si(properties()[name]["dimension"]))
        value, size = self.value(name)
        told = MeasuredNumber(name, value, size).document(unit)
        measured = self.piece.measured.get(name)
        found: ConditionalValue = {
            "property": name,
            "value": told["value"],
            "standard_uncertainty": told["standard_uncertainty"],
            "before": MeasuredNumber(name, *self.before(name)).document(unit),
            "measured": measured.document(unit) if measured is not None else None,
        }
        if self.fits:
            found["keep"] = self._keep(name, value, size)
        return found

    def _keep(self, name: str, value: float, size: float) -> str:
        """The command that keeps it as a house value."""
        subject = self.kind.like["id"] if self.kind.like is not None else "own-material-1"
        basis = "measured" if name in self.piece.measured else "estimated"
        unit = units().si(properties()[name]["dimension"])
        return (
            f'refdb house add {subject} {name} --value {value:.5g} --unit "{unit.symbol}" --uncertainty {size:.2g} '
            f'--temperature "{self.piece.celsius:g} degC" --basis {basis} --evidence "{self.kind.words}"'
        )


def _at(place: int) -> Callable[[Any], float]:
    return lambda point: math.exp(point[place])


RELATIONS: dict[str, Callable[[Any], float]] = {
    "longitudinal_speed": _at(0),
    "shear_speed": _at(1),
    "density": _at(2),
    "youngs_modulus": lambda point: youngs_modulus_of_speeds(*map(math.exp, point)),
    "poisson_ratio": lambda point: poisson_ratio_of_speeds(math.exp(point[0]), math.exp(point[1])),
}
"""Each property of an isotropic solid from the logarithms of both speeds and the density, in SI."""


def unlisted(reader: Reader, asked: MaterialDescribed, options: Options, release: ReleaseInfo) -> Unlisted:
    """The properties of a material in no list.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension, BadParameter, OutsideRange: the question is wrong.
        UnknownName, AmbiguousName: no one listed material is called so.
        NotAvailable: too little is known of its kind.
        OutsideRange: what was measured is not of its kind, by far.
    """
    piece = read_piece(asked, DESCRIBED)
    kind = kind_of(reader, asked, piece.state, release)
    try:
        point, covariance, chi_squared = condition(kind.mean, kind.covariance, list(piece.measured.values()))
    except OverflowError:
        raise _no_such(piece, kind) from None
    if chi_squared > NEAR * AGREES[len(piece.measured)] or not _is_solid(point):
        raise _no_such(piece, kind)
    return Unlisted(release.label, options, piece, kind, point, covariance, chi_squared)


def _is_solid(point: Any) -> bool:
    """Whether an isotropic solid has such speeds: its bulk modulus is above zero."""
    return bool(3.0 * math.exp(2.0 * point[0]) > 4.0 * math.exp(2.0 * point[1]))


def _no_such(piece: PieceMeasurement, kind: MaterialKind) -> OutsideRange:
    name = next(iter(piece.measured))
    return OutsideRange(
        f"{name}: what was measured is not of {kind.words}, by far; check the numbers and their units, or say that it "
        "is of another kind; `refdb match-material` tells which listed materials agree.",
        parameter=name,
    )


def condition(mean: Any, covariance: Any, measured: Sequence[MeasuredNumber]) -> tuple[Any, Any, float]:
    """The logarithms of both speeds and the density given what was measured, their covariance, and chi-squared.

    Args:
        mean: of the logarithms of the longitudinal speed, the shear speed and the density in SI, before.
        covariance: of those.
    """
    wanted = np.array([one.value for one in measured])
    noise = np.diag([one.uncertainty * one.uncertainty for one in measured])
    relations = [RELATIONS[one.property_id] for one in measured]
    point, gain, slopes = np.array(mean), np.zeros((len(mean), len(wanted))), np.zeros((len(wanted), len(mean)))
    for _ in range(ROUNDS):
        slopes = np.array([_slopes(relation, point) for relation in relations])
        here = np.array([relation(point) for relation in relations])
        whole = slopes @ covariance @ slopes.T + noise
        gain = np.linalg.solve(whole, slopes @ covariance).T
        point = mean + gain @ (wanted - here - slopes @ (mean - point))
    first = np.array([_slopes(relation, np.array(mean)) for relation in relations])
    apart = wanted - np.array([relation(np.array(mean)) for relation in relations])
    chi_squared = float(apart @ np.linalg.solve(first @ covariance @ first.T + noise, apart))
    return point, covariance - gain @ slopes @ covariance, chi_squared


def _slopes(relation: Callable[[Any], float], point: Any) -> Any:
    found = []
    for place in range(len(point)):
        up, down = np.array(point), np.array(point)
        up[place] += STEP
        down[place] -= STEP
        found.append((relation(up) - relation(down)) / (2.0 * STEP))
    return np.array(found)


def _told(relation: Callable[[Any], float], point: Any, covariance: Any) -> tuple[float, float]:
    slopes = _slopes(relation, point)
    return relation(point), math.sqrt(max(0.0, float(slopes @ covariance @ slopes)))
