"""The strength of a solution on one basis told on another, through the densities that a release advises.

What is held is the mass fraction w of what is dissolved. The other bases, with the molar masses M of the solute and Ms
of the solvent, the densities rho(w, T) of the solution and rho1, rho0 of the pure liquids at 20 degC:

- mole fraction x = (w/M) / (w/M + (1-w)/Ms); molality b = w / ((1-w) M);
- amount concentration c = w rho / M and mass concentration w rho, at the temperature of the state;
- volume fraction before mixing, at 20 degC: phi = (w/rho1) / (w/rho1 + (1-w)/rho0) (ISO 80000-9:2019, 9-14);
- alcoholic strength by volume, at 20 degC: w rho(w, 20 degC) / rho(1, 20 degC) (OIML R 22);
- a density measured at the temperature of the state; degBaume at 60 degF.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.state import State, strength_dimension
from refdb.problems import BadParameter, MissingState, NotAvailable, OutsideRange, Problem
from refdb.units import Quantity, Unit, significant, units
from refdb.values.molar_mass import molar_mass

REFERENCE_CELSIUS = 20.0
"""Where the alcoholic strength of OIML R 22 and the volumes of parts are told: a convention of its own."""

BAUME_CELSIUS = 140.0 / 9.0
"""60 degF, at which degrees Baume are defined."""

TELLING = 0.2
"""A strength whose standard uncertainty, in kg/kg, is beyond this is not told by a density."""

HALVINGS = 60
SCANNED = 400

Function = Callable[[Any], Any]

MEANINGS: Mapping[str, str] = {
    "mass_fraction": "mass of what is dissolved in the mass of the solution",
    "volume_fraction": "volume of what is dissolved in the sum of both volumes before mixing, at 20 degC",
    "alcoholic_strength": "volume at 20 degC of what is dissolved in the volume at 20 degC of the solution (OIML R 22)",
    "mole_fraction": "amount of what is dissolved in the sum of both amounts, salts counted undivided",
    "molality": "amount of what is dissolved for the mass of the solvent",
    "amount_concentration": "amount of what is dissolved in the volume of the solution at its temperature",
    "mass_concentration": "mass of what is dissolved in the volume of the solution at its temperature",
    "density": "density of the solution at its temperature; degBaume at 60 degF",
}
"""What a strength on each basis means."""


class Rows(Protocol):
    """Finds the row of a subject's property; raises a Problem where there is none."""

    def __call__(self, subject: str, property_id: str) -> PreparedRow:
        """The row, ready to be evaluated."""
        ...


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength as a mass fraction, with where it came from.

    Attributes:
        mass_fraction: kg/kg, a float or an array.
        standard_uncertainty: of a strength found from a density: what the density's own row leaves; else zero.
        meaning: of the basis it was given on.
    """

    mass_fraction: Any
    standard_uncertainty: float
    meaning: str


class Conversion:
    """The strengths of one solution at one temperature."""

    def __init__(self, body: Mapping[str, Any], rows: Rows, celsius: Any) -> None:
        self._id: str = body["id"]
        solution = body.get("solution")
        if solution is None:
            raise BadParameter(
                f"strength: {self._id} is no solution of known parts; give a mass fraction, such as 30 % mass.",
                parameter="strength",
            )
        self._solution: Mapping[str, Any] = solution
        self._rows = rows
        self._celsius = celsius

    def dimension(self, quantity: Quantity) -> str:
        """The basis of a strength; percent by volume of an alcohol is its alcoholic strength."""
        dimension = strength_dimension(quantity.unit)
        if dimension == "volume_fraction" and self._solution.get("alcoholic"):
            return "alcoholic_strength"
        return dimension

    def to_mass_fraction(self, quantity: Quantity) -> Strength:
        """A strength as a mass fraction.

        Raises:
            OutsideRange: no strength that the release knows of gives that.
            BadParameter: the solution has no such basis, or several strengths have that density.
            NotAvailable: a density that is needed is not known.
            MissingState: the temperature is needed.
        """
        dimension = self.dimension(quantity)
        si = quantity.unit.to(quantity.magnitude, units().si(strength_dimension(quantity.unit)))
        if dimension == "density":
            return self._of_density(si, BAUME_CELSIUS if quantity.unit.symbol == "degBaume" else None)
        if dimension in _CLOSED:
            found = getattr(self, f"_of_{dimension}")(si)
        else:
            found = self._solved(self._function(dimension), si, dimension)
        self._require_fraction(found, quantity)
        return Strength(found, 0.0, MEANINGS[dimension])

    def from_mass_fraction(self, share: float, unit: Unit) -> float:
        """A mass fraction in a unit of another basis; a density in degBaume is that at 60 degF."""
        if unit.symbol == "degBaume":
            return float(units().si("density").to(self._density(share, BAUME_CELSIUS), unit))
        own = strength_dimension(unit)
        dimension = self.dimension(Quantity(0.0, unit))
        # Percent by volume of an alcohol is its alcoholic strength: the same number on another basis.
        return float(units().si(own).to(self._function(dimension)(share), unit))

    def _function(self, dimension: str) -> Function:
        functions: dict[str, Function] = {
            "mass_fraction": lambda share: share,
            "volume_fraction": self._volume_fraction,
            "alcoholic_strength": self._alcoholic_strength,
            "mole_fraction": self._mole_fraction,
            "molality": self._molality,
            "amount_concentration": lambda share: share * self._density(share, self._needed()) / self._solute_mass,
            "mass_concentration": lambda share: share * self._density(share, self._needed()),
            "density": lambda share: self._density(share, self._needed()),
        }
        return functions[dimension]

    @property
    def _solute_mass(self) -> float:
        return molar_mass(self._solution["formula"])

    @property
    def _solvent_mass(self) -> float:
        return molar_mass(self._solution["solvent_formula"])

    def _mole_fraction(self, share: Any) -> Any:
        solute, solvent = share / self._solute_mass, (1.0 - share) / self._solvent_mass
        return solute / (solute + solvent)

    def _of_mass_fraction(self, share: Any) -> Any:
        return share

    def _of_mole_fraction(self, part: Any) -> Any:
        solute, solvent = part * self._solute_mass, (1.0 - part) * self._solvent_mass
        return solute / (solute + solvent)

    def _molality(self, share: Any) -> Any:
        if share == 1.0:
            raise OutsideRange("strength: without solvent there is no molality; write % mass.", parameter="strength")
        return share / ((1.0 - share) * self._solute_mass)

    def _of_molality(self, molality: Any) -> Any:
        solute = molality * self._solute_mass
        return solute / (1.0 + solute)

    def _volume_fraction(self, share: Any) -> Any:
        solute, solvent = self._pure_densities()
        return share / solute / (share / solute + (1.0 - share) / solvent)

    def _of_volume_fraction(self, part: Any) -> Any:
        solute, solvent = self._pure_densities()
        return part * solute / (part * solute + (1.0 - part) * solvent)

    def _alcoholic_strength(self, share: Any) -> Any:
        return share * self._density(share, REFERENCE_CELSIUS) / self._pure_alcohol()

    def _pure_alcohol(self) -> float:
        """Of the alcohol at 20 degC, in kg/m3: of the solution's own row where that goes so far, as in OIML R 22, so
        that 100 % vol is 100 % mass."""
        if self._span()[1] < 1.0:
            return self._pure_densities()[0]
        return float(self._density(1.0, REFERENCE_CELSIUS))

    def _pure_densities(self) -> tuple[float, float]:
        """Of the dissolved liquid and of the solvent at 20 degC, in kg/m3."""
        solute = self._solution.get("solute")
        if solute is None:
            raise BadParameter(
                f"strength: what is dissolved in {self._id} is no liquid with a volume of its own; write % mass, "
                "mol/kg, mol/L, g/L, or a measured density.",
                parameter="strength",
            )
        return self._pure(solute), self._pure(self._solution.get("solvent", "water"))

    def _pure(self, subject: str) -> float:
        row = self._rows(subject, "density")
        return float(row.evaluate(State(REFERENCE_CELSIUS), needs_temperature=True).value)

    def _needed(self) -> Any:
        if self._celsius is None:
            raise MissingState(
                "temperature: a strength for a volume of solution, or from its density, needs the temperature; give "
                "one, such as temperature=20 degC.",
                parameter="temperature",
            )
        return self._celsius

    def _density(self, share: Any, celsius: Any) -> Any:
        row = self._rows(self._id, "density")
        return row.value_at(State(celsius, None, None, share))

    def _span(self) -> tuple[float, float]:
        row = self._rows(self._id, "density")
        interval = row.intervals.get("strength")
        if interval is None:
            raise NotAvailable(
                f"strength: the density of {self._id} is not known by strength; write % mass.", parameter="strength"
            )
        return interval.low, interval.high

    def _solved(self, function: Function, wanted: Any, dimension: str) -> Any:
        """The mass fraction at which a function that rises with it has a value, by bisection; arrays alike."""
        import numpy as np

        low, high = self._span()
        ends = function(low), function(high)
        if not (np.all(wanted >= ends[0]) and np.all(wanted <= ends[1])):
            raise self._outside(ends, dimension)
        lower, upper = low + 0.0 * wanted, high + 0.0 * wanted
        for _ in range(HALVINGS):
            middle = 0.5 * (lower + upper)
            below = function(middle) < wanted
            lower, upper = np.where(below, middle, lower), np.where(below, upper, middle)
        found = 0.5 * (lower + upper)
        return float(found) if np.ndim(found) == 0 else found

    def _outside(self, ends: tuple[Any, Any], dimension: str) -> OutsideRange:
        unit = units().si(dimension)
        low, high = (f"{float(max(ends[0]) if hasattr(ends[0], '__len__') else ends[0]):.4g}", "")
        high = f"{float(min(ends[1]) if hasattr(ends[1], '__len__') else ends[1]):.4g}"
        return OutsideRange(
            f"strength: the density of {self._id} is known from {low} to {high} {unit.symbol} there; give a strength "
            "inside.",
            parameter="strength",
            valid_range={"strength": [f"{low} {unit.symbol}", f"{high} {unit.symbol}"]},
        )

    def _of_density(self, wanted: Any, at: float | None) -> Strength:
        """The strength that has a density; there must be one only."""
        celsius = self._needed() if at is None else at
        if hasattr(wanted, "__len__") or hasattr(celsius, "__len__"):
            raise BadParameter(
                "strength: a density gives one strength at a time; ask state by state.", parameter="strength"
            )
        wanted = float(wanted)
        roots = self.roots_of_density(wanted, celsius)
        if len(roots) == 1:
            share = roots[0]
            spread = self._spread(share, celsius)
            if spread > TELLING:
                raise BadParameter(
                    f"strength: at {wanted:g} kg/m3 the density of {self._id} hardly depends on the strength; give the "
                    "strength itself.",
                    parameter="strength",
                )
            return Strength(share, spread, MEANINGS["density"])
        if roots:
            told = " and ".join(f"{100.0 * root:.4g} % mass" for root in roots)
            raise BadParameter(
                f"strength: {told} of {self._id} have the density {wanted:g} kg/m3 at {celsius:g} degC; say which by "
                "giving the strength itself.",
                parameter="strength",
                candidates=[f"{100.0 * root:.4g} % mass" for root in roots],
            )
        low, high = self._span()
        densities = [float(self._density(share, celsius)) for share in (low, high)]
        raise OutsideRange(
            f"strength: no strength of {self._id} known here has the density {wanted:g} kg/m3 at {celsius:g} degC; it "
            f"is {densities[0]:.5g} at {100.0 * low:g} % mass and {densities[1]:.5g} at {100.0 * high:g} % mass.",
            parameter="strength",
        )

    def roots_of_density(self, wanted: float, celsius: float) -> list[float]:
        """Every mass fraction at which the solution has a density in kg/m3 at a temperature."""
        import numpy as np

        low, high = self._span()
        shares = np.linspace(low, high, SCANNED + 1)
        off = np.asarray(self._density(shares, celsius)) - wanted
        roots = [float(share) for share, miss in zip(shares, off, strict=True) if miss == 0.0]
        for place in np.flatnonzero(off[:-1] * off[1:] < 0.0):
            lower, upper = float(shares[place]), float(shares[place + 1])
            sign = 1.0 if off[place] < 0.0 else -1.0
            for _ in range(HALVINGS):
                middle = 0.5 * (lower + upper)
                if sign * (float(self._density(middle, celsius)) - wanted) < 0.0:
                    lower = middle
                else:
                    upper = middle
            roots.append(0.5 * (lower + upper))
        return sorted(roots)

    def _spread(self, share: float, celsius: float) -> float:
        """What the uncertainty of the density's row leaves of a strength found from it."""
        row = self._rows(self._id, "density")
        try:
            found = row.evaluate(State(celsius, None, None, share), needs_temperature=True)
        except Problem:
            return 0.0
        slope = abs(float(found.slopes()["strength"]))
        return float(found.standard_uncertainty) / slope if slope else 0.0

    def _require_fraction(self, share: Any, quantity: Quantity) -> None:
        import numpy as np

        if not (np.all(share >= 0.0) and np.all(share <= 1.0)):
            raise OutsideRange(
                f"strength: {quantity} is more than the pure substance; correct the strength.", parameter="strength"
            )


_CLOSED = {"mole_fraction", "molality", "volume_fraction", "mass_fraction"}
"""Bases from which the mass fraction follows in one step."""


def with_mass_fraction(state: State, body: Mapping[str, Any], rows: Rows) -> State:
    """The state with its strength as a mass fraction, and what that took for granted.

    Raises:
        Problem: the strength cannot be told as a mass fraction; see `Conversion.to_mass_fraction`.
    """
    given = state.strength
    if not isinstance(given, Quantity):
        return state
    found = Conversion(body, rows, state.celsius).to_mass_fraction(given)
    return replace(
        state,
        strength=found.mass_fraction,
        strength_uncertainty=found.standard_uncertainty,
        assumptions=(*state.assumptions, _told(given, found)),
    )


def _told(given: Quantity, found: Strength) -> str:
    if not isinstance(found.mass_fraction, float):
        return f"strength in {given.unit.symbol}: {found.meaning}"
    uncertainty = f" ± {100.0 * found.standard_uncertainty:.2g}" if found.standard_uncertainty else ""
    share = f"{significant(100.0 * found.mass_fraction, 5):g}{uncertainty} % mass"
    return f"strength {given} is {share}: {found.meaning}"
