"""Alcoholic strengths and degrees Brix beside published tables that did not make the rows of the densities."""

from __future__ import annotations

import pytest

from refdb.database import Database
from tests.rows import each

# Perry's Chemical Engineers' Handbook, 7th ed., densities of ethanol and water at 20 degC, g/mL by % mass, as
# handymath.com/cgi-bin/ethanolwater3.cgi prints it (up to 12 %), and "Density in grams per c.c. of mixtures of ethyl
# alcohol and water" (by the National Bureau of Standards) as chestofbooks.com/food/beverages/Alcohol-Properties prints
# it (45 to 85 %). The row follows OIML R 22. Measured, the largest: 0.074 kg/m3, which is 0.03 % mass.
DENSITIES_20 = [
    (1, 996.36),
    (5, 989.38),
    (10, 981.87),
    (12, 979.10),
    (45, 924.72),
    (50, 913.84),
    (55, 902.58),
    (60, 891.13),
    (65, 879.48),
    (70, 867.66),
    (75, 855.64),
    (80, 843.44),
    (85, 830.95),
]


@each(("percent", "density"), DENSITIES_20)
def test_a_density_of_spirit_tells_its_strength(database: Database, percent: float, density: float) -> None:
    row = database.value("ethanol-water", "density", temperature="20 degC", strength=f"{percent} % mass")
    assert row.to("kg/m3").magnitude == pytest.approx(density, abs=0.1)
    told = database.strength("ethanol-water", f"{density} kg/m3", temperature="20 degC", to="% mass")
    assert told.told[0][0].magnitude == pytest.approx(percent, abs=0.06)


# Alcoholometric table of the U.S. Pharmacopeia (USP 29), after the Bulletin of the National Bureau of Standards 9, pp.
# 424-425, and, above 33 % mass, dbaril.neocities.org/Tools/Water-Ethanol.htm to one decimal: % mass and % vol. Their
# volumes are those at 15.56 degC, which makes up to 0.1 % vol of OIML R 22's at 20 degC.
PAIRS = [
    (8.05, 10.00),
    (12.14, 15.00),
    (16.27, 20.00),
    (24.67, 30.00),
    (10.00, 12.39),
    (20.00, 24.47),
    (30.00, 36.18),
    (40.0, 47.3),
    (50.0, 57.8),
    (60.0, 67.7),
    (70.0, 76.9),
    (80.0, 85.5),
    (90.0, 93.2),
]


@each(("mass", "volume"), PAIRS)
def test_percent_by_mass_and_by_volume(database: Database, mass: float, volume: float) -> None:
    there = database.strength("ethanol-water", f"{mass} % mass", to="% vol")
    assert there.told[0][0].magnitude == pytest.approx(volume, abs=0.13)
    back = database.strength("ethanol-water", f"{volume} % vol", to="% mass")
    assert back.told[0][0].magnitude == pytest.approx(mass, abs=0.13)


# The definition of OIML R 22 and of Directive 76/766/EEC: pure alcohol is 100 % vol and 100 % mass.
def test_pure_alcohol_is_100_percent_either_way(database: Database) -> None:
    assert database.strength("ethanol-water", "100 % ABV").strength.mass_fraction == pytest.approx(1.0, abs=1e-12)
    assert database.strength("ethanol-water", "100 % mass", to="% ABV").told[0][0].magnitude == pytest.approx(100.0)


# Common practice, no source seen: spirit of 40 % vol is 33.3 % mass.
def test_spirit_of_40_percent(database: Database) -> None:
    assert database.strength("ethanol-water", "40 % vol").strength.mass_fraction == pytest.approx(0.333, abs=5e-5)


# eng-tips.com, thread 107637, a worked figure of the potable alcohol industry: 60 mL of ethanol need 43.6 mL of water
# to make 100 mL, at 20 degC; half of the last digit is 0.03 % mass. The glossary of wein.plus: 100 L and 100 L make
# 192.75 L, 51.8 % vol and 44.2 % mass, at 15 degC.
def test_what_volumes_make_on_mixing(database: Database) -> None:
    ethanol, water = (
        database.value(subject, "density", temperature="20 degC").to("kg/m3").magnitude
        for subject in ("ethanol", "water")
    )
    share = 60.0 * ethanol / (60.0 * ethanol + 43.6 * water)
    assert database.strength("ethanol-water", "60 % vol").strength.mass_fraction == pytest.approx(share, abs=4e-4)
    half = database.strength("ethanol-water", "51.8 % vol").strength.mass_fraction
    assert half == pytest.approx(0.442, abs=1e-3)


# Uniwersytet Mikolaja Kopernika, II Pracownia Fizyczna, table of the density of sucrose in water at 15 and 20 degC
# (wwwold.fizyka.umk.pl, node 18305), kg/m3; degrees Brix are % mass. The row is Laliberte's correlation. Measured, the
# largest: 0.01 %, and 0.03 degBrix.
BRIX = [
    (5, 1018.84, 1017.84),
    (10, 1039.25, 1038.13),
    (15, 1060.41, 1059.16),
    (20, 1082.33, 1080.94),
    (25, 1105.07, 1103.54),
    (30, 1128.63, 1126.98),
    (35, 1153.06, 1151.27),
]


@pytest.mark.parametrize(("brix", "cool", "warm"), BRIX)
def test_degrees_brix_and_densities_of_sugar(database: Database, brix: float, cool: float, warm: float) -> None:
    for celsius, density in ((15, cool), (20, warm)):
        row = database.value("sucrose-water", "density", temperature=f"{celsius} degC", strength=f"{brix} degBrix")
        assert row.to("kg/m3").magnitude == pytest.approx(density, rel=3e-4)
    told = database.strength("sucrose-water", f"{warm} kg/m3", temperature="20 degC", to="% mass")
    assert told.told[0][0].magnitude == pytest.approx(brix, abs=0.05)
