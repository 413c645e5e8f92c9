"""Values that were taken from a library, or computed with one, against that library as it is installed.

The libraries are what the locators name: CoolProp 8.0.0, chemicals 1.5.2, fluids 1.3.1, gsw 3.6.23 and iapws 1.5.5. A
test is skipped, and says why, where another version is installed: it may give other digits, rightly.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from refdb.ledger import load_ledger
from refdb.ledger.load import Ledger
from refdb.problems import LibraryNeeded
from refdb.records.grids import function_of_grid
from refdb.records.models import Grid, Reading, Scalar, Source, Table
from refdb.records.numbers import EnteredNumber
from refdb.records.printed import printed_exactly, rounding_half_width
from refdb.transcription import entries, nodes
from refdb.transcription.compared import Compared
from refdb.transcription.libraries import Library, module_of
from refdb.units import units
from refdb.vocabulary import vocabulary

PROJECT = Path(__file__).parents[2]

SHARE = 12
"""Nodes of each grid that are computed again at every run; the campaign takes them all."""

CHEMICALS = Library("chemicals", "1.5.2")
GSW = Library("gsw", "3.6.23")
IAPWS = Library("iapws", "1.5.5")

KELVIN = 273.15
ATMOSPHERE = 101325.0


@contextmanager
def installed() -> Iterator[None]:
    """Skips what needs a library that is not installed in the version the ledger names."""
    try:
        yield
    except LibraryNeeded as needed:
        pytest.skip(needed.detail)


@pytest.fixture(scope="module")
def ledger() -> Ledger:
    return load_ledger(PROJECT, vocabulary())


@pytest.fixture(scope="module")
def grids(ledger: Ledger) -> dict[str, Grid]:
    return {grid.id: grid for grid in ledger.of(Grid)}


def of_document(ledger: Ledger, key: str) -> tuple[Source, list[Reading]]:
    source = ledger.records[key]
    assert isinstance(source, Source)
    readings = [reading for reading in ledger.records.values() if isinstance(reading, Reading)]
    return source, [reading for reading in readings if reading.source == key]


def digits_off(told: Compared) -> Decimal:
    """By how many units of the last digit entered a library differs."""
    assert told.found is not None
    entered = printed_exactly(told.number.text)
    assert isinstance(entered, Decimal)
    last_digit = Decimal(repr(2.0 * rounding_half_width(told.number.text)))
    return abs(Decimal(told.found) - entered) / last_digit


def differing(told: Iterable[Compared], most: int = 0) -> list[Compared]:
    """Those that differ by more than so many units of their last digit."""
    return [number for number in told if not number.equal and (number.found is None or digits_off(number) > most)]


class Nodes:
    """The node values of the grids that name a liquid of CoolProp, compared."""

    def __init__(self, grids: dict[str, Grid], limit: int | None) -> None:
        self.grids = {key: grid for key, grid in grids.items() if nodes.names_a_liquid(grid)}
        self.told = {key: nodes.compare(grid, grids, limit) for key, grid in self.grids.items()}

    def found(self, wanted: Callable[[Grid], bool]) -> list[Compared]:
        """The nodes of the grids that are wanted, but those at which the library refuses the state."""
        return [
            number
            for key, told in self.told.items()
            if wanted(self.grids[key])
            for number in told
            if number.found is not None
        ]


@pytest.fixture(scope="module", params=[SHARE, pytest.param(None, marks=pytest.mark.long)], ids=["a share", "all"])
def computed(request: pytest.FixtureRequest, grids: dict[str, Grid]) -> Nodes:
    with installed():
        return Nodes(grids, request.param)


def from_other_coefficients(grid: Grid) -> bool:
    return "they differ from CoolProp" in grid.locator


# CoolProp 8.0.0, as every locator says: 723 grids. Where a value lies at half a unit of its last digit, the digit hangs
# on the last bit: one node of r-123, and two of n-nonane, may differ by that unit.
def test_node_values_are_what_coolprop_gives(computed: Nodes) -> None:
    told = computed.found(lambda grid: not from_other_coefficients(grid))
    assert len(computed.grids) >= 700
    assert len(told) > 5_000
    assert differing(told, most=1) == []
    assert sum(not number.equal for number in told) <= 3


# Four viscosities were computed with the coefficients of SecondaryCoolantProps 1.5; their locators say by how much
# CoolProp's, which are rounded, differ: 0.00003 %.
def test_other_coefficients_of_the_same_book_differ_by_what_the_locators_say(computed: Nodes) -> None:
    told = computed.found(from_other_coefficients)
    assert told
    for number in told:
        assert float(str(number.found)) == pytest.approx(float(number.number.text), rel=3e-7), number


# CoolProp refuses states below the freezing point; grids of solutions reach there so that their axes are plain.
def test_only_states_below_the_freezing_point_are_refused(computed: Nodes, grids: dict[str, Grid]) -> None:
    refused = 0
    for key, told in computed.told.items():
        grid = computed.grids[key]
        missing = {number.number.place for number in told if number.found is None}
        if not missing:
            continue
        assert grid.freezing is not None, key
        freezing = function_of_grid(grids[grid.freezing].plain(), lambda wanted: grids[wanted].plain(), units())
        for index, state in enumerate(nodes.states_of(grid, grids)):
            if f"values.{index}" in missing:
                assert state.celsius < float(freezing.value(state)), (key, state)
        refused += len(missing)
    assert refused > 0


# The tables of fluids.friction and fluids.piping of fluids 1.3.1, and Tm of chemicals 1.5.2, at the entry named.
# Locators of BS 1387 name the list of walls alone, in which no row can be found.
@pytest.mark.parametrize(
    ("key", "least"),
    [
        ("fluids-1.3.1", 1_800),
        ("fluids-1.3.1-roughness", 13),
        ("idelchik-ginevskii-2007", 120),
        ("farshad-rieke-garber-2001", 7),
        ("chemicals-1.5.2-melting-points", 200),
    ],
)
def test_numbers_stand_in_the_entry_of_the_library_that_is_named(ledger: Ledger, key: str, least: int) -> None:
    source, readings = of_document(ledger, key)
    with installed():
        told = [
            number
            for reading in readings
            if "BS1387" not in reading.locator
            for number in entries.compare(reading, source)
        ]
    assert len(told) >= least
    assert differing(told) == []


Equation = Callable[[float, Any, float], float]
"""Of the temperature in K, the row of a table of chemicals and the molar mass in g/mol; in the unit of the ledger."""


def equations() -> dict[str, tuple[str, Equation]]:
    """By the name of a table in chemicals: the module that holds it, and the equation that its columns belong to."""
    dippr = module_of(CHEMICALS, "chemicals.dippr")
    vapour = module_of(CHEMICALS, "chemicals.vapor_pressure")
    viscosity = module_of(CHEMICALS, "chemicals.viscosity")
    critical = module_of(CHEMICALS, "chemicals.critical")
    return {
        "Psat_data_Perrys2_8": ("vapor_pressure", lambda t, row, _: dippr.EQ101(t, *row[1:6])),
        "rho_data_Perry_8E_105_l": ("volume", lambda t, row, mass: dippr.EQ105(t, *row[1:5]) * mass / 1000.0),
        "mu_data_Perrys_8E_2_313": ("viscosity", lambda t, row, _: dippr.EQ101(t, *row[1:6])),
        "Cp_data_Perry_Table_153_100": ("heat_capacity", lambda t, row, mass: dippr.EQ100(t, *row[1:6]) / mass),
        "Cp_data_Perry_Table_153_114": (
            "heat_capacity",
            lambda t, row, mass: dippr.EQ114(t, critical.Tc(row.name), *row[1:5]) / mass,
        ),
        "Psat_data_VDI_PPDS_3": ("vapor_pressure", lambda t, row, _: vapour.Wagner(t, row.Tc, row.Pc, *row[4:8])),
        "rho_data_VDI_PPDS_2": ("volume", lambda t, row, _: ppds_density(1.0 - t / row.Tc, row)),
        "mu_data_VDI_PPDS_7": ("viscosity", lambda t, row, _: viscosity.PPDS9(t, *row[2:7])),
    }


def ppds_density(below: float, row: Any) -> float:
    """VDI Heat Atlas, part D3.1, equation 2: the density of a saturated liquid."""
    return float(row.rhoc + row.A * below**0.35 + row.B * below ** (2 / 3) + row.C * below + row.D * below ** (4 / 3))


# Perry's handbook and the VDI Heat Atlas as chemicals 1.5.2 carries them: coefficients by CAS number, and the molar
# mass that it computes from the formula.
@pytest.mark.parametrize("key", ["perry-8", "vdi-heat-atlas-2"])
def test_values_of_handbooks_are_those_of_the_coefficients_in_chemicals(
    ledger: Ledger, grids: dict[str, Grid], key: str
) -> None:
    with installed():
        known = equations()
        told = [number for reading in of_document(ledger, key)[1] for number in of_handbook(reading, known, grids)]
    assert len(told) > 6_000
    assert differing(told, most=1) == []
    assert sum(not number.equal for number in told) <= 1


def of_handbook(reading: Reading, known: dict[str, tuple[str, Equation]], grids: dict[str, Grid]) -> list[Compared]:
    pointed = re.search(r"CAS ([\d-]+); chemicals 1\.5\.2, (\w+)", reading.locator)
    assert pointed is not None, reading.id
    cas, (module, equation) = pointed[1], known[pointed[2]]
    row = getattr(module_of(CHEMICALS, f"chemicals.{module}"), pointed[2]).loc[cas]
    mass = molar_mass(cas) if "MW" in reading.locator else 0.0
    return [
        nodes.recomputed(EnteredNumber(reading.id, f"place {index}", text), equation(celsius + KELVIN, row, mass))
        for index, (celsius, text) in enumerate(along_temperature(reading, grids))
    ]


def along_temperature(reading: Reading, grids: dict[str, Grid]) -> Iterator[tuple[float, str]]:
    if isinstance(reading, Grid):
        yield from zip((state.celsius for state in nodes.states_of(reading, grids)), reading.values, strict=True)
    else:
        assert isinstance(reading, Table)
        yield from ((float(x), y) for x, y in reading.points)


def molar_mass(cas: str) -> float:
    """g/mol, from the formula."""
    elements = module_of(CHEMICALS, "chemicals.elements")
    formula = module_of(CHEMICALS, "chemicals.identifiers").search_chemical(cas).formula
    return float(elements.molecular_weight(elements.nested_formula_parser(formula)))


# The molar volume of mercury in chemicals 1.5.2, with 200.59 g/mol, as the document's note says.
def test_mercury_is_the_molar_volume_in_chemicals(ledger: Ledger) -> None:
    reading = ledger.records["mercury.density.02"]
    assert isinstance(reading, Scalar)
    with installed():
        held = module_of(CHEMICALS, "chemicals.volume").rho_data_CRC_inorg_l_const.loc["7439-97-6"].Vm
    assert nodes.recomputed(EnteredNumber(reading.id, "number", reading.number), 0.20059 / float(held)).equal


# TEOS-10 in gsw 3.6.23, with pressures counted from 101 325 Pa as the locators say. The values were entered with
# fifteen digits; in the last of a freezing point, subtractions of nearly equal numbers show.
def test_sea_water_is_what_gsw_gives(ledger: Ledger, grids: dict[str, Grid]) -> None:
    with installed():
        gsw = module_of(GSW, "gsw")
    told = []
    for reading in of_document(ledger, "teos-10")[1]:
        assert isinstance(reading, Grid)
        for text, state in zip(reading.values, nodes.states_of(reading, grids), strict=True):
            decibars = (state.pascals - ATMOSPHERE) / 1e4
            if reading.property == "freezing_point":
                value = gsw.t_freezing(state.salinity, decibars, 0)
            else:
                name = reading.locator.split(", ")[1].partition("(")[0]
                value = getattr(gsw, name)(state.salinity, state.celsius, decibars)
            told.append((float(value), float(text), reading.id))
    assert len(told) == 1_008
    for value, entered, row in told:
        assert value == pytest.approx(entered, rel=1e-13, abs=1e-14), row


# IAPWS-95 in iapws 1.5.5 at 0.101325 MPa.
@pytest.mark.parametrize("step", [4, pytest.param(1, marks=pytest.mark.long)], ids=["a share", "all"])
def test_water_at_one_atmosphere_is_what_iapws_gives(ledger: Ledger, step: int) -> None:
    with installed():
        water = module_of(IAPWS, "iapws").IAPWS95
    outputs = {"density": "rho", "sound_speed": "w"}
    tables = [reading for reading in of_document(ledger, "iapws-r6-95")[1] if isinstance(reading, Table)]
    told = []
    for table in tables:
        for x, y in table.points[::step]:
            state = water(T=float(x) + KELVIN, P=ATMOSPHERE * 1e-6)
            value = float(getattr(state, outputs[table.property]))
            told.append(nodes.recomputed(EnteredNumber(table.id, f"at {x} degC", y), value))
    assert len(told) == 200 // step
    assert differing(told) == []


# IAPWS R14-08 in iapws 1.5.5: ice Ih melts at 0.101325 MPa at the temperature entered, to its last digit.
def test_ice_melts_at_one_atmosphere_where_iapws_says(ledger: Ledger) -> None:
    reading = ledger.records["water.freezing_point.01"]
    assert isinstance(reading, Scalar)
    with installed():
        melting = module_of(IAPWS, "iapws")._Melting_Pressure
    entered, half = float(reading.number), rounding_half_width(reading.number)
    assert melting(entered + half, "Ih") <= ATMOSPHERE * 1e-6 <= melting(entered - half, "Ih")
