"""Water against tables of handbooks and a measured standard of viscosity."""

from __future__ import annotations

import pytest

from refdb.records import rounding_half_width
from tests.outside.evidence import ATMOSPHERE_MPA, KELVIN, Records
from tests.outside.water import rows_of_water, saturation
from tests.rows import each

GRAMS_PER_MOL = 18.015268
"""Molar mass of water in IAPWS-95 (IAPWS R6-95(2018); as carried by CoolProp and iapws)."""

# Perry's Chemical Engineers' Handbook, 9th edition, table 2-135, "Saturated Properties" of the liquid: K, MPa, mol/dm3,
# kJ/(mol K), m/s, microPa s. Seen at pdfcoffee.com/steam-table-perrys-handbook-9th-ed-pdf-free.html.
PERRY = [
    ("273.16", "0.000612", "55.497", "0.076023", "1402.3", "1791.2"),
    ("280.0", "0.000992", "55.501", "0.075688", "1434.1", "1433.7"),
    ("290.0", "0.001920", "55.440", "0.075429", "1472.1", "1084.0"),
    ("300.0", "0.003537", "55.315", "0.075320", "1501.4", "853.84"),
    ("310.0", "0.006231", "55.139", "0.075294", "1523.2", "693.54"),
    ("320.0", "0.010546", "54.919", "0.075317", "1538.7", "577.02"),
    ("330.0", "0.017213", "54.662", "0.075373", "1548.7", "489.49"),
    ("340.0", "0.027188", "54.371", "0.075456", "1553.9", "421.97"),
    ("350.0", "0.041682", "54.049", "0.075567", "1554.8", "368.77"),
    ("360.0", "0.062194", "53.698", "0.075708", "1552.0", "326.10"),
    ("370.0", "0.090535", "53.321", "0.075883", "1545.8", "291.36"),
    ("380.0", "0.12885", "52.918", "0.076098", "1536.5", "262.69"),
    ("390.0", "0.17964", "52.490", "0.076357", "1524.3", "238.77"),
]
ORDER = ("density", "specific_heat", "sound_speed", "dynamic_viscosity")


@each("printed", PERRY, ids=lambda printed: printed[0])
def test_saturated_water_is_that_of_perrys_handbook_to_the_printed_digits(
    records: Records, printed: tuple[str, ...]
) -> None:
    rows = rows_of_water(records)
    celsius = float(printed[0]) - KELVIN
    pressure = saturation(rows, celsius)
    density, heat, speed, viscosity = (float(rows[name].value(celsius, pressure)) for name in ORDER)

    ours = [pressure, density / GRAMS_PER_MOL, heat * GRAMS_PER_MOL * 1e-6, speed]

    for number, text in zip(ours, printed[1:5], strict=True):
        assert number == pytest.approx(float(text), abs=1.02 * rounding_half_width(text))
    # Another equation for the viscosity. Measured: 0.09 % at 350 K.
    assert viscosity * 1e6 == pytest.approx(float(printed[5]), rel=1e-3)


# Kestin, Sokolov and Wakeham, J. Phys. Chem. Ref. Data 7 (1978), abstract, at discovery.researcher.life: the standard
# of viscosity is 1002.0 microPa s at 20 degC (National Bureau of Standards), and their equation for 0 to 40 degC is
# good to 0.05 %. Measured: 0.040 %.
def test_the_viscosity_at_20_degc_is_the_standard_of_viscosity(records: Records) -> None:
    viscosity = float(rows_of_water(records)["dynamic_viscosity"].value(20.0, ATMOSPHERE_MPA))

    assert viscosity == pytest.approx(1002.0e-6, rel=5e-4)


# The uncertainty of IAPWS-95 in the liquid, as the Hydraulic Institute's Engineering Data Library states it (water,
# "Equation of State"): density 0.001 % up to 10 MPa and 423 K, isobaric heat capacity 0.1 %. (Speed of sound: 0.1 % or
# less, a bound; at 1 atm its row is held against measurements, in test_water_sound_speed_measured.)
@pytest.mark.parametrize(("property_id", "percent"), [("density", 0.001), ("specific_heat", 0.1)])
def test_no_row_claims_more_than_the_formulation_does(records: Records, property_id: str, percent: float) -> None:
    uncertainty = records[f"water.{property_id}"]["uncertainty"]

    assert uncertainty["unit"] == "%"
    assert float(uncertainty["number"]) >= percent
