"""Values computed again with a library: to one unit of the last digit, and of a table at chosen temperatures alone."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from refdb.ledger import Ledger
from refdb.problems import BadParameter, LibraryNeeded
from refdb.records.models import Grid, Reading, Scalar, Source, Table
from refdb.records.numbers import EnteredNumber
from refdb.transcription.compared import recomputed
from refdb.transcription.recomputing import compare, library_of
from refdb.transcription.rereading import reread
from refdb.transcription.second_reading import EnteredDocument, SecondReading, write_down

# The packages that the tests run with, in whichever version is installed.
pytest.importorskip("chemicals")
pytest.importorskip("iapws")
CHEMICALS, IAPWS = version("chemicals"), version("iapws")

TOLUENE = "108-88-3"

NOTHING_ELSE = Ledger(records={}, places={})


def document(seen_at: str = f"Python package chemicals {CHEMICALS}", **more: Any) -> Source:
    return Source.model_validate(
        {
            "id": "invented-source",
            "type": "handbook",
            "title": "Invented",
            "seen_at": seen_at,
            "seen_on": "2026-11-25",
            "transcribed_by": "nobody",
            "rights": "facts-only",
            **more,
        }
    )


def fields(property_id: str, unit: str, locator: str) -> dict[str, Any]:
    return {
        "id": f"invented.{property_id}.01",
        "source": "invented-source",
        "subject": "invented",
        "property": property_id,
        "unit": unit,
        "locator": locator,
        "basis": "computed",
        "seen": "library",
    }


def water(
    *points: tuple[str, str], locator: str = f"IAPWS95(T, P=0.101325).rho of iapws {IAPWS}, T = t + 273.15 K"
) -> Table:
    return Table.model_validate(
        {
            **fields("density", "kg/m3", locator),
            "variable": {"name": "temperature", "unit": "degC"},
            "points": points,
            "state": {"pressure": {"number": "1", "unit": "atm"}},
        }
    )


def scalar(property_id: str, unit: str, locator: str, number: str) -> Scalar:
    state = {"temperature": "not stated"}
    return Scalar.model_validate({**fields(property_id, unit, locator), "number": number, "state": state})


@pytest.mark.parametrize(
    ("text", "value", "found", "equal"),
    [
        ("1054.434359", 1054.4343592, "1054.434359", True),
        # Another processor may round the last digit up.
        ("1054.434359", 1054.4343599, "1054.434360", True),
        ("1054.434359", 1054.4343611, "1054.434361", False),
        ("6.4e-06", 6.41e-06, "0.0000064", True),
        ("19 300", 19300.4, "19300", True),
        ("19 300", 19302.0, "19302", False),
        ("25", None, None, False),
    ],
)
def test_a_value_is_equal_within_one_unit_of_the_last_digit_printed(
    text: str, value: float | None, found: str | None, equal: bool
) -> None:
    told = recomputed(EnteredNumber("invented.density.01", "number", text), value)
    assert (told.found, told.equal) == (found, equal)


# IAPWS SR6-08(2011), table 8: 997.047013 kg/m3 at 298.15 K and 0.1 MPa; 1.3 kPa more add 0.0006.
def test_of_a_table_the_values_are_compared_and_not_the_chosen_temperatures() -> None:
    first, second = compare(water(("25", "997.05"), ("30", "997.05")), document(), {})
    assert [first.number.place, second.number.place] == ["points.0.1", "points.1.1"]
    assert (first.equal, first.how) == (True, "recomputed")
    assert not second.equal


def test_a_share_of_the_values_is_spread_over_a_table() -> None:
    told = compare(water(("20", "998"), ("25", "997"), ("30", "996")), document(), {}, limit=2)
    assert [number.number.place for number in told] == ["points.0.1", "points.2.1"]


# IAPWS R14-08: under one atmosphere ice Ih melts at 273.1525 K.
@pytest.mark.parametrize(("number", "equal"), [("273.1525", True), ("273.15", True), ("273.1600", False)])
def test_ice_melts_where_its_melting_pressure_is_the_one_named(number: str, equal: bool) -> None:
    locator = f"iapws {IAPWS}, root in T of the melting pressure of ice Ih at 0.101325 MPa"
    (told,) = compare(scalar("freezing_point", "K", locator, number), document(), {})
    assert told.equal is equal


# Sea water without salt is water, as above: the first node lies at 25 degC and 0.101325 MPa.
def test_sea_water_is_asked_at_the_pressure_above_one_atmosphere() -> None:
    pytest.importorskip("gsw")
    axes = [
        {"name": "salinity", "unit": "g/kg", "low": "0", "high": "35", "nodes": 2},
        {"name": "temperature", "unit": "degC", "low": "25", "high": "30", "nodes": 2},
        {"name": "pressure", "unit": "MPa", "low": "0.101325", "high": "10", "nodes": 2},
    ]
    grid = Grid.model_validate(
        {
            **fields("density", "kg/m3", f"gsw {version('gsw')}, rho_t_exact(SA, t, p), p counted from 101 325 Pa"),
            "state": {},
            "axes": axes,
            "values": ["997.05", *("1000",) * 7],
            "fit_error": {"number": "1", "unit": "%"},
        }
    )
    assert compare(grid, document(), {}, limit=1)[0].equal


# Gonzalez-Olmos and others 2007 measured 866.823 kg/m3 at 293.15 K: to two digits that of the handbook too.
def test_a_handbook_is_computed_from_the_coefficients_at_which_the_locator_points() -> None:
    locator = f"table 2-32, CAS {TOLUENE}; chemicals {CHEMICALS}, rho_data_Perry_8E_105_l with EQ105 and MW"
    cold, hot = compare(water(("20", "8.7e2"), ("100", "8.7e2"), locator=locator), document(), {})
    assert (cold.equal, hot.equal) == (True, False)


# The table of the document piping-library-fluids has 13.57 t/m3 at 20 degC: to three digits that of chemicals too.
@pytest.mark.parametrize(("number", "equal"), [("1.36e4", True), ("1.38e4", False)])
def test_a_constant_is_the_molar_mass_over_the_molar_volume(number: str, equal: bool) -> None:
    seen_at = f"chemicals {CHEMICALS}, CRC Liquid Inorganic Constant Densities.tsv, 7439-97-6"
    (told,) = compare(scalar("density", "kg/m3", "7439-97-6", number), document(seen_at), {})
    assert told.equal is equal


@pytest.mark.parametrize(
    "locator",
    [
        "table 3",
        f"table 2-32, CAS 1-2-3; chemicals {CHEMICALS}, no_such_table",
        f"table 2-313, CAS {TOLUENE}; chemicals {CHEMICALS}, mu_data_Perrys_8E_2_313 with EQ101",
    ],
    ids=["no library", "no table", "values in another unit"],
)
def test_a_reading_that_points_at_no_equation_is_refused(locator: str) -> None:
    reading = water(("20", "998"), ("25", "997"), locator=locator)
    assert library_of(reading, document()) is None
    with pytest.raises(BadParameter, match=r"invented\.density\.01 points at no equation"):
        compare(reading, document(), {})


def test_a_substance_that_the_table_does_not_hold_is_refused() -> None:
    locator = f"table 2-32, CAS 50-00-1; chemicals {CHEMICALS}, rho_data_Perry_8E_105_l with EQ105 and MW"
    with pytest.raises(BadParameter, match="points at no equation"):
        compare(water(("20", "998"), ("25", "997"), locator=locator), document(), {})


def test_another_version_than_the_one_installed_is_asked_for_by_name() -> None:
    locator = "IAPWS95(T, P=0.101325).rho of iapws 0.0.1, T = t + 273.15 K"
    with pytest.raises(LibraryNeeded, match=r"iapws 0\.0\.1 is needed .*pip install iapws==0\.0\.1"):
        compare(water(("20", "998"), ("25", "997"), locator=locator), document(), {})


def carrier(name: str, key: str) -> dict[str, Any]:
    return {
        "key": key,
        "type": "package",
        "name": name,
        "version": version(name),
        "licence": "MIT",
        "rights": "permissive",
    }


def second_reading(folder: Path, *readings: Reading) -> tuple[EnteredDocument, list[SecondReading]]:
    source = document(f"Python package iapws {IAPWS}", carriers=[carrier("iapws", "iapws-here")])
    whole = EnteredDocument(source, folder, readings)
    return whole, reread(whole, NOTHING_ELSE, None)


# Fofonoff and Millard, UNESCO Technical Papers in Marine Science 44 (1983), page 22: 995.65113374 kg/m3 at 30 degC.
def test_a_check_counts_the_values_of_a_table_and_not_its_temperatures(tmp_path: Path) -> None:
    whole, readings = second_reading(tmp_path, water(("25", "997.05"), ("30", "995.65")))
    assert [(one.how, one.numbers, one.different, one.missing) for one in readings] == [("recomputed", 2, [], [])]
    assert write_down(whole, readings, "2026-12-01") == ["2 numbers of 1 reading(s) against iapws-here"]
    assert "numbers = 2\n" in (tmp_path / "checks.toml").read_text()


def test_a_table_with_a_value_that_differs_is_not_written_down(tmp_path: Path) -> None:
    whole, readings = second_reading(tmp_path, water(("25", "997.05"), ("30", "997.05")))
    assert [number.number.place for number in readings[0].different] == ["points.1.1"]
    assert write_down(whole, readings, "2026-12-01") == []


def test_a_library_that_computes_from_the_coefficients_in_another_is_asked_for(tmp_path: Path) -> None:
    seen_at = f"computed with thermo 0.0.1 from the coefficients of Laliberte that chemicals {CHEMICALS} carries"
    source = document(seen_at, carriers=[carrier("chemicals", "chemicals-here")])
    reading = water(("20", "998"), ("25", "997"), locator="NaCl, fitted to 3 points")
    with pytest.raises(LibraryNeeded, match=r"pip install thermo==0\.0\.1"):
        reread(EnteredDocument(source, tmp_path, [reading]), NOTHING_ELSE, None)
