"""Emulsions and slurries: Wood's equation at its ends, its derivatives and roots, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from refdb.database import Database
from refdb.problems import BadParameter, MissingState, NotAvailable, OutsideRange, Problem
from refdb.suspensions.documents import SuspensionDocument
from refdb.suspensions.equation import (
    Basis,
    Mixture,
    Phase,
    Warmth,
    compressible_phase,
    elastic_phase,
    liquid_phase,
)
from refdb.suspensions.question import SuspensionQuestion
from refdb.units import Quantity, units
from refdb.values.options import read_options
from tests.rows import each
from tests.shapes import require_shape, untyped


def _of(value: float, dimension: str) -> Quantity:
    return Quantity(value, units().si(dimension))


def _liquid(density: float, speed: float, spreads: tuple[float, float] = (0.0, 0.0)) -> Phase:
    return liquid_phase(_of(density, "density"), spreads[0], _of(speed, "speed"), spreads[1])


def _solid(density: float, fast: float, slow: float, spreads: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Phase:
    phase = elastic_phase(
        _of(density, "density"), spreads[0], _of(fast, "speed"), spreads[1], _of(slow, "speed"), spreads[2]
    )
    assert phase is not None
    return phase


def _mixture(first: Phase, second: Phase, skin: float = 0.0) -> Mixture:
    return Mixture(first, second, (Warmth(2e-4, 4e6), Warmth(8e-4, 1.6e6)), 293.15, skin)


densities, speeds = st.floats(500.0, 20000.0), st.floats(600.0, 6000.0)
phases = st.builds(_liquid, densities, speeds)
mixtures = st.builds(_mixture, phases, phases, st.floats(0.0, 10.0))
fractions = st.floats(0.01, 0.99)
bases: st.SearchStrategy[Basis] = st.sampled_from(["volume", "mass"])


@given(mixtures, bases)
def test_at_fraction_0_and_1_there_are_the_pure_parts(mixture: Mixture, basis: Basis) -> None:
    for share, pure in ((0.0, mixture.continuous), (1.0, mixture.dispersed)):
        volume = mixture.volume_fraction(share, basis)
        assert volume == share
        assert mixture.density(volume) == pytest.approx(pure.density, rel=1e-12)
        for speed in (mixture.speed(volume), mixture.slipping_speed(volume), mixture.warmed_speed(volume)):
            assert speed == pytest.approx(pure.speed, rel=1e-12)
        assert mixture.model_spread(volume) == pytest.approx((0.0, 0.0), abs=1e-9)


@given(mixtures, fractions)
def test_density_and_compressibility_are_averages_over_the_volume(mixture: Mixture, volume: float) -> None:
    assert mixture.speed(volume) ** -2 == pytest.approx(mixture.density(volume) * mixture.compressibility(volume))
    for of in ("density", "compressibility"):
        ends = sorted(getattr(phase, of) for phase in (mixture.continuous, mixture.dispersed))
        assert ends[0] * (1 - 1e-12) <= getattr(mixture, of)(volume) <= ends[1] * (1 + 1e-12)
    assert mixture.volume_fraction(mixture.mass_fraction(volume), "mass") == pytest.approx(volume)


@given(mixtures, fractions, bases)
def test_the_slopes_are_derivatives(mixture: Mixture, share: float, basis: Basis) -> None:
    step = 1e-5
    ends = [mixture.volume_fraction(share + side, basis) for side in (-step, step)]
    volume = mixture.volume_fraction(share, basis)
    found = mixture.slope(volume, basis), mixture.density_slope(volume, basis)
    for slope, of in zip(found, (mixture.speed, mixture.density), strict=True):
        assert slope == pytest.approx((of(ends[1]) - of(ends[0])) / (2.0 * step), rel=1e-3, abs=1e-2)


@given(fractions, bases)
def test_an_input_contributes_what_moving_it_by_its_uncertainty_does(share: float, basis: Basis) -> None:
    first, of_first = [998.0, 1482.0], (0.02, 0.05)
    second, of_second = [2200.0, 5930.0, 3760.0], (0.5, 1.0, 1.0)

    def at(numbers: list[float]) -> tuple[float, float]:
        moved = _mixture(_liquid(numbers[0], numbers[1]), _solid(numbers[2], numbers[3], numbers[4]))
        volume = moved.volume_fraction(share, basis)
        return moved.speed(volume), moved.density(volume)

    mixture = _mixture(_liquid(first[0], first[1], of_first), _solid(second[0], second[1], second[2], of_second))
    told = list(mixture.contributions(mixture.volume_fraction(share, basis), basis))
    assert len(told) == 5
    numbers = first + second
    for place, ((_, _, speed, density), spread) in enumerate(zip(told, of_first + of_second, strict=True)):
        up, down = ([n + side * (i == place) for i, n in enumerate(numbers)] for side in (spread, -spread))
        assert speed == pytest.approx((at(up)[0] - at(down)[0]) / 2.0, rel=1e-4, abs=1e-9)
        assert density == pytest.approx((at(up)[1] - at(down)[1]) / 2.0, rel=1e-4, abs=1e-9)


@given(mixtures, fractions)
def test_every_fraction_with_a_speed_is_found(mixture: Mixture, volume: float) -> None:
    assume(abs(mixture.slope(volume)) > 1e-3 * mixture.speed(volume))
    speed = mixture.speed(volume)
    roots = mixture.roots(speed)
    assert any(root == pytest.approx(volume, abs=1e-6) for root in roots)
    assert len(roots) <= 2
    for root in roots:
        assert mixture.speed(root) == pytest.approx(speed, rel=1e-9)
    turn = mixture.turn
    if len(roots) == 2:
        assert turn is not None
        assert roots[0] <= turn <= roots[1]
    stretches = mixture.stretches(speed, 0.001 * speed)
    assert all(any(low <= root <= high for low, high in stretches) for root in roots)


def test_where_the_curve_turns_a_stretch_is_found_without_a_root() -> None:
    mixture = replace(_mixture(_liquid(998.0, 1482.0), _solid(2650.0, 6000.0, 4000.0)), skin=10.0, heated=0.0)
    turn = mixture.turn
    assert turn is not None
    slowest = mixture.speed(turn)
    assert mixture.slope(turn) == pytest.approx(0.0, abs=1e-9)
    assert all(mixture.speed(at) > slowest for at in (turn - 0.01, turn + 0.01))
    assert mixture.roots(slowest - 0.5) == []
    ((low, high),) = mixture.stretches(slowest - 0.5, 1.0)
    assert low < turn < high
    assert mixture.stretches(slowest - 100.0, 1.0) == []


@given(mixtures, fractions)
def test_what_nothing_holds_back_lags_and_what_clings_does_not(mixture: Mixture, volume: float) -> None:
    wood = mixture.speed(volume)
    assert replace(mixture, skin=0.0).slipping_speed(volume) >= wood * (1.0 - 1e-12)
    assert replace(mixture, skin=1e4).slipping_speed(volume) == pytest.approx(wood, rel=1e-3)
    assert mixture.warmed_speed(volume) <= wood
    assert replace(mixture, heated=0.0).warmed_speed(volume) == pytest.approx(wood)


def test_a_solid_by_its_speeds_is_the_one_by_its_compressibility() -> None:
    fast = _solid(2200.0, 5930.0, 3760.0)
    modulus = 2200.0 * (5930.0**2 - 4.0 / 3.0 * 3760.0**2)
    other = compressible_phase(_of(2200.0, "density"), 0.0, _of(1.0 / modulus, "compressibility"), 0.0)
    assert (fast.density, fast.compressibility) == pytest.approx((other.density, other.compressibility))


TOLUENE: dict[str, Any] = {"continuous": "water", "dispersed": "toluene", "temperature": "20 degC"}
SAND: dict[str, Any] = {
    "continuous": "water",
    "solid_density": "2650 kg/m3",
    "solid_compressibility": "27 1/TPa",
    "temperature": "20 degC",
}


def test_an_answer_names_its_rows_with_digests_and_its_doubts(database: Database) -> None:
    found = database.suspension(**TOLUENE, fraction="10 % mass", fraction_uncertainty="1 % mass")
    document = require_shape(SuspensionDocument, found.document())
    assert document["rung"] == "derived"
    assert {row["id"] for row in document["rows"]} == {
        f"{subject}.{name}" for subject in ("water", "toluene") for name in ("density", "sound_speed", "specific_heat")
    }
    for row in document["rows"]:
        assert database.row(row["id"])["row"]["digest"] == row["digest"]
    told = document["at_fraction"]
    assert told is not None
    assert document["at_speed"] is None
    assert told["mass_fraction"]["magnitude"] == pytest.approx(0.1)
    assert told["standard_uncertainty"]["magnitude"] == pytest.approx(
        math.hypot(*(entry["contribution"]["magnitude"] for entry in told["contributions"]))
    )
    of_fraction = next(entry for entry in told["contributions"] if entry["input"] == "fraction")
    assert of_fraction["contribution"]["magnitude"] == pytest.approx(0.01 * abs(told["slope"]["magnitude"]))
    assert "wavelength" in document["validity"][0]
    assert "taken as exact: fraction" not in document["assumptions"]
    assert all(source["row"] in {row["id"] for row in document["rows"]} for source in document["sources"])


def test_nothing_dispersed_is_the_row_of_the_liquid(database: Database) -> None:
    water = database.value("water", "sound_speed", temperature="20 degC")
    found = database.suspension(**TOLUENE, fraction="0 % vol")
    assert found.sound_speed == pytest.approx(water.magnitude)
    assert found.standard_uncertainty == pytest.approx(water.standard_uncertainty.magnitude)


def test_the_fraction_comes_back_from_the_speed(database: Database) -> None:
    there = database.suspension(**TOLUENE, fraction="20 % vol")
    back = database.suspension(**TOLUENE, sound_speed=f"{there.sound_speed} m/s", sound_speed_uncertainty="1 m/s")
    require_shape(SuspensionDocument, back.document())
    assert back.roots == pytest.approx([0.2])


def test_sand_in_water_has_two_fractions_for_one_speed(database: Database) -> None:
    found = database.suspension(
        **SAND, particle_size="1 um", frequency="100 kHz", sound_speed="1450 m/s", sound_speed_uncertainty="0.5 m/s"
    )
    document = require_shape(SuspensionDocument, found.document())
    assert document["slowest"] is not None
    assert document["at_speed"] is not None
    low, high = (root["volume_fraction"]["magnitude"] for root in document["at_speed"]["roots"])
    assert low < document["slowest"]["volume_fraction"]["magnitude"] < high
    assert any("Two fractions" in text for text in document["at_speed"]["advice"])
    nowhere = database.suspension(**SAND, sound_speed="900 m/s", sound_speed_uncertainty="1 m/s").document()
    assert "Look for gas" in untyped(nowhere)["at_speed"]["advice"][0]


def test_size_and_frequency_narrow_the_uncertainty(database: Database) -> None:
    wide = database.suspension(**SAND, fraction="20 % vol")
    fine = database.suspension(**SAND, fraction="20 % vol", particle_size="2 um", frequency="100 kHz")
    assert fine.standard_uncertainty is not None
    assert wide.standard_uncertainty is not None
    assert fine.standard_uncertainty < 0.2 * wide.standard_uncertainty
    assert any(answer.property_id == "dynamic_viscosity" for answer in fine.answers)


def test_materials_brines_and_sea_water(database: Database) -> None:
    glass = database.suspension(
        continuous="water", dispersed="fused-silica", fraction="10 % vol", temperature="20 degC"
    )
    assert [answer.property_id for answer in glass.dispersed.answers] == [
        "density",
        "longitudinal_speed",
        "shear_speed",
    ]
    oil: dict[str, Any] = {"dispersed": "crude-oil-api-30", "fraction": "10 % vol", "temperature": "20 degC"}
    sea = database.suspension(continuous="seawater", salinity="35 g/kg", **oil)
    fresh = database.suspension(continuous="water", **oil)
    assert sea.sound_speed is not None
    assert fresh.sound_speed is not None
    assert sea.sound_speed > fresh.sound_speed + 20.0
    brine = database.suspension(
        continuous="crude-oil-api-30",
        dispersed="sodium-chloride-water",
        strength="10 % mass",
        fraction="5 % vol",
        temperature="20 degC",
    )
    assert brine.dispersed.phase.density > 1060.0


def test_an_estimate_is_used_only_where_it_is_accepted_and_shows(database: Database) -> None:
    asked = SuspensionQuestion(
        continuous="water", dispersed="sunflower-oil", fraction="10 % vol", temperature="20 degC"
    )
    with pytest.raises(NotAvailable, match="estimate exists"):
        database.suspension(asked)
    found = database.suspension(asked, options=read_options(accept="estimates"))
    assert found.document()["rung"] in {"analogue", "memory", "family"}


REFUSED: list[tuple[dict[str, Any], type[Problem], str]] = [
    ({**TOLUENE, "fraction": "10 %"}, BadParameter, "does not say of what; write % vol or % mass"),
    ({**TOLUENE, "fraction": "10 % ABV"}, BadParameter, "write % vol or % mass"),
    (TOLUENE, BadParameter, "fraction: is missing"),
    ({**TOLUENE, "fraction": "10 % vol", "sound_speed": "1450 m/s"}, BadParameter, "together with sound_speed"),
    ({**TOLUENE, "sound_speed": "1450 m/s"}, BadParameter, "sound_speed_uncertainty: is missing"),
    ({**TOLUENE, "fraction": "101 % vol"}, OutsideRange, "between nothing and everything"),
    ({**TOLUENE, "fraction": "5 % vol", "temperature": None}, MissingState, "temperature: is missing"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": None}, BadParameter, "dispersed: is missing"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "water"}, BadParameter, "continuous liquid too"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "ethanol"}, BadParameter, "ask for ethanol-water with a strength"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "1-butanol"}, BadParameter, "alcohols, glycols"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "ethylene-glycol"}, BadParameter, "mix into a solution"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "sodium-chloride-water"}, BadParameter, "mix into a solution"),
    ({**TOLUENE, "fraction": "5 % vol", "dispersed": "milk-whole"}, BadParameter, "particles or drops already"),
    ({**TOLUENE, "fraction": "5 % vol", "continuous": "benzene"}, BadParameter, "dissolve in one another"),
    ({**TOLUENE, "fraction": "1 % vol", "dispersed": "air"}, BadParameter, "gas bubbles"),
    ({**TOLUENE, "fraction": "1 % vol", "dispersed": "Gas bubbles"}, BadParameter, "gas bubbles"),
    ({**TOLUENE, "fraction": "1 % vol", "dispersed": "nitrogen"}, BadParameter, "gas bubbles"),
    ({**SAND, "fraction": "1 % vol", "solid_compressibility": "7 1/MPa"}, Problem, "compressibility"),
    ({**SAND, "fraction": "1 % vol", "solid_compressibility": "7e-6 1/Pa"}, BadParameter, "as compressible as a gas"),
    ({**SAND, "fraction": "1 % vol", "dispersed": "toluene"}, BadParameter, "solid_density: is given together"),
    ({**SAND, "fraction": "1 % vol", "solid_compressibility": None}, BadParameter, "solid_compressibility: give"),
    ({**SAND, "fraction": "1 % vol", "solid_shear_speed": "3 km/s"}, BadParameter, "solid_compressibility: give"),
    (
        {
            **SAND,
            "fraction": "1 % vol",
            "solid_compressibility": None,
            "solid_longitudinal_speed": "3 km/s",
            "solid_shear_speed": "3 km/s",
        },
        BadParameter,
        "no solid has such speeds",
    ),
    (
        {**SAND, "fraction": "1 % vol", "particle_size": "0.5 mm", "frequency": "1 MHz"},
        OutsideRange,
        "particles scatter",
    ),
    ({**TOLUENE, "fraction": "1 % vol", "strength": "10 % mass"}, BadParameter, "strength"),
]


@each(("asked", "kind", "words"), REFUSED, ids=[words for _, _, words in REFUSED])
def test_what_is_refused_in_plain_words(
    database: Database, asked: dict[str, Any], kind: type[Problem], words: str
) -> None:
    with pytest.raises(kind) as refused:
        database.suspension(**asked)
    assert words in refused.value.detail


def test_house_values_are_not_asked(database: Database) -> None:
    with pytest.raises(BadParameter, match="from a release alone"):
        database.suspension(**TOLUENE, fraction="1 % vol", options=read_options(layers="house,release"))
