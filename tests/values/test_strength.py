"""The strength of a solution on any basis: each told by hand from molar masses and densities, and back again."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from refdb.database import Database
from refdb.liquids.documents import StrengthDocument
from refdb.problems import BadParameter, MissingState, OutsideRange, Problem, UnknownUnit
from refdb.units import Quantity
from tests.invented_liquids import DENSITIES, liquids, spirit_density, spirit_speed
from tests.shapes import require_shape

ETHANOL, WATER = 0.046069, 0.018015
"""kg/mol."""


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Database:
    """Invented liquids; the spirit is blue dissolved in green, with the formulas of ethanol and water."""
    return liquids(tmp_path_factory.mktemp("liquids"))


def _share(database: Database, strength: str, subject: str = "spirit", temperature: str | None = "20 degC") -> float:
    found = database.strength(subject, strength, temperature=temperature)
    require_shape(StrengthDocument, found.document())
    return float(found.strength.mass_fraction)


def test_a_mass_fraction_is_itself(database: Database) -> None:
    assert _share(database, "30 % mass") == _share(database, "0.3 kg/kg") == pytest.approx(0.3, rel=1e-15)


def test_a_volume_fraction_is_of_volumes_before_mixing_at_20_degc(database: Database) -> None:
    solute, solvent = DENSITIES["blue"], DENSITIES["green"]
    assert _share(database, "30 % vol") == pytest.approx(0.3 * solute / (0.3 * solute + 0.7 * solvent))


def test_of_an_alcohol_percent_by_volume_is_the_alcoholic_strength(database: Database) -> None:
    share = _share(database, "20 % ABV")
    assert share * spirit_density(20.0, share) / DENSITIES["blue"] == pytest.approx(0.2, rel=1e-12)
    assert _share(database, "20 % vol", "liquor") == pytest.approx(share, rel=1e-12)


def test_mole_fraction_and_molality_go_by_molar_masses(database: Database) -> None:
    assert _share(database, "10 % mol") == pytest.approx(0.1 * ETHANOL / (0.1 * ETHANOL + 0.9 * WATER), rel=1e-4)
    assert _share(database, "2 mol/kg") == pytest.approx(2 * ETHANOL / (1 + 2 * ETHANOL), rel=1e-4)


def test_concentrations_go_by_the_density_of_the_solution_at_its_temperature(database: Database) -> None:
    share = _share(database, "150 g/L", temperature="35 degC")
    assert share * spirit_density(35.0, share) == pytest.approx(150.0, rel=1e-12)
    share = _share(database, "3 mol/L")
    assert share * spirit_density(20.0, share) == pytest.approx(3000.0 * ETHANOL, rel=1e-4)


def test_a_measured_density_gives_the_strength_where_only_one_has_it(database: Database) -> None:
    found = database.strength("spirit", f"{spirit_density(20.0, 0.08)!r} kg/m3", temperature="20 degC")
    assert found.strength.mass_fraction == pytest.approx(0.08, rel=1e-9)
    # The row's 1 kg/m3 over the slope, 300 - 1000 w.
    assert found.strength.standard_uncertainty == pytest.approx(1.0 / 220.0, rel=1e-6)


def test_two_strengths_of_one_density_are_both_told_and_neither_is_taken(database: Database) -> None:
    with pytest.raises(BadParameter, match="20 % mass and 40 % mass of spirit have the density") as refused:
        database.strength("spirit", f"{spirit_density(20.0, 0.2)!r} kg/m3", temperature="20 degC")
    assert refused.value.document()["candidates"] == ["20 % mass", "40 % mass"]


def test_degrees_baume_are_a_density_at_60_degf(database: Database) -> None:
    with pytest.raises(OutsideRange, match=r"no strength of spirit known here has the density 1073.*at 15.5556 degC"):
        database.strength("spirit", "10 degBaume")


@pytest.mark.parametrize(
    ("strength", "temperature", "problem", "words"),
    [
        ("30 %", "20 degC", UnknownUnit, "does not say of what; write one of % mass, % vol"),
        ("30", "20 degC", Problem, "strength: '30' has no unit"),
        ("2 mol/L", None, MissingState, "temperature: a strength for a volume of solution"),
        ("900 g/L", "20 degC", OutsideRange, "is known from 0 to"),
        ("5 kg/m3", "20 degC", OutsideRange, "no strength of spirit known here"),
        ("-3 % mass", "20 degC", Problem, "below nothing"),
        ("120 % vol", "20 degC", OutsideRange, "more than the pure substance"),
    ],
)
def test_a_strength_that_cannot_be_told_is_refused_in_a_sentence(
    database: Database, strength: str, temperature: str | None, problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words):
        database.strength("spirit", strength, temperature=temperature)


def test_a_salt_has_no_volume_of_its_own(database: Database) -> None:
    with pytest.raises(BadParameter, match="is no liquid with a volume of its own; write % mass"):
        database.strength("brine", "10 % vol", temperature="20 degC")
    assert _share(database, "1 mol/kg", "brine") == pytest.approx(0.05844 / 1.05844, rel=1e-3)


def test_a_liquid_that_is_no_solution_has_no_strength(database: Database) -> None:
    with pytest.raises(BadParameter, match="blue is no solution of known parts"):
        database.strength("blue", "10 % vol", temperature="20 degC")


@given(share=st.floats(0.001, 0.099), celsius=st.floats(0.0, 40.0))
def test_every_basis_leads_back_to_the_strength_it_came_from(database: Database, share: float, celsius: float) -> None:
    told = database.strength("spirit", f"{share!r} kg/kg", temperature=f"{celsius!r} degC")
    assert len(told.told) == 8
    for quantity, _ in told.told:
        back = database.strength("spirit", quantity, temperature=f"{celsius!r} degC")
        assert back.strength.mass_fraction == pytest.approx(share, rel=1e-7), quantity


def test_a_value_is_answered_for_a_strength_on_any_basis_and_says_what_was_taken(database: Database) -> None:
    found = database.value("spirit", "sound_speed", temperature="20 degC", strength="150 g/L")
    share = _share(database, "150 g/L")
    assert found.magnitude == pytest.approx(spirit_speed(20.0, share), rel=1e-10)
    assert any(words.startswith("strength 150 g/L is") for words in found.assumptions)
    assert found.document()["state"]["strength"]["magnitude"] == pytest.approx(share, rel=1e-11)
    assert found.slopes["strength"] == pytest.approx(1400.0 - 2.0 * 1400.0 / 0.44 * share, rel=1e-9)


def test_what_a_density_leaves_open_of_the_strength_goes_into_the_values_asked_for_it(database: Database) -> None:
    density = f"{spirit_density(20.0, 0.08)!r} kg/m3"
    found = database.value("spirit", "sound_speed", temperature="20 degC", strength=density)
    slope, of_strength = 1400.0 - 2.0 * 1400.0 / 0.44 * 0.08, 1.0 / 220.0
    assert found.standard_uncertainty.magnitude == pytest.approx((1.0 + (slope * of_strength) ** 2) ** 0.5, rel=1e-6)


def test_degrees_baume_lead_back_to_the_density_at_60_degf(database: Database) -> None:
    told = database.strength("liquor", "0.08 kg/kg", temperature="40 degC", to="degBaume")
    ((quantity, _),) = told.told
    density = spirit_density(140.0 / 9.0, 0.08)
    assert quantity.magnitude == pytest.approx(145.0 * (1.0 - 999.016 / density), rel=1e-9)


def test_where_the_density_turns_it_tells_no_strength(database: Database) -> None:
    with pytest.raises(BadParameter, match=r"hardly depends on the strength|have the density"):
        database.strength("spirit", "845 kg/m3", temperature="20 degC")


def test_the_pure_solute_has_no_molality_and_is_told_on_the_other_bases(database: Database) -> None:
    told = database.strength("spirit", "100 % mol", temperature="20 degC")
    assert "mol/kg" in {unit for unit, _ in told.refused}
    assert any(quantity.unit.symbol == "% mol" and quantity.magnitude == 100.0 for quantity, _ in told.told)


def test_a_density_tells_one_state_at_a_time(database: Database) -> None:
    state = {"temperature": {"unit": "degC", "magnitudes": [10, 20]}, "strength": "815 kg/m3"}
    with pytest.raises(BadParameter, match="one strength at a time"):
        database.batch("spirit", ["sound_speed"], state=state)


def test_without_a_strength_a_solution_is_refused_with_an_example(database: Database) -> None:
    with pytest.raises(
        MissingState, match="strength: sound_speed of spirit depends on it; give one, such as 30 % mass"
    ):
        database.value("spirit", "sound_speed", temperature="20 degC")


def test_a_batch_takes_strengths_on_any_basis(database: Database) -> None:
    state = {"temperature": "20 degC", "strength": {"unit": "% ABV", "magnitudes": [5.0, 10.0, 20.0]}}
    (part,) = database.batch("spirit", ["sound_speed"], state=state).parts
    expected = [spirit_speed(20.0, _share(database, f"{abv} % ABV")) for abv in (5, 10, 20)]
    assert part.value == pytest.approx(np.array(expected), rel=1e-10)
    molal = {"temperature": {"unit": "degC", "magnitudes": [10, 20]}, "strength": "2 mol/kg"}
    assert len(database.batch("spirit", ["sound_speed"], state=molal).parts[0].value) == 2


def test_a_quantity_in_python_may_be_on_any_basis(database: Database) -> None:
    told = database.strength("spirit", "0.1 kg/kg", temperature="20 degC", to="% mol")
    ((quantity, _),) = told.told
    assert isinstance(quantity, Quantity)
    assert database.value("spirit", "density", temperature="20 degC", strength=quantity).magnitude == pytest.approx(
        825.0
    )
