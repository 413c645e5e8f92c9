"""Metals that are elements, against a library of element data and against shock experiments."""

from __future__ import annotations

import math

import pytest

from refdb.database import Database
from tests.outside.elements import element
from tests.rows import each, failing

ELEMENTS = {
    "aluminium": "Al",
    "beryllium": "Be",
    "bismuth": "Bi",
    "cadmium": "Cd",
    "copper": "Cu",
    "gold": "Au",
    "hafnium": "Hf",
    "iron": "Fe",
    "lead": "Pb",
    "magnesium": "Mg",
    "molybdenum": "Mo",
    "nickel": "Ni",
    "niobium": "Nb",
    "platinum": "Pt",
    "silver": "Ag",
    "tantalum": "Ta",
    "tin": "Sn",
    "titanium": "Ti",
    "tungsten": "W",
    "uranium": "U",
    "vanadium": "V",
    "zinc": "Zn",
    "zirconium": "Zr",
}
ATOMS_IN_CELL = {"FCC": 4, "BCC": 2}
AVOGADRO = 6.02214076e23


def density(database: Database, subject: str) -> float:
    return float(database.value(subject, "density", temperature="20 degC").magnitude)


# mendeleev 1.3.0, density in g/cm3 (L. M. Mentel, github.com/lmmentel/mendeleev; the densities are those of the CRC
# Handbook of Chemistry and Physics, 95th edition). Printed to three digits, of specimens that differ by about 1 %.
def test_density_is_that_of_the_element(pending: Database) -> None:
    def check(subject: str) -> None:
        theirs = 1000.0 * element(ELEMENTS[subject]).density
        assert density(pending, subject) == pytest.approx(theirs, rel=0.02)

    assert failing(check, ELEMENTS, str) == []


# Mass of the atoms of a cubic cell over its volume: lattice constants from X-rays (mendeleev, lattice_constant in
# angstrom), standard atomic weights (IUPAC) and Avogadro's constant (exact in the SI). No weighed density goes in.
def test_density_is_that_of_the_crystal(pending: Database) -> None:
    def check(subject: str) -> None:
        metal = element(ELEMENTS[subject])
        atoms = ATOMS_IN_CELL[metal.lattice_structure]
        crystal = atoms * 1e-3 * metal.atomic_weight / AVOGADRO / (1e-10 * metal.lattice_constant) ** 3
        assert density(pending, subject) == pytest.approx(crystal, rel=0.025)

    assert failing(check, cubic(), str) == []


def cubic() -> list[str]:
    return [subject for subject, symbol in ELEMENTS.items() if element(symbol).lattice_structure in ATOMS_IN_CELL]


def test_most_of_the_metals_are_cubic_or_the_crystals_check_little() -> None:
    assert len(cubic()) >= 12


# Intercepts C0 of shock speed against particle speed, in m/s: R. Kinslow (ed.), High-Velocity Impact Phenomena, 1970;
# M. A. Meyers, Dynamic Behavior of Materials, 1994 (nickel, lead, tin, zinc, silver, gold); D. J. Steinberg, LLNL
# (aluminium 1100); S. P. Marsh, LASL Shock Hugoniot Data, 1980 (347), all as transcribed in
# github.com/Jake-Diamond-9/shock_calculations. They come from explosives and gas guns, not from ultrasound. Titanium (a
# fit with too small a slope), hafnium (no shear speed in use) and cadmium (12 % off) are left out.
SHOCK = {
    "aluminium": 5386.0,
    "copper": 3940.0,
    "gold": 3060.0,
    "lead": 2050.0,
    "magnesium": 4492.0,
    "molybdenum": 5124.0,
    "nickel": 4600.0,
    "niobium": 4438.0,
    "platinum": 3598.0,
    "silver": 3230.0,
    "stainless-347": 4620.0,
    "tin": 2610.0,
    "tungsten": 4029.0,
    "zinc": 3010.0,
    "zirconium": 3757.0,
}


@each(("subject", "intercept"), SHOCK.items(), ids=SHOCK)
def test_the_two_speeds_give_the_bulk_speed_of_shock_experiments(
    pending: Database, subject: str, intercept: float
) -> None:
    longitudinal, shear = (
        pending.value(subject, f"{name}_speed", temperature="20 degC").magnitude for name in ("longitudinal", "shear")
    )
    assert math.sqrt(longitudinal**2 - 4.0 / 3.0 * shear**2) == pytest.approx(intercept, rel=0.07)
