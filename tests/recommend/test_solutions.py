"""Rules for solutions, on invented points."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from refdb.recommend.solutions.points import at_pure_end, mass_fraction
from refdb.recommend.solutions.surface_fit import Order, Span, fit_surface, resample
from refdb.records.models import PrintedQuantity, Scalar
from refdb.units import UnitTable
from refdb.vocabulary import vocabulary

TABLE = UnitTable.from_documents(vocabulary()["units"])


def lattice() -> tuple[np.ndarray, np.ndarray]:
    """Five isotherms of eight strengths."""
    celsius, strength = np.meshgrid([10.0, 20.0, 30.0, 40.0, 50.0], np.linspace(0.0, 1.0, 8), indexing="ij")
    return celsius.ravel(), strength.ravel()


def bent(celsius: np.ndarray, strength: np.ndarray) -> np.ndarray:
    """A difference at the strong end that falls with the temperature, and an excess of the second order."""
    return strength * (50.0 - celsius) + strength * (1.0 - strength) * (300.0 + 80.0 * (2.0 * strength - 1.0))


def test_a_surface_that_is_one_of_its_own_kind_is_found_exactly() -> None:
    celsius, strength = lattice()
    fit = fit_surface(celsius, strength, bent(celsius, strength), np.ones_like(celsius))
    assert fit.left_out_rms < 1e-9
    assert fit.difference(25.0, 0.35) == pytest.approx(bent(np.array(25.0), np.array(0.35)), abs=1e-9)


def test_a_surface_is_nothing_but_water_at_strength_0() -> None:
    celsius, strength = lattice()
    wrong_at_water = bent(celsius, strength) + 5.0
    fit = fit_surface(celsius, strength, wrong_at_water, np.ones_like(celsius))
    assert fit.difference([10.0, 30.0, 50.0], 0.0) == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


# Allen, Technometrics 16, 1974: errors of left-out points follow from one fit; here beside fits that leave them out.
def test_the_left_out_errors_are_those_of_fits_without_the_points() -> None:
    celsius, strength = lattice()
    noise = np.random.default_rng(1).normal(0.0, 1.0, celsius.shape)
    values, ones = bent(celsius, strength) + noise, np.ones_like(celsius)
    fit = fit_surface(celsius, strength, values, ones)
    # The corner of an isotherm and a strength is left out twice; a point of an outer strength with its isotherm alone.
    isotherm = np.isclose(celsius, 30.0)
    kept = ~isotherm
    without = fit_surface(celsius[kept], strength[kept], values[kept], ones[kept], fit.order)
    place = int(np.flatnonzero(isotherm & np.isclose(strength, 1.0))[0])
    assert fit.left_out[place] == pytest.approx(values[place] - float(without.difference(30.0, 1.0)), rel=1e-9)


def test_noise_does_not_raise_the_order() -> None:
    celsius, strength = lattice()
    noise = np.random.default_rng(2).normal(0.0, 2.0, celsius.shape)
    fit = fit_surface(celsius, strength, bent(celsius, strength) + noise, np.ones_like(celsius))
    assert len(fit.order.terms()) <= 8


def test_too_few_points_make_no_surface() -> None:
    with pytest.raises(ValueError, match="too few points"):
        fit_surface(np.array([20.0]), np.array([0.0]), np.array([1.0]), np.array([1.0]))


def test_coefficients_of_the_temperature_are_given_to_the_first_terms_only() -> None:
    assert Order(3, 1, 1).terms() == [(-1, 0), (-1, 1), (0, 0), (0, 1), (1, 0), (2, 0)]
    assert Span(0.0, 10.0, 0.5).design(np.array([5.0]), np.array([0.5]), Order(1, 0, 0)).tolist() == [[1.0, 0.0]]


def test_joining_nodes_of_a_polynomial_costs_nothing() -> None:
    coefficients, cost = resample(lambda t, w: 3.0 + t * w + w**2, ((0.0, 10.0), (0.0, 1.0)), (3, 4))
    assert cost < 1e-12
    assert len(coefficients) == 3
    assert len(coefficients[0]) == 4


def test_joining_nodes_of_what_is_no_polynomial_costs_what_lies_between_them() -> None:
    _, cost = resample(lambda t, w: np.abs(t) + 0.0 * w, ((-1.0, 1.0), (0.0, 1.0)), (3, 2))
    # t^2 goes through the three nodes of |t|; the two differ by a quarter at one half.
    assert cost == pytest.approx(0.25, rel=1e-12)


def test_what_joining_costs_is_told_in_a_unit_and_holds_no_rounding(records: dict[str, Any]) -> None:
    rules = ("surface-fit/2", "thermodynamic-speed/2", "solution-analogue/2")
    told = [record["working"]["joining"] for record in records.values() if record.get("rule") in rules]
    assert told
    for text in told:
        number, unit = text.removeprefix("less than ").split(" ", 1)
        assert float(number) >= 1e-9
        assert unit in {"kg/m3", "m/s", "J/(kg.K)", "of the value"}


# NaCl, 58.443 g/mol: 1 mol in a kilogram of water is 58.443 g in 1058.443 g. Ethanol, 46.068 g/mol, and water,
# 18.01528 g/mol, mole for mole: 46.068 g in 64.083 g.
@pytest.mark.parametrize(
    ("number", "unit", "molar_mass", "share"),
    [
        ("1", "mol/kg", 58.443, 0.0552160),
        ("0.5", "mol/mol", 46.068, 0.718878),
        ("0.3", "kg/kg", 1.0, 0.3),
        ("30", "% mass", 1.0, 0.3),
    ],
)
def test_strengths_in_moles_become_mass_fractions(number: str, unit: str, molar_mass: float, share: float) -> None:
    printed = PrintedQuantity(number=number, unit=unit)
    assert mass_fraction(printed, molar_mass, TABLE) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize("unit", ["mol/L", "percent", "m3/m3"])
def test_a_strength_that_needs_a_density_or_does_not_say_of_what_is_none(unit: str) -> None:
    assert mass_fraction(PrintedQuantity(number="0.3", unit=unit), 46.068, TABLE) is None


@pytest.mark.parametrize(
    ("strength", "pressure", "pure"),
    [
        ({"number": "1", "unit": "mol/mol"}, None, True),
        ({"number": "100", "unit": "% mass"}, "101.325", True),
        ({"number": "0.99", "unit": "kg/kg"}, None, False),
        ({"number": "1", "unit": "mol/kg"}, None, False),
        ({"number": "1", "unit": "mol/mol"}, "30000", False),
        (None, None, False),
    ],
)
def test_a_reading_of_a_solution_at_strength_1_is_one_of_the_pure_liquid(
    strength: dict[str, str] | None, pressure: str | None, pure: bool
) -> None:
    state: dict[str, object] = {"temperature": {"number": "20", "unit": "degC"}}
    state |= {} if strength is None else {"strength": strength}
    state |= {} if pressure is None else {"pressure": {"number": pressure, "unit": "kPa"}}
    reading = Scalar.model_validate(
        {
            "id": "invented-water.sound_speed.01",
            "subject": "invented-water",
            "property": "sound_speed",
            "unit": "m/s",
            "number": "1600",
            "source": "one",
            "locator": "page 1",
            "basis": "measured",
            "seen": "original",
            "state": state,
        }
    )
    assert at_pure_end(reading, TABLE) is pure


def test_what_was_measured_at_the_pure_end_of_a_solution_bears_on_the_pure_liquid(records: dict[str, Any]) -> None:
    row = records["1-3-propanediol.sound_speed"]
    assert row["rung"] == "published"
    assert {entry["id"].rsplit(".", 2)[0] for entry in row["inputs"] if "sound_speed" in entry["id"]} == {
        "1-3-propanediol-water"
    }
