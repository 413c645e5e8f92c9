"""Values that were taken from a library, or computed with one, against that library as it is installed.

The libraries are what the locators and the documents name: CoolProp 8.0.0, chemicals 1.5.2, fluids 1.3.1, gsw 3.6.23,
iapws 1.5.5, thermo 0.6.1 and aquasol 1.8.2. A test is skipped, and says why, where another version is installed: it may
give other digits, rightly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path

import pytest

from refdb.ledger import load_ledger
from refdb.ledger.load import Ledger
from refdb.problems import LibraryNeeded
from refdb.records.grids import function_of_grid
from refdb.records.models import Grid, Reading, Source
from refdb.records.printed import printed_exactly, rounding_half_width
from refdb.transcription import entries, nodes, recomputing
from refdb.transcription.compared import Compared
from refdb.units import units
from refdb.vocabulary import vocabulary

PROJECT = Path(__file__).parents[2]

SHARE = 12
"""Nodes of each grid that are computed again at every run; the campaign takes them all."""


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


def differing(told: Iterable[Compared]) -> list[Compared]:
    """Those that are not equal: of numbers computed again, by more than a unit of their last digit."""
    return [number for number in told if not number.equal]


def rounded_otherwise(told: Iterable[Compared]) -> int:
    """How many have another last digit."""
    return sum(digits_off(number) > 0 for number in told)


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
    assert differing(told) == []
    assert rounded_otherwise(told) <= 3


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
@pytest.mark.parametrize(
    ("key", "least"),
    [
        ("fluids-1.3.1", 1_900),
        ("fluids-1.3.1-roughness", 13),
        ("idelchik-ginevskii-2007", 120),
        ("farshad-rieke-garber-2001", 7),
        ("chemicals-1.5.2-melting-points", 200),
    ],
)
def test_numbers_stand_in_the_entry_of_the_library_that_is_named(ledger: Ledger, key: str, least: int) -> None:
    source, readings = of_document(ledger, key)
    with installed():
        told = [number for reading in readings for number in entries.compare(reading, source)]
    assert len(told) >= least
    assert differing(told) == []


def computed_again(ledger: Ledger, grids: dict[str, Grid], key: str, limit: int | None = None) -> list[Compared]:
    """The values of a document's readings that are computed with a library other than CoolProp."""
    source, readings = of_document(ledger, key)
    with installed():
        return [
            number
            for reading in readings
            if recomputing.library_of(reading, source) is not None
            for number in recomputing.compare(reading, source, grids, limit)
        ]


# Perry's handbook and the VDI Heat Atlas as chemicals 1.5.2 carries them: coefficients by CAS number, and the molar
# mass that it computes from the formula.
@pytest.mark.parametrize("key", ["perry-8", "vdi-heat-atlas-2"])
def test_values_of_handbooks_are_those_of_the_coefficients_in_chemicals(
    ledger: Ledger, grids: dict[str, Grid], key: str
) -> None:
    told = computed_again(ledger, grids, key)
    assert len(told) > 6_000
    assert differing(told) == []
    assert rounded_otherwise(told) <= 1


# Laliberte 2009 in thermo 0.6.1, with the coefficients of chemicals 1.5.2.
@pytest.mark.parametrize("limit", [SHARE, pytest.param(None, marks=pytest.mark.long)], ids=["a share", "all"])
def test_values_of_solutions_are_those_of_laliberte_in_thermo(
    ledger: Ledger, grids: dict[str, Grid], limit: int | None
) -> None:
    told = computed_again(ledger, grids, "laliberte-2009", limit)
    assert len(told) >= 80 * (limit or 100)
    assert differing(told) == []


# Al Ghafri and others 2012, with the coefficients of aquasol 1.8.2 and the water of CoolProp 8.0.0.
def test_values_of_solutions_are_those_of_the_coefficients_in_aquasol(ledger: Ledger, grids: dict[str, Grid]) -> None:
    told = computed_again(ledger, grids, "al-ghafri-2012")
    assert len(told) == 552
    assert differing(told) == []


# The molar volume of mercury in chemicals 1.5.2, with the molar mass of its formula there.
def test_mercury_is_the_molar_volume_in_chemicals(ledger: Ledger, grids: dict[str, Grid]) -> None:
    told = computed_again(ledger, grids, "chemicals-1.5.2-mercury")
    assert len(told) == 1
    assert differing(told) == []


# TEOS-10 in gsw 3.6.23, with pressures counted from 101 325 Pa as the locators say. The values were entered with
# fifteen digits; in the last of a freezing point near 0 degC, subtractions of nearly equal numbers show.
def test_sea_water_is_what_gsw_gives(ledger: Ledger, grids: dict[str, Grid]) -> None:
    told = computed_again(ledger, grids, "teos-10")
    assert len(told) == 1_008
    assert {number.number.reading for number in differing(told)} <= {"seawater.freezing_point.01"}
    for number in differing(told):
        assert float(str(number.found)) == pytest.approx(float(number.number.text), rel=1e-13, abs=1e-14), number


# IAPWS-95 in iapws 1.5.5 at 0.101325 MPa.
@pytest.mark.parametrize("limit", [25, pytest.param(None, marks=pytest.mark.long)], ids=["a share", "all"])
def test_water_at_one_atmosphere_is_what_iapws_gives(ledger: Ledger, grids: dict[str, Grid], limit: int | None) -> None:
    told = computed_again(ledger, grids, "iapws-r6-95", limit)
    assert len(told) == 2 * (limit or 100)
    assert differing(told) == []


# IAPWS R14-08 in iapws 1.5.5: ice Ih melts at 0.101325 MPa at the temperature entered, to its last digit.
def test_ice_melts_at_one_atmosphere_where_iapws_says(ledger: Ledger, grids: dict[str, Grid]) -> None:
    told = computed_again(ledger, grids, "iapws-r14-08")
    assert len(told) == 1
    assert differing(told) == []
