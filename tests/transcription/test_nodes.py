"""Node values computed again: what is told of a digit that differs, of a refused state, and of a missing library."""

from __future__ import annotations

from typing import Any

import pytest

from refdb.problems import BadParameter, LibraryNeeded
from refdb.records.models import Grid
from refdb.records.numbers import EnteredNumber
from refdb.transcription.nodes import compare, names_a_liquid, states_of

# The package that the tests run with; what its equations give is looked up here, not checked.
CP = pytest.importorskip("CoolProp.CoolProp", reason="CoolProp is not installed")
INSTALLED = str(CP.get_global_param_string("version"))


def grid(property_id: str, locator: str, values: list[str], axes: list[dict[str, Any]], **more: Any) -> Grid:
    unit = {"density": "kg/m3", "saturation_pressure": "Pa", "freezing_point": "degC"}[property_id]
    return Grid.model_validate(
        {
            "id": f"invented.{property_id}.01",
            "source": "invented-source",
            "subject": "invented",
            "property": property_id,
            "unit": unit,
            "locator": locator,
            "basis": "computed",
            "seen": "library",
            "state": {"temperature_scale": "ITS-90"},
            "axes": axes,
            "values": values,
            "fit_error": {"number": "1", "unit": "%"},
            **more,
        }
    )


def axis(name: str, unit: str, low: str, high: str, nodes: int) -> dict[str, Any]:
    return {"name": name, "unit": unit, "low": low, "high": high, "nodes": nodes}


def saturation(values: list[str], version: str = INSTALLED) -> Grid:
    locator = f"CoolProp {version}, AbstractState HEOS R134a, QT inputs with quality 0, p"
    temperatures = axis("temperature", "degC", "0", "40", 3)
    return grid("saturation_pressure", locator, values, [temperatures], of="logarithm")


def boiling(celsius: float) -> float:
    return float(CP.PropsSI("P", "T", celsius + 273.15, "Q", 0, "R134a"))


def density(celsius: float, pascals: float) -> float:
    return float(CP.PropsSI("D", "T", celsius + 273.15, "P|liquid", pascals, "R134a"))


def test_a_digit_that_differs_is_told_with_what_the_library_gives() -> None:
    printed = [f"{boiling(celsius):.1f}" for celsius in (0.0, 20.0, 40.0)]
    slipped = [printed[0], f"{boiling(20.0) + 1.0:.1f}", printed[2]]
    first, second, third = compare(saturation(slipped), {})
    assert (first.equal, second.equal, third.equal) == (True, False, True)
    assert second.number == EnteredNumber("invented.saturation_pressure.01", "values.1", slipped[1])
    assert second.found == printed[1]
    assert second.how == "recomputed"


def test_only_the_digits_that_were_entered_are_compared() -> None:
    rounded = [f"{boiling(celsius):.{digits}f}" for celsius, digits in ((0.0, 0), (20.0, 3), (40.0, 1))]
    assert [number.equal for number in compare(saturation(rounded), {})] == [True, True, True]


def test_pressures_begin_at_the_joined_saturation_pressure() -> None:
    curve = saturation([f"{boiling(celsius):.6f}" for celsius in (0.0, 20.0, 40.0)])
    locator = f"CoolProp {INSTALLED}, AbstractState HEOS R134a, imposed liquid phase, rhomass"
    axes = [axis("temperature", "degC", "0", "40", 3), axis("pressure", "MPa", "saturation", "2", 2)]
    values = [
        f"{density(celsius, pascals):.4f}" for celsius in (0.0, 20.0, 40.0) for pascals in (boiling(celsius), 2e6)
    ]
    liquid = grid("density", locator, values, axes, saturation=curve.id)
    states = list(states_of(liquid, {curve.id: curve}))
    assert [state.celsius for state in states] == pytest.approx([0.0, 0.0, 20.0, 20.0, 40.0, 40.0])
    assert states[2].pascals == pytest.approx(boiling(20.0), rel=1e-9)
    assert [number.equal for number in compare(liquid, {curve.id: curve})] == [True] * 6


def test_a_state_that_the_library_refuses_is_not_found_rather_than_wrong() -> None:
    locator = f"the coefficients of INCOMP::MEG in CoolProp {INSTALLED}"
    axes = [axis("temperature", "degC", "-40", "20", 2), axis("strength", "kg/kg", "0.1", "0.5", 2)]
    warm = [f"{CP.PropsSI('D', 'T', 293.15, 'P', 5e6, f'INCOMP::MEG[{strength}]'):.6f}" for strength in (0.1, 0.5)]
    frozen, cold, *liquid = compare(grid("density", locator, ["1000", "1000", *warm], axes), {})
    assert frozen.found is None
    assert not frozen.equal
    assert not cold.equal
    assert [number.equal for number in liquid] == [True, True]


def test_a_share_of_the_nodes_is_spread_over_the_grid() -> None:
    curve = saturation(["1", "2", "3"])
    assert [number.number.place for number in compare(curve, {}, limit=2)] == ["values.0", "values.2"]


def test_another_version_than_the_one_installed_is_asked_for_by_name() -> None:
    with pytest.raises(LibraryNeeded, match=r"CoolProp 1\.2\.3 is needed .* pip install CoolProp==1\.2\.3"):
        compare(saturation(["1", "2", "3"], version="1.2.3"), {})


@pytest.mark.parametrize(
    "locator", ["table 3", f"CoolProp {INSTALLED}, AbstractState HEOS NoSuchLiquid, QT inputs with quality 0, p"]
)
def test_a_grid_of_no_liquid_of_the_library_is_refused(locator: str) -> None:
    temperatures = axis("temperature", "degC", "0", "40", 3)
    with pytest.raises(BadParameter, match=r"invented\.saturation_pressure\.01 names no liquid"):
        compare(grid("saturation_pressure", locator, ["1", "2", "3"], [temperatures]), {})


def test_only_locators_that_name_the_library_are_recomputable() -> None:
    temperatures = axis("temperature", "degC", "0", "40", 3)
    assert names_a_liquid(saturation(["1", "2", "3"]))
    assert not names_a_liquid(grid("saturation_pressure", "table 3", ["1", "2", "3"], [temperatures]))
