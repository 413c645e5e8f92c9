"""Equations with coefficients that libraries carry in tables: chemicals, thermo and aquasol.

chemicals holds coefficients of Perry's handbook and of the VDI Heat Atlas by CAS number, thermo the equations of
Laliberte (2009) for solutions, aquasol the coefficients of Al Ghafri and others (2012).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache
from typing import Any, NamedTuple

from refdb.constants import KELVIN_AT_0_CELSIUS, STANDARD_ATMOSPHERE
from refdb.forms.states import StatePoint
from refdb.records.models import PropertyReading, Source
from refdb.transcription.equations import LibraryEquation, Value
from refdb.transcription.libraries import Library, module_of

COOLPROP = Library("CoolProp", "8.0.0")
"""Gives IAPWS-95, on which the equation of Al Ghafri rests."""

_POINTED = re.compile(r"CAS (?P<cas>[\d-]+); chemicals [\d.]+, (?P<table>\w+)")
_CAS = re.compile(r"\d{2,7}-\d{2}-\d")
_FITTED = re.compile(r"(?P<formula>[\w()]+), fitted to ")


class _Substance(NamedTuple):
    """A substance in a table of chemicals."""

    library: Library
    cas: str
    row: dict[str, Any]

    def columns(self, names: str) -> list[float]:
        return [self.row[name] for name in names.split()]

    def function(self, module: str, name: str) -> Any:
        return getattr(module_of(self.library, f"chemicals.{module}"), name)

    @property
    def molar_mass(self) -> float:
        """g/mol, which the library computes from the formula."""
        return _molar_mass(self.library, self.cas)


class _Table(NamedTuple):
    """A table of chemicals: the module that holds it, the unit of the values, and the equation of its columns."""

    module: str
    unit: str
    value: Callable[[_Substance, float], float]


def _dippr(number: int, names: str) -> Callable[[_Substance, float], float]:
    return lambda one, kelvin: float(one.function("dippr", f"EQ{number}")(kelvin, *one.columns(names)))


_EQ105, _EQ100 = _dippr(105, "C1 C2 C3 C4"), _dippr(100, "A B C D E")


def _heat_capacity_near_critical(one: _Substance, kelvin: float) -> float:
    critical = one.function("critical", "Tc")(one.cas)
    return float(one.function("dippr", "EQ114")(kelvin, critical, *one.columns("A B C D"))) / one.molar_mass


def _wagner(one: _Substance, kelvin: float) -> float:
    return float(one.function("vapor_pressure", "Wagner")(kelvin, *one.columns("Tc Pc A B C D")))


def _ppds_density(one: _Substance, kelvin: float) -> float:
    """VDI Heat Atlas, part D3.1, equation 2: the density of a saturated liquid."""
    critical, density, a, b, c, d = one.columns("Tc rhoc A B C D")
    below = 1.0 - kelvin / critical
    return float(density + a * below**0.35 + b * below ** (2 / 3) + c * below + d * below ** (4 / 3))


def _ppds_viscosity(one: _Substance, kelvin: float) -> float:
    return float(one.function("viscosity", "PPDS9")(kelvin, *one.columns("A B C D E")))


TABLES = {
    "Psat_data_Perrys2_8": _Table("vapor_pressure", "Pa", _dippr(101, "C1 C2 C3 C4 C5")),
    "rho_data_Perry_8E_105_l": _Table(
        "volume", "kg/m3", lambda one, kelvin: _EQ105(one, kelvin) * one.molar_mass / 1000.0
    ),
    "mu_data_Perrys_8E_2_313": _Table("viscosity", "Pa.s", _dippr(101, "C1 C2 C3 C4 C5")),
    "Cp_data_Perry_Table_153_100": _Table(
        "heat_capacity", "J/(kg.K)", lambda one, kelvin: _EQ100(one, kelvin) / one.molar_mass
    ),
    "Cp_data_Perry_Table_153_114": _Table("heat_capacity", "J/(kg.K)", _heat_capacity_near_critical),
    "Psat_data_VDI_PPDS_3": _Table("vapor_pressure", "Pa", _wagner),
    "rho_data_VDI_PPDS_2": _Table("volume", "kg/m3", _ppds_density),
    "mu_data_VDI_PPDS_7": _Table("viscosity", "Pa.s", _ppds_viscosity),
    "rho_data_CRC_inorg_l_const": _Table(
        "volume", "kg/m3", lambda one, _: one.molar_mass / 1000.0 / float(one.row["Vm"])
    ),
}
"""The tables of chemicals that are evaluated here, by their names in the library."""

FILES = {"CRC Liquid Inorganic Constant Densities.tsv": "rho_data_CRC_inorg_l_const"}
"""The names in the library of tables that documents name by their files."""


def of_chemicals(library: Library, reading: PropertyReading, source: Source) -> LibraryEquation | None:
    """The table of coefficients at which a locator points, with a CAS number; None where it points at none."""
    pointed = _POINTED.search(reading.locator)
    if pointed is not None:
        cas, name = pointed["cas"], pointed["table"]
    else:
        cas, name = reading.locator, next((FILES[file] for file in FILES if file in source.seen_at), "")
    if name not in TABLES or not _CAS.fullmatch(cas):
        return None
    table = TABLES[name]

    def prepared() -> Value:
        held = getattr(module_of(library, f"chemicals.{table.module}"), name)
        one = _Substance(library, cas, held.loc[cas].to_dict())
        return lambda state: table.value(one, _kelvin(state))

    return LibraryEquation(library, table.unit, prepared)


def _kelvin(state: StatePoint) -> float:
    """Of a state; 0 where it has no temperature, as beside a constant."""
    return 0.0 if state.celsius is None else float(state.celsius + KELVIN_AT_0_CELSIUS)


@cache
def _molar_mass(library: Library, cas: str) -> float:
    elements = module_of(library, "chemicals.elements")
    formula = module_of(library, "chemicals.identifiers").search_chemical(cas).formula
    return float(elements.molecular_weight(elements.nested_formula_parser(formula)))


LALIBERTE = {
    "density": ("Laliberte_density", "kg/m3"),
    "dynamic_viscosity": ("Laliberte_viscosity", "Pa.s"),
    "specific_heat": ("Laliberte_heat_capacity", "J/(kg.K)"),
}
"""The function of thermo that gives a property of a solution, and the unit of its values."""


def of_thermo(library: Library, reading: PropertyReading, source: Source) -> LibraryEquation | None:
    """The equation of Laliberte for the solute whose formula a locator begins with; None where it names none."""
    fitted = _FITTED.match(reading.locator)
    if fitted is None or reading.property not in LALIBERTE or "Laliberte" not in source.seen_at:
        return None
    name, unit = LALIBERTE[reading.property]

    def prepared() -> Value:
        electrochemistry = module_of(library, "thermo.electrochem")
        solutes = electrochemistry.Laliberte_data
        cas = solutes.index[solutes["Formula"] == fitted["formula"]][0]
        solution, water = getattr(electrochemistry, name), getattr(electrochemistry, f"{name}_w")

        def value(state: StatePoint) -> float:
            # That of the solution divides by the strength.
            if state.strength == 0.0:
                return float(water(_kelvin(state)))
            return float(solution(_kelvin(state), [state.strength], [cas]))

        return value

    return LibraryEquation(library, unit, prepared)


SALTS = {
    "calcium-chloride-water": ("CaCl2", 110.98),
    "magnesium-chloride-water": ("MgCl2", 95.211),
    "potassium-chloride-water": ("KCl", 74.551),
    "sodium-chloride-water": ("NaCl", 58.443),
}
"""The salt in a solution as aquasol names it, and its molar mass in g/mol, by which strengths were made molalities:
those of `sources/rules/solutions.toml`."""

AL_GHAFRI = {"density": "kg/m3", "bulk_modulus": "Pa"}
"""The properties that the equation of Al Ghafri gives, with the units of the values."""


def of_aquasol(library: Library, reading: PropertyReading, source: Source) -> LibraryEquation | None:
    """The equation of Al Ghafri and others (2012) at one atmosphere; None where a reading is of another thing."""
    known = reading.subject in SALTS and reading.property in AL_GHAFRI and "al-ghafri" in source.id
    if not known or "at 0.101325 MPa" not in reading.locator:
        return None
    formula, molar_mass = SALTS[reading.subject]

    def prepared() -> Value:
        carried = module_of(library, "aquasol.formulas.solutions.density.al_ghafri")
        reference, tait, tait_factor = getattr(carried, f"coeffs_{formula}")()
        equation = _AlGhafri(reference, tait, tait_factor, carried.Tc)

        def value(state: StatePoint) -> float:
            molality = 1000.0 * state.strength / (1.0 - state.strength) / molar_mass
            density, bulk_modulus = equation.at(molality, _kelvin(state))
            return density if reading.property == "density" else bulk_modulus

        return value

    return LibraryEquation(library, AL_GHAFRI[reading.property], prepared)


class _AlGhafri:
    """Al Ghafri and others, J. Chem. Eng. Data 57, 1288-1304 (2012), equations 7 and 9 to 11, as aquasol numbers them.

    The water is IAPWS-95, which CoolProp gives.
    """

    def __init__(self, reference: Any, tait: Any, tait_factor: Any, critical: float) -> None:
        coolprop = module_of(COOLPROP, "CoolProp.CoolProp")
        self._saturated, self._water = coolprop.QT_INPUTS, coolprop.AbstractState("HEOS", "Water")
        self._reference, self._tait, self._tait_factor, self._critical = reference, tait, tait_factor, critical

    def at(self, molality: float, kelvin: float) -> tuple[float, float]:
        """Density in kg/m3 and isothermal bulk modulus in Pa at one atmosphere; mol/kg and K."""
        self._water.update(self._saturated, 0.0, kelvin)
        boiling, reduced = self._water.p(), kelvin / self._critical
        density = self._water.rhomass()
        for i in range(1, 4):
            row = self._reference[i]
            by_temperature = row[0] + sum(row[j] * reduced ** ((j + 1) / 2) for j in range(1, 5))
            density += by_temperature * molality ** ((i + 1) / 2)
        b = 1e6 * sum(self._tait[i][j] * molality**i * reduced**j for i in range(2) for j in range(4))
        c0, c1, c2 = self._tait_factor
        c = c0 + c1 * molality + c2 * molality**1.5
        shrunk = 1.0 - c * math.log((b + STANDARD_ATMOSPHERE) / (b + boiling))
        return float(density / shrunk), float(shrunk * (b + STANDARD_ATMOSPHERE) / c)
